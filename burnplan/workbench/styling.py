"""Styles that are ready when they are needed, and given to what is shown first."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Any
from weakref import WeakKeyDictionary, WeakSet

from textual.css.stylesheet import Stylesheet
from textual.dom import DOMNode
from textual.screen import Screen
from textual.widget import Widget

from burnplan.workbench.pages.page import WorkbenchPage


@dataclass(frozen=True, slots=True)
class Given:
    """What was given to the widgets of one screen, by any light."""

    behind: defaultdict[WorkbenchPage[Any], WeakSet[DOMNode]] = field(
        default_factory=lambda: defaultdict(WeakSet)
    )
    """What of each page was not given its styles yet."""
    by: WeakKeyDictionary[DOMNode, tuple[object, ...]] = field(default_factory=WeakKeyDictionary)
    """What the styles of each widget hung on when it was given them."""


class ShownFirst(Stylesheet):
    """Gives a page that is out of sight its styles when it is gone to, not before.

    A change of light gives every widget new styles; those of six pages take
    longer than a key may. It reads the styles anew, too, with other colours:
    so each light has its own, read beforehand. And a widget whose styles hang on
    what they hung on before has them already.

    Parameters
    ----------
    variables : dict of str
        The colours by name.
    given : Given, optional
        What the widgets were given; the lights of one screen share it.
    """

    def __init__(self, *, variables: dict[str, str], given: Given | None = None) -> None:
        super().__init__(variables=variables)
        self._colours = variables
        self._parsed, self._reading = False, object()
        self._given = given or Given()

    def set_variables(self, variables: dict[str, str]) -> None:
        """Take other colours."""
        if variables != self._colours:
            super().set_variables(variables)
            self._colours, self._parsed = variables, False

    def read(self, filename: str | PurePath) -> None:
        """Take the styles of a file."""
        super().read(filename)
        self._parsed = False

    def expect(self, *parts: Widget) -> None:
        """Have the styles of parts that come later, read with those of the first page."""
        for part in parts:
            for where, css, rank, scope in part._get_default_css():  # noqa: SLF001 as when mounted
                self.add_source(css, where, is_default_css=True, tie_breaker=rank, scope=scope)

    def parse(self) -> None:
        """Read the styles."""
        super().parse()
        self._parsed, self._reading = True, object()

    def reparse(self) -> None:
        """Read the styles anew, if they or the colours are others."""
        if not self._parsed:
            super().reparse()
            self._parsed, self._reading = True, object()

    def by_another_light(self, variables: dict[str, str]) -> "ShownFirst":
        """Return the same styles in other colours."""
        return ShownFirst(variables=variables, given=self._given)

    def keep_up_with(self, other: "ShownFirst") -> None:
        """Have the styles that another light has: widgets bring theirs when first shown."""
        if self.source != other.source:
            self.source, self._parsed = dict(other.source), False
            self.reparse()
            self.rules_map  # noqa: B018 made when first asked for

    def update_nodes(self, nodes: Iterable[DOMNode], animate: bool = False) -> None:
        """Give widgets their styles, where they are in sight."""
        now = []
        for node in nodes:
            page = next(
                (above for above in node.ancestors_with_self if isinstance(above, WorkbenchPage)),
                None,
            )
            if page is None or page.display:
                now.append(node)
            else:
                self._given.behind[page].add(node)
        super().update_nodes(now, animate=animate)

    def apply(self, node: DOMNode, *, animate: bool = False, cache: Any = None) -> None:
        """Give a widget its styles, unless it has them."""
        if not isinstance(node, Widget):
            super().apply(node, animate=animate, cache=cache)
            return
        if self._given.by.get(node) == self._hangs_on(node) and not _by_its_place(node):
            return
        super().apply(node, animate=animate, cache=cache)
        self._given.by[node] = self._hangs_on(node)

    def _hangs_on(self, node: Widget) -> tuple[object, ...]:
        """Return what the styles of a widget hang on, but for its place among others."""
        self.rules  # noqa: B018 read by now
        above = node.ancestors_with_self
        focused = next((one.focused for one in above if isinstance(one, Screen)), None)
        # Known from when it was given styles last, as whether they hang on its place is.
        minds = getattr(node, "_has_focus_within", True)
        within = focused.ancestors_with_self if focused and minds else ()
        return (
            self._reading, node.app.app_focus,
            *((id(one), one.classes, one in within) for one in above),
            *((one.mouse_hover, one.disabled) for one in above if isinstance(one, Widget)),
            node.has_focus,
        )  # fmt: skip

    def catch_up(self, page: WorkbenchPage[Any]) -> None:
        """Give a page that comes into sight the styles it was not given."""
        nodes = self._given.behind.pop(page, ())
        self.update_nodes(node for node in nodes if node.is_attached)


def _by_its_place(node: DOMNode) -> bool:
    """Return whether some of a widget's styles hang on its place among others."""
    return getattr(node, "_has_order_style", True) or getattr(node, "_has_odd_or_even", True)
