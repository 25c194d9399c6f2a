"""Styles that are ready when they are needed, and given to what is shown first."""

from collections import defaultdict
from collections.abc import Iterable
from pathlib import PurePath
from typing import Any
from weakref import WeakSet

from textual.css.stylesheet import Stylesheet
from textual.dom import DOMNode

from burnplan.workbench.pages.page import WorkbenchPage

Behind = defaultdict[WorkbenchPage[Any], WeakSet[DOMNode]]


class ShownFirst(Stylesheet):
    """Gives a page that is out of sight its styles when it is gone to, not before.

    A change of light gives every widget new styles; those of six pages take
    longer than a key may. It reads the styles anew, too, with other colours:
    so each light has its own, read beforehand.

    Parameters
    ----------
    variables : dict of str
        The colours by name.
    behind : dict of Page to WeakSet of DOMNode, optional
        What of each page was not given its styles yet; the lights of one screen share it.
    """

    def __init__(self, *, variables: dict[str, str], behind: Behind | None = None) -> None:
        super().__init__(variables=variables)
        self._given = variables
        self._parsed = False
        self._behind: Behind = defaultdict(WeakSet) if behind is None else behind

    def set_variables(self, variables: dict[str, str]) -> None:
        """Take other colours."""
        if variables != self._given:
            super().set_variables(variables)
            self._given, self._parsed = variables, False

    def read(self, filename: str | PurePath) -> None:
        """Take the styles of a file."""
        super().read(filename)
        self._parsed = False

    def parse(self) -> None:
        """Read the styles."""
        super().parse()
        self._parsed = True

    def reparse(self) -> None:
        """Read the styles anew, if they or the colours are others."""
        if not self._parsed:
            super().reparse()
            self._parsed = True

    def by_another_light(self, variables: dict[str, str]) -> "ShownFirst":
        """Return the same styles in other colours."""
        return ShownFirst(variables=variables, behind=self._behind)

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
                self._behind[page].add(node)
        super().update_nodes(now, animate=animate)

    def catch_up(self, page: WorkbenchPage[Any]) -> None:
        """Give a page that comes into sight the styles it was not given."""
        nodes = self._behind.pop(page, ())
        self.update_nodes(node for node in nodes if node.is_attached)
