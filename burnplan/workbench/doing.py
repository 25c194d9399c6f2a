"""How things get done at the desk beside the screen: on threads, errors as lines."""

import asyncio
from collections.abc import Callable, Sequence
from contextlib import nullcontext, suppress
from typing import Any, TypeVar

from rich.console import RenderableType
from textual import work
from textual.content import Content
from textual.css.query import NoMatches
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static

from burnplan.desk.studio.studio import Studio
from burnplan.errors import BurnplanError
from burnplan.show import commands
from burnplan.wording import AS_WRITTEN
from burnplan.workbench.forms import Choice, Form, Reading
from burnplan.workbench.long_work import LongWork
from burnplan.workbench.sharp import SharpPictures
from burnplan.workbench.threads import Stopper, Unforeseen, aside
from burnplan.workbench.words import in_words

T = TypeVar("T")
Part = TypeVar("Part", bound=Widget)


class Doing(SharpPictures):
    """An app whose screen shows what a studio's book says, and what is done at its desk.

    Parameters
    ----------
    studio : Studio
        Every change goes through the desk's functions on it, and is on record
        before it is shown.
    """

    def __init__(self, studio: Studio) -> None:
        super().__init__()
        self.studio = studio
        self.began = studio.now()
        # Why nothing could be drawn any more; said once the terminal is given back.
        self.ended_by: BurnplanError | None = None
        # Whether what to mind was said since the clock was last looked up.
        self.minded = False
        self._in_short: Sequence[str] = ()
        # How many keys were pressed, and after how many something was said last.
        self.keys_pressed = self.said_of = 0
        # How the program's own words are read here; known from the first look on.
        self.wording = AS_WRITTEN
        # One change after another, in the order of the keys pressed; how many are not done yet.
        self._turn, self._changing = asyncio.Lock(), 0

    def look(self) -> None:
        """Look up anew what is shown."""
        raise NotImplementedError

    def show_clock(self) -> None:
        """Show the clock, and whether a change is under way."""
        raise NotImplementedError

    def in_sight(self, heading: str) -> Callable[[int], Content] | None:
        """Return what lays out the job that a heading names by its code, where it names one."""
        raise NotImplementedError

    @property
    def long_work(self) -> LongWork:
        """The line of what takes a while."""
        return self._part("#busy", LongWork)

    def _part(self, selector: str, kind: type[Part]) -> Part:
        """Return a part of the pages, also while a question is over them."""
        if not self.screen_stack:
            raise NoMatches("The screen is being taken down")
        return self.screen_stack[0].query_one(selector, kind)

    @work(group="do")
    async def do(self, what: Callable[[], T], then: Callable[[T], None] | None = None) -> None:
        """Do something at the desk, on a thread, and show what came of it."""
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
            self.show_clock()

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

    def choose_of(
        self,
        what: Callable[[], Sequence[T]],
        title: str,
        line: Callable[[T], tuple[str, Content]],
        then: Callable[[str], None],
        *,
        nothing: str,
    ) -> None:
        """Look some things up and let one be chosen, by its key and line; else say ``nothing``."""

        def found(lines: list[tuple[str, Content]]) -> None:
            if lines:
                self.choose(Choice(title, lines), then)
            else:
                self.say(nothing)

        self.find(lambda: [line(one) for one in what()], found)

    @work(group="find", exclusive=True)
    async def read(self, title: str, what: Callable[[], RenderableType]) -> None:
        """Look something up, on a thread, and show it to be read."""

        def shown() -> RenderableType:
            with commands.otherwise(in_words):
                return what()

        try:
            found = await aside(shown)
        except BurnplanError as error:
            self.complain(error)
        else:
            self._push(Reading(title, found), lambda _: None)

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
            self.ended_by = damage
            self.exit(return_code=1)

    def worded(self, error: BurnplanError) -> str:
        """Return what an error says to who sits here."""
        return in_words(self.wording.of_error(error))

    def _show_error(self, error: BurnplanError) -> None:
        self._make_room()
        self.notify(self.worded(error), severity="error", timeout=8, markup=False)

    def say(self, text: str, *, mind: bool = False) -> None:
        """Show a word on what was done, or what to mind."""
        self._make_room()
        self.notify(text, severity="warning" if mind else "information",
                    timeout=10 if mind else 6, markup=False)  # fmt: skip

    def _make_room(self) -> None:
        """Take off what was said of an earlier key: it would hide more and more of the page."""
        if self.said_of != self.keys_pressed:
            self.said_of = self.keys_pressed
            self.clear_notifications()

    def mind(self, words: Sequence[str], short: Sequence[str] = ()) -> None:
        """Show what can hurt in the line kept for it, until the work or the moment is another.

        What is said in full the first time leaves the room to its short form at the next key.
        """
        self.minded, self._in_short = True, short if list(short) != list(words) else ()
        line = self._part("#mind", Static)
        line.set_class(bool(words), "on")
        line.update(Content("\n").join(Content(f"! {text}") for text in words))

    def mind_in_short(self) -> None:
        """Show in short what was shown in full."""
        if self._in_short:
            minded = self.minded
            self.mind(self._in_short)
            self.minded = minded

    def long(
        self, what: Callable[[Stopper], T], then: Callable[[T], None], *, writes: bool = False
    ) -> None:
        """Do something that takes a while, with its progress shown; escape stops it.

        ``writes`` where it changes the book: then no other change comes between.
        """
        self._long(self.long_work.begin(asked_for=True), what, then, writes)

    @work(group="long")
    async def _long(
        self,
        stopper: Stopper,
        what: Callable[[Stopper], T],
        then: Callable[[T], None],
        writes: bool,
    ) -> None:
        line = self.long_work
        try:
            async with self._turn if writes else nullcontext():
                found = await aside(what, stopper)
        except BurnplanError as error:
            self.complain(error)
            return
        finally:
            line.end(stopper)
        with suppress(NoMatches):  # the screen may be taken down meanwhile
            then(found)
            if writes:
                self.look()
