"""Lettering on sheets, drawn sharp at true size."""

from collections.abc import Callable, Sequence

from burnplan.sheets.drawing import RGB, Drawing
from burnplan.sheets.paper import Box
from burnplan.tone.letters import OUTLINE_MM, Letters


def draw_letters(
    drawing: Drawing, letters: Sequence[Letters], colour: Callable[[Letters], RGB]
) -> None:
    """Draw letters as they are burned: filled, or along their outlines."""
    for one in letters:
        if one.filled:
            drawing.filled(one.rings, colour(one))
        else:
            drawing.stroke(colour(one), OUTLINE_MM)
            drawing.paths((ring, True) for ring in one.rings)


def boxes(letters: Sequence[Letters]) -> list[Box]:
    """Return where letters lie: no joint between pages should cut them."""
    return [
        Box(left, top, right - left, bottom - top)
        for left, top, right, bottom in (one.box for one in letters)
    ]
