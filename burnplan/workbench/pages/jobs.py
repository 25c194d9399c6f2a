"""The open jobs, those that need attention first."""

from textual.app import ComposeResult

from burnplan.desk.jobs.review import JobView
from burnplan.reckon.stages import Stage
from burnplan.units import format_hours
from burnplan.workbench import drawing
from burnplan.workbench.drawing import BAD, SOFT, STRONG, Cell, Column, money
from burnplan.workbench.gather import Jobs, Now
from burnplan.workbench.holding import Down
from burnplan.workbench.listing import Listing, columned
from burnplan.workbench.slip import JobSlip, PageWithSlip

_COLUMNS = (
    Column("job", 6, needs=60),
    Column("title", 24, grow=3),
    Column("client", 14, grow=1, needs=134),
    Column("stage", 11),
    Column("due", 15),
    Column("done", 7, right=True, needs=144),
    Column("left", 30, right=True, needs=118),
    Column("on time", 7, right=True),
    Column("to pay", 12, right=True, needs=88),
    Column("next", 22, grow=3, needs=168),
)


class JobsPage(PageWithSlip[Jobs]):
    """The open jobs."""

    MAIN = "#jobs-list"

    _given: tuple[object, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay out the list and the job the cursor is on."""
        none = "No open jobs. Press n for a new commission."
        with Down(classes="sides"):
            yield Listing("Open jobs", none, id="jobs-list")
            yield JobSlip(id="jobs-slip")

    def look_up(self) -> Jobs:
        """Return the open jobs."""
        return self.bench.open_jobs()

    @property
    def meant(self) -> str | None:
        """The job the cursor is on."""
        return self.listing.key

    def give(self, now: Now, found: Jobs) -> None:
        """Show the jobs, where they are not shown already."""
        if (found, now.today, now.own) == self._given:
            self.show_slip(now)
            return
        self._given = found, now.today, now.own
        self.listing.border_subtitle = _counted(found.jobs)
        self.listing.give(
            columned(_COLUMNS, found.jobs, lambda job: job.code, lambda job: _cells(job, now))
        )
        self.show_slip(now)


def _counted(jobs: list[JobView]) -> str:
    """Return how many jobs are open, and of how many closed ones money is."""
    closed = sum(job.stage in (Stage.DELIVERED, Stage.DROPPED) for job in jobs)
    words = [f"{len(jobs) - closed} open"] if jobs else []
    return ", ".join([*words, f"{closed} to settle"] if closed else words)


def _stage(job: JobView, now: Now) -> Cell:
    if job.blocked:
        return "blocked", BAD
    return ("set aside", SOFT) if job.paused else (now.own.wording.own(job.stage.value), "")


def _cells(job: JobView, now: Now) -> list[Cell]:
    owed = money(now, job.balance, job.currency) if job.balance > 0 else "–"
    if job.balance < 0:
        owed = "too much"  # there is no room for how much: the job's page says it
    return [
        (job.code, SOFT),
        (job.title, STRONG),
        (job.client or "–", ""),
        _stage(job, now),
        drawing.due(job.due, now.today),
        (format_hours(job.hours_done) if job.hours_done else "–", ""),
        (drawing.left(job), ""),
        drawing.chance(job.on_time),
        (owed, ""),
        (job.next_step, SOFT),
    ]
