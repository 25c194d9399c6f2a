"""One job: its checklist beside its picture, zones, money and sessions."""

from collections.abc import Collection
from contextlib import suppress
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.css.query import NoMatches
from textual.widgets import Static

from burnplan.desk.jobs.checklists import StepView
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BurnplanError
from burnplan.reckon.checklist import Phase
from burnplan.show.jobs.checklists import PHASE_NAMES
from burnplan.unbroken import wrapped
from burnplan.workbench import drawing, gather
from burnplan.workbench.actions import ALL, bindings
from burnplan.workbench.actions.jobs.checklist import HELPS
from burnplan.workbench.drawing import GOOD, NAME, SOFT, STRONG, Cell
from burnplan.workbench.holding import Across, Down, Rolling
from burnplan.workbench.keyline import key_words
from burnplan.workbench.listing import Lines, Listing, Rows
from burnplan.workbench.pages import job_facts
from burnplan.workbench.pages.page import WorkbenchPage
from burnplan.workbench.picture import Picture
from burnplan.workbench.threads import aside

if TYPE_CHECKING:
    from burnplan.desk.wood.zone_settings import LadderSettingsView


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
        # The job that the settings are of, and the book that they were looked up in.
        self._settings_of: tuple[str, int] | None = None
        self._zones_shown = False
        # The finished phases whose steps are shown all the same.
        self._unfolded: set[Phase] = set()
        # The steps that were open when they were shown last: one settled since hands the cursor on.
        self._open: set[str] = set()

    def compose(self) -> ComposeResult:
        """Lay out the checklist and, beside it, the facts."""
        yield Static(id="head")
        with Across(id="sides"):
            with Down(id="todo"):
                yield Listing("Checklist", "No steps.", id="steps")
                yield Static(id="caution")
            with Rolling(id="facts", can_focus=False):
                with Down():
                    yield Picture(id="picture")
                    yield Static(id="zones", classes="part")
                with Down(id="more"):
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
        return next((step for step in steps if step.key == self.listing.key), None)

    def turn_to(self, code: str) -> None:
        """Turn to a job; until it is there, none is shown."""
        if code != self.code:
            self.code, self.job, self._unfolded = code, None, set()

    def look_up(self) -> gather.JobDetail:
        """Return all of the job."""
        return gather.job(self.studio, self.code)

    def give(self, now: gather.Now, found: gather.JobDetail) -> None:
        """Show it, unless another job was turned to meanwhile."""
        if found.commission.code != self.code:
            return
        another = self.job is None
        if another:
            self._settings, self._settings_of = "", None
            self.query_one(Picture).give(None)
            self.query_one("#facts").scroll_home(animate=False)
        self.job, self._now = found, now
        drawing.put(self.query_one("#head", Static), job_facts.head(now, found))
        self.give_steps(found.steps, another=another)
        self._show_zones()
        drawing.put(self.query_one("#money", Static), job_facts.account(now, found))
        drawing.put(self.query_one("#hours", Static), job_facts.hours(found, self.studio))
        self.call_after_refresh(self.bench.refresh_keys)

    def want_more(self) -> None:
        """Look up what takes longer than the rest: the picture, and the settings of its zones."""
        job, now = self.job, self._now
        if job is None or now is None or job.plan is None or self.code != job.commission.code:
            return
        if self._settings_of != (self.code, now.version):  # a ladder may be new, too
            self._settings_of = self.code, now.version
            self._want_settings()
        self.bench.undrawn = None
        self.want_picture()

    def want_picture(self) -> None:
        """Have the picture, unless something else is being drawn, or it could not be."""
        plan = self.job.plan if self.job else None
        if plan is not None and plan != self.bench.undrawn and (
            plan in self.bench.pictures or self.bench.long_work.stopper is None
        ):  # fmt: skip
            self._draw_picture(plan)

    @work(group="settings", exclusive=True)
    async def _want_settings(self) -> None:
        code = self.code
        with suppress(BurnplanError, NoMatches):  # they are a help, no more
            settings = await aside(gather.ladder_settings, self.studio, code)
            if self.code == code:
                self._settings = settings
                self._show_zones()

    @work(group="picture")
    async def _draw_picture(self, plan: gather.Plan) -> None:
        if await self.bench.picture(plan) is not None:
            self._show_picture(plan)

    def _show_picture(self, plan: gather.Plan) -> None:
        with suppress(NoMatches):  # the screen may be taken down meanwhile
            if self.job is not None and self.job.plan == plan and plan in self.bench.pictures:
                drawn = self.bench.pictures[plan]
                shown = (
                    (drawn.zones, drawn.zones_words)
                    if self._zones_shown
                    else (drawn.sepia, drawn.sepia_words)
                )
                self.query_one(Picture).give(*shown)
                self._show_zones()
                self.call_after_refresh(self.bench.refresh_keys)

    def turn_picture(self) -> None:
        """Change between the picture and its zones."""
        if self.job is not None and self.job.plan is not None:
            self._zones_shown = not self._zones_shown
            self._show_picture(self.job.plan)

    def _show_zones(self) -> None:
        if self.job is not None and self._now is not None:
            zones = self.query_one("#zones", Static)
            drawn = self.bench.pictures.get(self.job.plan) if self.job.plan else None
            drawing.put(zones, job_facts.zones(self._now, self.job, self._settings, drawn))

    @property
    def has_more_facts(self) -> bool:
        """Whether not all facts are seen at once."""
        return self.query_one("#facts", Rolling).max_scroll_y > 0

    def turn_facts(self) -> None:
        """Show what follows of the facts, or their beginning again after the end."""
        facts = self.query_one("#facts", Rolling)
        if facts.scroll_offset.y >= facts.max_scroll_y:
            facts.scroll_home(animate=False)
        else:
            facts.scroll_page_down(animate=False)

    def give_steps(self, steps: list[StepView], *, another: bool = False) -> None:
        """Show the checklist; for another job the cursor goes to its first open step."""
        settled = sum(step.state != "open" for step in steps)
        open_before = () if another else self._open
        self._open = {step.key for step in steps if step.state == "open"}
        self.listing.border_subtitle = f"{settled} of {len(steps)} settled"
        if self.job is not None:
            self.job.steps[:] = steps
        unfolded, was = frozenset(self._unfolded), self.listing.key
        self.listing.give(lambda width: _checklist(steps, unfolded, width))
        folded = {
            step.key: step for step in steps if step.phase in _finished(steps) - unfolded
        }  # fmt: skip
        if was in folded:  # where its row was, another step's is now
            self.go_on_from(folded[was])
        else:
            step = self.step
            if step is not None and step.key in open_before and step.state != "open":
                self.go_on_from(step)
        if another:
            first = next((step for step in steps if step.state == "open"), None)
            if first is not None:
                self.listing.lines.go_to(first.key)
                # Laid out first; then what is done last is above it, and what follows below.
                self.call_after_refresh(self.listing.lines.show_cursor, above=3)
        self._show_caution()

    def turn_phase(self) -> None:
        """Show the steps of the finished phase that the cursor is on, or fold them again."""
        phase = next((one for one in Phase if one.value == self.listing.key), None)
        if phase is not None and self.job is not None:
            self._unfolded ^= {phase}
            self.give_steps(list(self.job.steps))

    def go_on_from(self, step: StepView) -> None:
        """Put the cursor on the next open step: after one, else the first of all."""
        waiting = [one for one in self.job.steps if one.state == "open"] if self.job else []
        after = [one for one in waiting if one.number > step.number]
        for following in (after or waiting)[:1]:
            self.listing.lines.go_to(following.key)

    def on_lines_moved(self, _: Lines.Moved) -> None:
        """Show what to mind at the step, and the phase it is in."""
        step = self.step
        self.listing.border_title = f"Checklist: {PHASE_NAMES[step.phase]}" if step else "Checklist"
        self._show_caution()

    def _show_caution(self) -> None:
        step, line = self.step, self.query_one("#caution", Static)
        narrow = self.bench.screen_stack[0].has_class("-narrow")
        helping = self._help(step, "  " if narrow else "\n") if step is not None else []
        line.display = bool(step and step.state == "open" and (step.caution or helping))
        if step is not None:
            # Where one line has room for its beginning only, a key has all of it.
            key = "m " if narrow else ""
            said: list[Cell | str] = []
            if step.caution:
                said = [("! ", STRONG), (key, NAME), step.caution]
            drawing.put(line, Content.assemble(*helping, *said))

    def _help(self, step: StepView, end: str) -> list[Cell | str]:
        """Return the key of what the workbench does for a step, and its words."""
        action = ALL[HELPS[step.key]] if step.key in HELPS else None
        if action is None or not action.can(self.bench):
            return []
        key = key_words(action.key or "ctrl+p")
        return [(f"{key} ", NAME), (action.words, "$foreground"), end if step.caution else ""]

    def on_resize(self) -> None:
        """Say what to mind for the room there is; and whether there are more facts than that."""
        self._show_caution()
        self.call_after_refresh(self.bench.refresh_keys)


def _finished(steps: list[StepView]) -> set[Phase]:
    return {step.phase for step in steps} - {step.phase for step in steps if step.state == "open"}


def _checklist(steps: list[StepView], unfolded: Collection[Phase], width: int) -> Rows:
    """Return the steps under the names of their phases; of a finished one its name alone."""
    rows: list[tuple[str | None, Content]] = []
    for phase in Phase:
        of_phase = [step for step in steps if step.phase is phase]
        if not of_phase:
            continue
        settled = sum(step.state != "open" for step in of_phase)
        finished, shown = phase in _finished(steps), phase in unfolded
        fold = ("▾ " if shown else "▸ ", GOOD) if finished else ("", "")
        done = (f"  {settled}/{len(of_phase)}", SOFT)
        name = Content.assemble(fold, (PHASE_NAMES[phase], NAME), done)
        rows.append((phase.value if finished else None, name))
        if shown or not finished:
            rows += [(step.key, _step(step, width)) for step in of_phase]
    tall = [row.plain.count("\n") + 1 for _, row in rows]
    return Rows([key for key, _ in rows], lambda row: rows[row][1], tall)


def _step(step: StepView, width: int) -> Content:
    """Return a step wrapped under its own beginning."""
    style = SOFT if step.state != "open" else ""
    box = {"open": ("☐", STRONG), "ticked": ("☑", GOOD), "skipped": ("☒", SOFT)}[step.state]
    words = wrapped(step.text, max(10, width - 3)) or [""]
    if step.skip_reason:
        words += wrapped(f"skipped: {step.skip_reason}", max(10, width - 3))
    return Content.assemble(box, " ", ("\n  ".join(words), style))
