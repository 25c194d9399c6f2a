"""Commissions: logged, changed, set aside, dropped, handed over."""

from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.desk.jobs import clients, commissions, endings
from burnplan.desk.jobs.commissions import CommissionView, Wishes
from burnplan.desk.studio import settings, typed_dates
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import planned_sessions
from burnplan.errors import BadInput
from burnplan.money import typed_money
from burnplan.reckon.checklist import Phase
from burnplan.reckon.stages import Stage
from burnplan.units import format_size
from burnplan.workbench.actions.action import Action, of_job, on_job, on_open_job, unless_closed
from burnplan.workbench.actions.wood.blanks import reopening
from burnplan.workbench.drawing import SOFT, STRONG, money
from burnplan.workbench.forms import Answers, Choice, Field, Form, chosen_of

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench

_USES = ("indoor", "outdoor", "food")


def _fields(bench: "Workbench") -> list[Field]:
    def names() -> tuple[str, ...]:
        return tuple(client.name for client in clients.everyone(bench.studio))

    return [
        Field("title", "Title", "what is burned"),
        Field("client", "Client", "a name; new ones are added", known=names),
        Field("size", "Size", bench.wording.own("30x40cm, round 25cm")),
        Field("species", "Wood", "basswood, cherry, …"),
        Field("due", "Due", "friday, in 3 weeks, 2027-05-01"),
        Field("use", "Use", "indoor, outdoor or food", "indoor", _USES),
        Field("note", "Note", "anything agreed"),
    ]


def _wishes(studio: Studio, answers: Answers, before: Answers) -> Wishes:
    """Return what was typed in; what was left as it was is not touched."""
    for name in ("title", "client", "size", "species", "use"):
        if before.get(name) and not answers[name]:
            what = "wood" if name == "species" else name
            raise BadInput(f"The {what} cannot be taken out", "Give another, or what it was")
    given = {n: text for n, text in answers.items() if text != before.get(n, "")}
    typed = {n: text for n, text in given.items() if text or n == "note"}
    if before.get("due") and not answers["due"]:
        typed["no_due"] = "yes"
    if "due" in typed:
        typed["due"] = typed_dates.day(studio, typed["due"]).isoformat()
    if "use" in typed:
        typed["use"] = chosen_of(_USES, typed["use"], "use")
    return Wishes.model_validate(typed)


def _say(bench: "Workbench", doubts: list[str]) -> None:
    for words in doubts:
        bench.say(words, mind=words.endswith("?"))


def new(bench: "Workbench") -> None:
    """Log a new commission."""

    def send(answers: Answers) -> tuple[CommissionView, list[str]]:
        wishes = _wishes(bench.studio, answers, {"use": "indoor"})
        doubts = commissions.doubts(bench.studio, wishes)
        doubts += commissions.cautions(bench.studio, wishes)
        return commissions.add(bench.studio, wishes), doubts

    def then(sent: tuple[CommissionView, list[str]]) -> None:
        made, doubts = sent
        bench.open_job(made.code)
        _say(bench, doubts)

    bench.ask(Form("New commission", _fields(bench), send, send="Log it"), then)


def edit(bench: "Workbench") -> None:
    """Change what is asked for."""
    job, now = bench.job, bench.now
    if job is None or now is None:
        return
    one = job.commission
    shape = one.shape()
    before = {
        "title": one.title,
        "client": one.client or "",
        "size": format_size(shape, now.own.units) if shape else "",
        "species": one.species or "",
        "due": str(one.due or ""),
        "use": one.use,
        "note": one.note,
    }

    def read(answers: Answers) -> tuple[Wishes, list[str], list[str]]:
        wishes = _wishes(bench.studio, answers, before)
        undone = commissions.undone_by(bench.studio, one.code, wishes)
        doubts = commissions.doubts(bench.studio, wishes)
        if not undone:
            commissions.edit(bench.studio, one.code, wishes)
        return wishes, undone, doubts

    def then(found: tuple[Wishes, list[str], list[str]]) -> None:
        wishes, undone, doubts = found
        if not undone:
            _say(bench, doubts)
            return
        reopening(
            bench,
            undone,
            lambda again: bench.do(
                lambda: commissions.edit(bench.studio, one.code, wishes, reopen=again),
                lambda _: _say(bench, doubts),
            ),
        )

    fields = [
        Field(field.name, field.label, field.hint, before[field.name], field.known)
        for field in _fields(bench)
    ]
    bench.ask(Form(f"{one.code}: what is asked for", fields, read, send="Change it"), then)


def set_aside(bench: "Workbench") -> None:
    """Set the job aside for a reason, or take it up again."""
    code, paused = bench.job_page.code, bench.job is not None and bench.job.commission.paused
    if paused:
        bench.do(lambda: _resumed(bench, code), bench.say)
        return
    reason = Field("reason", "Reason", "waiting for the client's photo, …")
    form = Form(
        f"Set {code} aside; it leaves the queue", [reason],
        lambda answers: commissions.pause(bench.studio, code, answers["reason"]),
        send="Set aside",
    )  # fmt: skip
    bench.ask(form)


def _resumed(bench: "Workbench", code: str) -> str:
    """Take a job up again; return that, and whether planned sessions are at one time now."""
    view = commissions.resume(bench.studio, code)
    other = planned_sessions.overlapping(bench.studio, code)
    overlap = "; sessions planned for it overlap others" if other else ""
    return f"'{view.title}' is taken up again{overlap}"


def drop(bench: "Workbench") -> None:
    """End a job that will not be made; ask what is owed where something was agreed or paid."""
    code = bench.job_page.code

    def ask(offers: list[endings.DropOffer]) -> None:
        now = bench.now
        if not offers or now is None:
            _drop(bench, code, None)
            return
        known = {one.terms: one for one in offers}
        choices = [
            (
                terms,
                Content.assemble(
                    (one.words, STRONG), (f"  {money(now, one.amount, one.currency)}", SOFT)
                ),
            )
            for terms, one in known.items()
        ]
        bench.choose(
            Choice(f"Drop {code}: what was agreed to be owed?", choices),
            lambda terms: _drop(bench, code, known[terms]),  # type: ignore[index]
        )

    bench.find(lambda: endings.drop_offers(bench.studio, code), ask)


def _drop(bench: "Workbench", code: str, agreed: endings.DropOffer | None) -> None:
    fields = [Field("reason", "Reason", "what the client said, …")]
    if agreed is not None and agreed.terms == "work":
        value = typed_money(agreed.amount, agreed.currency, settings.current(bench.studio).locale)
        fields.append(Field("amount", "It comes to", "its share of the price", value))

    def send(answers: Answers) -> CommissionView:
        terms = agreed.terms if agreed is not None else None
        amount = answers.get("amount") or None
        return endings.drop(bench.studio, code, answers["reason"], terms, amount)

    form = Form(
        f"Drop {code}: it will not be made, its blank is free again", fields, send, send="Drop it"
    )
    bench.ask(form, lambda view: bench.say(f"'{view.title}' is dropped; u takes it back"))


def deliver(bench: "Workbench") -> None:
    """Hand the piece over; ask first where something is open."""
    code = bench.job_page.code

    def ask(left: list[str]) -> None:
        if not left:
            _hand_over(bench, code)
            return
        choice = Choice(
            f"Hand {code} over? {', '.join(left)}", [("yes", Content("Hand it over all the same"))]
        )
        bench.choose(choice, lambda _: _hand_over(bench, code))

    bench.find(lambda: endings.left_open(bench.studio, code), ask)


def _hand_over(bench: "Workbench", code: str) -> None:
    now = bench.now

    def then(view: CommissionView) -> None:
        bench.say(f"'{view.title}' is handed over; u takes it back")
        if now is not None and view.balance > 0:
            bench.say(f"{money(now, view.balance, view.currency)} is still owed", mind=True)

    bench.do(lambda: endings.deliver(bench.studio, code), then)


def _not_ready(bench: "Workbench") -> str:
    """Return what is to be done before the piece of the job shown is ready."""
    job = bench.job
    if job is None or not job.open:
        return unless_closed("")(bench)
    before = (Phase.BURN, Phase.FINISH)
    left = [one.text for one in job.steps if one.state == "open" and one.phase in before]
    if not left:
        return ""
    more = f", and {len(left) - 1} more" if len(left) > 1 else ""
    return f"It is not ready yet. Open is: {left[0]}{more}"


ACTIONS = (
    Action("new", "New commission", "Log what a client asks for", new, key="n",
           short="New job"),
    Action("edit", "Edit commission", "Change what is asked for", edit, on_job,
           key="e", page="job"),
    Action("set_aside", "Set aside or take up again", "A job that waits leaves the queue",
           set_aside, on_open_job, key="o", page="job", why=unless_closed("")),
    Action("drop", "Drop commission", "It will not be made; with the reason", drop, on_open_job),
    Action("deliver", "Hand over", "The piece leaves the studio", deliver,
           of_job(lambda job: job.commission.stage is Stage.READY),
           key="d", short="Hand over", page="job", why=_not_ready, foremost=True),
)  # fmt: skip
