"""Blanks: put in stock, held, released, and what is the matter with them."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from textual.content import Content

from burnplan.cleaned import cleaned
from burnplan.desk.derived.hazards_found import HazardView
from burnplan.desk.jobs import commissions, holding
from burnplan.desk.time import planned_sessions
from burnplan.desk.wood import blanks, hazards, outlines, own_species
from burnplan.desk.wood.blanks import BlankChange, BlankView, NewBlank
from burnplan.errors import BadInput
from burnplan.money import typed_money
from burnplan.units import UnitSystem, format_length, format_size
from burnplan.wood.hazards import Condition
from burnplan.workbench import drawing, gather
from burnplan.workbench.actions.action import Action, of_job, on_job, on_open_job, unless_closed
from burnplan.workbench.actions.jobs.reference import photo_at
from burnplan.workbench.drawing import BAD, SOFT, STRONG
from burnplan.workbench.forms import Answers, Choice, Field, Files, Form, chosen_of, whole_number
from burnplan.workbench.outline_table import Corners, OutlineTable

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench

T = TypeVar("T")

_SHEETS = ("a4", "a5", "letter", "half-letter", "card")

_CONDITIONS = tuple(Condition)


def new_blank(bench: "Workbench") -> None:
    """Put a blank in stock."""
    _new_blank(bench, "New blank", lambda made: bench.say(f"{made.code} is in stock"))


def _new_blank(
    bench: "Workbench", title: str, done: Callable[[BlankView], object],
    species: str = "", size: str = "",
) -> None:  # fmt: skip
    fields = [
        Field("species", "Wood", "basswood, cherry, …", species),
        Field("size", "Size", bench.wording.own("30x40cm, round 25cm"), size),
        Field("thickness", "Thickness", bench.wording.own("18mm")),
        Field("cost", "Cost", "an amount"),
        Field("grit", "Grit reached", "rough if empty"),
        Field("location", "Place", "where it lies"),
        Field("note", "Note", "grain, knots, …"),
    ]

    def send(answers: Answers) -> tuple[BlankView, str]:
        given: dict[str, object] = {name: text for name, text in answers.items() if text}
        if answers["grit"]:
            given["grit"] = whole_number(answers["grit"], "the grit", 20, 5000)
        for name, what in (("species", "wood"), ("size", "size")):
            if not answers[name]:
                raise BadInput(f"Its {what} is missing", "Give it; the rest can wait")
        doubt = own_species.doubt(bench.studio, answers["species"])
        return blanks.add(bench.studio, NewBlank.model_validate(given)), doubt

    def then(found: tuple[BlankView, str]) -> None:
        made, doubt = found
        done(made)
        if doubt:
            bench.say(doubt, mind=True)

    bench.ask(Form(title, fields, send, send="Put in stock"), then)


def edit(bench: "Workbench") -> None:
    """Put right what is on record of the blank the cursor is on."""
    blank, now = bench.blank, bench.now
    if blank is None or now is None:
        return
    own = now.own
    thick = format_length(blank.thickness_mm, own.units) if blank.thickness_mm else ""
    before = {
        "species": blank.species,
        "size": format_size(blank.shape(), own.units),
        "thickness": thick,
        "cost": typed_money(blank.cost, own.currency, own.locale) if blank.cost else "",
        "location": blank.location,
        "note": blank.note,
    }
    labels = ("Wood", "Size", "Thickness", "Cost", "Place", "Note")
    fields = [
        Field(name, label, "", value)
        for label, (name, value) in zip(labels, before.items(), strict=True)
    ]

    def send(answers: Answers) -> str:
        given = {name: text for name, text in answers.items() if text != before[name]}
        if given:
            blanks.edit(bench.studio, blank.code, BlankChange.model_validate(given))
        return own_species.doubt(bench.studio, given["species"]) if given.get("species") else ""

    def then(doubt: str) -> None:
        if doubt:
            bench.say(doubt, mind=True)

    bench.ask(Form(f"{blank.code}: what is on record", fields, send, send="Change it"), then)


def hold(bench: "Workbench") -> None:
    """Hold a blank for the job shown, or the blank the cursor is on for a job."""
    if bench.job is not None:
        code = bench.job.commission.code
        bench.find(
            lambda: gather.stock(bench.studio),
            lambda found: _choose_blank(
                bench, f"Hold a blank for {code}", found, lambda blank: _hold(bench, blank, code),
                lambda: _new_for(bench, code),
            ),
        )  # fmt: skip
    elif (blank := bench.blank) is not None:
        bench.find(
            lambda: commissions.everything(bench.studio, closed=False),
            lambda found: _choose_job(bench, blank, found),
        )  # fmt: skip


def _new_for(bench: "Workbench", code: str) -> None:
    """Put a blank in stock for the job shown, and hold it."""
    job, now = bench.job, bench.now
    if job is None or now is None:
        return
    one = job.commission
    shape = one.shape()
    size = format_size(shape, now.own.units) if shape is not None else ""
    _new_blank(
        bench, f"A new blank, held for {code}", lambda made: _hold(bench, made, code),
        one.species or "", size,
    )  # fmt: skip


def _choose_blank(
    bench: "Workbench",
    title: str,
    found: list[BlankView],
    then: Callable[[BlankView], None],
    new: Callable[[], None] | None = None,
) -> None:
    """Choose one that is in stock, or put another there; that at once where there is none."""
    free = {blank.code: blank for blank in found if blank.state == "in stock"}
    if not free and new is not None:
        new()
        return
    if not free:
        bench.say("No blank is in stock. Go to 3 Blanks and press b to add one")
        return
    choices = [(code, _blank_line(blank, bench.now)) for code, blank in free.items()]
    if new is not None:
        choices.append(("", Content("Put another one in stock")))

    def chosen(code: str) -> None:
        if code:
            then(free[code])
        elif new is not None:
            new()

    bench.choose(Choice(title, choices), chosen)


def _choose_job(
    bench: "Workbench", blank: BlankView, found: list[commissions.CommissionView]
) -> None:
    choices = [
        (one.code, Content.assemble((f"{one.code}  ", SOFT), (one.title, STRONG)))
        for one in found
        if one.blank is None
    ]
    if not choices:
        bench.say("No open job is without a blank")
        return
    bench.choose(Choice(f"Hold {blank.code} for", choices), lambda job: _hold(bench, blank, job))


def _hold(bench: "Workbench", blank: BlankView, job: str) -> None:
    """Hold a blank for a job; ask first about steps that this undoes, and about hazards."""

    def put(reopen: bool) -> None:
        _on_blank(
            bench, blank,
            lambda why: holding.hold(bench.studio, blank.code, job, override=why, reopen=reopen),
            lambda view: bench.say(f"{view.code} is held for {view.held_for}"),
        )  # fmt: skip

    bench.find(
        lambda: holding.beforehand(bench.studio, blank.code, job).steps,
        lambda steps: reopening(bench, steps, put),
    )


def reopening(bench: "Workbench", steps: list[str], then: Callable[[bool], object]) -> None:
    """Ask whether steps that a change undoes are opened again, where there are any."""
    if not steps:
        then(False)
        return
    what = f"'{steps[0]}'" if len(steps) == 1 else f"{len(steps)} steps, from '{steps[0]}' on"
    choices = [
        ("open", Content("Open what is undone again")),
        ("keep", Content("It stays ticked")),
    ]

    def chosen(key: str) -> None:
        then(key == "open")

    bench.choose(Choice(f"This undoes {what}", choices), chosen)


def _on_blank(
    bench: "Workbench",
    blank: BlankView,
    do: Callable[[str | None], T],
    then: Callable[[T], None],
) -> None:
    """Do something that puts a job on a blank; one that must not be burned needs a reason."""
    blocking = [hazard for hazard in blank.hazards if hazard.blocks]
    if blocking:
        bench.ask(_override_form(blank.code, blocking, do), then)
    else:
        bench.do(lambda: do(None), then)


def restart(bench: "Workbench") -> None:
    """Begin the piece of the job shown again on another blank."""
    code = bench.job_page.code

    def begun(blank: BlankView, why: str, safe: str | None) -> str:
        planned = planned_sessions.since(bench.studio, bench.studio.now())
        view = holding.restart(bench.studio, code, blank.code, why, override=safe)
        out = any(one.code == code for one in planned)
        more = "; sessions planned for the piece before are taken out" if out else ""
        return f"{view.code} begins again on {view.blank}{more}; u takes it back"

    def on(blank: BlankView, why: str) -> None:
        _on_blank(
            bench, blank, lambda safe: begun(blank, why, safe), bench.say,
        )  # fmt: skip

    def ask(blank: BlankView) -> None:
        form = Form(
            f"{code} begins again on {blank.code}; its hours so far are the spoiled piece's",
            [Field("reason", "What happened", "scorched, split, …")],
            lambda answers: cleaned(answers["reason"], "reason"),
            send="Begin again",
        )
        bench.ask(form, lambda why: on(blank, why))

    bench.find(
        lambda: gather.stock(bench.studio),
        lambda found: _choose_blank(bench, f"Begin {code} again on", found, ask),
    )


def _override_form(code: str, blocking: list[HazardView], do: Callable[[str], Any]) -> Form:
    """Ask for the reason to burn a blank that must not be; the hazard is said first."""
    return Form(
        f"{code} must not be burned",
        [Field("reason", "It is safe because", "esc to choose another blank")],
        lambda answers: do(answers["reason"]),
        send="Set the hazard aside",
        warning=". ".join(hazard.in_words() for hazard in blocking),
    )


def override(bench: "Workbench") -> None:
    """Set aside what blocks the blank of the job shown, with the reason."""
    job = bench.job
    if job is not None and job.commission.blank is not None:
        code = job.commission.blank
        blocking = [hazard for hazard in job.hazards if hazard.blocks]
        bench.ask(
            _override_form(code, blocking, lambda why: hazards.override(bench.studio, code, why)),
            lambda _: bench.say(f"The hazard of {code} is set aside for this job"),
        )


def release(bench: "Workbench") -> None:
    """Let the blank of the job, or the one the cursor is on, go back to stock."""
    code = _held(bench)
    if code is not None:
        bench.do(
            lambda: holding.release(bench.studio, code),
            lambda view: bench.say(f"{view.code} is back in stock"),
        )


def matter(bench: "Workbench") -> None:
    """Put on record what is the matter with the blank the cursor is on."""
    blank = bench.blank
    if blank is None:
        return
    code = blank.code
    fields = [
        Field("kind", "It is", "treated, painted, mdf, plywood, spalted, …", known=_CONDITIONS),
        Field("note", "Note", "how it was found out"),
    ]
    bench.ask(
        Form(
            f"What is the matter with {code}", fields,
            lambda answers: hazards.note(bench.studio, code, [answers["kind"]], answers["note"]),
            send="Note it",
        )
    )  # fmt: skip


def outline(bench: "Workbench") -> None:
    """Find the outline of the blank the cursor is on in a photo, and show it."""
    blank = bench.blank
    if blank is None:
        return
    code = blank.code
    fields = [
        Field("photo", "Photo", "of all the wood, from above; paste or drop it", known=Files()),
        Field("sheet", "Sheet on it", "a4, a5, letter, half-letter or card", "a5", known=_SHEETS),
    ]

    def checked(answers: Answers) -> tuple[Path, str]:
        sheet = chosen_of(_SHEETS, answers["sheet"], "sheet")
        return photo_at(answers["photo"]), sheet

    def look(given: tuple[Path, str]) -> None:
        path, sheet = given
        bench.long(
            lambda stopper: outlines.find(
                bench.studio, code, path, outlines.ByPhoto(sheet=sheet), stopper
            ),
            lambda _: _put_right(bench, code),
            writes=True,
        )

    bench.ask(Form(f"The outline of {code}", fields, checked, send="Find it"), look)


def put_right(bench: "Workbench") -> None:
    """Put the outline of the blank the cursor is on right by hand, over its photo."""
    if bench.blank is not None:
        _put_right(bench, bench.blank.code)


def _put_right(bench: "Workbench", code: str) -> None:
    def found(shown: "outlines.InPhoto | None") -> None:
        if shown is None:
            bench.say(f"No photo shows the outline of {code}: ctrl+p, Outline by photo", mind=True)
            return
        units = bench.now.own.units if bench.now else UnitSystem.METRIC

        def kept(corners: "Corners | None") -> None:
            if corners is not None:
                bench.do(
                    lambda: outlines.correct(bench.studio, code, corners),
                    lambda view: bench.say(f"The outline of {view.code} is put right"),
                )

        bench.push_screen(OutlineTable(shown, units), kept)

    bench.find(lambda: outlines.in_photo(bench.studio, code), found)


def _blank_line(blank: BlankView, now: "gather.Now | None") -> Content:
    size = format_size(blank.shape(), now.own.units) if now else ""
    blocked = any(hazard.blocks for hazard in blank.hazards)
    return Content.assemble(
        (f"{blank.code}  ", SOFT), (drawing.fitted(blank.species_name, 18), STRONG),
        drawing.fitted(size, 18), ("must not be burned" if blocked else "", BAD),
    )  # fmt: skip


def _held(bench: "Workbench") -> str | None:
    """Return the held blank that is meant: that of the job, or the one the cursor is on."""
    if bench.job is not None:
        return bench.job.commission.blank if bench.job.open else None
    blank = bench.blank
    return blank.code if blank is not None and blank.held_for else None


def _holdable(bench: "Workbench") -> bool:
    if on_job(bench):
        return on_open_job(bench) and _held(bench) is None
    return bench.blank is not None and bench.blank.held_for is None


_blocked = of_job(
    lambda job: job.commission.blank is not None and any(one.blocks for one in job.hazards)
)

ACTIONS = (
    Action("hold", "Hold a blank", "Hold wood for a job", hold, _holdable,
           key="h", short="Wood", page="job",
           why=unless_closed("A blank is held already; ctrl+p, Release")),
    Action("new_blank", "New blank", "Put wood in stock", new_blank,
           key="b", short="New blank", page="blanks"),
    Action("edit_blank", "Edit blank", "What is on record of the one the cursor is on", edit,
           lambda bench: bench.blank is not None, key="e", short="Edit", page="blanks"),
    Action("hold_for", "Hold for a job", "The blank the cursor is on", hold,
           lambda bench: not on_job(bench) and _holdable(bench),
           key="h", short="Hold", page="blanks", why="It is held already; r releases it"),
    Action("release", "Release a blank", "It goes back to stock", release,
           lambda bench: _held(bench) is not None, key="r", short="Release", page="blanks"),
    Action("restart", "Begin again on another blank",
           "The piece is ruined; its hours stay on record", restart, on_open_job),
    Action("matter", "Note what is the matter", "Treated, painted, plywood, spalted: what must"
           " not be burned, or needs care", matter, lambda bench: bench.blank is not None,
           key="m", short="Fault", page="blanks"),
    Action("outline", "Outline by photo", "Find it in a photo with a sheet of paper on the wood",
           outline, lambda bench: bench.blank is not None and bench.blank.held_for is None,
           key="o", short="Outline", page="blanks", why="It is held; r releases it"),
    Action("put_right", "Put an outline right", "By hand, over the photo it was found in",
           put_right, lambda bench: bench.blank is not None and bench.blank.held_for is None),
    Action("override", "Set a hazard aside", "Say why its blocked blank is safe for this job",
           override, _blocked),
)  # fmt: skip
