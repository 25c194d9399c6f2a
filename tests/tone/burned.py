"""Photos of half-burned pieces with the truth beside them, made from a reference."""

import io
import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from burnplan.tone.lightness import luminance_of_lightness
from burnplan.tone.place import Placed, outline_mask
from burnplan.tone.region import outline_polygon
from burnplan.tone.zones import ZoneMap

STATES = ("some", "half", "all")

# Share of red, green and blue in bare wood's light and in char's, beside their luminance.
_WOOD_TINT, _CHAR_TINT = np.array([1.18, 0.98, 0.66]), np.array([1.08, 0.99, 0.86])


@dataclass(frozen=True)
class Fault:
    """A place burned otherwise than wanted: its middle and area on the wood."""

    at_mm: tuple[float, float]
    radius_mm: float
    area_cm2: float
    step: float


@dataclass(frozen=True)
class Scene:
    """A photo of a piece on a bench, and what is true of it."""

    jpeg: bytes
    rgb: NDArray[np.uint8]
    corners: NDArray[np.float64]
    true_corners: NDArray[np.float64]
    darkness: dict[int, float]
    faults: tuple[Fault, ...]
    cards: tuple[tuple[float, float], ...] = ()


def wanted_darkness(placed: Placed) -> NDArray[np.float32]:
    """Return the darkness that a placed photo wants of each pixel of its raster."""
    wanted = 1 - placed.lightness / np.float32(100)
    wanted[~placed.burned] = 0
    return np.asarray(wanted, np.float32)


def _light(shape: tuple[int, int], factor: float, rng: np.random.Generator) -> NDArray[np.float64]:
    """Return light that falls off by a factor over the piece: from a side, a lamp, or two."""
    height, width = shape
    x = (np.arange(width) + 0.5)[None, :] / max(shape) - width / max(shape) / 2
    y = (np.arange(height) + 0.5)[:, None] / max(shape) - height / max(shape) / 2
    turn, kind = rng.uniform(0, 2 * math.pi), rng.integers(4)
    along = x * math.cos(turn) + y * math.sin(turn)
    if kind == 0:
        field = 2 + along
    elif kind == 1:  # a lamp near by
        at = 0.5 * np.array([math.cos(turn), math.sin(turn)])
        field = 1 / (0.6 + (x - at[0]) ** 2 + (y - at[1]) ** 2) ** 1.5
    elif kind == 2:  # window and lamp
        field = 1 + along + 0.6 * np.exp(-((x + 0.2) ** 2 + (y - 0.3) ** 2) / 0.18)
    else:  # a lens that darkens its corners
        field = (1 + 0.5 * along) / (1 + 1.2 * (x**2 + y**2)) ** 2
    share = (field - field.min()) / (field.max() - field.min())
    return np.asarray(1 + (factor - 1) * share)


def _blob(
    shape: tuple[int, int], at: tuple[float, float], radius: float, rng: np.random.Generator
) -> NDArray[np.bool_]:
    height, width = shape
    x, y = np.arange(width)[None, :] - at[0], np.arange(height)[:, None] - at[1]
    around = np.arctan2(y, x)
    edge = (
        1
        + 0.15 * np.cos(2 * around + rng.uniform(0, 6))
        + 0.1 * np.cos(3 * around + rng.uniform(0, 6))
    )
    return np.asarray(np.hypot(x, y) < radius * edge)


def _planted(
    darkness: NDArray[np.float32],
    wanted: NDArray[np.float32],
    done: NDArray[np.bool_],
    inside: NDArray[np.bool_],
    px: float,
    count: int,
    rng: np.random.Generator,
) -> tuple[Fault, ...]:
    """Burn blobs too light or too dark, apart from each other; darkness is changed."""
    faults: list[Fault] = []
    for _ in range(1500):
        if len(faults) == count:
            break
        radius = rng.uniform(3.5, 9.0)
        at = rng.uniform(0, wanted.shape[1]), rng.uniform(0, wanted.shape[0])
        mm = at[0] / px, at[1] / px
        if any(math.dist(mm, one.at_mm) < radius + one.radius_mm + 5 for one in faults):
            continue
        if not done[int(at[1]), int(at[0])]:
            continue
        blob = _blob(wanted.shape, at, radius * px, rng)
        if (blob & ~inside).any() or (blob & done).sum() < 0.97 * blob.sum():
            continue
        here = float(wanted[blob].mean())
        step = rng.uniform(0.2, 0.35) * (-1 if here > 0.45 else 1)
        changed = np.clip(darkness[blob] + step, 0, 1)
        darkness[blob] = changed
        area = blob.sum() / px**2 / 100
        rows, columns = np.nonzero(blob)
        middle = float(columns.mean() + 0.5) / px, float(rows.mean() + 0.5) / px
        faults.append(Fault(middle, radius, float(area), step))
    return tuple(faults)


def scene(
    placed: Placed,
    zones: ZoneMap,
    state: str,
    seed: int,
    *,
    bare: float = 82.0,
    dark: float = 18.0,
    faults: int = 0,
    light: float = 2.0,
    size: tuple[int, int] = (2000, 1500),
    tilt: float = 20.0,
    corners_off: float = 3.0,
    noise: float = 2.5,
    quality: int = 82,
    grain: float = 1.0,
    cards: bool = False,
    things: int = 60,
) -> Scene:
    """Photograph a piece burned as a reference wants it, in some state of progress.

    ``some``: the darker half of the zones is burned, the rest is bare. ``half``: all zones
    at half their darkness. ``all``: as wanted. Each zone is off by some per cent of its own.
    """
    rng = np.random.default_rng([seed, STATES.index(state)])
    px, labels = placed.px_per_mm, zones.labels
    shape = labels.shape
    wanted = wanted_darkness(placed)
    whole = outline_mask(placed.outline, shape, px)
    done = np.zeros(shape, np.bool_)
    darkness = np.zeros(shape, np.float32)
    for zone in range(1, zones.count + 1):
        mask = (labels == zone) & placed.burned
        part = {"some": float(zone <= (zones.count + 1) // 2), "half": 0.5, "all": 1.0}[state]
        darkness[mask] = wanted[mask] * np.float32(part * rng.uniform(0.92, 1.06))
        if part == 1.0:
            done |= mask
    blemishes = _planted(darkness, wanted, done, whole, px, faults, rng) if faults else ()
    darkness = np.asarray(cv2.GaussianBlur(darkness, (0, 0), 0.25 * px), np.float32)
    strokes = cv2.GaussianBlur(rng.normal(size=shape).astype(np.float32), (0, 0), 0.4 * px)
    darkness *= 1 + np.float32(0.05) * strokes / strokes.std()
    truth = {
        zone: float(darkness[mask].mean())
        for zone in range(1, zones.count + 1)
        if (mask := (labels == zone) & placed.burned).any()
    }
    figure = cv2.GaussianBlur(
        rng.normal(size=shape).astype(np.float32), (0, 0), sigmaX=0.4 * px, sigmaY=12 * px
    )
    tone = bare - (bare - dark) * darkness + grain * figure / figure.std()
    light_at = _light(shape, light, rng)
    y = luminance_of_lightness(np.clip(tone, 0, 100)) * light_at
    tint = _WOOD_TINT + darkness[..., None] * (_CHAR_TINT - _WOOD_TINT)
    linear = y[..., None] * tint
    exposed = 0.82 / np.quantile(linear, 0.998)
    if cards:
        exposed *= 0.36  # white is not to be cut off
    linear *= exposed
    board = linear.astype(np.float32)

    # The bench: planks with things on them.
    width, height = size
    bench = np.full((height, width, 3), rng.uniform(0.03, 0.25, 3), np.float32)
    for _ in range(things):
        at, big = rng.uniform(0, size), rng.uniform(20, 160, 2)
        corner = tuple((at - big).astype(int).tolist()), tuple((at + big).astype(int).tolist())
        cv2.rectangle(bench, *corner, tuple(rng.uniform(0.01, 0.35, 3).tolist()), -1)
    flat = np.array([(0, 0), (shape[1], 0), (shape[1], shape[0]), (0, shape[0])], np.float64)
    seen = _seen(flat, size, tilt, rng)
    to_photo = cv2.getPerspectiveTransform(flat.astype(np.float32), seen.astype(np.float32))
    to_photo = np.asarray(to_photo, np.float64)
    centred = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    pixels = np.linalg.inv(centred) @ to_photo @ centred
    scale = math.sqrt(abs(np.linalg.det(pixels[:2, :2])))
    if scale < 1:
        board = cv2.GaussianBlur(board, (0, 0), 0.45 / scale)
    laid = cv2.warpPerspective(board, pixels, size, flags=cv2.INTER_LINEAR)
    edge = outline_polygon(placed.outline) * px
    ring = cv2.perspectiveTransform(edge[None].astype(np.float64), to_photo)[0] - 0.5
    beside = []
    for x, y_at in ((0.2, 0.0), (0.8, 0.0), (0.2, 1.0), (0.8, 1.0)) if cards else ():
        # White cards at the edge, lit as the wood there.
        on_wood = np.array([[[x * shape[1], (1.03 if y_at else -0.03) * shape[0]]]])
        column, row = cv2.perspectiveTransform(on_wood, to_photo)[0, 0]
        here = light_at[round(y_at * (shape[0] - 1)), round(x * (shape[1] - 1))]
        white = exposed * here * float(luminance_of_lightness(95.0))
        low, high = (round(column) - 14, round(row) - 14), (round(column) + 14, round(row) + 14)
        cv2.rectangle(bench, low, high, (white, white, white), -1)
        beside.append((float(column), float(row)))
    mask = np.zeros((height, width), np.uint8)
    cv2.fillPoly(mask, [np.rint(ring * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    share = (mask.astype(np.float32) / 255)[..., None]
    photo = bench * (1 - share) + laid * share
    photo = cv2.GaussianBlur(photo, (0, 0), 0.7)
    code = np.where(
        photo <= 0.0031308, photo * 12.92, 1.055 * np.maximum(photo, 0) ** (1 / 2.4) - 0.055
    )
    code = code * 255 + rng.normal(0, noise, code.shape)
    rgb = np.clip(np.rint(code), 0, 255).astype(np.uint8)
    file = io.BytesIO()
    Image.fromarray(rgb).save(file, "JPEG", quality=quality)
    file.seek(0)
    turn = rng.uniform(0, 2 * math.pi, 4)
    off = corners_off * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    decoded = np.asarray(Image.open(file).convert("RGB"))
    return Scene(file.getvalue(), decoded, seen + off, seen, truth, blemishes, tuple(beside))


def _seen(
    flat: NDArray[np.float64], size: tuple[int, int], tilt: float, rng: np.random.Generator
) -> NDArray[np.float64]:
    """Return where the corners of the piece come to lie in the photo."""
    middle = flat.mean(axis=0)
    at = np.column_stack([flat - middle, np.zeros(4)])
    at /= np.abs(at[:, :2]).max()
    x, y, z = np.radians([rng.uniform(-tilt, tilt), rng.uniform(-tilt, tilt), rng.uniform(-6, 6)])
    about_x = np.array([[1, 0, 0], [0, math.cos(x), -math.sin(x)], [0, math.sin(x), math.cos(x)]])
    about_y = np.array([[math.cos(y), 0, math.sin(y)], [0, 1, 0], [-math.sin(y), 0, math.cos(y)]])
    about_z = np.array([[math.cos(z), -math.sin(z), 0], [math.sin(z), math.cos(z), 0], [0, 0, 1]])
    turned = at @ (about_z @ about_y @ about_x).T
    turned = turned[:, :2] / (turned[:, 2:] + 3.2)
    turned -= (turned.max(axis=0) + turned.min(axis=0)) / 2
    room = np.array(size) * 0.8
    turned *= (room / np.ptp(turned, axis=0)).min()
    shift = rng.uniform(-0.03, 0.03, 2) * size
    return np.asarray(turned + np.array(size) / 2 + shift)
