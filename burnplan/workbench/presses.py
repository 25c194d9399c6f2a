"""Tells a key that is held down from one that is pressed again: a terminal tells only of presses.

A key held down comes again after a quarter of a second to two thirds, and from then on many
times a second.
"""

from enum import Enum, auto

SOON = 0.7
"""Seconds after which a press is another one; a terminal repeats a key sooner (from memory)."""
GAP = 0.15
"""Seconds between presses of a hand; a key held down comes faster (from memory)."""


class Press(Enum):
    """What a press is."""

    FIRST = auto()
    AGAIN = auto()
    """Another one, or the first of a key held down: so it is if one more comes in a gap's time."""
    HELD = auto()


class Presses:
    """The presses of the keys, one after the other."""

    def __init__(self) -> None:
        self.last = Press.FIRST
        self._key, self._at = "", -SOON

    def note(self, key: str, at: float) -> None:
        """Note a press, at a time in seconds."""
        gap = at - self._at
        if key != self._key or gap >= SOON:
            self.last = Press.FIRST
        else:
            self.last = Press.HELD if gap < GAP else Press.AGAIN
        self._key, self._at = key, at
