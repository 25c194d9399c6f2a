"""The lines to trace in words: how many are drawn, and in which passes they are traced.

Paper, files and checklists give the passes the same names.
"""

from enum import IntEnum, StrEnum


class Detail(StrEnum):
    """How much is drawn."""

    CALM = "calm"
    USUAL = "usual"
    FINE = "fine"


class Pass(IntEnum):
    """When a line is traced."""

    SHAPES = 1
    DARKEST = 2
    CONTOURS = 3

    @property
    def called(self) -> str:
        """What is traced in it."""
        return _CALLED[self]


_CALLED = {
    Pass.SHAPES: "basic shapes and features",
    Pass.DARKEST: "edges of the darkest values",
    Pass.CONTOURS: "contours, lighter",
}
