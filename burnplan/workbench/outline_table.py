"""A blank's outline over the photo it was found in, to be put right by hand."""

import math
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from burnplan.desk.wood.outlines import pulled
from burnplan.units import UnitSystem, format_length
from burnplan.workbench.forms import Question
from burnplan.workbench.holding import Down
from burnplan.workbench.keyline import Key, KeyLine
from burnplan.workbench.picture import Picture

if TYPE_CHECKING:
    from burnplan.desk.wood.outlines import InPhoto

Corners = list[tuple[float, float]]

_STEP_MM, _LEAP_MM = 0.5, 5.0  # of an arrow, and with shift
_ON_MM = 12.0  # from a place to the next
_NEAR_MM = 45.0  # to either side of a place that is looked at closely


class OutlineTable(Question[Corners | None]):
    """The outline over its photo; gives the corners that are to be kept.

    Parameters
    ----------
    found : InPhoto
    units : UnitSystem
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "dismiss(None)", "Leave it"),
        ("enter,ctrl+s", "keep", "Keep it"),
        ("n,tab", "go(1)", "Next place"),
        ("p,shift+tab", "go(-1)", "Place before"),
        ("z", "closer", "Closer"),
        *((way, f"move({x},{y})", "") for way, x, y in (
            ("left", -1, 0), ("right", 1, 0), ("up", 0, -1), ("down", 0, 1))),
        *((f"shift+{way}", f"move({x},{y},True)", "") for way, x, y in (
            ("left", -1, 0), ("right", 1, 0), ("up", 0, -1), ("down", 0, 1))),
    ]  # fmt: skip

    def __init__(self, found: "InPhoto", units: UnitSystem) -> None:
        super().__init__()
        self.found, self.units = found, units
        self.corners: Corners = list(found.view.points_mm)
        self.at, self.close, self.changed = 0, False, False

    def compose(self) -> ComposeResult:
        """Lay out the picture, where one is, and the keys."""
        with Down(classes="paper wide"):
            yield Static(Content(f"{self.found.view.code}: its outline"), classes="heading")
            yield Picture(share=0.7)
            yield Static(id="place")
            yield KeyLine(
                Key("↵", "Keep it", "keep"), Key("n", "Next place", "go(1)"),
                Key("arrows", "Move it", ""), Key("shift", "by more", ""),
                Key("z", "Closer", "closer"), Key("esc", "Leave it", "dismiss(None)"),
            )  # fmt: skip

    def on_mount(self) -> None:
        """Show it."""
        self._show()

    def action_go(self, way: int) -> None:
        """Go to another place along the line."""
        run, start = 0.0, self.at
        while run < _ON_MM:
            before = self.corners[self.at]
            self.at = (self.at + way) % len(self.corners)
            run += math.dist(before, self.corners[self.at])
            if self.at == start:
                break
        self._show()

    def action_move(self, across: int, down: int, leap: bool = False) -> None:
        """Move the place; the line beside it follows."""
        step = _LEAP_MM if leap else _STEP_MM
        x, y = self.corners[self.at]
        self.corners = pulled(self.corners, self.at, (x + across * step, y + down * step))
        self.changed = True
        self._show()

    def action_closer(self) -> None:
        """Look closely at the place, or at all of it."""
        self.close = not self.close
        self._show()

    def action_keep(self) -> None:
        """Keep the outline as it is now."""
        self.dismiss(self.corners if self.changed else None)

    def _show(self) -> None:
        import numpy as np

        place = self.corners[self.at]
        seen = self.found.drawn(self.corners, [place])
        if self.close:
            scale = seen.shape[1] / self.found.seen.photo_size[0]
            x, y = (self.found.seen.to_pixels([place])[0] * scale).astype(int)
            near = _NEAR_MM * float(self.found.seen.px_per_mm([place])[0]) * scale
            reach = max(8, round(near))
            seen = seen[max(0, y - reach) : y + reach, max(0, x - reach) : x + reach]
        opaque = np.full((*seen.shape[:2], 1), 255, np.uint8)
        said = "the outline over the photo; the dot is the place that the arrows move"
        self.query_one(Picture).give(np.concatenate([seen, opaque], axis=2), said)
        across, down = (format_length(round(mm, 1), self.units) for mm in place)
        self.query_one("#place", Static).update(
            Content(f"{across} from the left, {down} from the top")
        )
