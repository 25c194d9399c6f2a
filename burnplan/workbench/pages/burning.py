"""The burning page: one zone, its picture and the clock, large enough to be read from the chair."""

from collections.abc import Callable
from contextlib import suppress
from datetime import datetime, timedelta
from functools import lru_cache, partial
from typing import ClassVar, cast

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.color import Color
from textual.content import Content
from textual.css.query import NoMatches
from textual.geometry import Region
from textual.strip import Strip
from textual.timer import Timer
from textual.widget import Widget

from burnplan.desk.jobs.checklists import StepView
from burnplan.desk.jobs.estimates import ZoneView
from burnplan.desk.jobs.sessions import work_of
from burnplan.desk.studio.studio import Studio
from burnplan.show.picture import asked_for
from burnplan.units import format_area
from burnplan.wood import cautions
from burnplan.workbench import board, gather
from burnplan.workbench.actions import bindings
from burnplan.workbench.blocks import as_shown, depth_of
from burnplan.workbench.board import Board
from burnplan.workbench.dots import Dots
from burnplan.workbench.pages.page import WorkbenchPage
from burnplan.workbench.sharp import Overlay, SharpPictures
from burnplan.zone_names import LETTERING

# So long after the first press the second one counts.
ARMED_SECONDS = 4.0


class Lines(Widget, can_focus=True):
    """Lines as large as the page, drawn anew where they or the page have changed."""

    def __init__(self) -> None:
        super().__init__()
        self._draw: Callable[[int, int], list[Content]] | None = None
        self._drawn: tuple[object, list[Strip]] = (None, [])
        self._picture: Callable[[int, int], Overlay | None] | None = None

    def on_mount(self) -> None:
        """Have the picture laid in the terminal's own dots, where it has them."""
        cast("SharpPictures", self.app).has_picture(self)

    def give(
        self,
        draw: Callable[[int, int], list[Content]],
        picture: Callable[[int, int], Overlay | None] | None = None,
    ) -> None:
        """Show what is drawn for a width and a height, and the picture in it."""
        (how, before), self._drawn = self._drawn, (None, [])
        self._draw, self._picture = draw, picture
        cast("SharpPictures", self.app).has_picture(self)
        if not self.size or how != (*self.size, self.visual_style):
            self.refresh()
        elif changed := self._changed(before):
            self.refresh(*changed)

    def _changed(self, before: list[Strip]) -> list[Region]:
        """Return what is to be written anew: not the picture, where that is the same."""
        overlay, width, found = self.overlay(), self.size.width, []
        picture = overlay.cells if overlay else Region()
        for y in range(self.size.height):
            old, new = before[y] if y < len(before) else None, self.render_line(y)
            if old == new:
                continue
            parts = [Region(0, y, width, 1)]
            if old is not None and y in picture.line_range:
                across = picture.x, picture.right
                if old.crop(*across) == new.crop(*across):
                    parts = [Region(0, y, picture.x, 1)]
                    parts.append(Region(picture.right, y, width - picture.right, 1))
            found += [part for part in parts if part.area]
        return found

    def overlay(self) -> Overlay | None:
        """Return the picture as it is laid over its cells."""
        return self._picture(*self.size) if self._picture else None

    def render_line(self, y: int) -> Strip:
        """Return one line."""
        width, height = self.size
        style = self.visual_style
        if self._draw is not None and self._drawn[0] != (width, height, style):
            self._drawn = (
                (width, height, style),
                [
                    Strip(line.render_segments(style)).adjust_cell_length(width, style.rich_style)
                    for line in self._draw(width, height)
                ],
            )
        lines = self._drawn[1]
        return lines[y] if y < len(lines) else Strip.blank(width, style.rich_style)


class BurningPage(WorkbenchPage[gather.AtWork]):
    """What is being burned."""

    BINDINGS: ClassVar[list[BindingType]] = bindings("burning")

    def __init__(self, studio: Studio, name: str) -> None:
        super().__init__(studio, name)
        self.code = ""
        self.found: gather.AtWork | None = None
        self.shown: Board | None = None
        self._now: gather.Now | None = None
        self._armed = False
        self._disarming: Timer | None = None
        self._picture_of: tuple[object, ...] = ()
        self._picture: board.Drawn | None = None

    def compose(self) -> ComposeResult:
        """Lay out the lines."""
        yield Lines()

    def take_keys(self) -> None:
        """Let the keys go to the lines."""
        self.screen.set_focus(self.query_one(Lines))

    @property
    def meant(self) -> str | None:
        """The job that is worked on, or was."""
        return self.code or None

    def turn_to(self, code: str) -> None:
        """Turn to a job."""
        if code != self.code:
            self.code, self.found, self.shown = code, None, None

    def look_up(self) -> gather.AtWork:
        """Return the job and its clock."""
        return gather.at_work(self.studio, self.code)

    def give(self, now: gather.Now, found: gather.AtWork) -> None:
        """Show it."""
        self.code, self._now, self.found = found.job.commission.code, now, found
        self.show()

    @property
    def step(self) -> StepView | None:
        """The step that is done: that of the clock's zone, else the next open one."""
        if self.found is None:
            return None
        clock = self.found.clock
        open_ones = [step for step in self.found.job.steps if step.state == "open"]
        if clock is not None:
            open_ones = [
                step for step in open_ones
                if (step.zone == clock.zone if clock.zone else work_of(step.phase) == clock.work)
            ]  # fmt: skip
        else:  # from where the work was, though something before it was left open
            worked = [one for one in self.found.job.sessions if one.spoiled is None][:1]
            was = [one.number for one in self.found.job.steps
                   if worked and one.zone and one.zone == worked[0].zone]  # fmt: skip
            open_ones = [one for one in open_ones if was and one.number >= was[0]] or open_ones
        return next(iter(open_ones), None)

    def arm(self) -> bool:
        """Return whether the zone was said to be done a moment ago; from now it was."""
        armed, self._armed = self._armed, not self._armed
        if self._disarming is not None:
            self._disarming.stop()  # of an earlier press: it must not count for this one
        self._disarming = None if armed else self.set_timer(ARMED_SECONDS, self._disarm)
        self.show()
        return armed

    def _disarm(self) -> None:
        self._armed = False
        self.show()

    def show(self) -> None:
        """Show all as it stands, where it is not shown already."""
        if self.found is None or self._now is None:
            return
        with suppress(NoMatches):  # the screen may be taken down meanwhile
            shown = self._board(self.found, self._now)
            if shown == self.shown and self._picture_of == self._wanted(shown):
                return
            self.shown = shown
            self._want_picture(shown)
            drawn = self._picture
            self.query_one(Lines).give(
                lambda w, h: board.lines(shown, drawn, w, h), partial(self._overlay, shown)
            )

    def _overlay(self, shown: Board, width: int, height: int) -> Overlay | None:
        """Return the picture as it is laid over its cells."""
        plan = self.found.job.plan if self.found and self._picture else None
        across, down = board.room(shown, width, height)
        if plan not in self.bench.pictures or across < board.NARROWEST:
            return None
        shapes, variables = self.bench.pictures[plan].shapes, self.bench.theme_variables
        aspect = self.bench.terminal.aspect
        left, above, columns, rows = board.place(shapes, across, down, aspect)
        names = ("background", "wood", "wood-burned", "foreground")
        depth = depth_of(self.bench)
        colours = [as_shown(Color.parse(variables[name]), depth) for name in names]

        def dots(*size: int) -> Dots:
            return board.in_dots(shapes, shown.zone, (columns, rows), colours, (size[0], size[1]))

        of = id(shapes), shown.zone, tuple(colours)
        return Overlay(Region(left, above + 2, columns, rows), dots, of)

    def _wanted(self, shown: Board) -> tuple[object, ...]:
        plan = self.found.job.plan if self.found else None
        aspect = self.bench.terminal.aspect
        return plan, shown.code, shown.zone, plan in self.bench.pictures, aspect

    def _want_picture(self, shown: Board) -> None:
        self._picture_of = self._wanted(shown)
        plan = self.found.job.plan if self.found and asked_for() else None
        if plan in self.bench.pictures:
            shapes = self.bench.pictures[plan].shapes
            aspect = self.bench.terminal.aspect
            drawn = partial(board.picture, shapes, shown.zone, aspect=aspect)
            self._picture = lru_cache(maxsize=4)(drawn)
        else:
            self._picture = None
            if plan is not None and self.bench.long_work.stopper is None:
                self._draw_picture(plan)

    @work(group="picture")
    async def _draw_picture(self, plan: gather.Plan) -> None:
        if await self.bench.picture(plan) is not None:
            self.shown = None
            self.show()

    def _board(self, found: gather.AtWork, now: gather.Now) -> Board:
        clock, step, job = found.clock, self.step, found.job
        zones = {zone.zone: zone for zone in job.reference.zones} if job.reference else {}
        number = clock.zone if clock else step.zone if step else None
        zone: ZoneView | None = zones.get(number or 0)
        drawn = self.bench.pictures.get(job.plan) if job.plan else None
        tones = drawn.shapes.tones if drawn else {}
        done = {one.zone for one in job.steps if one.zone and one.state != "open"}
        work_name = clock.work if clock else work_of(step.phase) if step else ""
        last = next((one for one in job.sessions if one.zone == number), None)
        with_what = clock or last
        moment = self.studio.now()
        return Board(
            state="standing" if clock is None else "paused" if clock.state == "paused"
            else "running",
            title=job.commission.title,
            code=job.commission.code,
            work=work_name,
            zone=number,
            zones=sum(one != LETTERING for one in zones),
            worked=_whole_minutes(now.worked(moment)),
            began=self.studio.local(clock.started_at) if clock else None,
            now=_minute(self.studio.local(moment)),
            rest=_minute(self.studio.local(found.rest)) if found.rest else None,
            tip=with_what.tip if with_what else "",
            heat=with_what.heat if with_what else "",
            area=format_area(zone.area_cm2, now.own.units) if zone else "",
            darkness=zone.darkness if zone else None,
            tone=tones.get(number or 0, ""),
            bare=tones.get(max(tones, default=0), ""),
            step=step.text if step else "",
            after=_after(job.steps, step),
            caution=_own_caution(step),
            all_zones=tuple(
                board.ZoneLine(
                    one.zone, format_area(one.area_cm2, now.own.units),
                    tones.get(one.zone, ""), one.zone in done,
                )
                for one in zones.values()
            ),
            armed=self._armed,
        )  # fmt: skip


def _after(steps: list[StepView], step: StepView | None) -> str:
    """Return the open step that follows one."""
    if step is None:
        return ""
    later = (one for one in steps if one.number > step.number and one.state == "open")
    return next((one.text for one in later), "the last step")


def _own_caution(step: StepView | None) -> str:
    """Return what to mind at a step alone: what is minded at every session has its own line."""
    if step is None or step.caution.startswith(cautions.SMOKE):
        return ""
    return step.caution


def _whole_minutes(length: timedelta) -> timedelta:
    return timedelta(minutes=length // timedelta(minutes=1))


def _minute(moment: datetime) -> datetime:
    return moment.replace(second=0, microsecond=0)
