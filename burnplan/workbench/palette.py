"""The palette: every action that can be done now, every page, every open job."""

from collections.abc import Iterable, Iterator
from functools import partial
from typing import TYPE_CHECKING, Any, cast

from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.markup import escape

from burnplan.workbench.actions import ALL
from burnplan.workbench.actions.action import Action

if TYPE_CHECKING:
    from collections.abc import Callable

    from burnplan.workbench.app import Workbench

    Line = tuple[str, str, Callable[[], Any]]

# As many jobs as a list over the page can show; more letters find the others.
_MOST_JOBS = 20


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
                key = f" ({action.key})" if _works(action, bench) else ""
                yield action.words, f"{action.about}{key}", partial(action.do, bench)
        for name, title in bench.tabs.items():
            yield title[2:], f"Go to this page ({title[0]})", partial(bench.action_page, name)

    def _jobs(self) -> "Iterator[Line]":
        bench = self._bench
        known = bench.open_jobs.known
        for job in known.jobs if known else ():
            yield f"{job.code} {job.title}", job.client or "", partial(bench.open_job, job.code)

    async def discover(self) -> Hits:
        """Give everything that can be done."""
        for words, about, do in self._to_do():
            yield DiscoveryHit(words, do, help=about)

    async def search(self, query: str) -> Hits:
        """Give what is found: actions by their letters, jobs by a part of their name."""
        matcher = self.matcher(query)
        for words, about, do in self._to_do():
            score = matcher.match(words)
            if score > 0:
                yield Hit(score, matcher.highlight(words), do, help=about)
        for words, about, do in _holding(query, self._jobs()):
            # Titles and names are the artist's: a bracket in them is no markup.
            yield Hit(0.5, escape(words), do, text=words, help=escape(about))


def _works(action: Action, bench: "Workbench") -> bool:
    """Tell whether the key of an action works on the page shown."""
    return bool(action.key) and action.page in ("", bench.page_name)


def _holding(query: str, lines: "Iterable[Line]") -> "Iterator[Line]":
    """Yield the first lines that hold the query; plain, because fuzzy takes too long for many."""
    wanted, found = query.casefold(), 0
    for words, about, do in lines:
        if wanted in f"{words} {about}".casefold():
            yield words, about, do
            found += 1
            if found == _MOST_JOBS:
                return
