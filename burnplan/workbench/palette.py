"""The palette: every action that can be done now, every page, every job, client and blank."""

from collections.abc import Iterator
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING, Any, cast

from textual import on
from textual.command import CommandPalette, DiscoveryHit, Hit, Hits, Provider
from textual.markup import escape
from textual.widgets import Input
from textual.worker import Worker, WorkerState

from burnplan.desk.studio import searching
from burnplan.errors import BurnplanError
from burnplan.workbench.actions import ALL
from burnplan.workbench.actions.action import Action
from burnplan.workbench.keyline import key_words
from burnplan.workbench.threads import aside

if TYPE_CHECKING:
    from collections.abc import Callable

    from burnplan.workbench.app import Workbench

    Line = tuple[str, str, Callable[[], Any]]

# As many as a list over the page can show; more letters find the others.
_MOST = 20
# How much what is said of an action counts, where its name does not have the letters.
_BY_ABOUT = 0.3


class Palette(CommandPalette):
    """The palette, in which Enter waits for what the letters typed find."""

    def __init__(self) -> None:
        super().__init__(placeholder="Do, go to, or open a job …")
        self._enter_waits = False

    @property
    def _looking(self) -> bool:
        return any(
            one.node is self and one.group == self._GATHER_COMMANDS_GROUP and not one.is_finished
            for one in self.workers
        )

    @on(Input.Changed)
    def _typed_on(self) -> None:
        self._enter_waits = False

    @on(Input.Submitted)
    def _wait_for_what_is_found(self, event: Input.Submitted) -> None:
        if self._looking:  # what is listed yet was found for other letters
            event.prevent_default()
            event.stop()
            self._enter_waits = True

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Choose what was found for somebody who pressed Enter already."""
        ours = event.worker.group == self._GATHER_COMMANDS_GROUP
        if ours and event.state is WorkerState.SUCCESS and self._enter_waits:
            self._enter_waits = False
            self._select_or_command()


class Everything(Provider):
    """What can be done, gone to and opened."""

    @property
    def _bench(self) -> "Workbench":
        return cast("Workbench", self.app)

    def _to_do(self) -> "Iterator[Line]":
        bench = self._bench
        # Another page's keys do not work here, but what they do can be meant anywhere.
        for action in sorted(ALL.values(), key=lambda one: not _works(one, bench)):
            if action.can(bench):
                key = f" ({key_words(action.key)})" if _works(action, bench) else ""
                yield action.words, f"{action.about}{key}", partial(action.do, bench)
        for name, title in bench.tabs.items():
            yield title[2:], f"Go to this page ({title[0]})", partial(bench.action_page, name)

    def _opening(self, one: searching.Found) -> "Callable[[], Any]":
        if one.kind == "job":
            return partial(self._bench.open_job, one.code)
        return partial(self._bench.go_to_row, f"{one.kind}s", one.code)

    async def discover(self) -> Hits:
        """Give everything that can be done."""
        for words, about, do in self._to_do():
            yield DiscoveryHit(words, do, help=about)

    async def search(self, query: str) -> Hits:
        """Give what is found: actions by their letters, the rest by a part of their name."""
        matcher = self.matcher(query)
        for words, about, do in self._to_do():
            score = matcher.match(words)
            if score > 0:
                yield Hit(score, matcher.highlight(words), do, help=about)
            elif query.casefold() in about.casefold():  # called otherwise by who looks for it
                yield Hit(_BY_ABOUT, escape(words), do, text=words, help=about)
        with suppress(BurnplanError):  # the next look will say what is wrong with the book
            for one in await aside(searching.search, self._bench.studio, query, _MOST):
                words = f"{one.code} {one.name}"
                # Titles and names are the artist's: a bracket in them is no markup.
                yield Hit(0.5, escape(words), self._opening(one), text=words, help=escape(one.more))


def _works(action: Action, bench: "Workbench") -> bool:
    """Tell whether the key of an action works on the page shown."""
    return bool(action.key) and action.page in ("", bench.page_name)
