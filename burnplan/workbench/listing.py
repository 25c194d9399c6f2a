"""A list that lays itself out anew for every width."""

from collections.abc import Callable, Sequence
from typing import ClassVar

from rich.cells import cell_len
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.css.styles import RulesMap
from textual.events import Resize
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

Line = tuple[str | None, Content]
"""The key of a line, None for a heading between lines, and how it looks."""

Drawn = tuple[Content | None, Sequence[Line]]
"""The headings of the columns, and the lines."""


class Fitted(Content):
    """Content cut to its width already: its height is known without wrapping it again."""

    def get_height(self, rules: RulesMap, width: int) -> int:
        """Return its lines; wraps it only if a line is too long after all."""
        lines = self.plain.split("\n")
        if any(cell_len(line) > width for line in lines):
            return super().get_height(rules, width)
        return len(lines)


class Lines(OptionList):
    """The lines themselves."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("j", "cursor_down", "Down", show=False),
        Binding("k", "cursor_up", "Up", show=False),
    ]


class Listing(Vertical):
    """Lines under headings, or what to do when there are none.

    Parameters
    ----------
    title : str
    empty : str
        Shown when there are no lines.
    id : str
    """

    def __init__(self, title: str, empty: str, *, id: str) -> None:  # noqa: A002
        super().__init__(id=id, classes="part")
        self.border_title = title
        self._empty = empty
        self._draw: Callable[[int], Drawn] | None = None
        self._wide = 0
        self.keys: list[str | None] = []
        self._shown: list[Content] = []

    def compose(self) -> ComposeResult:
        """Lay out headings, lines and the word for none."""
        yield Static(classes="heads")
        yield Static(Content(self._empty), classes="empty")
        yield Lines()

    @property
    def lines(self) -> Lines:
        """The lines."""
        return self.query_one(Lines)

    @property
    def key(self) -> str | None:
        """The key of the line the cursor is on."""
        at = self.lines.highlighted
        return self.keys[at] if at is not None and at < len(self.keys) else None

    def on_mount(self) -> None:
        """Show nothing until there is something to show."""
        self.query_one(".heads").display = self.query_one(".empty").display = False

    def give(self, draw: Callable[[int], Drawn]) -> None:
        """Show what is drawn for the width there is."""
        self._draw = draw
        self._redraw()

    def on_resize(self, event: Resize) -> None:
        """Lay the lines out anew."""
        if event.size.width != self._wide:
            self._redraw()

    def _redraw(self) -> None:
        self._wide = self.size.width
        if self._draw is None or not self._wide:
            return
        # One cell is the scroll bar's, whether it shows or not.
        heads, lines = self._draw(self._wide - 2)
        keys, shown = [key for key, _ in lines], [text for _, text in lines]
        if keys and keys == self.keys:
            # The same lines: cursor and scrolling stay as they are.
            for place, text in enumerate(shown):
                if not text.is_same(self._shown[place]):
                    self.lines.replace_option_prompt_at_index(place, text)
            self._shown = shown
            self.query_one(".heads", Static).update(heads or "")
            return
        before, at = self.key, self.lines.highlighted
        self.keys, self._shown = keys, shown
        with self.app.batch_update():
            title = self.query_one(".heads", Static)
            title.display = heads is not None and bool(lines)
            title.update(heads or "")
            self.query_one(".empty").display = not lines
            self.lines.set_options(
                Option(Fitted(text.plain, list(text.spans)), disabled=key is None)
                for key, text in lines
            )
            self._put_cursor(before, at)

    def _put_cursor(self, key: str | None, at: int | None) -> None:
        """Keep the cursor on its line, else at its place."""
        if key in self.keys and key is not None:
            self.lines.highlighted = self.keys.index(key)
            return
        usable = [n for n, one in enumerate(self.keys) if one is not None]
        if usable:
            self.lines.highlighted = min(usable, key=lambda n: abs(n - (at or 0)))

    def go_to(self, key: str) -> None:
        """Put the cursor on a line."""
        if key in self.keys:
            self.lines.highlighted = self.keys.index(key)
