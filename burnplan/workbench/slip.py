"""What is known of the row a list's cursor is on, beside the list where there is room."""

import asyncio
from collections.abc import Iterator
from contextlib import suppress
from typing import TYPE_CHECKING, cast

from textual import work
from textual.app import ComposeResult
from textual.content import Content
from textual.css.query import NoMatches
from textual.events import Resize

from burnplan.errors import BurnplanError
from burnplan.show.picture import asked_for
from burnplan.unbroken import wrapped
from burnplan.workbench import drawing, gather
from burnplan.workbench.drawing import NAME, SOFT
from burnplan.workbench.facts import Facts
from burnplan.workbench.holding import Down
from burnplan.workbench.listing import Lines
from burnplan.workbench.pages import job_facts
from burnplan.workbench.pages.page import Found, WorkbenchPage
from burnplan.workbench.picture import Picture
from burnplan.workbench.threads import aside

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench

# Who runs through a list reads no slip; a picture takes longer to draw than the rest.
_SETTLED, _LOOKED_AT = 0.1, 0.5
_STEPS = 3


class JobSlip(Down):
    """The job the cursor is on: its picture, what comes next, hours and money."""

    def __init__(self, *, id: str) -> None:  # noqa: A002
        super().__init__(id=id, classes="part slip of-none")
        self.display = False
        self._wanted: tuple[str | None, gather.Now] | None = None
        self._of: tuple[str, int] | None = None
        self.job: gather.JobDetail | None = None

    def compose(self) -> ComposeResult:
        """Lay out the picture between what the job is and how it stands."""
        yield Facts(id="slip-head")
        yield Picture(share=0.25)
        yield Facts(id="slip-rest")

    @property
    def _bench(self) -> "Workbench":
        return cast("Workbench", self.app)

    def show(self, code: str | None, now: gather.Now) -> None:
        """Show a job, once the cursor stays on it; nothing where there is no room or no job."""
        self._wanted = code, now
        of = None if code is None else (code, now.version)
        if of == self._of or not self.display:
            return
        self._of = of
        if code is None:
            self.job = None
            self._put(now)
        else:
            self._look_up(code, now)

    def on_show(self) -> None:
        """Look the job up, now that there is room for it."""
        if self._wanted is not None:
            self.show(*self._wanted)

    @work(group="slip", exclusive=True)
    async def _look_up(self, code: str, now: gather.Now) -> None:
        await asyncio.sleep(_SETTLED)
        with suppress(BurnplanError, NoMatches):  # it is a help, no more
            job = await aside(gather.job, self._bench.studio, code)
            self.job = job
            self._put(now)
            plan = job.plan
            if plan is None or self._bench.long_work.stopper is not None:
                return
            if plan not in self._bench.pictures:
                await asyncio.sleep(_LOOKED_AT)
            if (drawn := await self._bench.picture(plan)) is not None and self.job is job:
                self._give_picture(drawn)

    def _give_picture(self, drawn: gather.Pictures | None) -> None:
        if drawn is None:
            self.query_one(Picture).give(None)
        else:
            self.query_one(Picture).give(drawn.sepia, "" if asked_for() else drawn.sepia_words)

    def _put(self, now: gather.Now) -> None:
        job = self.job
        self.border_title = job.commission.code if job else ""
        self.set_class(job is None, "of-none")
        drawn = self._bench.pictures.get(job.plan) if job and job.plan else None
        self._give_picture(drawn)
        head, rest = self.query_one("#slip-head", Facts), self.query_one("#slip-rest", Facts)
        head.give(lambda _: job_facts.head(now, job, code=False) if job else Content())
        rest.give(lambda width: Content("\n").join(_rest(now, job, width)) if job else Content())


class PageWithSlip(WorkbenchPage[Found]):
    """A page whose list has beside it the job the cursor is on."""

    _now: gather.Now | None = None

    def on_resize(self, event: Resize) -> None:
        """Show the slip where there is room for it."""
        self.query_one(JobSlip).display = event.size.width >= drawing.ROOMY

    def show_slip(self, now: gather.Now | None = None) -> None:
        """Show the job the cursor is on, as things stand now."""
        self._now = now or self._now
        if self._now is not None:
            self.query_one(JobSlip).show(self.meant, self._now)

    def on_lines_moved(self, _: Lines.Moved) -> None:
        """Show the job the cursor is on."""
        self.show_slip()


def _rest(now: gather.Now, job: gather.JobDetail, width: int) -> Iterator[Content]:
    """Yield what comes next, the hours and the money of a job, as its page has them."""
    waiting = [step for step in job.steps if step.state == "open"]
    yield Content.styled("Next" if waiting else "Every step is settled", NAME)
    for step in waiting[:_STEPS]:
        first, *more = wrapped(step.text, max(10, width - 2)) or [""]
        yield Content.assemble("☐ ", first, *(f"\n  {line}" for line in more))
    if len(waiting) > _STEPS:
        yield Content.styled(f"  and {len(waiting) - _STEPS} more", SOFT)
    yield Content()
    yield Content.styled("Hours", NAME)
    yield job_facts.spent(job, max(10, width))
    yield Content()
    yield Content.styled("Money", NAME)
    yield job_facts.account(now, job)
