"""The bench: the clock, and the day's work in the order in which `burnplan today` says it."""

from collections.abc import Callable, Iterator
from typing import NamedTuple, Protocol, TypeVar

from rich.cells import cell_len
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Digits, Static

from burnplan.desk.jobs.review import PHOTO_OPEN, JobView
from burnplan.desk.jobs.sessions import SessionView
from burnplan.desk.time.planned_sessions import PlannedView
from burnplan.desk.time.today import TodayView
from burnplan.units import format_hours
from burnplan.workbench import drawing
from burnplan.workbench.drawing import BAD, EMBER, NAME, SOFT, STRONG, WARN, money
from burnplan.workbench.gather import Jobs, Now
from burnplan.workbench.holding import Across, Down
from burnplan.workbench.listing import Listing, Rows
from burnplan.workbench.slip import JobSlip, PageWithSlip
from burnplan.zone_names import zone_mark


class TodayPage(PageWithSlip[Jobs]):
    """The clock, and what to do today: planned, next, coats, money, what to look after."""

    MAIN = "#day"

    _given: tuple[object, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay out the clock above the day, and beside that the job the cursor is on."""
        with Across(id="clock", classes="part") as clock:
            clock.border_title = "Clock"
            yield Digits("0:00:00")
            yield Static(id="doing")
        with Down(classes="sides"):
            none = (
                "Nothing waits. Press n for a new commission; 4 has each client's jobs, those"
                " handed over too.\n\n"
                "So a job goes, each by its key: n log it, r add its photo or y lay that out,"
                " i reckon a quote, a agreed, p the deposit, h its wood, space tick its steps,"
                " c the clock, w sheets and invoice, d hand it over.\n\n"
                "? shows the keys of a page; ctrl+p finds everything, settings too."
            )
            yield Listing("The day", none, id="day")
            yield JobSlip(id="day-slip")

    def look_up(self) -> Jobs:
        """Return the open jobs and the day."""
        return self.bench.open_jobs()

    @property
    def meant(self) -> str | None:
        """The job the cursor is on."""
        key = self.listing.key
        return None if key is None else job_of(key)

    def tick_clock(self, now: Now) -> None:
        """Show the clock as it stands."""
        digits = self.query_one(Digits)
        shown = drawing.on_clock(now.worked(self.studio.now()))
        if digits.value != shown:
            digits.update(shown)

    def give(self, now: Now, found: Jobs) -> None:
        """Show the day; at first the cursor stands on what should be done now."""
        first = not self._given
        if (found, now.today) != self._given:
            self._given = found, now.today
            lines = [*self._lines(now, found.day)]
            self.listing.border_subtitle = _in_short(found.day)
            self.listing.give(lambda width: _rows(lines, width))
            if first and (due := _due_now(found.day)):
                self.listing.lines.go_to(due)
        panel, doing = self.query_one("#clock"), self.query_one("#doing", Static)
        state = now.clock.state if now.clock else ""
        panel.set_class(state == "running", "running")
        panel.set_class(state == "paused", "paused")
        said = self._at_work(now.clock) if now.clock else self._at_rest(found)
        drawing.put(doing, said, layout=False)
        self.tick_clock(now)
        self.show_slip(now)

    def _at_work(self, clock: SessionView) -> Content:
        zone, heat = (
            zone_mark(clock.zone) if clock.zone else "",
            clock.heat and f"heat {clock.heat}",
        )
        doing = " · ".join(part for part in (clock.work, zone, clock.tip, heat) if part)
        return Content.assemble(
            (clock.title, STRONG),
            (f"  {clock.code}\n", SOFT),
            f"{doing}\n",
            ("running", EMBER) if clock.state == "running" else ("paused", WARN),
            (f" since {self.studio.local(clock.started_at):%H:%M}", SOFT),
        )

    def _at_rest(self, found: Jobs) -> Content:
        if not found.day.planned:
            to_do = "Choose a job below and press c to start it." if found.jobs else ""
            return Content.styled(f"The clock stands still.\n{to_do}", SOFT)
        first = found.day.planned[0]
        return Content.assemble(
            ("The clock stands still.\n", SOFT),
            (f"Planned for {self.studio.local(first.starts_at):%H:%M}: ", SOFT),
            (first.title, STRONG),
            f"\n{first.doing}, {format_hours(first.minutes / 60)}",
        )

    def _lines(self, now: Now, day: TodayView) -> Iterator["_Line"]:
        """Yield the lines of the day, in the order of :class:`TodayView`."""
        yield from _under("Not to be burned", "blocked", day.blocked, _to_mind)
        yield from _under("Planned", "planned", day.planned, self._planned)
        yield from _under("In order of work", "next", day.next, lambda job: _next(job, now))
        yield from _under("Not booked yet", "enquiries", day.enquiries, lambda job: _next(job, now))
        yield from _under(
            "Coats", "coats", day.coats, lambda coat: ((coat.summary, ""), ("", ""), "")
        )
        yield from _under("Money", "money", day.money, lambda job: _owed(job, now))
        yield from _under("To look after", "risk", day.risk, _to_mind)
        yield from _under("To ask for", "photos", day.photos, _to_ask)

    def _planned(self, one: PlannedView) -> "_Said":
        at = f"{self.studio.local(one.starts_at):%H:%M}  {one.title}"
        return (at, STRONG), (format_hours(one.minutes / 60), ""), f"       {one.doing}"


class _OfJob(Protocol):
    """Something about a job."""

    code: str


T = TypeVar("T", bound=_OfJob)
# What a line says: what it is about, at its end, and beneath.
_Said = tuple[tuple[str, str], tuple[str, str], str]


class _Line(NamedTuple):
    """A line of the day, or a heading, which has no key."""

    key: str | None
    said: _Said


def job_of(key: str) -> str:
    """Return the job that a line of the day is about."""
    return key.rpartition(" ")[2]


def _under(heading: str, name: str, found: list[T], said: Callable[[T], _Said]) -> Iterator[_Line]:
    if found:
        yield _Line(None, ((heading, NAME), ("", ""), ""))
    for number, one in enumerate(found):
        yield _Line(f"{name} {number} {one.code}", said(one))


def _to_mind(job: JobView) -> _Said:
    return (job.title, STRONG), (job.code, SOFT), f"! {job.attention}"


def _to_ask(job: JobView) -> _Said:
    return (job.title, STRONG), (job.code, SOFT), f"! {PHOTO_OPEN}"


def _next(job: JobView, now: Now) -> _Said:
    due, style = drawing.due(job.due, now.today)
    return (job.title, STRONG), (due, style), f"→ {job.next_step}"


def _owed(job: JobView, now: Now) -> _Said:
    owed = money(now, abs(job.balance), job.currency)
    return (job.title, STRONG), (owed, WARN), now.own.wording.own(job.money_why)


def _due_now(day: TodayView) -> str | None:
    """Return the line of what should be done now: what is planned, else the next job's."""
    if day.planned:
        return f"planned 0 {day.planned[0].code}"
    for name, found in (("next", day.next), ("enquiries", day.enquiries)):
        if found:
            return f"{name} 0 {found[0].code}"
    return None


def _in_short(day: TodayView) -> str:
    """Return whether anything is late, as far as can be said."""
    unknown = sum(job.due is not None and job.on_time is None for job in day.next)
    said = [f"{len(day.risk)} late or at risk"] if day.risk else []
    if unknown:
        said.append(f"{unknown} without hours")
    return ", ".join(said) or ("nothing late or at risk" if day.next else "")


def _rows(lines: list[_Line], width: int) -> Rows:
    """Return the lines for a width: the end of each whole, its beginning cut where it must be."""

    def draw(row: int) -> Content:
        (text, style), (end, end_style), beneath = lines[row].said
        room = width - (cell_len(end) + 2 if end else 0)
        parts = [(drawing.fitted(text, max(8, room)), style)]
        parts += [("  ", ""), (end, end_style)] if end else []
        if beneath:
            style = BAD if beneath.startswith("!") else SOFT
            parts += [("\n  ", ""), (drawing.fitted(beneath, width - 2), style)]
        return Content.assemble(*parts)

    tall = [2 if line.said[2] else 1 for line in lines]
    return Rows([line.key for line in lines], draw, tall)
