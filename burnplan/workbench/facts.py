"""Facts beside a list or over a question, laid out for the width there is."""

from collections.abc import Callable

from textual.content import Content
from textual.widgets import Static

from burnplan.workbench import drawing


class Facts(Static):
    """What is known of something, laid out for the width there is."""

    def __init__(
        self,
        facts: Callable[[int], Content] | None = None,
        *,
        id: str | None = None,  # noqa: A002
        classes: str = "",
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._facts = facts

    def give(self, facts: Callable[[int], Content]) -> None:
        """Show facts, made for the width there is."""
        self._facts = facts
        self.on_resize()

    def on_resize(self) -> None:
        """Lay them out anew."""
        if self._facts is not None and self.content_size.width:
            drawing.put(self, self._facts(self.content_size.width))
