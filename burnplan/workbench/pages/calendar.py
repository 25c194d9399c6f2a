"""The calendar: the days to come, and how full the weeks of the season are."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.content import Content

from burnplan.units import format_hours
from burnplan.workbench import drawing, gather
from burnplan.workbench.drawing import BAD, EMBER, NAME, SOFT, STRONG, WARN, Cell, day_words
from burnplan.workbench.holding import Down
from burnplan.workbench.listing import Listing, Rows
from burnplan.workbench.pages.page import WorkbenchPage

if TYPE_CHECKING:
    from burnplan.desk.time.calendar import CalendarEntry
    from burnplan.desk.time.promises import Week

_BAR = 8


class CalendarPage(WorkbenchPage[gather.Calendar]):
    """The days to come, and the weeks of the season."""

    MAIN = "#days"

    def compose(self) -> ComposeResult:
        """Lay out the days beside the weeks."""
        with Down(classes="sides"):
            yield Listing("Days to come", "No days.", id="days")
            yield Listing("Weeks: free hours, and how full", "No weeks.", id="weeks", beside=True)

    @property
    def meant(self) -> str | None:
        """The job of the line the cursor is on."""
        key = self.listing.key or ""
        return key.partition(" ")[2] or None

    def look_up(self) -> gather.Calendar:
        """Return the days and weeks to come."""
        self.bench.open_jobs()  # whose titles and clients are asked for by their codes
        return gather.calendar(self.studio)

    def give(self, now: gather.Now, found: gather.Calendar) -> None:
        """Show them."""
        self.listing.give(lambda width: _days(found.days, now.today, self._time, width))
        weeks = self.query_one("#weeks", Listing)
        weeks.give(lambda width: _weeks(found.weeks, width))

    def _time(self, one: "CalendarEntry") -> str:
        return f"{self.studio.local(one.starts_at):%H:%M} " if one.starts_at else ""


def _days(
    days: list[gather.Day], today: date, time: "Callable[[CalendarEntry], str]", width: int
) -> Rows:
    """Return each day with its hours, and a line for all that falls on it."""
    rows: list[tuple[str | None, Content]] = []
    for day in days:
        if day.day == today or day.day.weekday() == 0:
            monday = day.day - timedelta(days=day.day.weekday())
            rows.append((None, Content.styled(f"Week of {monday.day} {monday:%B}", NAME)))
        entries: list[CalendarEntry | None] = [*day.entries] or [None]
        for n, one in enumerate(entries):
            head = _day_head(day, today) if n == 0 else [(" " * 24, "")]
            text, style = _entry(one, day, time)
            line = Content.assemble(*head, "  ", (drawing.fitted(text, max(8, width - 26)), style))
            rows.append((f"{day.day}/{n} {one.code if one else ''}", line))
    return Rows([key for key, _ in rows], lambda row: rows[row][1])


def _day_head(day: gather.Day, today: date) -> list[Cell]:
    """Return a day, and a bar of the hours planned of those free."""
    name = ("today     ", EMBER) if day.day == today else (day_words(day.day), STRONG)
    if not day.free and not day.planned:
        return [name if day.day == today else (name[0], SOFT), (" " * 14, "")]
    full, rest = drawing.bar(day.planned / day.free if day.free else 1.0, _BAR)
    hours = drawing.fitted(format_hours(day.free), 5, right=True)
    return [name, (" ", ""), full, rest, (hours, "")]


def _entry(
    one: "CalendarEntry | None", day: gather.Day, time: "Callable[[CalendarEntry], str]"
) -> Cell:
    if one is None:
        return day.off, SOFT
    return f"{time(one)}{one.summary}", BAD if one.kind == "due" else ""


def _weeks(weeks: list["Week"], width: int) -> Rows:
    """Return each week: how much of its free hours the queue fills, and what is due."""
    room = max(6, width - 38)
    most = max((week.free for week in weeks), default=1.0) or 1.0

    def draw(row: int) -> Content:
        week = weeks[row]
        free, booked = round(week.free / most * room), round(week.booked / most * room)
        due = f"{len(week.due)} due" if week.due else ""
        short = week.spare < 0
        spare = f"short {format_hours(-week.spare)}" if short else ""
        return Content.assemble(
            (drawing.fitted(day_words(week.monday)[4:], 7), STRONG),
            (drawing.fitted(format_hours(week.free), 8, right=True), ""), "  ",
            ("━" * booked, EMBER), ("─" * max(0, free - booked), SOFT),
            " " * (room - max(free, booked)), "  ",
            (drawing.fitted(due, 7), WARN), (drawing.fitted(spare, 12), BAD),
        )  # fmt: skip

    return Rows([str(week.monday) for week in weeks], draw)
