"""Pace: how the forecasts held, what the hours teach, and what an hour earned."""

from textual.app import ComposeResult
from textual.content import Content

from burnplan.dates import format_day, format_month
from burnplan.desk.money.earnings import EarnedView
from burnplan.desk.time.pace import BacktestView, PaceView, TriedView
from burnplan.show.time.pace import FEW, SAID, hours_lost
from burnplan.unbroken import wrapped
from burnplan.units import format_hours
from burnplan.workbench import drawing, gather
from burnplan.workbench.drawing import BAD, EMBER, GOOD, SOFT, STRONG, WARN, Cell, Column, money
from burnplan.workbench.holding import Down
from burnplan.workbench.listing import Listing, Rows
from burnplan.workbench.pages.page import WorkbenchPage

_TRIED = (
    Column("finished", 15, needs=65),
    Column("job", 14, grow=2),
    Column("took", 7, right=True),
    Column("", 24, grow=3),
)
_MONTHS = (Column("month", 8), Column("hours", 7, right=True, needs=44), Column("", 8, grow=1),
           Column("an hour", 10, right=True))  # fmt: skip


class PacePage(WorkbenchPage[gather.Pace]):
    """How the forecasts held, what the hours teach, and what an hour earned."""

    MAIN = "#tried"

    def compose(self) -> ComposeResult:
        """Lay out the forecasts beside what is learned and earned."""
        none = "No finished jobs yet. Each job handed over, with its hours, is held against its"
        none += " forecast here.\nEarlier jobs can be brought in: burnplan past import FILE"
        with Down(classes="sides"):
            yield Listing("Forecast and hours taken", none, id="tried")
            with Down(id="learned-earned"):
                yield Listing(
                    "What your hours say",
                    "Nothing yet: log every session.",
                    id="learned",
                    beside=True,
                )
                yield Listing(
                    "Earned an hour", "No job is handed over yet.", id="earned", beside=True
                )

    def look_up(self) -> gather.Pace:
        """Return what the hours on record say."""
        return gather.pace(self.studio)

    def give(self, now: gather.Now, found: gather.Pace) -> None:
        """Show it."""
        tried = found.pace.tried
        self.listing.border_subtitle = _how_good(tried)
        self.listing.give(lambda width: _tried(tried, width))
        self.query_one("#learned", Listing).give(lambda width: _learned(found.pace, width))
        earned = self.query_one("#earned", Listing)
        aim = found.earned.hourly_target
        left_out = len(found.earned.left_out)
        said = [f"{left_out} in other money not counted"] if left_out else []
        said += [] if aim is None else [f"┊ aim {money(now, aim)}"]
        earned.border_subtitle = "  ".join(said)
        earned.give(lambda width: _earned(now, found, width))


def _how_good(tried: BacktestView) -> str:
    if tried.coverage_p10_p90 is None or len(tried.jobs) < FEW:
        return ""
    inside = f"{100 * tried.coverage_p10_p90:.0f} % inside the band, 80 % should be"
    if tried.median_ape is None:
        return inside
    return f"{inside}; half missed by under {100 * tried.median_ape:.0f} %"


def _tried(tried: BacktestView, width: int) -> Rows:
    """Return each past job, newest first: its forecast as a band, the hours it took in it."""
    jobs = tried.jobs[::-1]
    sizes = drawing.widths(_TRIED, width)
    longest = max((max(job.p90, job.actual_h) for job in jobs), default=1.0)

    def draw(row: int) -> Content:
        job = jobs[row]
        day = format_day(job.finished_on) if job.finished_on else "–"
        cells: list[Cell] = [
            (day, SOFT), (job.title, STRONG), (format_hours(job.actual_h), ""),
        ]  # fmt: skip
        text = drawing.row(_TRIED[:3], sizes[:3], cells)
        return Content.assemble(text, "  ", *_band(job, longest, sizes[3]))

    heads = drawing.headings(_TRIED[:3], sizes[:3])
    scale = drawing.fitted("10 ─┼─ 90 %", max(0, sizes[3] - 8)) + drawing.fitted(
        format_hours(longest), min(8, sizes[3]), right=True
    )
    keys = [str(number) for number in range(len(jobs))]
    return Rows(keys, draw, heads=Content.assemble(heads, "  ", (scale, SOFT)))


def _band(job: TriedView, longest: float, width: int) -> list[Cell]:
    """Draw a forecast from P10 to P90 with its median, and the hours taken: ✗ where outside."""

    def at(hours: float) -> int:
        return min(width - 1, round(hours / longest * (width - 1)))

    cells: list[Cell] = [(" ", "")] * width
    for place in range(at(job.p10), at(job.p90) + 1):
        cells[place] = "─", SOFT
    cells[at(job.p50)] = "┼", SOFT
    inside = job.p10 <= job.actual_h <= job.p90
    cells[at(job.actual_h)] = ("●", GOOD) if inside else ("✗", BAD)
    return cells


def _learned(found: PaceView, width: int) -> Rows:
    """Return hours to look at, and then what is learned, as sentences."""
    said = []
    for one in found.suspects:
        of = f"{one.work} of " if one.work else ""
        hours = f"{format_hours(one.hours)} on record, expected {format_hours(one.expected_h)}"
        said.append((f"Look at {of}'{one.title}': {hours}", WARN))
    for lost in found.unsettled[:SAID]:
        of = f"{hours_lost(lost)} of '{lost.title}'"
        said.append((f"{of} teach nothing while steps of it are open: tick them", WARN))
    said += [(one.words, "") for one in found.learned]
    rows = [(wrapped(words, max(10, width - 2)), style) for words, style in said]

    def draw(row: int) -> Content:
        lines, style = rows[row]
        return Content.assemble(("· ", EMBER), ("\n  ".join(lines), style))

    return Rows([str(n) for n in range(len(rows))], draw, [len(lines) for lines, _ in rows])


def _earned(now: gather.Now, found: gather.Pace, width: int) -> Rows:
    """Return what an hour earned in each month, newest first, against the aim."""
    months = [month for month in found.earned.months if month.an_hour is not None]
    sizes = drawing.widths(_MONTHS, width)
    target = found.earned.hourly_target
    aim = None if target is None else float(target)
    most = max([aim or 0.0, *(float(month.an_hour or 0) for month in months)]) or 1.0

    def draw(row: int) -> Content:
        month = months[row]
        cells: list[Cell] = [(format_month(month.name), SOFT), (format_hours(month.hours), "")]
        amount = money(now, month.an_hour or found.earned.total.earned * 0, found.earned.currency)
        return Content.assemble(
            drawing.row(_MONTHS[:2], sizes[:2], cells), "  ",
            *_against(month, aim, most, sizes[2]), "  ",
            drawing.fitted(amount, sizes[3], right=True),
        )  # fmt: skip

    return Rows([month.name for month in months], draw)


def _against(month: EarnedView, aim: float | None, most: float, width: int) -> list[Cell]:
    """Draw a bar of what was earned, with the aim marked."""
    earned = float(month.an_hour or 0)
    full = round(max(0.0, earned) / most * (width - 1))
    style = GOOD if aim is None or earned >= aim else WARN
    cells: list[Cell] = [("━", style) if n < full else (" ", "") for n in range(width)]
    if aim is not None:
        cells[round(aim / most * (width - 1))] = "┊", STRONG
    return cells
