"""CIE lightness L* of sRGB pictures, and how it maps onto wood.

Sources: sRGB decoding and the luminance weights from IEC 61966-2-1; L* from
CIE 15 and ISO/CIE 11664-4 (also CIE e-ILV 17-23-076).
"""

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.errors import BadInput

WEIGHTS = (0.2126, 0.7152, 0.0722)
"""Share of red, green and blue in the luminance of linear sRGB (IEC 61966-2-1)."""

_EPSILON = 216 / 24389  # (6/29)^3, where the cube root takes over from the line; CIE 15
_KAPPA = 24389 / 27  # slope of L* in the dark, (29/3)^3; CIE 15

_STRIP = (
    256  # rows worked at a time, so that no whole float copy of the colours exists; our own choice
)


def _decode(code: NDArray[np.float64]) -> NDArray[np.float64]:
    """Linear light, 0-1, of sRGB code values, 0-1."""
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


_LINEAR = _decode(np.arange(256) / 255)  # by definition


def luminance(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return the relative luminance Y of an sRGB picture.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)

    Returns
    -------
    ndarray of float32, shape (H, W)
        0 (black) to 1 (white).
    """
    tables = [(weight * _LINEAR).astype(np.float32) for weight in WEIGHTS]
    result = np.zeros(rgb.shape[:2], np.float32)
    for top in range(0, rgb.shape[0], _STRIP):
        strip = result[top : top + _STRIP]
        for table, channel in zip(tables, cv2.split(rgb[top : top + _STRIP]), strict=True):
            strip += cv2.LUT(channel, table)
    return result


def lightness_of_luminance(y: ArrayLike) -> NDArray[np.float32]:
    """Return L* of relative luminance.

    Parameters
    ----------
    y : array_like
        Relative luminance Y/Yn, 0 to 1.

    Returns
    -------
    ndarray of float32
        0 to 100.

    Examples
    --------
    >>> round(float(lightness_of_luminance(0.18)), 3)
    49.496
    """
    values = np.asarray(y, np.float32)
    return np.where(
        values > np.float32(_EPSILON),
        np.float32(116) * np.cbrt(values) - np.float32(16),
        np.float32(_KAPPA) * values,
    ).astype(np.float32)


def lightness(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return the CIE lightness L* of an sRGB picture.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)

    Returns
    -------
    ndarray of float32, shape (H, W)
        0 (black) to 100 (white).

    Examples
    --------
    >>> grey = np.full((1, 1, 3), 119, np.uint8)
    >>> round(float(lightness(grey)[0, 0]), 3)
    50.034
    """
    result = luminance(rgb)
    for top in range(0, result.shape[0], _STRIP):
        strip = result[top : top + _STRIP]
        strip[...] = lightness_of_luminance(strip)
    np.clip(result, 0, 100, out=result)  # float32 rounding may pass white by 1e-5
    return result


def luminance_of_lightness(lightness_value: ArrayLike) -> NDArray[np.float64]:
    """Return the relative luminance whose lightness is L*, the inverse of L*(Y).

    Parameters
    ----------
    lightness_value : array_like
        L*, 0 to 100.

    Returns
    -------
    ndarray of float64

    Examples
    --------
    >>> round(float(luminance_of_lightness(50)), 6)
    0.184187
    """
    values = np.asarray(lightness_value, np.float64)
    return np.where(values > 8, ((values + 16) / 116) ** 3, values / _KAPPA)


def srgb_of_lab(lab: ArrayLike) -> NDArray[np.uint8]:
    """Return sRGB colours of CIE L*a*b* (D65), clipped to what sRGB holds.

    Parameters
    ----------
    lab : array_like, shape (K, 3)

    Returns
    -------
    ndarray of uint8, shape (K, 3)

    Examples
    --------
    >>> srgb_of_lab([[100, 0, 0], [0, 0, 0]]).tolist()
    [[255, 255, 255], [0, 0, 0]]
    """
    colours = np.asarray(lab, np.float32).reshape(-1, 1, 3)
    rgb = np.asarray(cv2.cvtColor(colours, cv2.COLOR_Lab2RGB), np.float32).reshape(-1, 3)
    return np.asarray(np.rint(np.clip(rgb, 0, 1) * 255), np.uint8)


def check_wood_range(wood_lightness: float, burn_lightness: float) -> None:
    """Refuse a bare and a darkest lightness that are no range.

    Raises
    ------
    BadInput
        Unless ``0 <= burn_lightness < wood_lightness <= 100``.
    """
    if not 0 <= burn_lightness < wood_lightness <= 100:
        raise BadInput(
            "The wood's lightness must lie above its darkest burn, both between 0 and 100, "
            f"not {wood_lightness:g} and {burn_lightness:g}",
            "Give L* of the bare wood first, for example 82, and of the darkest burn, "
            "for example 18",
        )


def on_wood(
    lightness_value: ArrayLike,
    wood_lightness: float,
    burn_lightness: float,
    *,
    white: float = 100.0,  # CIE L*: its ends
    black: float = 0.0,
) -> NDArray[np.float32]:
    """Map lightness of a reference onto what a piece of wood can hold.

    Reference white becomes bare wood, reference black the darkest burn, and
    all between keeps its proportion in L*; lighter than white or darker than
    black is held at the ends. The map never reverses two tones.

    Parameters
    ----------
    lightness_value : array_like
        L* in the reference.
    wood_lightness, burn_lightness : float
        L* of the bare wood and of its darkest burn.
    white, black : float, optional
        L* in the reference taken as white and as black.

    Returns
    -------
    ndarray of float32
        L* on the wood, ``burn_lightness`` to ``wood_lightness``.

    Examples
    --------
    >>> on_wood([0, 50, 100], 80, 20).tolist()
    [20.0, 50.0, 80.0]
    """
    check_wood_range(wood_lightness, burn_lightness)
    if not black < white:
        raise BadInput("The black point must be darker than the white point")
    values = np.asarray(lightness_value, np.float32)
    share = np.clip((values - np.float32(black)) / np.float32(white - black), 0, 1)
    return np.asarray(burn_lightness + (wood_lightness - burn_lightness) * share, np.float32)


def edge_preserved(
    lightness: NDArray[np.float32], radius_px: float, edge_step: float
) -> NDArray[np.float32]:
    """Smooth lightness while edges stay sharp, by the self-guided filter.

    K. He, J. Sun, X. Tang, "Guided image filtering", IEEE TPAMI 35(6), 2013.

    Parameters
    ----------
    lightness : ndarray of float32, shape (H, W)
    radius_px : float
        Radius of the window, pixels.
    edge_step : float
        Local standard deviation, L*, above which a change counts as an edge.

    Returns
    -------
    ndarray of float32, shape (H, W)
    """
    side = 2 * max(1, round(radius_px)) + 1

    def mean(values: NDArray[np.floating]) -> NDArray[np.float32]:
        return np.asarray(
            cv2.boxFilter(values, -1, (side, side), borderType=cv2.BORDER_REFLECT), np.float32
        )

    local = mean(lightness)
    # Rounding may leave a variance just below zero.
    variance = np.maximum(mean(lightness * lightness) - local * local, np.float32(0))
    slope = variance / (variance + np.float32(edge_step**2))
    offset = mean(local - slope * local)
    return np.asarray(mean(slope) * lightness + offset, np.float32)
