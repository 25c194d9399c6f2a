"""burnplan reference letter, letters, unletter: words on the piece."""

from typing import Annotated

import typer

from burnplan.cli import asking
from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import no_bar, progress_bar, the_settings, the_studio
from burnplan.cli.jobs.photo_options import Pictures
from burnplan.cli.options import Reopen, WhichCommission, group
from burnplan.desk.jobs import lettering
from burnplan.errors import BadInput
from burnplan.show import console
from burnplan.show.jobs import lettered

app = group()

Words = Annotated[
    list[str] | None, typer.Argument(metavar="[WORDS]...", help="What to letter, a line each.")
]
Font = Annotated[
    str | None,
    typer.Option(
        help="serif, sans, bold, script, display, naskh, hebrew, devanagari, or a font file."
    ),
]
Height = Annotated[str | None, typer.Option(help="Height of a capital, like 12mm (12 mm).")]
Place = Annotated[
    str | None,
    typer.Option(
        "--at", help="top, middle, bottom, or right,down of its middle on the wood: 60mm,140mm."
    ),
]


@app.command()
def letter(
    context: typer.Context,
    which: WhichCommission,
    words: Words = None,
    *,
    font: Font = None,
    height: Height = None,
    at: Place = None,
    arc: Annotated[
        bool, typer.Option("--arc", help="On an arc: along a round edge, or of its own.")
    ] = False,
    edge: Annotated[
        bool, typer.Option("--edge", help="Along the outline, whatever it is.")
    ] = False,
    straight: Annotated[bool, typer.Option("--straight", help="Straight again.")] = False,
    radius: Annotated[
        str | None, typer.Option(help="Of the arc, like 200mm; 'none' for what suits the piece.")
    ] = None,
    filled: Annotated[
        bool | None,
        typer.Option("--filled/--outline", help="Burned all over, or along its outlines only."),
    ] = None,
    dark: Annotated[float | None, typer.Option(help="How dark it is burned, % (90).")] = None,
    clear: Annotated[
        str | None, typer.Option(help="Strip of bare wood round it, like 3mm.")
    ] = None,
    number: Annotated[
        int | None, typer.Option(help="Change this lettering; what is not given stays as it is.")
    ] = None,
    over_focal: Annotated[
        bool, typer.Option("--over-focal", help="It may lie over the focal area.")
    ] = False,
    reopen: Reopen = None,
    pictures: Pictures = True,
) -> None:
    """Letter a name, a date or a saying on the piece; the plan is made again with it.

    Its height is that of a capital, or of a script's tall letters where it has no capitals.
    Any script is shaped right. The words are shown large: read them letter by letter.

    Examples:
      burnplan reference letter C-0007 Biscuit "2014 – 2026" --font serif --height 12mm
      burnplan reference letter C-0007 "Forever in our hearts" --font script --at top --arc
      burnplan reference letter C-0007 --number 1 --height 10mm --clear 3mm
    """
    courses = [name for name, on in (("arc", arc), ("edge", edge), ("straight", straight)) if on]
    if len(courses) > 1:
        raise BadInput(f"It runs {' or '.join(courses)}, not both", "Give one of them")
    wishes = lettering.LetteringWishes(
        words or None, font, height, at, courses[0] if courses else None, radius, filled, dark,
        clear,
    )  # fmt: skip
    studio = the_studio(context)
    again = asking.reopened(lettering.undone_by(studio, which), reopen)

    def may_cover(said: str) -> bool:
        if over_focal:
            return True
        with no_bar():
            asking.need_somebody(said, "Put it elsewhere with --at, or add --over-focal")
            return asking.agreed(f"{said}. Letter it there?")

    with progress_bar() as progress:
        made = lettering.put(
            studio, which, wishes,
            number=number, may_cover=may_cover, reopen=again, on_progress=progress,
        )  # fmt: skip
    if pictures:
        console.show(lettered.spelled(made))
    console.show(lettered.lettering_list(made, the_settings(context)))
    console.notice("Read it letter by letter; the checklist has the client confirm it in writing")


@app.command()
@answers
def letters(
    context: typer.Context, which: WhichCommission
) -> "Answer[lettering.LetteringListView]":
    """List what is lettered on the piece: words, typeface, height, place, length and area.

    Examples:
      burnplan reference letters C-0007
      burnplan reference letters C-0007 --json
    """
    found = lettering.of(the_studio(context), which)
    return Answer(found, lambda view: lettered.lettering_list(view, the_settings(context)))


@app.command()
def unletter(
    context: typer.Context,
    which: WhichCommission,
    number: Annotated[int, typer.Argument(metavar="NUMBER", help="Of the lettering.")],
    reopen: Reopen = None,
) -> None:
    """Take a lettering off the piece; the plan is made again without it.

    Examples:
      burnplan reference unletter C-0007 1
    """
    studio = the_studio(context)
    again = asking.reopened(lettering.undone_by(studio, which), reopen)
    with progress_bar() as progress:
        left = lettering.remove(studio, which, number, reopen=again, on_progress=progress)
    console.show(lettered.lettering_list(left, the_settings(context)))
