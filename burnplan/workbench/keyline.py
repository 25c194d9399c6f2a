"""The key line: what the keys do now, at the foot of the screen; a click does it too."""

from dataclasses import dataclass

from rich.cells import cell_len
from textual.content import Content
from textual.events import Click
from textual.message import Message
from textual.widgets import Static

_WORDS = {
    "question_mark": "?", "slash": "/", "ctrl+q": "^q", "ctrl+s": "^s", "plus": "+", "minus": "-",
    "ctrl+p": "^p", "escape": "esc", "enter": "↵", "shift+tab": "⇧tab",
    "pageup": "pgup", "pagedown": "pgdn",
}  # fmt: skip


# Keys that are always shown: the last.
_KEPT = 2


def key_words(key: str) -> str:
    """Return the first of some keys, named as Textual does, as it stands on a keyboard.

    Examples
    --------
    >>> key_words("question_mark,f1"), key_words("space")
    ('?', 'space')
    """
    first = key.partition(",")[0]
    return _WORDS.get(first, first)


@dataclass(frozen=True, slots=True)
class Key:
    """A key, its word, and the action of the app that it does."""

    key: str
    word: str
    action: str

    @property
    def wide(self) -> int:
        """Return the cells it takes."""
        return cell_len(self.key) + 1 + cell_len(self.word)


class KeyLine(Static):
    """The keys that can do something; those that do not fit are left out, the last two never.

    Lighter than Textual's Footer, which makes a widget for each key anew
    whenever one comes or goes: a key press is to be answered at once.
    """

    DEFAULT_CSS = "KeyLine { height: 1; text-wrap: nowrap; }"

    class Pressed(Message):
        """A key was clicked."""

        def __init__(self, action: str) -> None:
            self.action = action
            super().__init__()

    def __init__(self, *keys: Key) -> None:
        super().__init__()
        self._keys = keys
        self._places: list[tuple[range, Key]] = []

    def give(self, *keys: Key) -> None:
        """Show keys, the most wanted first."""
        if keys != self._keys:
            self._keys = keys
            self._lay_out()

    def on_resize(self) -> None:
        """Lay them out anew."""
        self._lay_out()

    def _lay_out(self) -> None:
        if not self._keys:
            return
        width, keys = self.content_size.width, self._keys
        gap = 2 if sum(key.wide + 2 for key in keys) - 2 <= width else 1
        kept = keys[-_KEPT:]
        room, shown = width + gap - sum(key.wide + gap for key in kept), []
        for key in keys[:-_KEPT]:
            if key.wide + gap <= room:
                shown.append(key)
                room -= key.wide + gap
        self._places, x = [], 0
        for key in (*shown, *kept):
            self._places.append((range(x, x + key.wide), key))
            x += key.wide + gap
        words = [Content.assemble((k.key, "bold $primary"), f" {k.word}") for _, k in self._places]
        self.update(Content(" " * gap).join(words), layout=False)

    def on_click(self, event: Click) -> None:
        """Do what the key does."""
        at = event.get_content_offset(self)
        for cells, key in self._places if at is not None else ():
            if at is not None and at.x in cells:
                self.post_message(self.Pressed(key.action))
