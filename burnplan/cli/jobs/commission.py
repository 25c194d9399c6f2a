"""burnplan commission: what is ordered."""

from collections.abc import Callable
from datetime import date
from typing import Annotated, Any, Literal, get_args

import typer

from burnplan import cleaned
from burnplan.cli import asking, completion
from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import given_date, progress_bar, refuse_no_change, the_settings, the_studio
from burnplan.cli.naming import which_wood, whole_client
from burnplan.cli.options import (
    Because,
    NewNote,
    On,
    Override,
    Reopen,
    Size,
    Species,
    WhichCommission,
    Yes,
    gathered_by,
    group,
    page,
)
from burnplan.dates import format_day
from burnplan.desk.derived import drop_terms
from burnplan.desk.jobs import commissions, endings, holding, review
from burnplan.desk.studio import paging, typed_dates
from burnplan.desk.time import pace, planned_sessions
from burnplan.errors import BadInput
from burnplan.money import format_money, parse_money, typed_money
from burnplan.outline import Outline
from burnplan.show import console
from burnplan.show.jobs import commissions as shown
from burnplan.show.time import pace as shown_pace
from burnplan.units import parse_size
from burnplan.wood import species as woods

app = group()


def wishes(
    context: typer.Context,
    client: Annotated[
        str | None,
        typer.Option("--client", help="Who orders; added if not known yet.", callback=whole_client),
    ] = None,
    size: Size = None,
    species: Species = None,
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
        asking.need_somebody(
            "The commission has no title", "Give it: burnplan commission add TITLE"
        )
        wishes = _asked(context, wishes)
    _ask_about(context, wishes)
    made = commissions.add(studio, wishes)
    if wishes.use is None:
        console.notice(
            "Taken as a piece for indoors; --use outdoor or food asks other wood and finish of it"
        )
    console.show(shown.commission_card(made, settings, studio.today()))
    console.show(f"[soft]Next: burnplan reference add {made.code} PHOTO[/]")


def _ask_about(context: typer.Context, wishes: "commissions.Wishes") -> None:
    """Say which client is new, and what may be misspelt; of a wood a person was asked."""
    asked = {"species": None} if console.interactive() else {}
    for words in commissions.doubts(the_studio(context), wishes.model_copy(update=asked)):
        console.notice(words)
    for words in commissions.cautions(the_studio(context), wishes):
        console.caution(words)


def _use(text: str) -> str:
    if text.strip().lower() not in get_args(commissions.UseName):
        raise BadInput(f"'{text}' is not where a piece lives", "It is indoor, outdoor or food")
    return text.strip().lower()


def _asked(context: typer.Context, wishes: "commissions.Wishes") -> "commissions.Wishes":
    """Ask what was not given, one question at a time."""

    def due_date(text: str) -> date:
        day = typed_dates.day(the_studio(context), text)
        if day < the_studio(context).today():
            raise BadInput(f"{format_day(day)} is past", "Give a date from today on")
        return day

    def checked(parse: Callable[[str], object]) -> Callable[[str], str]:
        def check(text: str) -> str:
            parse(text)
            return text

        return check

    def size(text: str) -> Outline:
        return parse_size(text, default_unit=the_settings(context).size_unit)

    def wood(text: str) -> str:
        return checked(woods.species_or_own)(which_wood(context, text))

    skip = "Enter to skip"
    found = wishes.model_dump()
    questions: dict[str, tuple[str, Callable[[str], Any], str]] = {
        "title": ("What is to be burned", lambda text: cleaned.cleaned(text, "title"), ""),
        "client": ("For whom", lambda text: whole_client(context, text), skip),
        "size": ("Size, like 30x40cm", checked(size), skip),
        "species": ("Wood, like basswood", wood, skip),
        "due": ("Due, like friday or 18 march", due_date, skip),
        "use": ("Where it will live: indoor, outdoor or food", _use, ""),
        "note": ("Note", str, skip),
    }
    for name, (question, check, hint) in questions.items():
        if found[name] is None:
            default = {"title": None, "use": "indoor"}.get(name, "")
            found[name] = asking.ask(question, check, default=default, hint=hint)
    return commissions.Wishes(**found)


@app.command()
@gathered_by(wishes)
def edit(
    context: typer.Context,
    which: WhichCommission,
    title: Annotated[str | None, typer.Option(help="A new title.")] = None,
    no_due: Annotated[bool, typer.Option("--no-due", help="It is due on no day any more.")] = False,
    reopen: Reopen = None,
    *,
    wishes: "commissions.Wishes",
) -> None:
    """Change or fill in what is asked for.

    Of another size or wood, the work is planned again from the photo kept.

    Examples:
      burnplan commission edit C-0007 --size 30x40cm --species cherry
      burnplan commission edit barn --due "18 march"
      burnplan commission edit barn --no-due
    """
    studio = the_studio(context)
    if no_due and wishes.due is not None:
        raise BadInput("A due date and none cannot both be", "Give --due or --no-due")
    wishes.title, wishes.no_due = title, no_due
    refuse_no_change(wishes, "--size 30x40cm")
    _ask_about(context, wishes)
    again = asking.reopened(commissions.undone_by(studio, which, wishes), reopen)
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
    return Answer(
        found,
        lambda them: shown.commission_table(them, the_settings(context), studio.today()),
        page,
    )


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
    studio = the_studio(context)
    made = commissions.resume(studio, which)
    stage = the_settings(context).wording.own(made.stage.value)
    console.show(f"[code]{made.code}[/] is {stage} again")
    for one in planned_sessions.overlapping(studio, made.code):
        console.notice(
            f"Its planned session {one.number} is at the time of another; to take it out:"
            f" burnplan session unplan {one.number}"
        )


@app.command()
def restart(
    context: typer.Context,
    which: WhichCommission,
    blank: Annotated[
        str,
        typer.Option(help="The blank to begin again on.", autocompletion=completion.blanks),
    ],
    because: Because,
    override: Override = None,
) -> None:
    """Begin a ruined piece again on another blank; the old one is scrapped.

    What was done to it is to do again, and sessions planned for it are taken out. Its hours
    stay on record as spent on the spoiled piece: they teach the pace and count in what was
    earned, but are no progress.

    Examples:
      burnplan commission restart C-0007 --blank B-0012 --because "scorched"
    """
    studio = the_studio(context)
    planned = planned_sessions.since(studio, studio.now())
    with progress_bar() as progress:
        made = holding.restart(
            studio, which, blank, because, override=override, on_progress=progress
        )
    console.show(f"[code]{made.code}[/] begins again on [code]{made.blank}[/]")
    if any(one.code == made.code for one in planned):
        console.notice(
            "Sessions planned for the piece before are taken out; lay them out anew:"
            " burnplan session plan"
        )
    console.notice(f"Spoiled: {shown.spoiled_words(made.spoiled[-1], studio.today())}")
    console.notice("Take it back with: burnplan undo")


@app.command()
def drop(
    context: typer.Context,
    which: WhichCommission,
    because: Because,
    owed: Annotated[
        Literal["nothing", "deposit", "work"] | None,
        typer.Option(
            help="What was agreed to be owed: nothing, the deposit that came in, or the work"
            " done so far.",
            show_default=False,
        ),
    ] = None,
    amount: Annotated[
        str | None,
        typer.Option(help="What that work comes to, if not its share of the price."),
    ] = None,
    yes: Yes = False,
) -> None:
    """End a commission that will not be made; its blank is free again.

    Where something was agreed or paid, it asks what is owed for it now.

    Examples:
      burnplan commission drop C-0007 --because "client moved away"
      burnplan commission drop C-0007 --because "changed her mind" --owed deposit --yes
      burnplan commission drop barn --because "moved away" --owed work --amount 95 --yes
    """
    studio, locale = the_studio(context), the_settings(context).locale
    found = commissions.show(studio, which)
    offers = endings.drop_offers(studio, found.code)
    asking.sure(f"Drop {found.code} '{found.title}'?", yes)
    if owed is None and offers and console.interactive():
        owed, amount = _agreed(offers, locale)
    made = endings.drop(studio, found.code, because, owed, amount)
    console.show(f"[code]{made.code}[/] is dropped; take it back with: burnplan undo")
    if made.drop_terms is not None:
        console.notice(shown.drop_words(made, locale))


def _agreed(
    offers: "list[endings.DropOffer]", locale: str
) -> "tuple[drop_terms.DropTerms, str | None]":
    """Ask what was agreed to be owed, and for work what it comes to."""
    for one in offers:
        console.notice(f"{one.terms}: {shown.offer_words(one, locale)}")
    known = {one.terms: one for one in offers}

    def named(text: str) -> endings.DropOffer:
        fits = [one for one in offers if one.terms.startswith(text.strip().casefold())]
        if len(fits) != 1:
            raise BadInput(f"'{text}' is none of them", f"Answer {', '.join(known)}")
        return fits[0]

    chosen = asking.ask("What was agreed to be owed", named, default=None)
    if chosen.terms != "work":
        return chosen.terms, None
    amount = typed_money(chosen.amount, chosen.currency, locale)

    def checked(text: str) -> str:
        parse_money(text, chosen.currency, locale)
        return text

    return "work", asking.ask("The work done so far comes to", checked, default=amount)


@app.command()
def deliver(
    context: typer.Context,
    which: WhichCommission,
    on: On = None,
    all_done: Annotated[
        bool,
        typer.Option(
            "--all-done",
            help="Tick the steps that are open too: they were done, their hours are logged.",
        ),
    ] = False,
    yes: Yes = False,
) -> None:
    """Hand a commission over; asks first where steps, the quote or money are open.

    Hours of a stage teach your pace once its steps are ticked or skipped. With --on, the
    day of one that is delivered is put right.

    Examples:
      burnplan commission deliver C-0007 --on yesterday
      burnplan commission deliver C-0007 --all-done
    """
    studio, day = the_studio(context), given_date(context, on, past=True)
    found = commissions.show(studio, which)
    if found.delivered_on is not None and day is not None and not all_done:
        made = endings.correct_day(studio, found.code, day)
        return console.show(f"[code]{made.code}[/] was delivered {format_day(day)}")
    left = ", ".join(endings.left_open(studio, found.code, all_done=all_done))
    if left and not yes:
        asking.need_somebody(f"{found.code}: {left}", "Add --yes to deliver it all the same")
        asking.sure(f"Deliver {found.code} '{found.title}'? {left[0].upper()}{left[1:]}", yes)
        if not all_done and (lost := pace.unsettled(studio, found.code)) is not None:
            all_done = asking.agreed(shown_pace.asked(lost))
    made = endings.deliver(studio, found.code, day, all_done=all_done)
    console.show(f"[code]{made.code}[/] is delivered")
    if (lost := pace.unsettled(studio, found.code)) is not None:
        console.notice(shown_pace.teaches_nothing(lost))
    if made.balance > 0 and made.currency:
        owed = format_money(made.balance, made.currency, the_settings(context).locale)
        console.notice(f"{owed} is still owed")
    return None
