"""The bench: the clock, the jobs in order of work, and those to look after."""

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Digits, Static

from burnplan.desk.jobs.review import JobView
from burnplan.desk.jobs.sessions import SessionView
from burnplan.units import format_hours
from burnplan.workbench import drawing
from burnplan.workbench.drawing import EMBER, SOFT, STRONG, WARN
from burnplan.workbench.gather import Jobs, Now
from burnplan.workbench.listing import Listing, Rows
from burnplan.workbench.pages.page import WorkbenchPage


class TodayPage(WorkbenchPage[Jobs]):
    """The clock, the jobs in order of work, and those to look after."""

    MAIN = "#next"

    _given: tuple[object, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay out the clock above the two lists."""
        with Horizontal(id="clock", classes="part") as clock:
            clock.border_title = "Clock"
            yield Digits("0:00:00")
            yield Static(id="doing")
        with Vertical(id="below"):
            yield Listing(
                "In order of work", "No open jobs. Press n for a new commission.", id="next"
            )
            yield Listing(
                "To look after", "Nothing is late, at risk or in doubt.", id="risk", beside=True
            )

    def look_up(self) -> Jobs:
        """Return the open jobs."""
        return self.bench.open_jobs()

    @property
    def meant(self) -> str | None:
        """The job the cursor is on."""
        risk = self.query_one("#risk", Listing)
        return risk.key if risk.lines.has_focus else self.listing.key

    def tick_clock(self, now: Now) -> None:
        """Show the clock as it stands."""
        digits = self.query_one(Digits)
        shown = drawing.on_clock(now.worked(self.studio.now()))
        if digits.value != shown:
            digits.update(shown)

    def give(self, now: Now, found: Jobs) -> None:
        """Show the day."""
        if (found, now.today) != self._given:
            self._given = found, now.today
            self._give_jobs(now, found)
        panel, doing = self.query_one("#clock"), self.query_one("#doing", Static)
        state = now.clock.state if now.clock else ""
        panel.set_class(state == "running", "running")
        panel.set_class(state == "paused", "paused")
        said = self._at_work(now.clock) if now.clock else self._at_rest(found)
        drawing.put(doing, said, layout=False)
        self.tick_clock(now)

    def _give_jobs(self, now: Now, found: Jobs) -> None:
        following = [job for job in found.jobs if not job.paused]
        risky = [job for job in found.jobs if _at_risk(job)]
        self.query_one("#next", Listing).give(lambda width: _following(following, now, width))
        self.query_one("#risk", Listing).give(lambda width: _risky(risky, width))

    def _at_work(self, clock: SessionView) -> Content:
        zone, heat = f"Z{clock.zone}" if clock.zone else "", clock.heat and f"heat {clock.heat}"
        doing = " · ".join(part for part in (clock.work, zone, clock.tip, heat) if part)
        return Content.assemble(
            (clock.title, STRONG),
            (f"  {clock.code}\n", SOFT),
            f"{doing}\n",
            ("running", EMBER) if clock.state == "running" else ("paused", WARN),
            (f" since {self.studio.local(clock.started_at):%H:%M}", SOFT),
        )

    def _at_rest(self, found: Jobs) -> Content:
        if not found.planned:
            to_do = "Choose a job below and press c to start it." if found.jobs else ""
            return Content.styled(f"The clock stands still.\n{to_do}", SOFT)
        first = found.planned[0]
        return Content.assemble(
            ("The clock stands still.\n", SOFT),
            (f"Planned for {self.studio.local(first.starts_at):%H:%M}: ", SOFT),
            (first.title, STRONG),
            f"\n{first.work}, {format_hours(first.minutes / 60)}",
        )


def _at_risk(job: JobView) -> bool:
    words = ("late", "at risk", "expired", "not in")
    return job.blocked or any(word in job.attention for word in words)


def _following(found: list[JobView], now: Now, width: int) -> Rows:
    """Return each job as its title with its due date, and its next step under it."""

    def draw(row: int) -> Content:
        job = found[row]
        due, style = drawing.due(job.due, now.today)
        return Content.assemble(
            (drawing.fitted(job.title, max(8, width - 12)), STRONG),
            "  ", (drawing.fitted(due, 10, right=True), style),
            "\n  ", (drawing.fitted(f"→ {job.next_step}", width - 2), SOFT),
        )  # fmt: skip

    return Rows([job.code for job in found], draw, tall=2)


def _risky(found: list[JobView], width: int) -> Rows:
    def draw(row: int) -> Content:
        job = found[row]
        return Content.assemble(
            (drawing.fitted(job.title, width), STRONG),
            "\n  ", (drawing.fitted(job.attention, width - 2), drawing.urgency(job)),
        )  # fmt: skip

    return Rows([job.code for job in found], draw, tall=2)
