"""What holds other parts, drawn quickly: a page is mostly ground, and a key is to be answered."""

from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.geometry import Region
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import ContentSwitcher


class Holding(Widget):
    """A part with nothing of its own to show but its ground, and a frame around that.

    All its lines but the first and the last are the same: one is drawn, and
    cut once where other parts lie over it.
    """

    def render_lines(self, crop: Region) -> list[Strip]:
        """Return the lines in view."""
        if crop.height < 4:
            return super().render_lines(crop)
        first, between = super().render_lines(Region(crop.x, crop.y, crop.width, 2))
        last = super().render_lines(Region(crop.x, crop.bottom - 1, crop.width, 1))
        return [first, *[between] * (crop.height - 2), *last]


class Down(Vertical, Holding):
    """Parts below each other."""


class Across(Horizontal, Holding):
    """Parts beside each other."""


class Rolling(VerticalScroll, Holding):
    """Parts below each other that can be scrolled."""


class Switcher(ContentSwitcher, Holding):
    """Parts of which one is in sight."""


class Ground(Screen[None], Holding):
    """The screen beneath all."""
