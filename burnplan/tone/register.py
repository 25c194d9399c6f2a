"""Lay a photo of a piece on its plan by what is burned on it.

The view that its corners or its outline give is corrected: the enhanced correlation
coefficient of photo and plan is made largest
(G. D. Evangelidis, E. Z. Psarakis, IEEE TPAMI 30(10), 2008). Both are logarithms of
light without what changes slowly, so that uneven light pulls at nothing.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.flat_view import FlatView

FINE_MM = 0.6
"""Detail finer than this is not laid one on the other (a guess: tried on rendered photos)."""

COARSE = 0.08
"""What changes over more than this share of the longer side is light (a guess: tried on rendered
photos)."""

COARSE_SIDE, FINE_SIDE = 200, 400
"""Longer side, pixels, of the pictures that are laid one on the other (a guess: tried on rendered
photos)."""

# Of the longer side, that corners are corrected by; a guess: tried on rendered photos.
_LITTLE, _MOST = 0.04, 0.15
# Correlation below which nothing burned is recognised, for a small correction and a large one.
_ALIKE, _SURELY = 0.25, 0.5  # a guess: tried on rendered photos
_ROUNDS = 40  # at most; a guess: tried on rendered photos
_NOTHING = 1e-3  # deviation of a picture that shows nothing; a guess: tried on rendered photos
_ENOUGH = 1e-4  # by which the correlation still grows; a guess: tried on rendered photos


def without_slow(
    values: NDArray[np.float32], within: NDArray[np.bool_], px_per_mm: float
) -> NDArray[np.float32]:
    """Return what changes neither too fast nor too slowly; 0 outside a mask."""
    inside = within.astype(np.float32)
    kept = values * inside
    slow = COARSE * max(values.shape)

    def smooth(picture: NDArray[np.float32], radius: float) -> NDArray[np.float32]:
        return np.asarray(cv2.GaussianBlur(picture, (0, 0), radius), np.float32)

    # Wide blurs on a picture made small first: the same but for what does not show.
    factor = max(1, int(slow / 4))
    small = (max(2, values.shape[1] // factor), max(2, values.shape[0] // factor))

    def wide(picture: NDArray[np.float32]) -> NDArray[np.float32]:
        little = np.asarray(cv2.resize(picture, small, interpolation=cv2.INTER_AREA), np.float32)
        return np.asarray(
            cv2.resize(
                smooth(little, slow / factor),
                values.shape[::-1],
                interpolation=cv2.INTER_LINEAR,
            ),
            np.float32,
        )

    fast = max(0.5, FINE_MM * px_per_mm)
    near = smooth(kept, fast) / np.maximum(smooth(inside, fast), 1e-3)
    far = wide(kept) / np.maximum(wide(inside), 1e-3)
    return np.asarray((near - far) * inside, np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Refined:
    """A correction of where the piece lies.

    Parameters
    ----------
    motion : ndarray of float64, shape (3, 3)
        Takes points of the piece, mm, to where the view before had them, mm; for
        :meth:`burnplan.tone.flat_view.FlatView.moved`.
    alike : float
        Correlation of photo and plan after it, -1 to 1.
    """

    motion: NDArray[np.float64]
    alike: float


def refine(
    seen: NDArray[np.float32],
    wanted: NDArray[np.float32],
    within: NDArray[np.bool_],
    px_per_mm: float,
    side: int = FINE_SIDE,
) -> Refined | None:
    """Find how a photo is to be moved so that what is burned lies on the plan.

    Parameters
    ----------
    seen, wanted : ndarray of float32, shape (H, W)
        ln of light, of the photo on the wood's raster and of the plan.
    within : ndarray of bool, shape (H, W)
        Where the wood is.
    px_per_mm : float
    side : int, optional
        Longer side, pixels, to which they are made smaller.

    Returns
    -------
    Refined or None
        None where too little is burned to tell, or only a large move would help.
    """
    height, width = seen.shape
    box = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float64) / px_per_mm
    scale = min(1.0, side / max(seen.shape))
    size = (max(8, round(width * scale)), max(8, round(height * scale)))
    mask = cv2.resize(within.astype(np.uint8), size, interpolation=cv2.INTER_AREA) > 0
    pictures = [
        without_slow(
            np.asarray(cv2.resize(one, size, interpolation=cv2.INTER_AREA), np.float32),
            np.asarray(mask, np.bool_),
            px_per_mm * scale,
        )
        for one in (seen, wanted)
    ]
    if min(float(one.std()) for one in pictures) < _NOTHING:
        return None
    until = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, _ROUNDS, _ENOUGH)
    try:
        alike, found = cv2.findTransformECC(
            pictures[1], pictures[0], np.eye(3, dtype=np.float32), cv2.MOTION_HOMOGRAPHY, until,
            mask.astype(np.uint8) * 255, 1,
        )  # fmt: skip
    except cv2.error:  # it does not converge: nothing alike
        return None
    to_px = np.diag([px_per_mm * scale, px_per_mm * scale, 1.0])
    move = np.linalg.inv(to_px) @ np.asarray(found, np.float64) @ to_px
    move /= move[2, 2]
    moved = np.hypot(*(FlatView(move, (1, 1)).to_pixels(box) - box).T)
    far = float(moved.max()) * px_per_mm / max(seen.shape)
    if far > _MOST or alike < (_ALIKE if far <= _LITTLE else _SURELY):
        return None
    return Refined(move, float(alike))
