"""Pressure and passes: how hard each line is traced, and when.

Pressure follows the step across a line. The passes are an artist's: first the
basic shapes and the features, on which all else hangs; then the edges of the
darkest values; then the other contours, lightly.
"""

from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from burnplan.passes import Pass as Pass


class Pressure(StrEnum):
    """How hard to press when tracing a line; a lost line is left open."""

    FIRM = "firm"
    LIGHT = "light"
    LOST = "lost"


FIRM_STEP = 18.0
"""Step, L*, from which a line is firm (common practice, no source)."""

FEATURE_SHARE = 0.15
"""A feature is no longer than this share of the piece's shorter side, or twice that if closed."""

DARKER_SPOT = 11.0
"""A feature is so much darker than what lies around, L* (by eye on portraits, no source), ..."""

DARKER_THAN_RESTLESS = 5.0
"""... and by so many times what is restless there: a stripe of fur is none.
By eye on portraits, no source."""

AMONG = 0.75
"""A line of which no more than this share counts, for what lies around, is one among many, ...
(by eye on portraits and animals, no source)."""

AMONG_COHERENT = 0.6
"""... and a stripe where they run one way this coherently; an eye's lids do not (a guess: tried on
scikit-image's photos)."""

BASIC_SHARE = 0.12
"""A firm line this long, as a share of the piece's shorter side, is a basic shape."""

LONG_SHARE = 0.4
"""And one this long, or twice that if closed, is a basic shape however light it is (a guess: tried
on scikit-image's photos)."""


def pressures(step: NDArray[np.float64], found: NDArray[np.bool_]) -> list[Pressure]:
    """Return the pressure of each line.

    Parameters
    ----------
    step : ndarray of float64, shape (N,)
        Mean step across it, L*.
    found : ndarray of bool, shape (N,)
        Whether it is to be drawn at all.

    Returns
    -------
    list of Pressure

    Examples
    --------
    >>> [str(p) for p in pressures(np.array([30.0, 9.0, 4.0]), np.array([True, True, False]))]
    ['firm', 'light', 'lost']
    """
    return [
        Pressure.LOST if not drawn else Pressure.FIRM if firm else Pressure.LIGHT
        for drawn, firm in zip(found.tolist(), (step >= FIRM_STEP).tolist(), strict=True)
    ]


def passes(
    length_mm: NDArray[np.float64],
    step: NDArray[np.float64],
    closed: NDArray[np.bool_],
    marked: NDArray[np.bool_],
    darker_side: NDArray[np.float64],
    around: NDArray[np.float64],
    restless: NDArray[np.float64],
    stripe: NDArray[np.bool_],
    *,
    shorter_side_mm: float,
    darkest: float,
) -> list[Pass]:
    """Return the pass of each line.

    Parameters
    ----------
    length_mm, step : ndarray of float64, shape (N,)
    closed : ndarray of bool, shape (N,)
    marked : ndarray of bool, shape (N,)
        Whether it outlines the subject or lies in a focal area.
    darker_side : ndarray of float64, shape (N,)
        Mean L* beside it, where it is darker.
    around, restless : ndarray of float64, shape (N,)
        Mean L* around it, and mean deviation of detail there.
    stripe : ndarray of bool, shape (N,)
        Whether it is one of many that run the same way, as in fur or a wrinkled brow.
    shorter_side_mm : float
        Of the piece.
    darkest : float
        L* up to which a value is among the darkest.

    Returns
    -------
    list of Pass
    """
    spot = around - darker_side
    feature = (spot >= DARKER_SPOT) & (spot >= DARKER_THAN_RESTLESS * restless)
    span = np.where(closed, length_mm / 2, length_mm) / shorter_side_mm
    whole = (closed & ~stripe) | (span >= BASIC_SHARE)
    feature &= (span <= FEATURE_SHARE) & ~stripe
    first = marked | feature | (whole & (step >= FIRM_STEP)) | (span >= LONG_SHARE)
    second = darker_side <= darkest
    return [
        Pass.SHAPES if shape else Pass.DARKEST if dark else Pass.CONTOURS
        for shape, dark in zip(first.tolist(), second.tolist(), strict=True)
    ]
