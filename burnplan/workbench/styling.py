"""Styles for what is shown first: most of the workbench is out of sight."""

from collections.abc import Iterable
from typing import Any

from textual.css.stylesheet import Stylesheet
from textual.dom import DOMNode

from burnplan.workbench.pages.page import Page


class ShownFirst(Stylesheet):
    """Gives a page that is out of sight its styles when it is gone to, not before.

    A change of light gives every widget new styles; those of six pages take
    longer than a key may.
    """

    def __init__(self, *, variables: dict[str, str]) -> None:
        super().__init__(variables=variables)
        self._behind: set[Page[Any]] = set()

    def update_nodes(self, nodes: Iterable[DOMNode], animate: bool = False) -> None:
        """Give widgets their styles, where they are in sight."""
        now = []
        for node in nodes:
            page = next(
                (above for above in node.ancestors_with_self if isinstance(above, Page)), None
            )
            if page is None or page.display:
                now.append(node)
            else:
                self._behind.add(page)
        super().update_nodes(now, animate=animate)

    def catch_up(self, page: Page[Any]) -> None:
        """Give a page that comes into sight the styles it was not given."""
        if page in self._behind:
            self._behind.discard(page)
            self.update(page)
