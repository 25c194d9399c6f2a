"""Ticks on a page that show which way to lay burn strokes."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from burnplan.sheets.drawing import RGB, Drawing

TICKS_SAY = "Thin, pale ticks show how to lay burn strokes, not what to trace"

TICK_COLOUR: RGB = (150, 144, 139)
TICK_MM = 0.15

_ON_PHOTO: tuple[tuple[RGB, float], ...] = (  # to be seen on a photo, dark or light
    ((214, 208, 202), 0.24),
    ((112, 106, 101), 0.11),
)


def draw_ticks(
    drawing: Drawing, ticks: Sequence[NDArray[np.float64]], *, on_photo: bool = False
) -> None:
    """Draw ticks, thin and grey; on a photo with a pale rim."""
    lines = [(tick, False) for tick in ticks]
    if not lines:
        return
    for colour, weight in _ON_PHOTO if on_photo else [(TICK_COLOUR, TICK_MM)]:
        drawing.stroke(colour, weight)
        drawing.paths(lines)
