"""The workbench: its pages, its keys, and the desk functions they call."""

import asyncio
from collections.abc import Callable, Iterable
from contextlib import suppress
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any, ClassVar, TypeVar

from textual import on, work
from textual.app import App, ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.css.query import NoMatches
from textual.events import Click
from textual.message import Message
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import ContentSwitcher, Footer, Label, OptionList, ProgressBar, Static

from burnplan.dates import parse_date
from burnplan.desk import (
    blanks,
    checklists,
    commissions,
    payments,
    quotes,
    references,
    sessions,
    undo,
    watching,
)
from burnplan.desk.commissions import Wishes
from burnplan.desk.studio import Studio
from burnplan.errors import BurnplanError
from burnplan.reckon.checklist import Phase
from burnplan.reckon.stages import Stage
from burnplan.units import format_hours, format_size
from burnplan.wood.cautions import HOT_TIP, SMOKE
from burnplan.workbench import drawing, gather
from burnplan.workbench.colours import DAY, LAMP
from burnplan.workbench.drawing import EMBER, SOFT, STRONG, WARN
from burnplan.workbench.forms import Answers, Choice, Field, Form
from burnplan.workbench.halfblocks import Picture
from burnplan.workbench.listing import Lines, Listing
from burnplan.workbench.pages import BlanksPage, ClientsPage, JobPage, JobsPage, TodayPage, money
from burnplan.workbench.threads import Stopped, Stopper, aside

T = TypeVar("T")
Part = TypeVar("Part", bound=Widget)

TABS = {"today": "1 Today", "jobs": "2 Jobs", "blanks": "3 Blanks", "clients": "4 Clients"}
_PAGES: dict[str, type[Widget]] = {
    "jobs": JobsPage, "job": JobPage, "blanks": BlanksPage, "clients": ClientsPage,
}  # fmt: skip
_LISTS = {
    "today": "#next", "jobs": "#jobs-list", "job": "#steps",
    "blanks": "#blanks-list", "clients": "#clients-list",
}  # fmt: skip
_SOMETIMES = (
    "stop", "back", "accept", "deliver", "reference", "hold", "quote", "payment",
)  # fmt: skip
# How often the book is asked whether another program wrote in it.
LOOK_SECONDS = 1.0


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
    CSS_PATH = "look.tcss"
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012  an instance's in App
        (0, "-narrow"), (100, "-normal"), (150, "-wide"),
    ]  # fmt: skip
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("1", "page('today')", "Today", show=False),
        Binding("2", "page('jobs')", "Jobs", show=False),
        Binding("3", "page('blanks')", "Blanks", show=False),
        Binding("4", "page('clients')", "Clients", show=False),
        Binding("n", "new", "New"),
        Binding("c", "clock", "Clock"),
        Binding("s", "stop", "Stop"),
        Binding("u", "undo", "Undo"),
        Binding("escape", "back", "Back"),
        Binding("ctrl+p", "command_palette", "All"),
        Binding("l", "light", "Light/dark", show=False),
        Binding("ctrl+q", "quit", "Quit", show=False, priority=True),
    ]

    def __init__(self, studio: Studio, *, light: bool = False) -> None:
        super().__init__()
        self.studio = studio
        self.now: gather.Now | None = None
        self.open_jobs: gather.Jobs | None = None
        self.code: str | None = None
        self._came_from = "jobs"
        self._pictures: dict[tuple[str, int], tuple[Any, Any]] = {}
        self._zones_shown = False
        self._usable: tuple[bool | None, ...] = ()
        self._stopper: Stopper | None = None
        # One change after another, in the order of the keys pressed.
        self._turn = asyncio.Lock()
        self.register_theme(LAMP)
        self.register_theme(DAY)
        self.theme = DAY.name if light else LAMP.name

    # What is on the screen

    def compose(self) -> ComposeResult:
        """Lay out the top line, the pages and the key line."""
        with Horizontal(id="top"):
            yield Static(id="studio")
            for page, name in TABS.items():
                yield Tab(name, id=f"tab-{page}")
            yield Static(id="running")
        with ContentSwitcher(initial="today", id="pages"):
            yield TodayPage(id="today", classes="page")
        with Horizontal(id="busy"):
            yield Label("")
            yield ProgressBar(total=1.0, show_eta=False)
        yield Footer(compact=True, show_command_palette=False)

    async def on_mount(self) -> None:
        """Open at today, and keep looking."""
        await self.action_page("today")
        self.set_interval(LOOK_SECONDS, self._each_second)

    @property
    def page(self) -> str:
        """The page shown."""
        return self.screen_stack[0].query_one("#pages", ContentSwitcher).current or "today"

    def _part(self, selector: str, kind: type[Part]) -> Part:
        """Return a part of the pages, also while a question is over them."""
        if not self.screen_stack:
            raise NoMatches("The screen is being taken down")
        return self.screen_stack[0].query_one(selector, kind)

    @property
    def listing(self) -> Listing:
        """The main list of the page shown."""
        return self._part(_LISTS[self.page], Listing)

    async def action_page(self, page: str) -> None:
        """Go to a page; it is made when it is first gone to, so that the workbench opens fast."""
        if self._stopper is not None and page != "job":
            self._stopper.stop()
        pages = self._part("#pages", ContentSwitcher)
        if not pages.query(f"#{page}"):
            await pages.add_content(_PAGES[page](id=page, classes="page"))
        pages.current = page
        for name in TABS:
            self._part(f"#tab-{name}", Tab).set_class(
                name == page or (page == "job" and name == self._came_from), "here"
            )
        self.listing.lines.focus()
        self.look()

    @on(Tab.Chosen)
    async def _tab_chosen(self, event: Tab.Chosen) -> None:
        await self.action_page(event.page)

    async def action_open(self, code: str) -> None:
        """Open a job."""
        self._came_from = self.page if self.page in TABS else self._came_from
        self.code = code
        await self.action_page("job")

    async def action_back(self) -> None:
        """Stop long work, else leave the job."""
        if self._stopper is not None:
            self._stopper.stop()
        elif self.page == "job":
            await self.action_page(self._came_from)

    def action_light(self) -> None:
        """Change between lamplight and daylight."""
        self.theme = DAY.name if self.theme == LAMP.name else LAMP.name

    @work(exclusive=True, group="look")
    async def look(self) -> None:
        """Gather what the page needs and show it."""
        page, code = self.page, self.code
        try:
            now = await aside(gather.now, self.studio)
            if page == "job" and code is not None:
                job = await aside(gather.job, self.studio, code)
                self._part("#job", JobPage).give(now, job, self.studio)
                self._want_picture(job)
            elif page == "blanks":
                found = await aside(gather.stock, self.studio)
                self._part("#blanks", BlanksPage).give(now, found)
            elif page == "clients":
                self._part("#clients", ClientsPage).give(await aside(gather.people, self.studio))
            else:
                self.open_jobs = await aside(gather.open_jobs, self.studio)
                if page == "today":
                    self._part("#today", TodayPage).give(now, self.open_jobs, self.studio)
                else:
                    self._part("#jobs", JobsPage).give(now, self.open_jobs)
        except BurnplanError as error:
            self.complain(error)
            return
        except NoMatches:
            return  # gathered for a screen that is being taken down
        self.now = now
        self._part("#studio", Static).update(Content(now.own.name))
        self._show_clock()
        self._refresh_keys()

    def _refresh_keys(self) -> None:
        """Lay the key line out anew, which takes a while, only where a key came or went."""
        usable = tuple(self.check_action(action, ()) for action in _SOMETIMES)
        if usable != self._usable:
            self._usable = usable
            self.refresh_bindings()

    def _show_clock(self) -> None:
        now = self.now
        if now is None:
            return
        self._part("#today", TodayPage).tick_clock(now, self.studio)
        line = self._part("#running", Static)
        if now.clock is None:
            local = self.studio.local(self.studio.now())
            line.update(Content.styled(f"{local:%a} {local.day} {local:%b}  {local:%H:%M}", SOFT))
            return
        time = drawing.on_clock(now.worked(self.studio.now()))
        paused = now.clock.state == "paused"
        line.update(
            Content.assemble(
                ("‖ " if paused else "● ", WARN if paused else EMBER),
                (time, STRONG),
                (f" {now.clock.code}", SOFT),
            )
        )

    def _each_second(self) -> None:
        try:
            self._show_clock()
        except NoMatches:
            return  # the screen is being taken down
        self._watch()

    @work(exclusive=True, group="watch")
    async def _watch(self) -> None:
        now = self.now
        if now is None:
            return
        try:
            version = await aside(watching.version, self.studio)
        except BurnplanError:
            return  # the next action will say what is wrong with the book
        if version != now.version or self.studio.today() != now.today:
            self.look()

    def complain(self, error: BurnplanError) -> None:
        """Show an error as a line."""
        self.notify(str(error), severity="error", timeout=8, markup=False)

    def say(self, text: str, *, mind: bool = False) -> None:
        """Show a word on what was done, or what to mind."""
        self.notify(text, severity="warning" if mind else "information",
                    timeout=8 if mind else 4, markup=False)  # fmt: skip

    # Doing

    def do(self, what: Callable[[], T], then: Callable[[T], None] | None = None) -> None:
        """Do something at the desk, on a thread, and show what came of it."""
        self._do(what, then)

    @work(group="do")
    async def _do(self, what: Callable[[], T], then: Callable[[T], None] | None) -> None:
        async with self._turn:
            try:
                found = await aside(what)
            except BurnplanError as error:
                self.complain(error)
                return
        with suppress(NoMatches):  # the screen may be taken down meanwhile
            if then is not None:
                then(found)
            self.look()

    @property
    def meant(self) -> str | None:
        """The job a key is meant for: the one shown, or the one the cursor is on."""
        if self.page == "job":
            return self.code
        if self.page == "today":
            risk = self._part("#risk", Listing)
            return risk.key if risk.lines.has_focus else self._part("#next", Listing).key
        return self.listing.key if self.page == "jobs" else None

    @property
    def shown(self) -> gather.Job | None:
        """The job shown."""
        return self._part("#job", JobPage).job if self.page == "job" else None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Keep keys off the key line that can do nothing now."""
        if action == "stop":
            return self.now is not None and self.now.clock is not None
        if action == "back":
            return len(self.screen_stack) == 1 and (self.page == "job" or self._stopper is not None)
        if action not in _SOMETIMES:
            return True
        if action == "hold" and self.page == "blanks":
            return True
        job = self.shown
        if job is None:
            return False
        one = job.commission
        if one.delivered_on or one.dropped:
            return action == "payment"
        return {
            "accept": one.quoted is not None and one.accepted_on is None,
            "deliver": one.stage is Stage.READY,
            "reference": job.reference is None,
            "hold": one.blank is None,
            "quote": one.accepted_on is None,
            "payment": one.quoted is not None,
        }[action]

    @on(OptionList.OptionSelected)
    async def _selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        if not isinstance(event.option_list, Lines):
            return  # of a question or the palette, which have seen to it
        if self.page == "job":
            self.action_tick()
        elif self.page in ("today", "jobs"):
            listing = next(a for a in event.option_list.ancestors if isinstance(a, Listing))
            if listing.key is not None:
                await self.action_open(listing.key)
        elif self.page == "blanks":
            self.action_hold()

    # The checklist

    def action_tick(self) -> None:
        """Tick the step the cursor is on, or open it again."""
        page, code = self._part("#job", JobPage), self.code
        step = page.step
        if step is None or code is None:
            return
        change = checklists.tick if step.state == "open" else checklists.untick

        def then(view: checklists.ChecklistView) -> None:
            page.give_steps(view.steps)
            if view.reminder:
                self.say(view.reminder, mind=True)
            if step.state == "open":
                page.query_one("#steps", Listing).lines.action_cursor_down()

        self.do(lambda: change(self.studio, code, [step.key]), then)

    def action_skip(self) -> None:
        """Skip the step the cursor is on, with the reason."""
        page, code = self._part("#job", JobPage), self.code
        step = page.step
        if step is None or code is None:
            return

        def skip(answers: Answers) -> checklists.ChecklistView:
            return checklists.skip(self.studio, code, step.key, answers["reason"])

        form = Form(
            f"Skip: {step.text}"[:66], [Field("reason", "Reason", "why it is not needed")],
            skip, send="Skip it",
        )  # fmt: skip
        self._ask(form)

    # The clock

    def action_clock(self) -> None:
        """Start the clock, pause it, or let it run on."""
        clock = self.now.clock if self.now else None
        if clock is not None:
            change = sessions.pause if clock.state == "running" else sessions.resume
            self.do(lambda: change(self.studio))
            return
        code = self.meant
        if code is None:
            self.say("Choose a job first, then press c")
            return
        doing = self._doing()

        def start() -> str:
            sessions.start(self.studio, code, doing)
            return checklists.reminder_for(self.studio, code) if doing.work == "burn" else ""

        def then(reminder: str) -> None:
            if doing.work == "burn":
                self.say(f"{SMOKE}. {HOT_TIP}", mind=True)
            if reminder:
                self.say(reminder, mind=True)

        self.do(start, then)

    def _doing(self) -> sessions.Doing:
        """Return what the clock is started for: the step the cursor is on, else burning."""
        step = self._part("#job", JobPage).step if self.page == "job" else None
        if step is None or step.phase is Phase.HANDOVER:
            return sessions.Doing()
        return sessions.Doing(work=step.phase.value, zone=step.zone)

    def action_stop(self) -> None:
        """Stop the clock."""
        self.do(
            lambda: sessions.stop(self.studio),
            lambda view: self.say(f"{format_hours(view.hours)} on '{view.title}' are on record"),
        )

    def action_undo(self) -> None:
        """Take back the last thing done."""
        self.do(
            lambda: undo.undo_last(self.studio), lambda past: self.say(f"Undid: {past.summary}")
        )

    # Commissions

    def _ask(self, form: Form, then: Callable[[Any], Any] | None = None) -> None:
        def closed(done: Any) -> None:
            if done is not None:
                if then is not None:
                    then(done)
                self.look()

        self.push_screen(form, closed)

    def _commission_fields(self, names: tuple[str, ...], one: Any = None) -> list[Field]:
        size = one.shape() if one else None
        shown = format_size(size, self.now.own.units) if size and self.now else ""
        return [
            Field("title", "Title", "what is burned", one.title if one else ""),
            Field("client", "Client", "a name; new ones are added",
                  (one and one.client) or "", names),
            Field("size", "Size", "30x40cm, round 25cm, 12x16in", shown),
            Field("species", "Wood", "basswood, cherry, …", (one and one.species) or ""),
            Field("due", "Due", "friday, in 3 weeks, 2027-05-01",
                  str(one.due) if one and one.due else ""),
            Field("note", "Note", "", (one and one.note) or ""),
        ]  # fmt: skip

    def _wishes(self, answers: Answers, before: dict[str, str] | None = None) -> Wishes:
        """Return what was typed in; what was left as it was is not touched."""
        before = before or {}
        given = {
            name: text for name, text in answers.items() if text and text != before.get(name, "")
        }
        due = given.pop("due", None)
        return Wishes(**given, due=parse_date(due, self.studio.today()) if due else None)

    @work(group="ask", exclusive=True)
    async def action_new(self) -> None:
        """Log a new commission."""
        names = await self._names()
        if names is None:
            return
        form = Form(
            "New commission",
            self._commission_fields(names),
            lambda answers: commissions.add(self.studio, self._wishes(answers)),
            send="Log it",
        )
        self._ask(form, lambda made: self.call_later(self.action_open, made.code))

    @work(group="ask", exclusive=True)
    async def action_edit(self) -> None:
        """Change what is asked for."""
        job, names = self.shown, await self._names()
        if job is None or names is None:
            return
        one = job.commission
        fields = self._commission_fields(names, one)
        before = {field.name: field.value for field in fields}

        def edit(answers: Answers) -> commissions.CommissionView:
            return commissions.edit(self.studio, one.code, self._wishes(answers, before))

        self._ask(Form(f"{one.code}: what is asked for", fields, edit, send="Change it"))

    async def _names(self) -> tuple[str, ...] | None:
        try:
            return tuple(client.name for client in await aside(gather.people, self.studio))
        except BurnplanError as error:
            self.complain(error)
            return None

    def action_deliver(self) -> None:
        """Hand the piece over."""
        job = self.shown
        if job is not None:
            code = job.commission.code
            self.do(
                lambda: commissions.deliver(self.studio, code),
                lambda view: self.say(f"'{view.title}' is handed over; u takes it back"),
            )

    # Money

    def action_quote(self) -> None:
        """Reckon a quote with live numbers, and issue it."""
        job, now = self.shown, self.now
        if job is None or now is None:
            return
        code = job.commission.code
        fields = [
            Field("hours", "Hours", "as reckoned from the reference"),
            Field("sure", "Sure of hours, %", "80", "80"),
            Field("packing", "Packing", "an amount"),
            Field("margin_percent", "Margin, %", "0"),
            Field("discount", "Discount", "an amount"),
            Field("round_to", "Round up to", "5"),
        ]

        def preview(answers: Answers) -> Content:
            view = quotes.draft(self.studio, code, _wanted(answers))
            amounts = [
                Content.assemble(
                    (drawing.fitted(line.label, 34), SOFT),
                    drawing.fitted(money(now, line.amount, view.currency), 12, right=True),
                )
                for line in view.lines
            ]
            total = Content.assemble(
                (drawing.fitted("total", 34), STRONG),
                (drawing.fitted(money(now, view.total, view.currency), 12, right=True), STRONG),
                (f"   deposit {money(now, view.deposit, view.currency)}", SOFT),
            )
            hours = f"{format_hours(view.hours_p50)} … {format_hours(view.hours_p80)}"
            target = money(now, now.own.hourly_target)
            odds = Content.assemble(
                (f"{hours}; ", SOFT), (f"{view.chance:.0%}", EMBER),
                (f" chance to earn {target} an hour", SOFT),
            )  # fmt: skip
            return Content("\n").join([*amounts, total, odds])

        form = Form(
            f"Quote for {code}", fields,
            lambda answers: quotes.issue(self.studio, code, _wanted(answers)),
            send="Issue it", preview=preview,
        )  # fmt: skip

        def issued(view: quotes.QuoteView) -> None:
            total = money(now, view.total, view.currency)
            self.say(f"Quote {view.version} is issued: {total}")

        self._ask(form, issued)

    def action_accept(self) -> None:
        """Put on record that the client accepted the quote."""
        job = self.shown
        if job is not None:
            code = job.commission.code
            self.do(
                lambda: quotes.accept(self.studio, code),
                lambda view: self.say(f"Quote {view.version} is accepted"),
            )

    def action_payment(self) -> None:
        """Take a payment."""
        job, now = self.shown, self.now
        if job is None or now is None:
            return
        one = job.commission
        deposit = one.stage in (Stage.ENQUIRY, Stage.PRICED)
        owed = (one.deposit or Decimal(0)) - one.received if deposit else one.balance
        fields = [
            Field("amount", "Amount", "", money(now, owed, one.currency) if owed > 0 else ""),
            Field("kind", "Kind", "deposit, payment or refund", "deposit" if deposit else "payment",
                  ("deposit", "payment", "refund")),
            Field("method", "How", "cash, transfer, …"),
        ]  # fmt: skip

        def take(answers: Answers) -> payments.PaymentView:
            return payments.take(
                self.studio, one.code, answers["amount"], _kind(answers["kind"]),
                method=answers["method"],
            )  # fmt: skip

        self._ask(Form(f"Payment for {one.code}", fields, take, send="Take it"))

    # Wood

    @work(group="ask", exclusive=True)
    async def action_hold(self) -> None:
        """Hold a blank for a job: from either's page."""
        on_job, now = self.shown, self.now
        if now is None:
            return
        try:
            if on_job is not None:
                found = [b for b in await aside(gather.stock, self.studio) if b.state == "in stock"]
                choices = [(blank.code, _blank_line(blank, now)) for blank in found]
                title, none = f"Hold a blank for {on_job.commission.code}", "No blank is in stock"
            else:
                open_ones = await aside(commissions.everything, self.studio, closed=False)
                without = [one for one in open_ones if one.blank is None]
                choices = [
                    (one.code, Content.assemble((f"{one.code}  ", SOFT), (one.title, STRONG)))
                    for one in without
                ]
                title, none = f"Hold {self.listing.key} for", "No open job is without a blank"
        except BurnplanError as error:
            self.complain(error)
            return
        blank = None if on_job is not None else self.listing.key
        if not choices or (on_job is None and blank is None):
            self.say(none)
            return

        def chosen(key: str | None) -> None:
            if key is None:
                return
            pair = (key, on_job.commission.code) if on_job is not None else (blank or "", key)
            self.do(
                lambda: blanks.hold(self.studio, *pair),
                lambda view: self.say(f"{view.code} is held for {view.held_for}"),
            )

        self.push_screen(Choice(title, choices), chosen)

    def action_new_blank(self) -> None:
        """Put a blank in stock."""
        fields = [
            Field("species", "Wood", "basswood, cherry, …"),
            Field("size", "Size", "30x40cm, round 25cm"),
            Field("thickness", "Thickness", "18mm"),
            Field("cost", "Cost", ""),
            Field("grit", "Grit reached", "rough if empty"),
            Field("location", "Place", ""),
        ]

        def add(answers: Answers) -> blanks.BlankView:
            given: dict[str, Any] = {name: text for name, text in answers.items() if text}
            if "grit" in given:
                given["grit"] = int(_number(given["grit"]))
            given = {"species": "", "size": ""} | given
            return blanks.add(self.studio, blanks.NewBlank(**given))

        self._ask(
            Form("New blank", fields, add, send="Put in stock"),
            lambda made: self.say(f"{made.code} is in stock"),
        )

    # The reference

    def action_reference(self) -> None:
        """Add the reference photo and plan the work from it."""
        job = self.shown
        if job is None:
            return
        code = job.commission.code
        fields = [
            Field("photo", "Photo", "the file's path; paste or drop it here"),
            Field("zones", "Zones", "3 to 9", "6"),
        ]

        def checked(answers: Answers) -> tuple[Path, int]:
            zones = int(_number(answers["zones"] or "6"))
            # Terminals put quotes around the path of a dropped file.
            photo = Path(answers["photo"].strip("'\" ")).expanduser()
            if not answers["photo"] or not photo.is_file():
                from burnplan.errors import NotFound

                raise NotFound(f"There is no photo '{answers['photo']}'", "Give the file's path")
            return photo, zones

        self._ask(
            Form(f"Reference photo for {code}", fields, checked, send="Plan from it"),
            lambda given: self._plan(code, *given),
        )

    @work(group="long", exclusive=True)
    async def _plan(self, code: str, photo: Path, zones: int) -> None:
        def plan() -> None:
            assert stopper is not None  # noqa: S101
            references.add(self.studio, code, photo, zones=zones, on_progress=stopper)

        stopper = self._begin()
        try:
            async with self._turn:
                await aside(plan)
            self.say("The work is planned from the photo")
        except BurnplanError as error:
            self.complain(error)
        finally:
            self._end(stopper)
        self.look()

    def _begin(self) -> Stopper:
        """Show that long work runs; escape stops it."""

        def tell(share: float, label: str) -> None:
            self.call_from_thread(self._tell, share, label)

        self._stopper = Stopper(tell)
        self._part("#busy", Horizontal).add_class("on")
        self._refresh_keys()
        return self._stopper

    def _tell(self, share: float, label: str) -> None:
        self._part("#busy Label", Label).update(Content(f"{label}  (esc stops)"))
        self._part("#busy ProgressBar", ProgressBar).update(progress=share)

    def _end(self, stopper: Stopper) -> None:
        if self._stopper is stopper:
            self._stopper = None
            with suppress(NoMatches):  # the screen may be taken down meanwhile
                self._part("#busy", Horizontal).remove_class("on")
                self._refresh_keys()

    def _want_picture(self, job: gather.Job) -> None:
        if job.reference is None:
            return
        key = job.commission.code, job.reference.number
        if key in self._pictures:
            self._show_picture(key)
        elif self._stopper is None:
            self._draw_picture(key)

    @work(group="long", exclusive=True)
    async def _draw_picture(self, key: tuple[str, int]) -> None:
        stopper = self._begin()
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
        if self.code == key[0] and key in self._pictures:
            sepia, zones = self._pictures[key]
            with suppress(NoMatches):  # the screen may be taken down meanwhile
                self._part("#picture", Picture).give(zones if self._zones_shown else sepia)

    def action_picture(self) -> None:
        """Change between the picture and its zones."""
        job = self.shown
        if job is not None and job.reference is not None:
            self._zones_shown = not self._zones_shown
            self._show_picture((job.commission.code, job.reference.number))

    # The command palette

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:  # noqa: ARG002
        """Give the palette every action, and every open job to go to."""
        for page, name in TABS.items():
            yield SystemCommand(name[2:], "Go to this page", partial(self.action_page, page))
        for name, what, action in (
            ("New commission", "Log what a client asks for", "new"),
            ("New blank", "Put wood in stock", "new_blank"),
            ("Clock", "Start the clock, pause it, let it run on", "clock"),
            ("Stop the clock", "The hours go on record", "stop"),
            ("Tick step", "Tick the step the cursor is on, or open it again", "tick"),
            ("Skip step", "Skip the step the cursor is on, with the reason", "skip"),
            ("Reference photo", "Plan the work from a photo", "reference"),
            ("Hold a blank", "Hold wood for a job", "hold"),
            ("Issue quote", "Reckon a quote and issue it", "quote"),
            ("Quote accepted", "The client said yes", "accept"),
            ("Take payment", "A deposit, a payment or a refund", "payment"),
            ("Hand over", "The piece leaves the studio", "deliver"),
            ("Edit commission", "Change what is asked for", "edit"),
            ("Picture or zones", "Show the reference or its value zones", "picture"),
            ("Undo", "Take back the last thing done", "undo"),
            ("Light or dark", "Change between lamplight and daylight", "light"),
        ):
            # A photo can be changed too, though its key is off the line once there is one.
            on_job = action in ("tick", "skip", "edit", "picture", "reference")
            if self.shown is not None if on_job else self.check_action(action, ()):
                yield SystemCommand(name, what, getattr(self, f"action_{action}"))
        for job in self.open_jobs.jobs if self.open_jobs else []:
            yield SystemCommand(
                f"Job {job.code} {job.title}", "Open it", partial(self.action_open, job.code)
            )
        yield SystemCommand("Quit", "Leave the workbench; a running clock runs on", self.exit)


def _number(text: str) -> Decimal:
    from burnplan.errors import BadInput

    try:
        value = Decimal(text.strip().removesuffix("%").strip().replace(",", "."))
    except ArithmeticError:
        raise BadInput(f"'{text}' is not a number", "Write it like 12 or 7.5") from None
    if not value.is_finite():
        raise BadInput(f"'{text}' is not a number", "Write it like 12 or 7.5")
    return value


def _wanted(answers: Answers) -> quotes.Wanted:
    """Return how a quote is wanted; pydantic's own bounds are said in words."""
    from burnplan.errors import BadInput

    given = {name: text for name, text in answers.items() if text}
    sure = _number(given.get("sure", "80"))
    hours = _number(given["hours"]) if "hours" in given else None
    if not 1 <= sure <= 99:
        raise BadInput(f"{sure} % cannot be reckoned with", "Give between 1 and 99")
    if hours is not None and not 0 < hours <= 2000:
        raise BadInput(f"{hours} hours cannot be quoted", "Give more than 0, up to 2000")
    margin = _number(given.get("margin_percent", "0"))
    if not 0 <= margin <= 500:
        raise BadInput(f"A margin of {margin} % is none", "Give between 0 and 500")
    return quotes.Wanted(
        hours=float(hours) if hours is not None else None,
        sure=float(sure) / 100,
        packing=given.get("packing"),
        margin_percent=margin,
        discount=given.get("discount"),
        round_to=given.get("round_to"),
    )


def _kind(text: str) -> payments.Kind:
    from burnplan.errors import BadInput

    kinds: dict[str, payments.Kind] = {k: k for k in ("deposit", "payment", "refund")}
    if text.lower() not in kinds:
        raise BadInput(f"'{text}' is no kind of payment", "Give deposit, payment or refund")
    return kinds[text.lower()]


def _blank_line(blank: blanks.BlankView, now: gather.Now) -> Content:
    size = format_size(blank.shape(), now.own.units)
    blocked = "  must not be burned" if any(h.blocks for h in blank.hazards) else ""
    return Content.assemble(
        (f"{blank.code}  ", SOFT), (drawing.fitted(blank.species_name, 18), STRONG),
        (drawing.fitted(size, 18), ""), (blocked, drawing.BAD),
    )  # fmt: skip
