"""The workbench: its frame, its pages, its keys, and how it looks things up."""

import asyncio
import re
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.command import CommandInput, CommandList, CommandPalette, SearchIcon
from textual.content import Content
from textual.css.query import NoMatches
from textual.events import Event
from textual.events import Key as KeyEvent
from textual.screen import ModalScreen, Screen
from textual.theme import Theme
from textual.widgets import Input, LoadingIndicator, Static

from burnplan.desk.jobs.clients import ClientView
from burnplan.desk.keeping import change_counter
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood.blanks import BlankView
from burnplan.errors import BurnplanError, NotFound
from burnplan.wood import cautions
from burnplan.wood.cautions import Moment
from burnplan.workbench import gather
from burnplan.workbench.actions import ALL, bindings
from burnplan.workbench.actions.action import Action
from burnplan.workbench.blocks import Depth, depth_of
from burnplan.workbench.colours import lights
from burnplan.workbench.doing import Doing
from burnplan.workbench.holding import Ground, Rolling, Switcher
from burnplan.workbench.keyline import Key, KeyLine
from burnplan.workbench.listing import Lines
from burnplan.workbench.long_work import LongWork
from burnplan.workbench.pages import job_facts
from burnplan.workbench.pages.blanks import BlanksPage
from burnplan.workbench.pages.burning import BurningPage
from burnplan.workbench.pages.calendar import CalendarPage
from burnplan.workbench.pages.clients import ClientsPage
from burnplan.workbench.pages.job import JobPage
from burnplan.workbench.pages.jobs import JobsPage
from burnplan.workbench.pages.laying import LayingPage
from burnplan.workbench.pages.pace import PacePage
from burnplan.workbench.pages.page import WorkbenchPage
from burnplan.workbench.pages.today import TodayPage
from burnplan.workbench.palette import Everything, Palette
from burnplan.workbench.presses import GAP, Press, Presses
from burnplan.workbench.styling import ShownFirst
from burnplan.workbench.threads import Stopped, aside, sweep
from burnplan.workbench.top import TABS, Tab, TopLine

if TYPE_CHECKING:
    from burnplan.desk.jobs.laying import InHand
    from burnplan.desk.jobs.unkept import Unkept

_PAGES: dict[str, type[WorkbenchPage[Any]]] = {
    "today": TodayPage, "jobs": JobsPage, "job": JobPage, "burning": BurningPage,
    "laying": LayingPage,
    "blanks": BlanksPage, "clients": ClientsPage, "pace": PacePage, "calendar": CalendarPage,
}  # fmt: skip
# What else has its key on the burning page: a hand that holds a pen must not go wrong.
_WHILE_BURNING = {"stop", "undo", "pause", "go_on", "keys"}
# And at the laying-out table, where letters take values in hand.
_WHILE_LAYING = {"keys", "light", "leave"}
# What questions and the palette are made of beside what pages are.
_ASKED_LATER = (
    ModalScreen, Rolling, Input, Palette, CommandInput, CommandList, SearchIcon, LoadingIndicator,
)  # fmt: skip
# Where a row that is chosen opens a job.
_OPENING = ("today", "jobs", "calendar")
# How often the book is asked whether another program wrote in it.
LOOK_SECONDS = 1.0
# The codes of jobs.
CODES = re.compile(r"\bC-\d+\b")
# So long after the last key nobody is likely to press one in the next moment.
QUIET_SECONDS = 3.0


class Workbench(Doing):
    """The studio in one terminal.

    Parameters
    ----------
    studio : Studio
        Every change goes through the desk's functions on it, and is on record
        before it is shown.
    light : bool
        Whether to begin in daylight colours.
    """

    TITLE = "burnplan"
    CSS_PATH = Path(__file__).with_name("look.tcss")
    COMMANDS = {Everything}  # noqa: RUF012  a set of its own in App
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012  an instance's in App
        (0, "-narrow"), (100, "-normal"), (150, "-wide"),
    ]  # fmt: skip
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(title[0], f"page('{name}')", title[2:], show=False)
            for name, title in TABS.items()
        ),
        *bindings(),
        Binding("escape", "back", "Back"),
        Binding("ctrl+p", "command_palette", "All"),
    ]

    def __init__(self, studio: Studio, *, light: bool = False) -> None:
        super().__init__(studio)
        self.animation_level = "none"  # what is gone to is there at once
        self.now: gather.Now | None = None
        self.open_jobs = gather.OpenJobs(studio)
        self.tabs = TABS
        self.pictures: dict[gather.Plan, gather.Pictures] = {}
        # The plan that could not be drawn, when that was tried last.
        self.undrawn: gather.Plan | None = None
        self._came_from = self._behind_burning = "jobs"
        self._last_key, self.presses = monotonic(), Presses()
        self._key: KeyEvent | None = None
        # What a key pressed again so soon does, unless it turns out to be held down.
        self._waiting: Action | None = None
        # What was meant for the job that is being opened.
        self._once_there: Action | None = None
        self._making = asyncio.Lock()
        # The pages being looked up, each with whether to look again after.
        self._looking: dict[str, bool] = {}
        self.lamp, self.day = lights(self.console.color_system)
        self.register_theme(self.lamp)
        self.register_theme(self.day)
        self.theme = self.day.name if light else self.lamp.name
        self.stylesheet = ShownFirst(variables=self.get_css_variables())
        # The first question and the palette are to be there as soon as any later.
        self._styles.expect(*(part() for part in _ASKED_LATER))
        self._other_light = self._styles.by_another_light(self._colours(self._other_theme))

    # What is on the screen

    def get_default_screen(self) -> Screen[Any]:
        """Return what all lies on."""
        return Ground(id="_default")

    def compose(self) -> ComposeResult:
        """Lay out the top line, the pages and the key line."""
        yield TopLine(id="top")
        with Switcher(initial="today", id="pages"):
            yield TodayPage(self.studio, "today")
        yield Static(id="mind")
        yield LongWork(id="busy")
        yield KeyLine()

    async def on_mount(self) -> None:
        """Open at what is being burned, else at today, and keep looking."""
        await self.action_page("today")
        self.set_interval(LOOK_SECONDS, self._each_second)

    @property
    def page_name(self) -> str:
        """The name of the page shown."""
        return self._part("#pages", Switcher).current or "today"

    @property
    def page(self) -> WorkbenchPage[Any]:
        """The page shown."""
        return self._part(f"#{self.page_name}", WorkbenchPage)

    @property
    def job_page(self) -> JobPage:
        """The page of one job; there once a job was opened."""
        return self._part("#job", JobPage)

    @property
    def burning_page(self) -> BurningPage:
        """The page of what is being burned; there once the clock ran."""
        return self._part("#burning", BurningPage)

    async def action_page(self, name: str) -> None:
        """Go to a page, once the one shown has asked what it has to ask."""
        if name != self.page_name and not self.page.may_go(partial(self.action_page, name)):
            return
        if name not in ("job", "burning", "laying"):
            self.long_work.stop(asked_for=False)
        await self._have_page(name)
        self._part("#pages", Switcher).current = name
        self._part("#top", TopLine).mark(name if name in TABS else self._came_from)
        self.page.take_keys()
        self._styles.catch_up(self.page)
        # What is known of it is seen first: looking up takes the processor from drawing that.
        self.call_after_refresh(self.look)

    @property
    def laying_page(self) -> LayingPage:
        """The laying-out table; there once a photo was laid out."""
        return self._part("#laying", LayingPage)

    @property
    def last_key(self) -> str:
        """The key pressed last, as Textual names it."""
        return self._key.key if self._key else ""

    async def _have_page(self, name: str) -> None:
        """Make a page, where it is not there yet."""
        async with self._making:
            pages = self._part("#pages", Switcher)
            if not pages.query(f"#{name}"):
                await pages.add_content(_PAGES[name](self.studio, name))

    async def _have_another_page(self) -> None:
        """Make one of the pages that are missing: the workbench opens fast without them."""
        pages = self._part("#pages", Switcher)
        missing = [name for name in (*TABS, "job", "burning") if not pages.query(f"#{name}")]
        if missing:
            await self._have_page(missing[0])

    @on(Tab.Chosen)
    async def _tab_chosen(self, event: Tab.Chosen) -> None:
        await self.action_page(event.page)

    @on(Lines.Chosen)
    def _line_chosen(self, event: Lines.Chosen) -> None:
        if self.page_name == "job":
            self.action_act("tick")
        elif self.page_name == "blanks":
            self.action_act("hold_for")
        elif self.page_name == "clients":
            self.action_act("client_jobs")
        elif self.page_name in _OPENING and event.lines is self.page.listing.lines and self.meant:
            self.open_job(self.meant)

    def action_open(self) -> None:
        """Open the row the cursor is on."""
        self.page.listing.lines.action_choose()

    @work(group="open", exclusive=True)
    async def open_job(self, code: str) -> None:
        """Open a job."""
        if self.page_name in TABS:
            self._came_from = self.page_name
        await self._have_page("job")
        self._once_there = None
        self.job_page.turn_to(code)
        await self.action_page("job")

    @work(group="open", exclusive=True)
    async def open_burning(self, code: str) -> None:
        """Show what is being burned of a job."""
        if self.page_name in TABS:
            self._came_from = self.page_name
        self._behind_burning = "job" if self.page_name == "job" else self._came_from
        await self._have_page("burning")
        self.burning_page.turn_to(code)
        await self.action_page("burning")

    @work(group="open", exclusive=True)
    async def open_laying(self, taken: "InHand", new: Path | None, unkept: "Unkept | None") -> None:
        """Lay a photo out, as it lay last where that was not kept."""
        await self._have_page("laying")
        self.laying_page.begin(taken, new, unkept)
        await self.action_page("laying")

    @work(group="open", exclusive=True)
    async def go_to_row(self, page: str, key: str) -> None:
        """Go to a page, and put the cursor on a row of its list."""
        await self._have_page(page)
        self._part(f"#{page}", WorkbenchPage).listing.lines.go_to(key)
        await self.action_page(page)

    async def action_back(self) -> None:
        """Stop long work, else leave the job or what is burned."""
        if self.long_work.asked_for:
            self.long_work.stop(asked_for=True)
        elif self.page_name == "job":
            await self.action_page(self._came_from)
        elif self.page_name == "burning":
            await self.action_page(self._behind_burning)
        elif self.page_name == "laying":
            await self.action_page("job")

    def action_command_palette(self) -> None:
        """Open the palette."""
        if not isinstance(self.screen, CommandPalette):
            self.push_screen(Palette())

    def turn_light(self) -> None:
        """Change between lamplight and daylight."""
        self._other_light.keep_up_with(self._styles)
        self.stylesheet, self._other_light = self._other_light, self._styles
        self.theme = self._other_theme.name

    @property
    def _styles(self) -> ShownFirst:
        return cast("ShownFirst", self.stylesheet)

    @property
    def _other_theme(self) -> Theme:
        return self.day if self.theme == self.lamp.name else self.lamp

    def _colours(self, theme: Theme) -> dict[str, str]:
        """Return the colours of a theme by name, as Textual has those of the one in use."""
        named = theme.to_color_system().generate()
        return {**self.get_theme_variable_defaults(), **named, **theme.variables}

    def _has_key(self, action: Action) -> bool:
        """Return whether an action has its key on this page: few while something is burned."""
        if self.page_name == "burning":
            return action.page == "burning" or action.name in _WHILE_BURNING
        if self.page_name == "laying":
            return action.page == "laying" or action.name in _WHILE_LAYING
        return action.page in ("", self.page_name)

    # Looking things up

    def look(self) -> None:
        """Look up what the page shown needs, off the screen's thread, and show it."""
        name = self.page_name
        if name in self._looking:
            self._looking[name] = True
        else:
            self._looking[name] = False
            self._look(self.page)

    @work(group="look")
    async def _look(self, page: WorkbenchPage[Any]) -> None:
        name = page.id or ""
        try:
            # Asked for again meanwhile, it is looked up again: what was found may be old.
            while True:
                self._looking[name] = False
                now = await aside(gather.now, self.studio)
                self._show_now(now)
                found = await aside(page.look_up)
                page.give(now, found)
                self.refresh_keys()
                self._act_once_there()
                if not self._looking[name]:
                    break
        except BurnplanError as error:
            self.complain(error)
            if isinstance(error, NotFound) and page is self.page and name in ("job", "burning"):
                await self.action_page(self._came_from)  # that it was logged is undone
        except NoMatches:
            return  # gathered for a screen that is being taken down
        finally:
            del self._looking[name]
        if isinstance(page, JobPage):
            page.want_more()

    def _show_now(self, now: gather.Now) -> None:
        first = self.now is None
        self._mind_clock(self.now, now)
        self.now, self.wording = now, now.own.wording
        self._part("#top", TopLine).give(now)
        self.show_clock()
        self.refresh_keys()
        if first and now.clock is not None and self.page_name == "today":
            self.open_burning(now.clock.code)

    def _mind_clock(self, before: gather.Now | None, now: gather.Now) -> None:
        """Say in short what to mind of a clock that another program started or stopped."""
        was, clock = before.clock if before else None, now.clock
        own = now.own.wording.own
        if (was and (was.number, was.state)) == (clock and (clock.number, clock.state)):
            return
        if not self.minded:  # else it was said as the key was pressed
            if clock is not None:
                moment = Moment.START if clock.state == "running" else Moment.PAUSE
                self.mind([*map(own, cautions.at(clock.work, moment))])
            elif was is not None:
                self.mind([*map(own, cautions.at(was.work, Moment.STOP))])
        self.minded = False

    def usable(self) -> list[Action]:
        """Return the actions whose keys can do something now: the page's own first."""
        found = [
            action for action in ALL.values()
            if action.key and self._has_key(action) and action.can(self)
        ]  # fmt: skip
        return sorted(found, key=lambda action: (action.page == "", not action.foremost))

    def refresh_keys(self) -> None:
        """Show the keys that can do something now, as far as they have a word there."""
        shown: dict[str, Action] = {}  # of two keys for the same, the page's own
        for action in self.usable():
            if action.short:
                shown.setdefault(action.short, action)
        keys = shown.pop(ALL["keys"].short, ALL["keys"]).on_key_line
        back = [Key("esc", "Back", "back")] if self.can_go_back else []
        opens = self.page_name in _OPENING and self.meant
        self._part("KeyLine", KeyLine).give(
            *back,
            *([Key("↵", "Open", "open")] if opens else []),
            *(action.on_key_line for action in shown.values()),
            keys,
            Key("^p", "All", "command_palette"),
        )

    @on(LongWork.Changed)
    def _long_work_changed(self) -> None:
        self.refresh_keys()
        if self.page_name == "job":  # what a list had drawn was waited for, or stood in the way
            self.job_page.want_picture()

    @on(Lines.Moved)
    def _keys_changed(self) -> None:
        self.refresh_keys()

    @on(KeyLine.Pressed)
    async def _key_clicked(self, event: KeyLine.Pressed) -> None:
        await self.run_action(event.action)

    @property
    def can_go_back(self) -> bool:
        """Whether Escape leaves a page, or stops something."""
        return self.page_name in ("job", "burning", "laying") or self.long_work.asked_for

    def show_clock(self) -> None:
        """Show the clock as it stands, and whether what was pressed is under way."""
        now = self.now
        if now is None:
            return
        self._part("#today", TodayPage).tick_clock(now)
        if self.page_name == "burning":
            self.burning_page.show()
        under_way = bool(self._changing) or self._waiting is not None
        self._part("#top", TopLine).tick(now, self.studio, changing=under_way)

    async def _each_second(self) -> None:
        with suppress(NoMatches):  # the screen may be being taken down
            self.show_clock()
            self._watch()
            self._other_light.keep_up_with(self._styles)
            if monotonic() - self._last_key > QUIET_SECONDS and not self._looking:
                sweep()
                await self._have_another_page()

    async def on_event(self, event: Event) -> None:
        """Note when keys are pressed; what nobody made use of comes here again."""
        if isinstance(event, KeyEvent) and event is not self._key:
            self._key, self._last_key = event, monotonic()
            self.keys_pressed += 1
            # When it was pressed, however busy the program was since.
            self.presses.note(event.key, event.time)
            if self.presses.last is Press.HELD:
                self._wait_with(None)
            else:
                self._act_at_last()
            with suppress(NoMatches):
                self.mind_in_short()
        await super().on_event(event)

    @work(exclusive=True, group="watch")
    async def _watch(self) -> None:
        """Look again where another program wrote in the book, or the day or a minute is over."""
        now = self.now
        if now is None:
            return
        try:
            version = await aside(change_counter.version, self.studio)
        except BurnplanError:
            return  # the next action will say what is wrong with the book
        old = self.studio.now() - now.at >= gather.FRESH or self.studio.today() != now.today
        if version != now.version or old:
            self.look()

    async def picture(self, plan: gather.Plan) -> gather.Pictures | None:
        """Draw a job's plan, the newest, unless that was done; None where it cannot be."""
        if plan not in self.pictures:
            line = self.long_work  # kept: the screen may be taken down meanwhile
            stopper = line.begin(asked_for=False)
            try:
                drawn = await aside(gather.pictures, self.studio, plan[0], stopper)
                self.pictures[plan] = drawn.in_ramp() if depth_of(self) is Depth.FEW else drawn
            except Stopped:
                return None
            except BurnplanError as error:
                self.undrawn = plan
                self.complain(error)
                return None
            finally:
                line.end(stopper)
        return self.pictures[plan]

    # What the keys are meant for

    def action_act(self, name: str) -> None:
        """Do one of the actions, or say why it cannot be done; a key held down does it once."""
        if ALL[name].repeats or self.presses.last is Press.FIRST:
            self._act(ALL[name])
        elif self.presses.last is Press.AGAIN:
            self._act_unless_held(ALL[name])

    def _act(self, action: Action) -> None:
        if action.page == "job" and self.page_name == "job" and self.job is None:
            self._once_there = action  # pressed before the job opened is there
        elif action.can(self):
            action.do(self)
        elif why := action.why_not(self):
            self.say(why)

    def _act_once_there(self) -> None:
        """Do what was meant for a job that was not there yet; nothing where another page is."""
        action = self._once_there
        if action is not None and (self.page_name != "job" or self.job is not None):
            self._once_there = None
            if self.page_name == "job":
                self._act(action)

    @work(group="held")
    async def _act_unless_held(self, action: Action) -> None:
        self._wait_with(action)
        await asyncio.sleep(GAP)
        while self.message_queue_size:  # keys that came in time may not have been looked at yet
            await asyncio.sleep(GAP / 10)
        self._act_at_last()

    def _act_at_last(self) -> None:
        """Do what waited for whether its key is held down."""
        action = self._waiting
        if action is not None:
            self._wait_with(None)
            self._act(action)

    def _wait_with(self, action: Action | None) -> None:
        """Keep what waits for whether its key is held down; that it was pressed shows at once."""
        if action is not self._waiting:
            self._waiting = action
            with suppress(NoMatches):  # the screen may be being taken down
                self.show_clock()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Pass a key on that can do nothing now, nor say why: the next one of that name may."""
        if action == "act":
            named = ALL[str(parameters[0])]
            return self._has_key(named) and (named.can(self) or bool(named.why_not(self)))
        if action == "back":
            return len(self.screen_stack) == 1 and self.can_go_back
        return True

    @property
    def meant(self) -> str | None:
        """The job a key is meant for: the one shown, or the one the cursor is on."""
        return self.page.meant

    @property
    def job(self) -> gather.JobDetail | None:
        """The job shown."""
        return self.job_page.job if self.page_name == "job" else None

    def in_sight(self, heading: str) -> Callable[[int], Content] | None:
        """Return what lays out the job that a heading names: the one shown, or one of a list."""
        named, now = CODES.search(heading), self.now
        if now is None or named is None:
            return None
        burned = self.burning_page.found if self.page_name == "burning" else None
        shown = burned.job if burned else self.job
        if shown is not None and shown.commission.code == named[0]:
            return partial(job_facts.in_short, now, shown.commission)
        one = self.open_jobs.seen(named[0])
        return None if one is None else partial(job_facts.in_short, now, one)

    @property
    def blank(self) -> BlankView | None:
        """The blank the cursor is on."""
        page = self.page
        return page.blank if isinstance(page, BlanksPage) else None

    @property
    def client(self) -> ClientView | None:
        """The client the cursor is on."""
        page = self.page
        return page.client if isinstance(page, ClientsPage) else None
