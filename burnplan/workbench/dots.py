"""A picture in dots of one colour each, for a terminal that draws them."""

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

THROUGH = 255
"""The number of what is not painted: the cell beneath is seen. By definition."""


class Dots(NamedTuple):
    """A picture in numbered colours; ``THROUGH`` is not painted.

    Parameters
    ----------
    numbers : ndarray of uint8, shape (H, W)
    colours : ndarray of uint8, shape (N, 3)
    """

    numbers: "npt.NDArray[np.uint8]"
    colours: "npt.NDArray[np.uint8]"
