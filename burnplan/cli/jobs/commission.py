"""burnplan commission: what is ordered."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from burnplan.cli import completion
from burnplan.cli.common import (
    AsJson,
    AsSchema,
    PageNumber,
    Rows,
    WhichCommission,
    Yes,
    answer,
    answer_page,
    ask,
    given_date,
    group,
    own_locale,
    sure,
    the_settings,
    the_studio,
)

if TYPE_CHECKING:
    from burnplan.desk.jobs.commissions import Wishes

app = group()

ClientName = Annotated[
    str | None, typer.Option("--client", help="Who orders; added if not known yet.")
]
Size = Annotated[
    str | None, typer.Option(help="Like 30x40cm, 12x16in, 'round 25cm', 'oval 20x30cm'.")
]
Wood = Annotated[
    str | None,
    typer.Option(
        "--species", help="Like basswood, cherry, sugar-maple.", autocompletion=completion.species
    ),
]
Due = Annotated[str | None, typer.Option(help="Like 2027-03-18, friday, 'in 3 weeks'.")]
UseOption = Annotated[
    Literal["indoor", "outdoor", "food"] | None, typer.Option(help="Where the piece will live.")
]
Note = Annotated[str | None, typer.Option(help="Anything worth remembering.")]
Reason = Annotated[str, typer.Option("--because", help="Why.", prompt="Why")]


@app.command()
def add(
    context: typer.Context,
    title: Annotated[str | None, typer.Argument(help="What is to be burned.")] = None,
    client: ClientName = None,
    size: Size = None,
    species: Wood = None,
    due: Due = None,
    use: UseOption = None,
    note: Note = None,
) -> None:
    """Log a new commission: a title is enough; asks when called bare in a terminal.

    Examples:

      burnplan commission add

      burnplan commission add "Old barn" --client Mara --size 30x40cm --due "in 6 weeks"
    """
    from burnplan.desk.jobs import commissions
    from burnplan.errors import BadInput
    from burnplan.show.console import interactive, show
    from burnplan.show.jobs.work import commission_card

    studio, settings = the_studio(context), the_settings(context)
    wishes = commissions.Wishes(
        title=title,
        client=client,
        size=size,
        species=species,
        due=given_date(context, due),
        use=use,
        note=note,
    )
    if title is None:
        if not interactive():
            raise BadInput("The commission has no title", "Give it: burnplan commission add TITLE")
        wishes = _asked(context, wishes)
    _ask_about(context, wishes)
    made = commissions.add(studio, wishes)
    show(commission_card(made, settings, studio.today()))
    show(f"[soft]Next: burnplan reference add {made.code} PHOTO[/]")


def _ask_about(context: typer.Context, wishes: "Wishes") -> None:
    """Say which client is new, and what may be misspelt."""
    from burnplan.desk.jobs import commissions
    from burnplan.show.console import notice

    for words in commissions.doubts(the_studio(context), wishes):
        notice(words)


def _asked(context: typer.Context, wishes: "Wishes") -> "Wishes":
    """Ask what was not given, one question at a time."""
    from datetime import date

    from burnplan.dates import parse_date
    from burnplan.desk.jobs.commissions import Wishes
    from burnplan.desk.studio.lookup import cleaned
    from burnplan.errors import BadInput
    from burnplan.units import parse_size
    from burnplan.wood.species import species_or_own

    def due_date(text: str) -> date:
        today = the_studio(context).today()
        day = parse_date(text, today, own_locale(context, text))
        if day < today:
            raise BadInput(f"{day} is past", "Give a date from today on")
        return day

    def checked(parse: Callable[[str], object]) -> Callable[[str], str]:
        def check(text: str) -> str:
            parse(text)
            return text

        return check

    skip = "Enter to skip"
    found = wishes.model_dump()
    questions: dict[str, tuple[str, Callable[[str], Any], str]] = {
        "title": ("What is to be burned", lambda text: cleaned(text, "title"), ""),
        "client": ("For whom", str, skip),
        "size": ("Size, like 30x40cm", checked(parse_size), skip),
        "species": ("Wood, like basswood", checked(species_or_own), skip),
        "due": ("Due, like friday or 18 march", due_date, skip),
        "note": ("Note", str, skip),
    }
    for name, (question, check, hint) in questions.items():
        if found[name] is None:
            default = None if name == "title" else ""
            found[name] = ask(question, check, default=default, hint=hint)
    return Wishes(**found)


@app.command()
def edit(
    context: typer.Context,
    which: WhichCommission,
    title: Annotated[str | None, typer.Option(help="A new title.")] = None,
    client: ClientName = None,
    size: Size = None,
    species: Wood = None,
    due: Due = None,
    use: UseOption = None,
    note: Note = None,
) -> None:
    """Change or fill in what is asked for.

    Examples:

      burnplan commission edit C-0007 --size 12x16in --species cherry

      burnplan commission edit barn --due "18 march"
    """
    from burnplan.desk.jobs import commissions
    from burnplan.show.console import show
    from burnplan.show.jobs.work import commission_card

    studio = the_studio(context)
    wishes = commissions.Wishes(
        title=title,
        client=client,
        size=size,
        species=species,
        due=given_date(context, due),
        use=use,
        note=note,
    )
    _ask_about(context, wishes)
    made = commissions.edit(studio, which, wishes)
    show(commission_card(made, the_settings(context), studio.today()))


@app.command("show")
def show_(
    context: typer.Context,
    which: WhichCommission,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Show one commission.

    Examples:

      burnplan commission show C-0007

      burnplan commission show barn --json
    """
    from burnplan.desk.jobs import commissions, review
    from burnplan.show.jobs.work import commission_card

    studio = the_studio(context)

    def find() -> commissions.CommissionView:
        found = commissions.show(studio, which)
        return found.model_copy(update={"progress": review.progress(studio, found.code)})

    return answer(
        commissions.CommissionView,
        as_json,
        as_schema,
        find,
        lambda found: commission_card(found, the_settings(context), studio.today()),
    )


@app.command("list")
def list_(
    context: typer.Context,
    closed: Annotated[bool, typer.Option("--all", help="Delivered and dropped ones too.")] = False,
    rows: Rows = 50,
    number: PageNumber = 1,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List commissions, newest first; see 'burnplan jobs' for what to do next.

    Examples:

      burnplan commission list --all
    """
    from burnplan.desk.jobs import commissions
    from burnplan.show.jobs.work import commission_table

    studio = the_studio(context)
    return answer_page(
        commissions.CommissionView,
        as_json,
        as_schema,
        (number, rows),
        lambda page: commissions.everything(studio, closed=closed, page=page),
        lambda found: commission_table(found, studio.today()),
    )


@app.command()
def pause(context: typer.Context, which: WhichCommission, because: Reason) -> None:
    """Set a commission aside; it leaves the queue until taken up again.

    Examples:

      burnplan commission pause C-0007 --because "waiting for a better photo"
    """
    from burnplan.desk.jobs import commissions
    from burnplan.show.console import show

    made = commissions.pause(the_studio(context), which, because)
    show(f"[code]{made.code}[/] is set aside")


@app.command()
def resume(context: typer.Context, which: WhichCommission) -> None:
    """Take a commission up again.

    Examples:

      burnplan commission resume C-0007
    """
    from burnplan.desk.jobs import commissions
    from burnplan.show.console import show

    made = commissions.resume(the_studio(context), which)
    show(f"[code]{made.code}[/] is {made.stage.value} again")


@app.command()
def drop(context: typer.Context, which: WhichCommission, because: Reason, yes: Yes = False) -> None:
    """End a commission that will not be made; its blank is free again.

    Examples:

      burnplan commission drop C-0007 --because "client moved away"
    """
    from burnplan.desk.jobs import commissions
    from burnplan.show.console import show

    found = commissions.show(the_studio(context), which)
    sure(f"Drop {found.code} '{found.title}'?", yes)
    made = commissions.drop(the_studio(context), found.code, because)
    show(f"[code]{made.code}[/] is dropped; take it back with: burnplan undo")


@app.command()
def deliver(
    context: typer.Context,
    which: WhichCommission,
    on: Annotated[str | None, typer.Option(help="The day, if not today.")] = None,
    yes: Yes = False,
) -> None:
    """Hand a commission over; asks first where steps, the quote or money are open.

    Examples:

      burnplan commission deliver C-0007 --on yesterday
    """
    from burnplan.desk.jobs import commissions
    from burnplan.errors import BadInput
    from burnplan.money import format_money
    from burnplan.show.console import interactive, notice, show

    studio, day = the_studio(context), given_date(context, on)
    found = commissions.show(studio, which)
    if not yes and (left := ", ".join(commissions.left_open(studio, found.code))):
        if not interactive():
            raise BadInput(f"{found.code}: {left}", "Add --yes to deliver it all the same")
        sure(f"Deliver {found.code} '{found.title}'? {left[0].upper()}{left[1:]}", yes)
    made = commissions.deliver(studio, found.code, day)
    show(f"[code]{made.code}[/] is delivered")
    if made.balance > 0 and made.currency:
        owed = format_money(made.balance, made.currency, the_settings(context).locale)
        notice(f"{owed} is still owed")
