"""A photo of something flat, seen by a camera: from millimetres on it to pixels and back.

What lies in one plane is seen through a homography, so four points of known
place, for example the corners of a sheet of paper, give the place of all others.
Pixels are of the whole, upright photo, counted from its top left corner (the
centre of its first pixel is 0.5, 0.5); millimetres lie in the plane, y down.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.errors import BadInput

Points = NDArray[np.float64]
"""Points, shape (K, 2): x and y."""

_FOCAL = (0.6, 0.7, 0.8, 0.95, 1.15, 1.4, 1.8, 2.5, 4.0)
"""Focal lengths of phones and cameras, in longer sides of the picture, that are tried
(an ordinary phone has 26 mm on 36: 0.72; from memory)."""

# Of a box's area: four corners that enclose less are no quadrilateral; a guess: rounding of pixels
# encloses less.
_FLATTEST = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class FlatView:
    """How a plane is seen in a photo.

    Parameters
    ----------
    matrix : ndarray of float64, shape (3, 3)
        Homography from millimetres to pixels of the whole photo.
    photo_size : tuple of int
        Width and height in pixels of the whole, upright photo.
    """

    matrix: NDArray[np.float64]
    photo_size: tuple[int, int]

    def to_pixels(self, mm: ArrayLike) -> Points:
        """Return where points of the plane are seen, shape (K, 2)."""
        return _through(self.matrix, mm)

    def to_mm(self, pixels: ArrayLike) -> Points:
        """Return where in the plane lies what is seen at pixels, shape (K, 2)."""
        return _through(np.asarray(np.linalg.inv(self.matrix), np.float64), pixels)

    def px_per_mm(self, mm: ArrayLike) -> NDArray[np.float64]:
        """Return how many pixels of the photo a millimetre has at points, shape (K,).

        The square root of how the homography stretches areas there.
        """
        at = np.asarray(mm, np.float64).reshape(-1, 2)
        depth = at @ self.matrix[2, :2] + self.matrix[2, 2]
        stretched = abs(float(np.linalg.det(self.matrix))) / np.abs(depth) ** 3
        return np.asarray(np.sqrt(stretched), np.float64)

    def moved(self, motion: ArrayLike) -> "FlatView":
        """Return the view in other millimetres, given where the new ones lie in the old.

        Parameters
        ----------
        motion : array_like, shape (3, 3)
            Takes points in the new millimetres to those in the old.
        """
        return FlatView(self.matrix @ np.asarray(motion, np.float64), self.photo_size)

    def rectified(
        self,
        rgb: NDArray[np.uint8],
        box_mm: tuple[float, float, float, float],
        px_per_mm: float,
        *,
        beyond: int | None = None,
    ) -> NDArray[np.uint8]:
        """Return a part of the plane as seen from straight above.

        Parameters
        ----------
        rgb : ndarray of uint8, shape (h, w, 3) or (h, w)
            The photo, in any size.
        box_mm : tuple of float
            Left, top, right and bottom in millimetres.
        px_per_mm : float
        beyond : int, optional
            Value of what the photo does not show; its edge goes on by default.

        Returns
        -------
        ndarray of uint8, shape (H, W, 3) or (H, W)
        """
        left, top, right, bottom = box_mm
        shape = (
            max(1, round((bottom - top) * px_per_mm)),
            max(1, round((right - left) * px_per_mm)),
        )
        # From pixels of the result, counted from their centres, to those of the photo given.
        onto = np.array([[1 / px_per_mm, 0, left], [0, 1 / px_per_mm, top], [0, 0, 1]])
        half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
        height, width = rgb.shape[:2]
        scale = np.diag([width / self.photo_size[0], height / self.photo_size[1], 1.0])
        middle = np.array([[(left + right) / 2, (top + bottom) / 2]])
        finer = float(self.px_per_mm(middle)[0]) * width / self.photo_size[0] / px_per_mm
        if finer > 1.5:  # averaged first, so that nothing shimmers
            size = (max(1, round(width / finer)), max(1, round(height / finer)))
            rgb = np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
            scale = np.diag([size[0] / self.photo_size[0], size[1] / self.photo_size[1], 1.0])
        matrix = np.linalg.inv(half) @ scale @ self.matrix @ onto @ half
        if beyond is None:
            border, value = cv2.BORDER_REPLICATE, 0
        else:
            border, value = cv2.BORDER_CONSTANT, beyond
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        filled = (value, value, value)
        return np.asarray(
            cv2.warpPerspective(
                rgb, matrix, shape[::-1], flags=flags, borderMode=border, borderValue=filled
            ),
            np.uint8,
        )


def _through(matrix: NDArray[np.float64], points: ArrayLike) -> Points:
    at = np.asarray(points, np.float64).reshape(-1, 2)
    seen = np.column_stack([at, np.ones(len(at))]) @ matrix.T
    return np.asarray(seen[:, :2] / seen[:, 2:], np.float64)


def view_of_corners(
    corners_px: ArrayLike, size_mm: tuple[float, float], photo_size: tuple[int, int]
) -> FlatView:
    """Return the view in which a rectangle's corners are seen at given pixels.

    Parameters
    ----------
    corners_px : array_like, shape (4, 2)
        Clockwise from the rectangle's own top left.
    size_mm : tuple of float
        Its width and height; its top left corner becomes the origin.
    photo_size : tuple of int
        Width and height in pixels of the photo the corners belong to.

    Raises
    ------
    BadInput
        If the corners do not go round a convex quadrilateral clockwise.

    Examples
    --------
    >>> seen = view_of_corners([(0, 0), (200, 0), (200, 100), (0, 100)], (20, 10), (640, 480))
    >>> seen.to_mm([(100, 50)]).round(3).tolist()
    [[10.0, 5.0]]
    """
    corners = checked_corners(corners_px)
    width, height = size_mm
    flat = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float64)
    rows = []
    for (x, y), (u, v) in zip(flat, corners, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    solved = np.linalg.solve(np.array(rows), corners.ravel())
    return FlatView(np.append(solved, 1.0).reshape(3, 3), photo_size)


def checked_corners(corners_px: ArrayLike) -> Points:
    """Return four corners as an array, if they go round a convex quadrilateral clockwise.

    Raises
    ------
    BadInput
        If they do not.

    Examples
    --------
    >>> checked_corners([(0, 0), (9, 0), (9, 9), (0, 9)]).shape
    (4, 2)
    """
    corners = np.asarray(corners_px, np.float64).reshape(-1, 2)
    hint = "Give four, in pixels, clockwise from the top left: x,y x,y x,y x,y"
    if corners.shape != (4, 2) or not np.isfinite(corners).all():
        raise BadInput("Four corners are needed", hint)
    sides = np.roll(corners, -1, axis=0) - corners
    after = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]
    box = max(float(np.prod(np.ptp(corners, axis=0))), 1e-9)
    if turns.min() <= _FLATTEST * box:
        raise BadInput("These corners do not go round a shape clockwise", hint)
    return corners


def view_of_distance(
    first_px: tuple[float, float],
    second_px: tuple[float, float],
    distance_mm: float,
    photo_size: tuple[int, int],
) -> FlatView:
    """Return the view of a camera straight above, from two points and how far apart they lie.

    Raises
    ------
    BadInput
        If the points are the same, or the distance is not positive.

    Examples
    --------
    >>> view_of_distance((100, 50), (400, 50), 150, (640, 480)).to_mm([(640, 480)]).tolist()
    [[320.0, 240.0]]
    """
    apart = math.dist(first_px, second_px)
    if apart < 2 or not math.isfinite(apart):
        raise BadInput("The two points are the same", "Give two that lie far apart on the wood")
    if not math.isfinite(distance_mm) or distance_mm <= 0:
        raise BadInput("The distance must be more than nothing", "Measure it on the wood")
    scale = apart / distance_mm
    return FlatView(np.diag([scale, scale, 1.0]), photo_size)


def misfit(
    corners_px: ArrayLike, size_mm: tuple[float, float], photo_size: tuple[int, int]
) -> float:
    """Return how badly a quadrilateral could be a rectangle of a size, seen by any camera.

    A camera with square pixels, its axis through the middle of the picture, sees
    the two directions of a rectangle at right angles and in one scale (the first
    two columns of the homography, freed of the camera; Zhang, 'A flexible new
    technique for camera calibration', IEEE PAMI 22, 2000). What is missing from that,
    at the focal length that suits best, is returned: 0 for none, 0.1 is much.

    Parameters
    ----------
    corners_px : array_like, shape (4, 2)
        Clockwise from the rectangle's own top left.
    size_mm : tuple of float
    photo_size : tuple of int

    Examples
    --------
    >>> square = [(300, 200), (400, 200), (400, 300), (300, 300)]
    >>> round(misfit(square, (50, 50), (640, 480)), 3), misfit(square, (50, 70), (640, 480)) > 0.2
    (0.0, True)
    """
    matrix = view_of_corners(corners_px, size_mm, photo_size).matrix
    middle = np.array([[1, 0, -photo_size[0] / 2], [0, 1, -photo_size[1] / 2], [0, 0, 1]])
    seen = middle @ matrix
    best = math.inf
    for focal in _FOCAL:
        across, down = (
            np.array([*seen[:2, axis], focal * max(photo_size) * seen[2, axis]]) for axis in (0, 1)
        )
        lengths = float(np.linalg.norm(across)), float(np.linalg.norm(down))
        slant = abs(float(across @ down)) / (lengths[0] * lengths[1])
        best = min(best, math.hypot(slant, math.log(lengths[0] / lengths[1])))
    return best
