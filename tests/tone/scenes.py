"""Rendered photos of a blank on a bench with a sheet on it, of which the truth is known."""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.outline import Outline, OutlineKind
from burnplan.tone.flat_view import FlatView
from burnplan.tone.known_sheet import SHEETS
from burnplan.tone.lightness import lightness
from burnplan.tone.region import outline_polygon

Array = NDArray[np.float64]

WOODS = {  # sRGB of the face and of its late wood, by eye
    "basswood": ((226, 203, 168), (205, 178, 140)),
    "maple": ((232, 214, 186), (214, 190, 156)),
    "cherry": ((186, 128, 88), (156, 98, 64)),
    "walnut": ((112, 80, 58), (78, 54, 40)),
    "birch": ((224, 196, 158), (198, 164, 122)),
}
BENCHES = ("dark", "light", "planks", "checks", "cloth", "clutter", "grey")


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A photo and what is true of it."""

    rgb: NDArray[np.uint8]
    view: FlatView  # from mm of the blank, whose points these are, to pixels
    points_mm: Array
    sheet_mm: Array  # corners on the wood, clockwise
    wood: str
    bench: str
    knots_mm: Array  # x, y and radius of each
    bark_mm: float = 0.0
    bare: float = 0.0  # L* of the face, of white paper's own 96


def blob(rng: np.random.Generator, width: float, height: float, rough: float = 0.06) -> Array:
    """Corners of a live edge that fills about a box, mm, clockwise."""
    turn = np.linspace(0, 2 * math.pi, 360, endpoint=False)
    radius = np.ones_like(turn)
    for wave in range(2, 14):
        radius += rough * rng.normal() / wave**1.1 * np.cos(wave * turn + rng.uniform(0, 7))
    power = rng.uniform(0.55, 1.0)  # from an ellipse towards a rounded box
    x = np.sign(np.cos(turn)) * np.abs(np.cos(turn)) ** power
    y = np.sign(np.sin(turn)) * np.abs(np.sin(turn)) ** power
    points = np.stack([radius * x * width / 2, radius * y * height / 2], axis=1)
    return np.asarray(points - points.min(axis=0), np.float64)


def _noise(rng: np.random.Generator, shape: tuple[int, int], scale: tuple[float, float]) -> Array:
    """Smooth noise of unit spread, scale in pixels down and across."""
    small = [max(2, math.ceil(n / s) + 3) for n, s in zip(shape, scale, strict=True)]
    field = cv2.resize(rng.normal(size=small), shape[::-1], interpolation=cv2.INTER_CUBIC)
    return np.asarray((field - field.mean()) / max(field.std(), 1e-9))


def _wood(
    rng: np.random.Generator, size: tuple[int, int], tones: tuple[Array, Array], scale: float
) -> tuple[Array, Array]:
    """Face of a board with grain that runs across, and its knots, in pixels."""
    height, width = size
    y, x = np.mgrid[:height, :width] / scale
    bend = 14 * _noise(rng, size, (90 * scale, 300 * scale))
    knots = []
    depth = y + bend
    dark = np.zeros(size)
    for _ in range(int(rng.integers(0, 3))):
        at = rng.uniform(0.15, 0.85, 2) * (width / scale, height / scale)
        radius = rng.uniform(4, 9)
        away = np.hypot((x - at[0]) / 1.3, y - at[1])
        depth = depth + 2.2 * radius * np.exp(-((away / (3 * radius)) ** 2)) * np.sign(y - at[1])
        dark = np.maximum(dark, 1 / (1 + np.exp(np.clip((away - radius) * 1.5, -30, 30))))
        knots.append((*at, radius * 1.1))
    rings = 0.5 + 0.5 * np.sin(2 * math.pi * depth / rng.uniform(5, 16))
    streaks = _noise(rng, size, (0.8 * scale, 25 * scale))
    late = np.clip(0.55 * rings**2 + 0.14 * streaks + 0.1 * _noise(rng, size, (60, 200)), 0, 1)
    face = tones[0] + (tones[1] - tones[0]) * late[..., None]
    face = face + (np.array((70, 42, 26)) - face) * (0.8 * dark)[..., None]
    return face, np.array(knots).reshape(-1, 3)


def _bench(rng: np.random.Generator, size: tuple[int, int], kind: str, scale: float) -> Array:
    height, width = size
    grain = _noise(rng, size, (1.0 * scale, 1.0 * scale))[..., None]
    if kind in ("dark", "light", "grey", "cloth"):
        plain = {"dark": (54, 50, 47), "light": (222, 221, 216), "grey": (128, 130, 133)}
        tone = np.array(plain[kind], float) if kind in plain else rng.uniform(60, 190, 3)
        face = tone + 5 * np.repeat(grain, 3, axis=2)
        if kind == "cloth":
            y, x = np.mgrid[:height, :width] / scale
            face = face + 14 * np.sign(np.sin(x * 2.1) * np.sin(y * 2.1))[..., None]
        return np.asarray(face, np.float64)
    if kind == "planks":
        tones = np.array((150, 104, 66)), np.array((112, 72, 44))
        face, _ = _wood(rng, size, tones, scale)
        for edge in np.arange(rng.uniform(0, 90), height / scale, 90):
            face[int(edge * scale) : int((edge + 2.5) * scale)] *= 0.35
        return face
    if kind == "checks":
        y, x = np.mgrid[:height, :width] / scale
        square = rng.uniform(20, 55)
        odd = ((x // square + y // square) % 2)[..., None]
        one, other = rng.uniform(20, 235, (2, 3))
        return np.asarray(one + (other - one) * odd + 4 * grain, np.float64)
    face = np.ones((height, width, 3)) * rng.uniform(60, 200, 3) + 9 * grain
    for _ in range(60):
        at, box = rng.uniform(0, 1, 2) * (width, height), rng.uniform(12, 90, 2) * scale
        turned = cv2.boxPoints(((float(at[0]), float(at[1])), tuple(box), rng.uniform(0, 90)))
        tone = rng.uniform(15, 240, 3)
        cv2.fillPoly(face, [np.rint(turned).astype(np.int32)], tone.tolist())
    return face


def camera(
    rng: np.random.Generator, middle: Array, reach: float, tilt: float, photo: tuple[int, int]
) -> Array:
    """Homography from mm of a plane to pixels, and the matrix that a depth below it adds."""
    focal = rng.uniform(0.68, 1.1) * max(photo)
    lean, roll = rng.uniform(0, 2 * math.pi), math.radians(rng.normal() * 8)
    axis = np.array((math.cos(lean), math.sin(lean), 0.0)) * math.radians(tilt)
    turn, _ = cv2.Rodrigues(axis)
    spin, _ = cv2.Rodrigues(np.array((0.0, 0.0, roll)))
    away = focal * reach / min(photo) * rng.uniform(1.15, 1.4)
    rotation = turn @ spin
    shift = np.array((0, 0, away)) - rotation @ np.array((*middle, 0.0))
    inner = np.array([[focal, 0, photo[0] / 2], [0, focal, photo[1] / 2], [0, 0, 1]])
    return np.asarray(inner @ np.column_stack([rotation, shift]))


def _coverage(points: Array, photo: tuple[int, int]) -> Array:
    """How much of each pixel lies inside a polygon seen, 0 to 1."""
    fine = 4
    mask = np.zeros((photo[1] * fine, photo[0] * fine), np.uint8)
    at = np.rint((points * fine - 0.5) * 16).astype(np.int32)
    cv2.fillPoly(mask, [at], 255, shift=4)
    return np.asarray(cv2.resize(mask, photo, interpolation=cv2.INTER_AREA) / 255.0)[..., None]


def _inside(points: Array, box: Array, shape: tuple[int, int], scale: float) -> NDArray[np.bool_]:
    mask = np.zeros(shape, np.uint8)
    cv2.fillPoly(mask, [np.rint((points - box[:2]) * scale).astype(np.int32)], 1)
    return mask.view(np.bool_)


def scene(
    seed: int,
    *,
    kind: str | None = None,
    tilt: float | None = None,
    photo: tuple[int, int] = (1600, 1200),
    wood: str | None = None,
    bench: str | None = None,
    sheet: str = "a5",
    thick: float = 0.0,
    size: float = 300.0,
    bark: float | None = None,
) -> Scene:
    """Render a scene; what is not said is drawn at random."""
    rng = np.random.default_rng(seed)
    kind = kind or str(rng.choice(["rectangle", "round", "live-edge"]))
    tilt = float(rng.uniform(0, 35)) if tilt is None else tilt
    wood = wood or str(rng.choice(list(WOODS)))
    bench = bench or str(rng.choice(BENCHES))
    width = size * rng.uniform(0.95, 1.15)
    height = width if kind == "round" else size * rng.uniform(0.85, 1.25)
    points = (
        blob(rng, width, height)
        if kind == "live-edge"
        else outline_polygon(Outline(OutlineKind(kind), width, height))
    )
    middle = points.mean(axis=0) if kind == "live-edge" else np.array((width, height)) / 2
    inside = np.asarray(points, np.float32)
    for _ in range(400):  # a place at which the sheet lies on the wood
        turn = rng.uniform(-30, 30) + 90 * rng.integers(0, 2)
        at = middle + rng.normal(size=2) * 0.12 * size
        corners = cv2.boxPoints(((0.0, 0.0), SHEETS[sheet], float(turn))).astype(np.float64) + at
        apart = [cv2.pointPolygonTest(inside, (float(x), float(y)), True) for x, y in corners]
        if min(apart) > 4:
            break
    else:
        raise ValueError("The sheet does not fit on the wood")

    for widened in range(100):  # the wood whole in the picture
        reach = float(np.ptp(points, axis=0).max()) * (1 + 0.03 * widened)
        pose = camera(rng, middle, reach, tilt, photo)
        top = pose[:, [0, 1, 3]]
        seen_at = FlatView(top, photo).to_pixels(points)
        if (seen_at > 0.02 * photo[0]).all() and (
            np.array(photo) - seen_at > 0.02 * photo[0]
        ).all():
            break
    view = FlatView(top / top[2, 2], photo)
    below = FlatView(pose[:, [0, 1, 3]] + thick * np.outer(pose[:, 2], (0, 0, 1)), photo)

    scale = 1.6  # pixels of the textures on a millimetre
    room = 1.1 * size
    box = np.array([-room, -room, points[:, 0].max() + room, points[:, 1].max() + room])
    shape = (int((box[3] - box[1]) * scale), int((box[2] - box[0]) * scale))
    onto = np.array([[1 / scale, 0, box[0]], [0, 1 / scale, box[1]], [0, 0, 1]])
    tones = (np.array(WOODS[wood][0], float), np.array(WOODS[wood][1], float))
    face, knots = _wood(rng, shape, tones, scale)
    table = _bench(rng, shape, bench, scale)
    flags = cv2.INTER_LINEAR

    def seen(texture: Array, by: FlatView) -> Array:
        return np.asarray(
            cv2.warpPerspective(
                texture.astype(np.float32),
                by.matrix @ onto,
                photo,
                flags=flags,
                borderMode=cv2.BORDER_REFLECT,
            )
        )

    picture = seen(table, below)
    outline_px = view.to_pixels(points)
    if thick:
        foot = below.to_pixels(points)
        lower = below.to_pixels(points + 4.0)
        picture = picture * (
            1 - 0.5 * cv2.GaussianBlur(_coverage(lower, photo), (0, 0), 9)[..., None]
        )
        side = np.zeros((*photo[::-1], 1))
        for first in range(len(points)):
            second = (first + 1) % len(points)
            piece = np.array([outline_px[first], outline_px[second], foot[second], foot[first]])
            hull = cv2.convexHull(piece.astype(np.float32))[:, 0].astype(float)
            low, high = hull.min(axis=0).astype(int) - 1, hull.max(axis=0).astype(int) + 2
            low, high = np.maximum(low, 0), np.minimum(high, photo)
            if (high <= low).any():
                continue
            part = _coverage(hull - low, (int(high[0] - low[0]), int(high[1] - low[1])))
            held = side[low[1] : high[1], low[0] : high[0]]
            np.maximum(held, part, out=held)
        picture = picture + (tones[1] * 0.55 - picture) * side
    cover = _coverage(outline_px, photo)
    bare_face = np.clip(np.rint(face), 0, 255).astype(np.uint8)
    if bark is None:
        bark = float(rng.uniform(3, 9)) if kind == "live-edge" and rng.random() < 0.6 else 0.0
    if bark:
        y, x = np.mgrid[: shape[0], : shape[1]].astype(np.float32)
        mask = np.zeros(shape, np.uint8)
        cv2.fillPoly(mask, [np.rint((points - box[:2]) * scale).astype(np.int32)], 1)
        depth = cv2.distanceTransform(mask, cv2.DIST_L2, 5) / scale
        ragged = bark + 0.6 * _noise(rng, shape, (8 * scale, 8 * scale))
        skin = np.array((92, 68, 50)) * rng.uniform(0.6, 1.3)
        skin = skin + 16 * _noise(rng, shape, (2 * scale, 2 * scale))[..., None]
        face = face + (skin - face) * (1 / (1 + np.exp((depth - ragged) * 4)))[..., None]
    picture = picture + (seen(face, view) - picture) * cover
    paper = _coverage(view.to_pixels(corners), photo)
    shade = cv2.GaussianBlur(_coverage(view.to_pixels(corners + 0.8), photo), (0, 0), 1.5)[
        ..., None
    ]
    picture = picture * (1 - 0.25 * shade * (1 - paper))
    white = np.array((244, 244, 241)) + rng.normal() * 2
    picture = picture + (white - picture) * paper

    linear = np.clip(picture / 255, 0, 1) ** 2.2
    y, x = np.mgrid[: photo[1], : photo[0]] / max(photo)
    lean = rng.uniform(0, 2 * math.pi)
    slope = math.log(rng.uniform(1.2, 2.0))
    light = np.exp(-slope * (math.cos(lean) * (x - 0.5) + math.sin(lean) * (y - 0.4)))
    light *= 1 - 0.25 * ((x - 0.5) ** 2 + (y - 0.4) ** 2)
    cast = np.array((1.0, 1.0, 1.0)) * np.exp(rng.normal(size=3) * (0.04, 0.0, 0.06))
    linear = linear * (light / light.max())[..., None] * cast * rng.uniform(0.75, 1.05)
    linear = cv2.GaussianBlur(linear, (0, 0), rng.uniform(0.5, 1.6) * max(photo) / 1600)
    code = 255 * np.clip(linear, 0, 1) ** (1 / 2.2)
    code = code + rng.normal(size=code.shape) * rng.uniform(1, 4)
    rgb = np.clip(np.rint(code), 0, 255).astype(np.uint8)
    quality = [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(70, 95))]
    _, packed = cv2.imencode(".jpg", rgb[..., ::-1], quality)
    decoded = cv2.imdecode(packed, cv2.IMREAD_COLOR)
    assert decoded is not None
    return Scene(
        rgb=np.ascontiguousarray(decoded[..., ::-1]),
        view=view,
        points_mm=points,
        sheet_mm=corners,
        wood=wood,
        bench=bench,
        bark_mm=bark,
        bare=float(np.median(lightness(bare_face)[_inside(points, box, shape, scale)])),
        knots_mm=np.column_stack([knots[:, :2] + box[:2], knots[:, 2:]]),
    )
