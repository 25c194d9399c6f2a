"""burnplan commission: what is ordered."""

from collections.abc import Callable
from datetime import date
from typing import Annotated, Any, Literal

import typer

from burnplan import cleaned
from burnplan.cli import completion
from burnplan.cli.answers import Answer, answers
from burnplan.cli.asking import ask, need_somebody, reopened, sure
from burnplan.cli.common import given_date, progress_bar, the_settings, the_studio
from burnplan.cli.options import (
    Because,
    NewNote,
    On,
    Reopen,
    Size,
    WhichCommission,
    Yes,
    gathered_by,
    group,
    page,
)
from burnplan.desk.jobs import commissions, review
from burnplan.desk.studio import paging, typed_dates
from burnplan.errors import BadInput
from burnplan.money import format_money
from burnplan.show import console
from burnplan.show.jobs import commissions as shown
from burnplan.units import parse_size
from burnplan.wood import species as woods

app = group()


def wishes(
    context: typer.Context,
    client: Annotated[
        str | None, typer.Option("--client", help="Who orders; added if not known yet.")
    ] = None,
    size: Size = None,
    species: Annotated[
        str | None,
        typer.Option(help="Like basswood, cherry, sugar-maple.", autocompletion=completion.species),
    ] = None,
    due: Annotated[str | None, typer.Option(help="Like 2027-03-18, friday, 'in 3 weeks'.")] = None,
    use: Annotated[
        Literal["indoor", "outdoor", "food"] | None, typer.Option(help="Where the piece will live.")
    ] = None,
    note: NewNote = None,
) -> "commissions.Wishes":
    """Return what is asked for, but for the title, of the options that add and edit take."""
    return commissions.Wishes(
        client=client, size=size, species=species, due=given_date(context, due), use=use, note=note
    )


@app.command()
@gathered_by(wishes)
def add(
    context: typer.Context,
    title: Annotated[str | None, typer.Argument(help="What is to be burned.")] = None,
    *,
    wishes: "commissions.Wishes",
) -> None:
    """Log a new commission: a title is enough; asks when called bare in a terminal.

    Examples:
      burnplan commission add
      burnplan commission add "Old barn" --client Mara --size 30x40cm --due "in 6 weeks"
    """
    studio, settings = the_studio(context), the_settings(context)
    wishes.title = title
    if title is None:
        need_somebody("The commission has no title", "Give it: burnplan commission add TITLE")
        wishes = _asked(context, wishes)
    _ask_about(context, wishes)
    made = commissions.add(studio, wishes)
    console.show(shown.commission_card(made, settings, studio.today()))
    console.show(f"[soft]Next: burnplan reference add {made.code} PHOTO[/]")


def _ask_about(context: typer.Context, wishes: "commissions.Wishes") -> None:
    """Say which client is new, and what may be misspelt."""
    for words in commissions.doubts(the_studio(context), wishes):
        console.notice(words)


def _asked(context: typer.Context, wishes: "commissions.Wishes") -> "commissions.Wishes":
    """Ask what was not given, one question at a time."""

    def due_date(text: str) -> date:
        day = typed_dates.day(the_studio(context), text)
        if day < the_studio(context).today():
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
        "title": ("What is to be burned", lambda text: cleaned.cleaned(text, "title"), ""),
        "client": ("For whom", str, skip),
        "size": ("Size, like 30x40cm", checked(parse_size), skip),
        "species": ("Wood, like basswood", checked(woods.species_or_own), skip),
        "due": ("Due, like friday or 18 march", due_date, skip),
        "note": ("Note", str, skip),
    }
    for name, (question, check, hint) in questions.items():
        if found[name] is None:
            default = None if name == "title" else ""
            found[name] = ask(question, check, default=default, hint=hint)
    return commissions.Wishes(**found)


@app.command()
@gathered_by(wishes)
def edit(
    context: typer.Context,
    which: WhichCommission,
    title: Annotated[str | None, typer.Option(help="A new title.")] = None,
    reopen: Reopen = None,
    *,
    wishes: "commissions.Wishes",
) -> None:
    """Change or fill in what is asked for.

    Of another size or wood, the work is planned again from the photo kept.

    Examples:
      burnplan commission edit C-0007 --size 12x16in --species cherry
      burnplan commission edit barn --due "18 march"
    """
    studio = the_studio(context)
    wishes.title = title
    _ask_about(context, wishes)
    again = reopened(commissions.undone_by(studio, which, wishes), reopen)
    with progress_bar() as progress:
        made = commissions.edit(studio, which, wishes, reopen=again, on_progress=progress)
    console.show(shown.commission_card(made, the_settings(context), studio.today()))


@app.command("show")
@answers
def show_(context: typer.Context, which: WhichCommission) -> "Answer[commissions.CommissionView]":
    """Show one commission.

    Examples:
      burnplan commission show C-0007
      burnplan commission show barn --json
    """
    studio = the_studio(context)
    found = commissions.show(studio, which)
    found.progress = review.progress(studio, found.code)
    today = studio.today()
    return Answer(found, lambda one: shown.commission_card(one, the_settings(context), today))


@app.command("list")
@answers
@gathered_by(page)
def list_(
    context: typer.Context,
    closed: Annotated[bool, typer.Option("--all", help="Delivered and dropped ones too.")] = False,
    *,
    page: "paging.ListPage",
) -> "Answer[list[commissions.CommissionView]]":
    """List commissions, newest first; see 'burnplan jobs' for what to do next.

    Examples:
      burnplan commission list --all
    """
    studio = the_studio(context)
    found = commissions.everything(studio, closed=closed, page=page)
    return Answer(found, lambda them: shown.commission_table(them, studio.today()), page)


@app.command()
def pause(context: typer.Context, which: WhichCommission, because: Because) -> None:
    """Set a commission aside; it leaves the queue until taken up again.

    Examples:
      burnplan commission pause C-0007 --because "waiting for a better photo"
    """
    made = commissions.pause(the_studio(context), which, because)
    console.show(f"[code]{made.code}[/] is set aside")


@app.command()
def resume(context: typer.Context, which: WhichCommission) -> None:
    """Take a commission up again.

    Examples:
      burnplan commission resume C-0007
    """
    made = commissions.resume(the_studio(context), which)
    console.show(f"[code]{made.code}[/] is {made.stage.value} again")


@app.command()
def drop(
    context: typer.Context, which: WhichCommission, because: Because, yes: Yes = False
) -> None:
    """End a commission that will not be made; its blank is free again.

    Examples:
      burnplan commission drop C-0007 --because "client moved away"
    """
    found = commissions.show(the_studio(context), which)
    sure(f"Drop {found.code} '{found.title}'?", yes)
    made = commissions.drop(the_studio(context), found.code, because)
    console.show(f"[code]{made.code}[/] is dropped; take it back with: burnplan undo")


@app.command()
def deliver(
    context: typer.Context, which: WhichCommission, on: On = None, yes: Yes = False
) -> None:
    """Hand a commission over; asks first where steps, the quote or money are open.

    Examples:
      burnplan commission deliver C-0007 --on yesterday
    """
    studio, day = the_studio(context), given_date(context, on)
    found = commissions.show(studio, which)
    if not yes and (left := ", ".join(commissions.left_open(studio, found.code))):
        need_somebody(f"{found.code}: {left}", "Add --yes to deliver it all the same")
        sure(f"Deliver {found.code} '{found.title}'? {left[0].upper()}{left[1:]}", yes)
    made = commissions.deliver(studio, found.code, day)
    console.show(f"[code]{made.code}[/] is delivered")
    if made.balance > 0 and made.currency:
        owed = format_money(made.balance, made.currency, the_settings(context).locale)
        console.notice(f"{owed} is still owed")
