"""Lay a photo of a piece on its plan: by its corners, then by what is burned on it.

The corners give a homography from millimetres on the wood to the photo. What is burned
corrects it: the enhanced correlation coefficient of photo and plan is made largest
(G. D. Evangelidis, E. Z. Psarakis, IEEE TPAMI 30(10), 2008). Both are logarithms of
light without what changes slowly, so that uneven light pulls at nothing.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput

FINE_MM = 0.6
"""Detail finer than this is not laid one on the other (a guess)."""

COARSE = 0.08
"""What changes over more than this share of the longer side is light (a guess)."""

COARSE_SIDE, FINE_SIDE = 200, 400
"""Longer side, pixels, of the pictures that are laid one on the other (a guess)."""

_MOST = 0.04  # of the longer side, that corners are corrected at most; a guess
_ALIKE = 0.25  # correlation below which nothing burned is recognised; a guess
_ROUNDS = 40  # at most; a guess
_NOTHING = 1e-3  # deviation of a picture that shows nothing; a guess
_ENOUGH = 1e-4  # by which the correlation still grows; a guess

Homography = NDArray[np.float64]


def homography_of(corners: NDArray[np.float64], width_mm: float, height_mm: float) -> Homography:
    """Return the map from mm on the wood to pixels of a photo.

    Parameters
    ----------
    corners : ndarray of float64, shape (4, 2)
        Where the corners of the piece's bounding box lie in the photo, pixels from its
        top left, in order from the piece's own top left clockwise.
    width_mm, height_mm : float

    Raises
    ------
    BadInput
        If they are no four corners of a face, in order.
    """
    points = np.asarray(corners, np.float64)
    following, before = np.roll(points, -1, axis=0) - points, points - np.roll(points, 1, axis=0)
    turns = before[:, 0] * following[:, 1] - before[:, 1] * following[:, 0]
    longest = np.hypot(*following.T).max()
    if not (turns > 1e-3 * longest**2).all():
        raise BadInput(
            "These are not the four corners of a piece, clockwise",
            "Give them in pixels of the photo: top left, top right, bottom right, bottom left",
        )
    flat = np.array([(0, 0), (width_mm, 0), (width_mm, height_mm), (0, height_mm)], np.float32)
    return np.asarray(cv2.getPerspectiveTransform(flat, points.astype(np.float32)), np.float64)


def mapped(homography: Homography, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return points, shape (K, 2), as a homography maps them."""
    moved = np.column_stack([points, np.ones(len(points))]) @ homography.T
    return np.asarray(moved[:, :2] / moved[:, 2:])


def rectified(
    picture: NDArray[np.uint8],
    homography: Homography,
    shape: tuple[int, int],
    px_per_mm: float,
) -> NDArray[np.uint8]:
    """Return a photo's view of the piece from straight above, on a raster of the wood.

    Parameters
    ----------
    picture : ndarray of uint8, shape (h, w) or (h, w, 3)
    homography : ndarray
        From mm on the wood to the picture's pixels, counted from their corners.
    shape : tuple of int
        Height and width of the raster.
    px_per_mm : float
    """
    # From pixel centres to pixel centres; both are counted from corners elsewhere.
    raster = np.array(
        [[1 / px_per_mm, 0, 0.5 / px_per_mm], [0, 1 / px_per_mm, 0.5 / px_per_mm], [0, 0, 1]]
    )
    centred = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    matrix = centred @ homography @ raster
    return np.asarray(
        cv2.warpPerspective(
            picture,
            matrix,
            shape[::-1],
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_REPLICATE,
        ),
        np.uint8,
    )


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
    return (near - far) * inside


@dataclass(frozen=True, slots=True, eq=False)
class Refined:
    """A correction of where the piece lies.

    Parameters
    ----------
    homography : ndarray of float64, shape (3, 3)
        From mm on the wood to where the photo before had them, mm.
    corners_mm : float
        By how much it moves the corners of the piece, root mean square.
    alike : float
        Correlation of photo and plan after it, -1 to 1.
    """

    homography: Homography
    corners_mm: float
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
    moved = np.hypot(*(mapped(move, box) - box).T)
    if alike < _ALIKE or moved.max() > _MOST * max(seen.shape) / px_per_mm:
        return None
    return Refined(move, float(np.sqrt((moved**2).mean())), float(alike))
