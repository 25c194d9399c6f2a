"""One job: its checklist beside its picture, zones, money and sessions."""

from textwrap import wrap
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from burnplan.desk.jobs.checklists import StepView
from burnplan.desk.studio.studio import Studio
from burnplan.reckon.checklist import Phase
from burnplan.units import format_hours, format_length, format_size
from burnplan.wood.species import species_or_own
from burnplan.workbench import drawing, gather
from burnplan.workbench.actions import bindings
from burnplan.workbench.drawing import BAD, EMBER, GOOD, NAME, SOFT, STRONG, WARN, Cell, money
from burnplan.workbench.halfblocks import Picture
from burnplan.workbench.listing import Lines, Listing, Rows
from burnplan.workbench.pages.page import WorkbenchPage

if TYPE_CHECKING:
    from decimal import Decimal

    from burnplan.desk.jobs.estimates import ZoneView
    from burnplan.desk.wood.ladders import LadderSettingsView

PHASES = {
    Phase.PREPARE: "Prepare the wood",
    Phase.TRANSFER: "Transfer the picture",
    Phase.BURN: "Burn",
    Phase.FINISH: "Finish",
    Phase.HANDOVER: "Hand over",
}
# More do not help at a glance; the command line lists them all.
_SESSIONS = 8
# The cells of a line beside the checklist where the terminal has 80.
_NARROWEST = 28


class JobPage(WorkbenchPage[gather.JobDetail]):
    """One job."""

    MAIN = "#steps"
    BINDINGS: ClassVar[list[BindingType]] = bindings("job")

    def __init__(self, studio: Studio, name: str) -> None:
        super().__init__(studio, name)
        self.code = ""
        self.job: gather.JobDetail | None = None
        self._now: gather.Now | None = None
        self._settings: LadderSettingsView | str = ""

    def compose(self) -> ComposeResult:
        """Lay out the checklist and, beside it, the facts."""
        yield Static(id="head")
        with Horizontal(id="sides"):
            with Vertical(id="todo"):
                yield Listing("Checklist", "No steps.", id="steps")
                yield Static(id="caution")
            with VerticalScroll(id="facts", can_focus=False):
                with Vertical():
                    yield Picture(id="picture")
                    yield Static(id="zones", classes="part")
                with Vertical(id="more"):
                    yield Static(id="money", classes="part")
                    yield Static(id="hours", classes="part")

    def on_mount(self) -> None:
        """Name the parts."""
        for part, title in (("zones", "Zones"), ("money", "Money"), ("hours", "Sessions")):
            self.query_one(f"#{part}").border_title = title

    @property
    def meant(self) -> str | None:
        """The job shown."""
        return self.code or None

    @property
    def step(self) -> StepView | None:
        """The step the cursor is on."""
        steps = self.job.steps if self.job else []
        return next((step for step in steps if str(step.number) == self.listing.key), None)

    def turn_to(self, code: str) -> None:
        """Turn to a job; until it is there, none is shown."""
        if code != self.code:
            self.code, self.job = code, None

    def look_up(self) -> gather.JobDetail:
        """Return all of the job."""
        return gather.job(self.studio, self.code)

    def give(self, now: gather.Now, found: gather.JobDetail) -> None:
        """Show it, unless another job was turned to meanwhile."""
        if found.commission.code != self.code:
            return
        another = self.job is None
        if another:
            self._settings = ""
            self.query_one(Picture).give(None)
            self.query_one("#facts").scroll_home(animate=False)
        self.job, self._now = found, now
        drawing.put(self.query_one("#head", Static), _head(now, found))
        self.give_steps(found.steps, another=another)
        self._show_zones()
        drawing.put(self.query_one("#money", Static), _money(now, found))
        drawing.put(self.query_one("#hours", Static), _sessions(found, self.studio))

    def give_settings(self, settings: "LadderSettingsView | str") -> None:
        """Show the settings of the zones, or why there are none."""
        self._settings = settings
        self._show_zones()

    def _show_zones(self) -> None:
        if self.job is not None and self._now is not None:
            zones = self.query_one("#zones", Static)
            drawing.put(zones, _zones(self._now, self.job, self._settings))

    def turn_facts(self) -> None:
        """Show what follows of the facts, or their beginning again after the end."""
        facts = self.query_one("#facts", VerticalScroll)
        if facts.scroll_offset.y >= facts.max_scroll_y:
            facts.scroll_home(animate=False)
        else:
            facts.scroll_page_down(animate=False)

    def give_steps(self, steps: list[StepView], *, another: bool = False) -> None:
        """Show the checklist; for another job the cursor goes to its first open step."""
        settled = sum(step.state != "open" for step in steps)
        self.listing.border_subtitle = f"{settled} of {len(steps)} settled"
        if self.job is not None:
            self.job.steps[:] = steps
        self.listing.give(lambda width: _checklist(steps, width))
        if another:
            first = next((step for step in steps if step.state == "open"), None)
            if first is not None:
                self.listing.lines.go_to(str(first.number))
                # Laid out first; then what is done last is above it, and what follows below.
                self.call_after_refresh(self.listing.lines.show_cursor, above=3)
        self._show_caution()

    def on_lines_moved(self, _: Lines.Moved) -> None:
        """Show what to mind at the step."""
        self._show_caution()

    def _show_caution(self) -> None:
        step, line = self.step, self.query_one("#caution", Static)
        line.display = step is not None and bool(step.caution) and step.state == "open"
        if step is not None:
            drawing.put(line, Content.assemble(("! ", STRONG), step.caution))


def _checklist(steps: list[StepView], width: int) -> Rows:
    """Return the steps under the names of their phases."""
    rows: list[tuple[str | None, Content]] = []
    for phase in Phase:
        of_phase = [step for step in steps if step.phase is phase]
        if not of_phase:
            continue
        done = f"  {sum(step.state != 'open' for step in of_phase)}/{len(of_phase)}"
        rows.append((None, Content.assemble((PHASES[phase], NAME), (done, SOFT))))
        rows += [(str(step.number), _step(step, width)) for step in of_phase]
    tall = [row.plain.count("\n") + 1 for _, row in rows]
    return Rows([key for key, _ in rows], lambda row: rows[row][1], tall)


def _step(step: StepView, width: int) -> Content:
    """Return a step wrapped under its own beginning."""
    style = SOFT if step.state != "open" else ""
    box = {"open": ("☐", STRONG), "ticked": ("☑", GOOD), "skipped": ("☒", SOFT)}[step.state]
    words = wrap(step.text, max(10, width - 3)) or [""]
    if step.skip_reason:
        words += wrap(f"skipped: {step.skip_reason}", max(10, width - 3))
    return Content.assemble(box, " ", ("\n  ".join(words), style))


def _head(now: gather.Now, job: gather.JobDetail) -> Content:
    one = job.commission
    shape = one.shape()
    state = "dropped" if one.dropped else "set aside" if one.paused else one.stage.value
    known = [
        one.client or "",
        format_size(shape, now.own.units) if shape else "no size yet",
        species_or_own(one.species).name.lower() if one.species else "no wood yet",
        one.blank or "",
        one.dropped or one.paused or "",
    ]
    parts: list[Cell | str] = [
        (f"{one.code}  ", SOFT), (one.title, STRONG), "   ", (f" {state} ", f"{EMBER} reverse"),
    ]  # fmt: skip
    if one.delivered_on:
        day, _ = drawing.due(one.delivered_on, now.today)
        parts += [("   handed over ", SOFT), day]
    elif one.due:
        day, style = drawing.due(one.due, now.today)
        parts += [("   due ", SOFT), (day, style)]
    parts.append(("\n" + " · ".join(part for part in known if part), SOFT))
    if one.note:
        parts.append((f"\n{one.note}", ""))
    for hazard in job.hazards:
        if hazard.blocks:
            parts.append((f"\n{hazard.reason}. {hazard.advice}", BAD))
    return Content.assemble(*parts)


def _zones(now: gather.Now, job: gather.JobDetail, settings: "LadderSettingsView | str") -> Content:
    reference = job.reference
    if reference is None:
        return Content.styled("No reference yet. Press r to add its photo.", SOFT)
    done = {step.zone for step in job.steps if step.zone and step.state != "open"}
    known = {} if isinstance(settings, str) else {one.zone: one for one in settings.zones}
    largest = max((one.setting for one in known.values()), default=0.0)
    places = 0 if largest >= 100 else 1 if largest >= 10 else 2
    lines = []
    for zone in reference.zones:
        parts = _zone(zone, done=zone.zone in done)
        if (setting := known.get(zone.zone)) is not None:
            reached = setting.reach == "reached"
            parts.append((drawing.fitted(f"{setting.setting:.{places}f}", 6, right=True), STRONG))
            parts.append(("" if reached else f" {setting.reach}", WARN))
        lines.append(Content.assemble(*parts))
    lines.append(_ladder(settings))
    total = reference.hours.total
    hours = f"{format_hours(total.p50)} … {format_hours(total.p80)}"
    drawn = reference.lines.firm_cm + reference.lines.light_cm
    lines.append(Content.assemble(("in all    ", SOFT), hours))
    lines.append(Content.assemble(("to trace  ", SOFT), _long(now, drawn)))
    return Content("\n").join(line for line in lines if line)


def _zone(zone: "ZoneView", *, done: bool) -> list[Cell]:
    full, rest = drawing.bar(zone.darkness, 8)
    return [
        ("✓", GOOD) if done else ("·", SOFT),
        (f" Z{zone.zone} ", STRONG),
        full,
        rest,
        (drawing.fitted(f"{zone.area_cm2:.0f} cm²", 9, right=True), ""),
    ]


def _ladder(settings: "LadderSettingsView | str") -> Content:
    """Return what the settings beside the zones are, and from which ladder."""
    if isinstance(settings, str):
        return Content.styled(settings, SOFT)
    parts = (settings.scale, settings.held, settings.tip, settings.ladder)
    return Content.styled(f"settings: {', '.join(part for part in parts if part)}", SOFT)


def _long(now: gather.Now, cm: float) -> str:
    """Return a long length in the studio's units."""
    return format_length(cm * 10, now.own.units) if cm < 100 else f"{cm / 100:.1f} m"


def _money(now: gather.Now, job: gather.JobDetail) -> Content:
    one = job.commission
    if one.quoted is None:
        return Content.styled("No quote yet. Press i to reckon one.", SOFT)

    def line(name: str, value: "Decimal", more: str = "", style: str = "") -> Content:
        amount = drawing.fitted(money(now, value, one.currency), 10, right=True)
        return Content.assemble(
            (drawing.fitted(name, 8), SOFT), (amount, style), (f" {more}", SOFT)
        )

    newest = job.quotes[-1]
    day = drawing.due(newest.valid_until, now.today)[0]
    held = next((quote for quote in job.quotes if quote.state == "accepted"), newest)
    lines = [line("quote", one.quoted, newest.state)]
    if newest.state == "open":
        lines.append(Content.styled(f"{'':8}until {day}", SOFT))
    if one.deposit:
        lines.append(line("deposit", one.deposit, "asked"))
    lines += [
        line(paid.kind, paid.amount, drawing.due(paid.paid_on, now.today)[0])
        for paid in job.payments
    ]
    what = "too much" if one.balance < 0 else "owed"
    lines.append(line(what, abs(one.balance), style=WARN if one.balance else GOOD))
    if held.chance is not None:
        target = money(now, now.own.hourly_target)
        lines.append(Content.styled(f"{100 * held.chance:.0f} % chance of {target} an hour", SOFT))
    return Content("\n").join(lines)


def _sessions(job: gather.JobDetail, studio: Studio) -> Content:
    if not job.sessions:
        return Content.styled("No sessions yet. Press c to start the clock.", SOFT)
    one = job.commission
    by_work = ", ".join(
        f"{work} {format_hours(h)}".replace(" ", "\N{NO-BREAK SPACE}")
        for work, h in one.hours_by_work.items()
    )
    lines = [
        Content.styled(format_hours(one.hours_done), STRONG),
        *(Content.styled(line, SOFT) for line in wrap(by_work, _NARROWEST)),
    ]
    for session in job.sessions[:_SESSIONS]:
        zone = f"Z{session.zone}" if session.zone else ""
        heat = session.heat and f"heat {session.heat}"
        lines.append(
            Content.assemble(
                (f"{studio.local(session.started_at):%d %b} ", SOFT),
                drawing.fitted(session.work, 9),
                drawing.fitted(zone, 3),
                (drawing.fitted(format_hours(session.hours), 8, right=True),
                 EMBER if session.state != "done" else ""),
            )
        )  # fmt: skip
        with_what = " · ".join(part for part in (session.tip, heat, session.note) if part)
        if with_what:
            lines.append(Content.styled(f"  {' '.join(with_what.split())}", SOFT))
    if len(job.sessions) > _SESSIONS:
        lines.append(Content.styled(f"and {len(job.sessions) - _SESSIONS} earlier ones", SOFT))
    return Content("\n").join(lines)
