"""The workbench: its frame, its pages, how it looks things up and gets things done."""

import asyncio
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from time import monotonic
from typing import Any, ClassVar, TypeVar, cast

from rich.cells import cell_len
from textual import on, work
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.command import CommandPalette
from textual.containers import Horizontal
from textual.content import Content
from textual.css.query import NoMatches
from textual.events import Click, Event
from textual.events import Key as KeyEvent
from textual.message import Message
from textual.screen import Screen
from textual.theme import Theme
from textual.widget import Widget
from textual.widgets import ContentSwitcher, Static

from burnplan.desk.keeping import change_counter
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood.blanks import BlankView
from burnplan.errors import BurnplanError
from burnplan.workbench import drawing, gather
from burnplan.workbench.actions import ALL, bindings
from burnplan.workbench.colours import DAY, LAMP
from burnplan.workbench.drawing import EMBER, SOFT, STRONG, WARN
from burnplan.workbench.forms import Choice, Form
from burnplan.workbench.halfblocks import Picture
from burnplan.workbench.keyline import Key, KeyLine
from burnplan.workbench.listing import Lines
from burnplan.workbench.pages.blanks import BlanksPage
from burnplan.workbench.pages.calendar import CalendarPage
from burnplan.workbench.pages.clients import ClientsPage
from burnplan.workbench.pages.job import JobPage
from burnplan.workbench.pages.jobs import JobsPage
from burnplan.workbench.pages.pace import PacePage
from burnplan.workbench.pages.page import WorkbenchPage
from burnplan.workbench.pages.today import TodayPage
from burnplan.workbench.palette import Everything
from burnplan.workbench.styling import ShownFirst
from burnplan.workbench.threads import Stopped, Stopper, Unforeseen, aside, sweep
from burnplan.workbench.words import in_words

T = TypeVar("T")
Part = TypeVar("Part", bound=Widget)

TABS = {
    "today": "1 Today",
    "jobs": "2 Jobs",
    "blanks": "3 Blanks",
    "clients": "4 Clients",
    "pace": "5 Pace",
    "calendar": "6 Calendar",
}
# How often the book is asked whether another program wrote in it.
LOOK_SECONDS = 1.0
# So long after the last key nobody is likely to press one in the next moment.
QUIET_SECONDS = 3.0


class Tab(Static):
    """The name of a page; a click goes there."""

    class Chosen(Message):
        """A page was clicked."""

        def __init__(self, page: str) -> None:
            self.page = page
            super().__init__()

    def on_click(self, _event: Click) -> None:
        """Go to the page."""
        self.post_message(self.Chosen((self.id or "").removeprefix("tab-")))


class Workbench(App[None]):
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
        super().__init__()
        self.studio = studio
        self.now: gather.Now | None = None
        self.open_jobs = gather.OpenJobs(studio)
        self.tabs = TABS
        self._came_from = "jobs"
        self._pictures: dict[tuple[str, int], tuple[Any, Any]] = {}
        self._zones_shown = False
        self._settings_of: tuple[object, ...] = ()
        self._last_key = monotonic()
        self._stopper: Stopper | None = None
        # One change after another, in the order of the keys pressed; how many are not done yet.
        self._turn, self._changing = asyncio.Lock(), 0
        self._making = asyncio.Lock()
        # The pages being looked up, each with whether to look again after.
        self._looking: dict[str, bool] = {}
        self.register_theme(LAMP)
        self.register_theme(DAY)
        self.theme = DAY.name if light else LAMP.name
        self.stylesheet = ShownFirst(variables=self.get_css_variables())
        self._other_light = self._styles.by_another_light(self._colours(self._other_theme))

    # What is on the screen

    def compose(self) -> ComposeResult:
        """Lay out the top line, the pages and the key line."""
        with Horizontal(id="top"):
            yield Static(id="studio")
            for page, name in TABS.items():
                yield Tab(name, id=f"tab-{page}")
            yield Static(id="running")
        with ContentSwitcher(initial="today", id="pages"):
            yield self._new_page("today")
        yield Static(id="busy")
        yield KeyLine()

    def _new_page(self, name: str) -> WorkbenchPage[Any]:
        if name == "today":
            return TodayPage(self.studio, name, self.open_jobs)
        if name == "jobs":
            return JobsPage(self.studio, name, self.open_jobs)
        others: dict[str, type[WorkbenchPage[Any]]] = {
            "job": JobPage, "blanks": BlanksPage, "clients": ClientsPage,
            "pace": PacePage, "calendar": CalendarPage,
        }  # fmt: skip
        return others[name](self.studio, name)

    async def on_mount(self) -> None:
        """Open at today, and keep looking."""
        await self.action_page("today")
        self.set_interval(LOOK_SECONDS, self._each_second)

    @property
    def page_name(self) -> str:
        """The name of the page shown."""
        return self._part("#pages", ContentSwitcher).current or "today"

    @property
    def page(self) -> WorkbenchPage[Any]:
        """The page shown."""
        return self._part(f"#{self.page_name}", WorkbenchPage)

    @property
    def job_page(self) -> JobPage:
        """The page of one job; there once a job was opened."""
        return self._part("#job", JobPage)

    def _part(self, selector: str, kind: type[Part]) -> Part:
        """Return a part of the pages, also while a question is over them."""
        if not self.screen_stack:
            raise NoMatches("The screen is being taken down")
        return self.screen_stack[0].query_one(selector, kind)

    async def action_page(self, name: str) -> None:
        """Go to a page."""
        if self._stopper is not None and not self._stopper.asked_for and name != "job":
            self._stopper.stop()
        await self._have_page(name)
        self._part("#pages", ContentSwitcher).current = name
        self._styles.catch_up(self.page)
        for other in TABS:
            here = other == name or (name == "job" and other == self._came_from)
            self._part(f"#tab-{other}", Tab).set_class(here, "here")
        self.page.listing.lines.focus()
        self.look()

    async def _have_page(self, name: str) -> None:
        """Make a page, where it is not there yet."""
        async with self._making:
            pages = self._part("#pages", ContentSwitcher)
            if not pages.query(f"#{name}"):
                await pages.add_content(self._new_page(name))

    async def _have_another_page(self) -> None:
        """Make one of the pages that are missing: the workbench opens fast without them."""
        pages = self._part("#pages", ContentSwitcher)
        missing = [name for name in (*TABS, "job") if not pages.query(f"#{name}")]
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
        elif self.page_name in ("today", "jobs", "calendar"):
            self.open_job(event.key)

    @work(group="open", exclusive=True)
    async def open_job(self, code: str) -> None:
        """Open a job."""
        if self.page_name in TABS:
            self._came_from = self.page_name
        await self._have_page("job")
        self.job_page.turn_to(code)
        await self.action_page("job")

    async def action_back(self) -> None:
        """Stop long work, else leave the job."""
        if self._stopper is not None and self._stopper.asked_for:
            self._stopper.stop()
        elif self.page_name == "job":
            await self.action_page(self._came_from)

    def action_command_palette(self) -> None:
        """Open the palette."""
        if not isinstance(self.screen, CommandPalette):
            self.push_screen(CommandPalette(placeholder="Do, go to, or open a job …"))

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
        return DAY if self.theme == LAMP.name else LAMP

    def _colours(self, theme: Theme) -> dict[str, str]:
        """Return the colours of a theme by name, as Textual has those of the one in use."""
        named = theme.to_color_system().generate()
        return {**self.get_theme_variable_defaults(), **named, **theme.variables}

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
                self._refresh_keys()
                if not self._looking[name]:
                    break
        except BurnplanError as error:
            self.complain(error)
        except NoMatches:
            return  # gathered for a screen that is being taken down
        finally:
            del self._looking[name]
        if isinstance(page, JobPage):
            self._want_more(page)

    def _show_now(self, now: gather.Now) -> None:
        self.now = now
        drawing.put(self._part("#studio", Static), Content(now.own.name), layout=False)
        self._show_clock()
        self._refresh_keys()

    def _refresh_keys(self) -> None:
        """Show the keys that can do something now: the page's own first."""
        page = self.page_name
        usable = [
            action for action in ALL.values()
            if action.short and action.page in ("", page) and action.can(self)
        ]  # fmt: skip
        usable.sort(key=lambda action: action.page == "")
        back = [Key("esc", "Back", "back")] if self._can_go_back() else []
        self._part("KeyLine", KeyLine).give(
            *back, *(action.on_key_line for action in usable), Key("^p", "All", "command_palette")
        )

    @on(KeyLine.Pressed)
    async def _key_clicked(self, event: KeyLine.Pressed) -> None:
        await self.run_action(event.action)

    def _can_go_back(self) -> bool:
        asked_for = self._stopper is not None and self._stopper.asked_for
        return self.page_name == "job" or asked_for

    def _show_clock(self) -> None:
        now = self.now
        if now is None:
            return
        self._part("#today", TodayPage).tick_clock(now)
        line = self._part("#running", Static)
        changing = ("… " if self._changing else "", EMBER)
        if now.clock is None:
            local = self.studio.local(self.studio.now())
            day = f"{local:%a} {local.day} {local:%b}  {local:%H:%M}"
            drawing.put(line, Content.assemble(changing, (day, SOFT)), layout=False)
            return
        paused = now.clock.state == "paused"
        shown = Content.assemble(
            changing,
            ("‖ " if paused else "● ", WARN if paused else EMBER),
            (drawing.on_clock(now.worked(self.studio.now())), STRONG),
            (f" {now.clock.code}", SOFT),
        )
        drawing.put(line, shown, layout=False)

    async def _each_second(self) -> None:
        with suppress(NoMatches):  # the screen may be being taken down
            self._show_clock()
            self._watch()
            self._other_light.keep_up_with(self._styles)
            if monotonic() - self._last_key > QUIET_SECONDS and not self._looking:
                sweep()
                await self._have_another_page()

    async def on_event(self, event: Event) -> None:
        """Note when keys are pressed."""
        if isinstance(event, KeyEvent):
            self._last_key = monotonic()
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

    # Getting things done

    def do(self, what: Callable[[], T], then: Callable[[T], None] | None = None) -> None:
        """Do something at the desk, on a thread, and show what came of it."""
        self._do(what, then)

    @work(group="do")
    async def _do(self, what: Callable[[], T], then: Callable[[T], None] | None) -> None:
        self._count_changes(+1)
        try:
            async with self._turn:
                found = await aside(what)
        except BurnplanError as error:
            self.complain(error)
            return
        finally:
            self._count_changes(-1)
        with suppress(NoMatches):  # the screen may be taken down meanwhile
            if then is not None:
                then(found)
            self.look()

    def _count_changes(self, more: int) -> None:
        """Show at once that a change is under way: a slow disk takes its time."""
        self._changing += more
        with suppress(NoMatches):
            self._show_clock()

    @work(group="find", exclusive=True)
    async def find(self, what: Callable[[], T], then: Callable[[T], None]) -> None:
        """Find something out, on a thread, that is needed before asking."""
        try:
            then(await aside(what))
        except BurnplanError as error:
            self.complain(error)

    def ask(self, form: Form, then: Callable[[Any], Any] | None = None) -> None:
        """Ask a few questions; what they are for is done by the form."""

        def closed(done: Any) -> None:
            if done is not None:
                if then is not None:
                    then(done)
                self.look()

        self._push(form, closed)

    def choose(self, choice: Choice, then: Callable[[str], None]) -> None:
        """Let one of some things be chosen."""

        def closed(key: str | None) -> None:
            if key is not None:
                then(key)

        self._push(choice, closed)

    def _push(self, question: Screen[T], closed: Callable[[T | None], None]) -> None:
        """Put a question over the page; what was said before would hide a part of it."""
        self.clear_notifications()
        self.push_screen(question, closed)

    def complain(self, error: BurnplanError) -> None:
        """Show an error as a line."""
        if isinstance(error, Unforeseen):
            self._complain_of_damage(error)
        else:
            self._show_error(error)

    @work(group="damage")
    async def _complain_of_damage(self, error: BurnplanError) -> None:
        """Say what is damaged in the book, where that is why something failed."""
        from burnplan.desk.keeping import checking  # rarely needed

        damage = await aside(checking.damage, self.studio)
        self._show_error(error if damage is None else damage)

    def _handle_exception(self, error: Exception) -> None:
        # What is read is checked, but not all that can be drawn. Were Textual to name this
        # otherwise, a damaged book would end in a traceback and no line; nothing else.
        from burnplan.desk.keeping import checking

        damage = checking.damage(self.studio)
        if damage is None:
            super()._handle_exception(error)
        else:
            self.exit(return_code=1, message=in_words(damage))

    def _show_error(self, error: BurnplanError) -> None:
        self.notify(in_words(error), severity="error", timeout=8, markup=False)

    def say(self, text: str, *, mind: bool = False) -> None:
        """Show a word on what was done, or what to mind."""
        self.notify(text, severity="warning" if mind else "information",
                    timeout=10 if mind else 6, markup=False)  # fmt: skip

    # What the keys are meant for

    def action_act(self, name: str) -> None:
        """Do one of the actions, or say why it cannot be done."""
        if ALL[name].can(self):
            ALL[name].do(self)
        else:
            self.say(ALL[name].why)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Pass a key on that can do nothing now, nor say why: the next one of that name may."""
        if action == "act":
            named = ALL[str(parameters[0])]
            return named.can(self) or bool(named.why)
        if action == "back":
            return len(self.screen_stack) == 1 and self._can_go_back()
        return True

    @property
    def meant(self) -> str | None:
        """The job a key is meant for: the one shown, or the one the cursor is on."""
        return self.page.meant

    @property
    def job(self) -> gather.JobDetail | None:
        """The job shown."""
        return self.job_page.job if self.page_name == "job" else None

    @property
    def blank(self) -> BlankView | None:
        """The blank the cursor is on."""
        page = self.page
        return page.blank if isinstance(page, BlanksPage) else None

    # Long work

    def long(
        self,
        what: Callable[[Stopper], T],
        then: Callable[[T], None],
        *,
        writes: bool = False,
    ) -> None:
        """Do something that takes a while, with its progress shown; escape stops it.

        ``writes`` where it changes the book: then no other change comes between.
        """
        self._long(self._begin(asked_for=True), what, then, writes)

    @work(group="long")
    async def _long(
        self,
        stopper: Stopper,
        what: Callable[[Stopper], T],
        then: Callable[[T], None],
        writes: bool,
    ) -> None:
        try:
            if writes:
                async with self._turn:
                    found = await aside(what, stopper)
            else:
                found = await aside(what, stopper)
        except BurnplanError as error:
            self.complain(error)
            return
        finally:
            self._end(stopper)
        with suppress(NoMatches):  # the screen may be taken down meanwhile
            then(found)
            if writes:
                self.look()

    def _begin(self, *, asked_for: bool) -> Stopper:
        """Show that long work runs; what ran before is stopped."""
        if self._stopper is not None:
            self._stopper.stop()

        def tell(share: float, label: str) -> None:
            self.call_from_thread(
                self._tell, share, f"{label}  (esc stops)" if asked_for else label
            )

        self._stopper = Stopper(tell, asked_for=asked_for)
        self._part("#busy", Static).add_class("on")
        self._refresh_keys()
        return self._stopper

    def _tell(self, share: float, label: str) -> None:
        with suppress(NoMatches):
            line = self._part("#busy", Static)
            full, rest = drawing.bar(share, max(0, line.content_size.width - cell_len(label) - 8))
            done = (f"{100 * share:4.0f} %", SOFT)
            drawing.put(
                line, Content.assemble((label, EMBER), "  ", full, rest, done), layout=False
            )

    def _end(self, stopper: Stopper) -> None:
        if self._stopper is stopper:
            self._stopper = None
            with suppress(NoMatches):  # the screen may be taken down meanwhile
                self._part("#busy", Static).remove_class("on")
                self._refresh_keys()

    # The picture and the settings of the job shown, which take longer than the rest

    def _want_more(self, page: JobPage) -> None:
        job = page.job
        if job is None or job.reference is None or page.code != job.commission.code:
            return
        one, key = job.commission, (page.code, job.reference.number)
        if self._settings_of != (*key, one.blank, one.species):
            self._settings_of = *key, one.blank, one.species
            self._want_settings(page)
        if key in self._pictures:
            self._show_picture(key)
        elif self._stopper is None:
            self._draw_picture(key)

    @work(group="settings", exclusive=True)
    async def _want_settings(self, page: JobPage) -> None:
        code = page.code
        with suppress(BurnplanError, NoMatches):  # they are a help, no more
            settings = await aside(gather.ladder_settings, self.studio, code)
            if page.code == code:
                page.give_settings(settings)

    @work(group="picture")
    async def _draw_picture(self, key: tuple[str, int]) -> None:
        stopper = self._begin(asked_for=False)
        try:
            self._pictures[key] = await aside(gather.pictures, self.studio, key[0], stopper)
        except Stopped:
            return
        except BurnplanError as error:
            self.complain(error)
            return
        finally:
            self._end(stopper)
        self._show_picture(key)

    def _show_picture(self, key: tuple[str, int]) -> None:
        with suppress(NoMatches):  # the screen may be taken down meanwhile
            if self.job_page.code == key[0] and key in self._pictures:
                sepia, zones = self._pictures[key]
                self._part("#picture", Picture).give(zones if self._zones_shown else sepia)

    def turn_picture(self) -> None:
        """Change between the picture and its zones."""
        job = self.job
        if job is not None and job.reference is not None:
            self._zones_shown = not self._zones_shown
            self._show_picture((job.commission.code, job.reference.number))
