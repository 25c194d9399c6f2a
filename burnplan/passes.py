"""The passes in which lines are traced, by the names that paper, files and checklists give them."""

from enum import IntEnum


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
