"""The pages: today, the open jobs, one job, blanks, clients."""

from datetime import date
from decimal import Decimal
from textwrap import wrap
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Digits, OptionList, Static

from burnplan.dates import format_date
from burnplan.desk.blanks import BlankView
from burnplan.desk.checklists import StepView
from burnplan.desk.clients import ClientView
from burnplan.desk.jobs import JobView
from burnplan.desk.settings import Settings
from burnplan.money import format_money
from burnplan.reckon.checklist import Phase
from burnplan.units import format_hours, format_length, format_size
from burnplan.wood.species import species_or_own
from burnplan.workbench import drawing, gather
from burnplan.workbench.drawing import BAD, EMBER, GOOD, SOFT, STRONG, WARN, Cell, Column
from burnplan.workbench.halfblocks import Picture
from burnplan.workbench.listing import Drawn, Line, Listing

if TYPE_CHECKING:
    from burnplan.desk.studio import Studio

PHASES = {
    Phase.PREPARE: "Prepare the wood",
    Phase.TRANSFER: "Transfer the picture",
    Phase.BURN: "Burn",
    Phase.FINISH: "Finish",
    Phase.HANDOVER: "Hand over",
}


def money(now: gather.Now, amount: Decimal, currency: str | None = None) -> str:
    """Return an amount as the studio writes it."""
    return format_money(amount, currency or now.own.currency, now.own.locale)


def facts(*pairs: tuple[str, Cell | str | None]) -> Content:
    """Return names with values beside them; pairs without a value are left out."""
    lines = []
    for name, value in pairs:
        text, style = value if isinstance(value, tuple) else (value or "", "")
        if text:
            lines.append(Content.assemble((drawing.fitted(name, 10), SOFT), (text, style)))
    return Content("\n").join(lines)


class TodayPage(Vertical):
    """The clock, what comes next, and the jobs at risk."""

    _given: tuple[gather.Jobs, date, Settings] | None = None

    def compose(self) -> ComposeResult:
        """Lay out the clock above the two lists."""
        with Horizontal(id="clock", classes="part") as clock:
            clock.border_title = "Clock"
            yield Digits("0:00:00")
            yield Static(id="doing")
        with Vertical(id="below"):
            yield Listing("Next", "No open jobs. Press n for a new commission.", id="next")
            yield Listing("Late or at risk", "Nothing is late or at risk.", id="risk")

    def tick_clock(self, now: gather.Now, studio: "Studio") -> None:
        """Show the clock as it stands."""
        digits = self.query_one(Digits)
        shown = drawing.on_clock(now.worked(studio.now()))
        if digits.value != shown:
            digits.update(shown)

    def give(self, now: gather.Now, found: gather.Jobs, studio: "Studio") -> None:
        """Show the day."""
        if (found, now.today, now.own) != self._given:
            self._given = found, now.today, now.own
            self._give_lists(now, found)
        self._give_clock(now, found, studio)
        self.tick_clock(now, studio)

    def _give_lists(self, now: gather.Now, found: gather.Jobs) -> None:
        def following(width: int) -> Drawn:
            return None, [_two_lines(job, now, width) for job in found.jobs if not job.paused]

        def at_risk(width: int) -> Drawn:
            risky = [job for job in found.jobs if _at_risk(job)]
            return None, [_risk_lines(job, now, width) for job in risky]

        self.query_one("#next", Listing).give(following)
        self.query_one("#risk", Listing).give(at_risk)

    def _give_clock(self, now: gather.Now, found: gather.Jobs, studio: "Studio") -> None:
        panel, doing, clock = self.query_one("#clock"), self.query_one("#doing", Static), now.clock
        panel.set_class(clock is not None and clock.state == "running", "running")
        panel.set_class(clock is not None and clock.state == "paused", "paused")
        if clock is not None:
            with_what = " · ".join(
                part
                for part in (clock.work, f"Z{clock.zone}" if clock.zone else "", clock.tip,
                             f"heat {clock.heat}" if clock.heat else "")
                if part
            )  # fmt: skip
            word = ("running", EMBER) if clock.state == "running" else ("paused", WARN)
            since = f" since {studio.local(clock.started_at):%H:%M}"
            doing.update(
                Content.assemble(
                    (clock.title, STRONG),
                    (f"  {clock.code}\n", SOFT),
                    f"{with_what}\n",
                    word,
                    (since, SOFT),
                )
            )
            return
        if found.planned:
            first = found.planned[0]
            when = f"{studio.local(first.starts_at):%H:%M}"
            doing.update(
                Content.assemble(
                    ("The clock stands still.\n", SOFT),
                    (f"Planned for {when}: ", SOFT),
                    (first.title, STRONG),
                    f"\n{first.work}, {format_hours(first.minutes / 60)}",
                )
            )
            return
        doing.update(
            Content.styled(
                "The clock stands still.\nChoose a job below and press c to start.", SOFT
            )
        )


def _at_risk(job: JobView) -> bool:
    return any(word in job.attention for word in ("late", "at risk", "expired", "not in"))


def _two_lines(job: JobView, now: gather.Now, width: int) -> Line:
    """Return a job as its title with its due date, and its next step under it."""
    due, style = drawing.due(job.due, now.today)
    title = drawing.fitted(job.title, max(8, width - 12))
    return job.code, Content.assemble(
        (title, STRONG), ("  ", ""), (drawing.fitted(due, 10, right=True), style),
        "\n", (drawing.fitted(f"  → {job.next_step}", width), SOFT),
    )  # fmt: skip


def _risk_lines(job: JobView, now: gather.Now, width: int) -> Line:  # noqa: ARG001
    return job.code, Content.assemble(
        (drawing.fitted(job.title, width), STRONG),
        "\n", (drawing.fitted(f"  {job.attention}", width), drawing.urgency(job)),
    )  # fmt: skip


_JOB_COLUMNS = (
    Column("job", 6, needs=60),
    Column("title", 14, grow=3),
    Column("client", 14, grow=1, needs=110),
    Column("stage", 11),
    Column("due", 11),
    Column("done", 7, right=True, needs=124),
    Column("left", 10, right=True, needs=92),
    Column("on time", 7, right=True),
    Column("owed", 10, right=True, needs=72),
    Column("next", 22, grow=3, needs=140),
)


class JobsPage(Vertical):
    """The open jobs, those that need attention first."""

    _given: tuple[gather.Jobs, date, Settings] | None = None

    def compose(self) -> ComposeResult:
        """Lay out the list."""
        yield Listing("Open jobs", "No open jobs. Press n for a new commission.", id="jobs-list")

    def give(self, now: gather.Now, found: gather.Jobs) -> None:
        """Show the jobs."""
        if (found, now.today, now.own) == self._given:
            return
        self._given = found, now.today, now.own

        def draw(width: int) -> Drawn:
            sizes = drawing.widths(_JOB_COLUMNS, width)
            lines = []
            for job in found.jobs:
                owed = money(now, job.balance, job.currency) if job.balance else "–"
                cells: list[Cell] = [
                    (job.code, SOFT),
                    (job.title, STRONG),
                    (job.client or "–", ""),
                    ("set aside" if job.paused else job.stage.value, SOFT if job.paused else ""),
                    drawing.due(job.due, now.today),
                    (format_hours(job.hours_done) if job.hours_done else "–", ""),
                    (drawing.left(job), ""),
                    drawing.chance(job.on_time),
                    (owed, ""),
                    (job.next_step, SOFT),
                ]
                lines.append((job.code, drawing.row(_JOB_COLUMNS, sizes, cells)))
            return drawing.headings(_JOB_COLUMNS, sizes), lines

        listing = self.query_one(Listing)
        listing.border_subtitle = f"{len(found.jobs)} open" if found.jobs else ""
        listing.give(draw)


class JobPage(Vertical):
    """One job: its checklist beside its picture, zones, money and sessions."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "app.tick", "Tick", key_display="␣"),
        Binding("x", "app.skip", "Skip"),
        Binding("r", "app.reference", "Photo"),
        Binding("h", "app.hold", "Wood"),
        Binding("i", "app.quote", "Quote"),
        Binding("a", "app.accept", "Agree"),
        Binding("p", "app.payment", "Pay"),
        Binding("d", "app.deliver", "Hand over"),
        Binding("e", "app.edit", "Edit", show=False),
        Binding("n", "app.new", "New", show=False),
        Binding("v", "app.picture", "Zones/picture", show=False),
    ]

    def __init__(self, *, id: str, classes: str) -> None:  # noqa: A002
        super().__init__(id=id, classes=classes)
        self.job: gather.Job | None = None

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
    def step(self) -> StepView | None:
        """The step the cursor is on."""
        key = self.query_one("#steps", Listing).key
        steps = self.job.steps if self.job else []
        return next((step for step in steps if str(step.number) == key), None)

    def give(self, now: gather.Now, job: gather.Job, studio: "Studio") -> None:
        """Show a job."""
        another = self.job is None or self.job.commission.code != job.commission.code
        self.job = job
        self.query_one("#head", Static).update(_job_head(now, job))
        self.give_steps(job.steps, another=another)
        self.query_one("#zones", Static).update(_zones(now, job))
        self.query_one("#money", Static).update(_money(now, job))
        self.query_one("#hours", Static).update(_sessions(job, studio))
        if another:
            self.query_one(Picture).give(None)
            self.query_one("#facts").scroll_home(animate=False)

    def give_steps(self, steps: list[StepView], *, another: bool = False) -> None:
        """Show the checklist; for another job the cursor goes to its first open step."""
        settled = sum(step.state != "open" for step in steps)
        listing = self.query_one("#steps", Listing)
        listing.border_subtitle = f"{settled} of {len(steps)} settled"

        def draw(width: int) -> Drawn:
            lines: list[Line] = []
            for phase in Phase:
                of_phase = [step for step in steps if step.phase is phase]
                if not of_phase:
                    continue
                done = sum(step.state != "open" for step in of_phase)
                lines.append(
                    (None, Content.assemble(PHASES[phase], (f"  {done}/{len(of_phase)}", SOFT)))
                )
                lines += [(str(step.number), _step(step, width)) for step in of_phase]
            return None, lines

        if another:
            listing.lines.highlighted = None
        listing.give(draw)
        if another:
            first = next((step for step in steps if step.state == "open"), None)
            if first is not None:
                listing.go_to(str(first.number))
                # After the list's own scrolling, which brings the cursor only just into view.
                self.call_after_refresh(self.call_after_refresh, _show_what_follows, listing)
        self._show_caution()

    def on_option_list_option_highlighted(self, _: OptionList.OptionHighlighted) -> None:
        """Show what to mind at the step."""
        self._show_caution()

    def _show_caution(self) -> None:
        step, line = self.step, self.query_one("#caution", Static)
        shown = step is not None and bool(step.caution) and step.state == "open"
        line.display = shown
        if step is not None:
            line.update(Content.assemble(("! ", STRONG), step.caution))


def _show_what_follows(listing: Listing) -> None:
    """Scroll so that the cursor has what is done last above it, and what follows below."""
    listing.lines.scroll_to_highlight(top=True)
    listing.lines.scroll_relative(y=-3, animate=False)


def _step(step: StepView, width: int) -> Content:
    """Return a step wrapped under its own beginning."""
    style = SOFT if step.state != "open" else ""
    box = {"open": ("☐", STRONG), "ticked": ("☑", GOOD), "skipped": ("☒", SOFT)}[step.state]
    words = wrap(step.text, max(10, width - 3)) or [""]
    if step.skip_reason:
        words += wrap(f"skipped: {step.skip_reason}", max(10, width - 3))
    return Content.assemble(box, " ", ("\n  ".join(words), style))


def _job_head(now: gather.Now, job: gather.Job) -> Content:
    one = job.commission
    shape = one.shape()
    state = "dropped" if one.dropped else "set aside" if one.paused else one.stage.value
    known = [
        one.client or "",
        format_size(shape, now.own.units) if shape else "no size yet",
        species_or_own(one.species).name.lower() if one.species else "no wood yet",
        one.blank or "",
    ]
    parts: list[Cell | str] = [
        (f"{one.code}  ", SOFT), (one.title, STRONG), "   ", (f" {state} ", f"{EMBER} reverse"),
    ]  # fmt: skip
    if one.due:
        day, style = drawing.due(one.due, now.today)
        parts += [("   due ", SOFT), (day, style)]
    parts.append(("\n" + " · ".join(part for part in known if part), SOFT))
    return Content.assemble(*parts)


def _zones(now: gather.Now, job: gather.Job) -> Content:
    reference = job.reference
    if reference is None:
        return Content.styled("No reference yet. Press r to add its photo.", SOFT)
    done = {step.zone for step in job.steps if step.zone and step.state != "open"}
    lines = []
    for zone in reference.zones:
        mark = ("✓", GOOD) if zone.zone in done else ("·", SOFT)
        full, rest = drawing.bar(zone.darkness, 8)
        area = drawing.fitted(f"{zone.area_cm2:.0f} cm²", 8, right=True)
        lines.append(Content.assemble(mark, (f" Z{zone.zone} ", STRONG), full, rest, f" {area}"))
    total = reference.hours.total
    lines.append(
        Content.assemble(
            ("in all ", SOFT),
            f"{format_hours(total.p50)} … {format_hours(total.p80)}",
            ("\nlines  ", SOFT),
            format_length_cm(now, reference.lines.firm_cm + reference.lines.light_cm),
        )
    )
    return Content("\n").join(lines)


def format_length_cm(now: gather.Now, cm: float) -> str:
    """Return a long length in the studio's units."""
    return format_length(cm * 10, now.own.units) if cm < 100 else f"{cm / 100:.1f} m"


def _money(now: gather.Now, job: gather.Job) -> Content:
    one = job.commission
    if one.quoted is None:
        return Content.styled("No quote yet. Press i to reckon one.", SOFT)

    def amount(value: Decimal) -> str:
        return drawing.fitted(money(now, value, one.currency), 11, right=True)

    newest = job.quotes[-1]
    state = {"open": f"open until {format_date(newest.valid_until, now.today)}"}.get(
        newest.state, newest.state
    )
    held = next((q for q in job.quotes if q.state == "accepted"), newest)
    chance = f"{held.chance:.0%} chance to earn {money(now, now.own.hourly_target)} an hour"
    lines = [
        Content.assemble(("quote     ", SOFT), amount(one.quoted), f"  {state}"),
        *(
            [Content.assemble(("deposit   ", SOFT), amount(one.deposit), "  asked")]
            if one.deposit
            else []
        ),
        *(
            Content.assemble(
                (drawing.fitted(paid.kind, 10), SOFT), amount(paid.amount),
                (f"  received {format_date(paid.paid_on, now.today)}", SOFT),
            )
            for paid in job.payments
        ),
        Content.assemble(
            ("owed      ", SOFT), (amount(one.balance), WARN if one.balance > 0 else GOOD)
        ),
        Content.styled(chance, SOFT),
    ]  # fmt: skip
    return Content("\n").join(lines)


def _sessions(job: gather.Job, studio: "Studio") -> Content:
    if not job.sessions:
        return Content.styled("No sessions yet. Press c to start the clock.", SOFT)
    one = job.commission
    by_work = "  ".join(f"{work} {format_hours(h)}" for work, h in one.hours_by_work.items())
    lines = [Content.assemble((format_hours(one.hours_done), STRONG), (f"  {by_work}", SOFT))]
    for session in job.sessions[:8]:
        zone = f"Z{session.zone}" if session.zone else ""
        style = EMBER if session.state != "done" else ""
        lines.append(
            Content.assemble(
                (f"{studio.local(session.started_at):%d %b}  ", SOFT),
                drawing.fitted(session.work, 9),
                drawing.fitted(zone, 3),
                (drawing.fitted(format_hours(session.hours), 8, right=True), style),
            )
        )
    if len(job.sessions) > 8:
        lines.append(Content.styled(f"and {len(job.sessions) - 8} earlier ones", SOFT))
    return Content("\n").join(lines)


_BLANK_COLUMNS = (
    Column("blank", 6),
    Column("wood", 12, grow=2),
    Column("size", 16),
    Column("thick", 7, right=True, needs=84),
    Column("grit", 5, right=True),
    Column("state", 14),
    Column("cost", 9, right=True, needs=96),
    Column("place", 8, grow=1, needs=110),
)


class BlanksPage(Horizontal):
    """The blanks in stock and held."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("b", "app.new_blank", "New blank"),
        Binding("h", "app.hold", "Hold"),
    ]

    def compose(self) -> ComposeResult:
        """Lay out the list and the blank the cursor is on."""
        with Vertical(classes="sides"):
            yield Listing("Blanks", "No blanks in stock. Press b to add one.", id="blanks-list")
            yield Static(id="blank", classes="part detail")

    def on_mount(self) -> None:
        """Begin empty."""
        self._now: gather.Now | None = None
        self._blanks: dict[str, BlankView] = {}

    def give(self, now: gather.Now, found: list[BlankView]) -> None:
        """Show the blanks."""
        self._now, self._blanks = now, {blank.code: blank for blank in found}

        def draw(width: int) -> Drawn:
            sizes = drawing.widths(_BLANK_COLUMNS, width)
            lines = []
            for one in found:
                held = one.held_for is not None
                blocked = any(hazard.blocks for hazard in one.hazards)
                state = f"{one.state} {one.held_for or ''}".strip()
                cells: list[Cell] = [
                    (one.code, SOFT),
                    (one.species_name, STRONG),
                    (format_size(one.shape(), now.own.units), ""),
                    (_thickness(one, now), ""),
                    (str(one.grit or "–"), ""),
                    (state, BAD if blocked else SOFT if held else GOOD),
                    (money(now, one.cost) if one.cost else "", ""),
                    (one.location, SOFT),
                ]
                lines.append((one.code, drawing.row(_BLANK_COLUMNS, sizes, cells)))
            return drawing.headings(_BLANK_COLUMNS, sizes), lines

        self.query_one(Listing).give(draw)
        self._show_one()

    def on_option_list_option_highlighted(self, _: OptionList.OptionHighlighted) -> None:
        """Show the blank the cursor is on."""
        self._show_one()

    def _show_one(self) -> None:
        one, now = self._blanks.get(self.query_one(Listing).key or ""), self._now
        panel = self.query_one("#blank", Static)
        panel.display = one is not None
        if one is None or now is None:
            return
        panel.border_title = one.code
        panel.update(
            facts(
                ("wood", (one.species_name, STRONG)),
                ("size", f"{format_size(one.shape(), now.own.units)}  {_thickness(one, now)}"),
                ("held for", one.held_for),
                ("moisture", f"{one.moisture:g} %" if one.moisture is not None else None),
                ("blocked", ("; ".join(h.in_words() for h in one.hazards if h.blocks), BAD)),
                ("caution", ("; ".join(h.in_words() for h in one.hazards if not h.blocks), WARN)),
                ("to do", "; ".join(one.sanding_left) or "ready to transfer"),
                ("note", one.note),
            )
        )


def _thickness(one: BlankView, now: gather.Now) -> str:
    return format_length(one.thickness_mm, now.own.units) if one.thickness_mm else ""


_CLIENT_COLUMNS = (
    Column("client", 16, grow=2),
    Column("e-mail", 20, grow=2),
    Column("phone", 14, grow=1, needs=90),
    Column("commissions", 11, right=True),
)


class ClientsPage(Vertical):
    """The clients."""

    def compose(self) -> ComposeResult:
        """Lay out the list."""
        yield Listing(
            "Clients", "No clients yet. They are added with their first commission.",
            id="clients-list",
        )  # fmt: skip

    def give(self, found: list[ClientView]) -> None:
        """Show the clients."""

        def draw(width: int) -> Drawn:
            sizes = drawing.widths(_CLIENT_COLUMNS, width)
            lines = []
            for one in found:
                cells: list[Cell] = [
                    (one.name, STRONG),
                    (one.email or "–", ""),
                    (one.phone or "–", ""),
                    (str(one.commissions), ""),
                ]
                lines.append((one.name, drawing.row(_CLIENT_COLUMNS, sizes, cells)))
            return drawing.headings(_CLIENT_COLUMNS, sizes), lines

        self.query_one(Listing).give(draw)
