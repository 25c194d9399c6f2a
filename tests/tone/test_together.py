"""Several photos composed into one picture of a piece, on photos of scikit-image."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.areas import AreaKind, MarkedArea, On
from burnplan.tone.composed import Composed, compose
from burnplan.tone.lightness import lightness
from burnplan.tone.together import Laid, Lies, Seam, Together, Tones, area_moved
from tests.tone.conftest import _photo_file

PIECE = Outline(OutlineKind.RECTANGLE, 250, 200)
CAT, WOMAN = _photo_file("chelsea.png"), _photo_file("astronaut.png")


def flat(path: Path, grey: int, width: int = 400, height: int = 400) -> Path:
    Image.fromarray(np.full((height, width, 3), grey, np.uint8)).save(path)
    return path


def two(**how: object) -> Together:
    return Together((Lies(), Lies()), **how)  # type: ignore[arg-type]


def apart(made: Composed) -> np.ndarray:
    """Return by how much L* differs where two takes of the same photo show the same of it."""
    light = lightness(made.rgb)
    height, width = light.shape
    found = []
    for x, y in np.mgrid[0.02:0.98:60j, 0.02:0.98:60j].reshape(2, -1).T:
        at = [one.piece_at(x, y) for one in made.laid]
        if 0 <= at[0][0] < 0.45 and 0.55 < at[1][0] <= 1:  # beside the seam
            left, right = (light[int(v * height), int(u * width)] for u, v in at)
            found.append(left - right)
    return np.abs(found)


@pytest.mark.parametrize("outline", [PIECE, Outline(OutlineKind.ROUND, 300, 300)])
def test_the_picture_has_the_proportions_of_the_piece(outline: Outline) -> None:
    made = compose([CAT, WOMAN], two(), outline)
    height, width = made.rgb.shape[:2]
    assert width / height == pytest.approx(outline.width_mm / outline.height_mm, rel=0.005)
    assert made.keep is None  # all of it is covered


@pytest.mark.long
def test_nothing_is_distorted_and_each_photo_fills_its_share() -> None:
    for together in (two(), two(stacked=True), two(shares=(70, 30), seam=Seam.HARD)):
        made = compose([CAT, WOMAN], together, PIECE)
        for one, size in zip(made.laid, ((451, 300), (512, 512)), strict=True):
            across = (one.crop[2] - one.crop[0]) * size[0] / ((one.box[2] - one.box[0]) * 250)
            down = (one.crop[3] - one.crop[1]) * size[1] / ((one.box[3] - one.box[1]) * 200)
            assert across == pytest.approx(down, rel=1e-6)
            assert one.px_per_mm == pytest.approx(across)
            assert min(one.crop) >= -1e-9
            assert max(one.crop) <= 1 + 1e-9
    assert made.laid[0].box[2] == pytest.approx(0.7)


def test_a_hard_seam_is_a_step_and_a_soft_one_a_slope(tmp_path: Path) -> None:
    files = [flat(tmp_path / "dark.png", 60), flat(tmp_path / "light.png", 200)]
    for seam, most in ((Seam.HARD, 200), (Seam.SOFT, 12)):
        made = compose(files, two(seam=seam, middles=None), PIECE)
        row = made.rgb[made.rgb.shape[0] // 2, :, 0].astype(int)
        assert row[0] == 60
        assert row[-1] == 200
        steps = np.diff(row)
        assert steps.min() >= 0
        if seam is Seam.HARD:
            assert steps.max() == 140
        else:
            assert steps.max() < most
            wide = (steps > 0).sum() / len(row) * 250
            assert 10 < wide <= 20.5  # a tenth of the shorter side, 20 mm
            assert np.flatnonzero(steps).mean() == pytest.approx(len(row) / 2, abs=2)


@pytest.mark.long
@pytest.mark.parametrize("dim", [0.45, 0.7])
def test_the_same_subject_in_dim_light_is_matched(tmp_path: Path, dim: float) -> None:
    whole = np.asarray(Image.open(WOMAN).convert("RGB"), np.float64)
    path = tmp_path / "dim.png"
    Image.fromarray((whole * dim + 15).astype(np.uint8)).save(path)
    own = compose([WOMAN, path], two(middles=None), PIECE)
    matched = compose([WOMAN, path], two(), PIECE)
    before, after = np.median(apart(own)), np.median(apart(matched))
    assert before > 10
    assert after < 2
    assert np.quantile(apart(matched), 0.9) < 0.6 * before
    for one in matched.laid[1:]:
        assert one.after.dark == pytest.approx(matched.laid[0].after.dark, abs=1.5)
        assert one.after.light == pytest.approx(matched.laid[0].after.light, abs=1.5)


@pytest.mark.long
def test_middles_are_drawn_together_as_far_as_asked() -> None:
    gaps = []
    for middles in (0.0, 0.5, 1.0):
        made = compose([CAT, WOMAN], two(middles=middles), PIECE)
        gaps.append(made.laid[0].after.middle - made.laid[1].after.middle)
    assert abs(gaps[0]) > abs(gaps[1]) > abs(gaps[2])


def test_a_dark_subject_stays_darker_than_a_light_one(tmp_path: Path) -> None:
    y, x = np.mgrid[:400, :400]
    fur = np.random.default_rng(4).normal(0, 6, (400, 400))
    files = []
    for name, ground in (("black", 45), ("white", 190)):
        grey = np.where((x - 200) ** 2 + (y - 200) ** 2 < 150**2, ground, 128) + fur
        grey[(x - 150) ** 2 + (y - 150) ** 2 < 20**2] = 8  # its eye, and the light in it
        grey[(x - 145) ** 2 + (y - 145) ** 2 < 8**2] = 245
        files.append(tmp_path / f"{name}.png")
        Image.fromarray(np.dstack([np.clip(grey, 0, 255).astype(np.uint8)] * 3)).save(files[-1])
    made = compose(files, two(), PIECE)
    assert made.laid[0].after.middle + 20 < made.laid[1].after.middle


def test_tones_left_as_photographed_are_those_of_the_photos() -> None:
    made = compose([WOMAN, WOMAN], two(middles=None, seam=Seam.HARD), PIECE)
    laid = made.laid[0]
    assert laid.before == laid.after
    photo = np.asarray(Image.open(WOMAN).convert("RGB"))
    left, right = (round(laid.crop[n] * 512) for n in (0, 2))
    seen = lightness(np.ascontiguousarray(photo[:, left:right]))
    half = lightness(made.rgb)[:, : made.rgb.shape[1] // 2]
    assert np.median(half) == pytest.approx(float(np.median(seen)), abs=0.5)


def test_freely_placed_photos_leave_wood_bare_and_lie_over_each_other(tmp_path: Path) -> None:
    files = [flat(tmp_path / "dark.png", 60), flat(tmp_path / "light.png", 200)]
    lies = Lies(box=(0.0, 0.0, 0.6, 1.0)), Lies(box=(0.4, 0.3, 1.0, 1.0))
    made = compose(files, Together(lies, seam=Seam.HARD, middles=None), PIECE)
    height, width = made.rgb.shape[:2]
    at = {
        (0.2, 0.5): 60, (0.5, 0.1): 60, (0.5, 0.6): 200, (0.8, 0.6): 200, (0.8, 0.1): 255,
    }  # fmt: skip
    for (x, y), tone in at.items():
        assert made.rgb[round(y * height), round(x * width), 0] == tone
    assert made.keep is not None
    assert (made.keep == 0).mean() == pytest.approx(0.4 * 0.3, abs=0.01)


def test_neighbours_that_only_touch_meet_without_a_pale_strip(tmp_path: Path) -> None:
    files = [flat(tmp_path / "a.png", 90), flat(tmp_path / "b.png", 90)]
    lies = Lies(box=(0.0, 0.0, 0.5, 1.0)), Lies(box=(0.5, 0.0, 1.0, 1.0))
    made = compose(files, Together(lies, middles=None), PIECE)
    assert made.rgb.min() == made.rgb.max() == 90
    assert made.keep is None


def test_a_photo_fades_into_bare_wood_where_no_other_lies_beside_it(tmp_path: Path) -> None:
    files = [flat(tmp_path / "a.png", 60), flat(tmp_path / "b.png", 60)]
    lies = Lies(box=(0.0, 0.0, 0.5, 1.0)), Lies(box=(0.4, 0.5, 1.0, 1.0))
    made = compose(files, Together(lies, middles=None), PIECE)
    height, width = made.rgb.shape[:2]
    beside_wood, beside_photo = (made.rgb[round(y * height), :, 0].astype(int) for y in (0.1, 0.9))
    steps = np.diff(beside_wood)
    assert (beside_wood[0], beside_wood[-1]) == (60, 255)
    assert steps.min() >= 0
    assert 10 < (steps > 0).sum() / width * 250 <= 20.5
    assert beside_photo.min() == beside_photo.max() == 60


def test_a_mirrored_photo_is_mirrored() -> None:
    plain = compose([CAT, CAT], two(seam=Seam.HARD), PIECE).rgb
    lies = Lies(), Lies(mirrored=True)
    turned = compose([CAT, CAT], Together(lies, seam=Seam.HARD), PIECE).rgb
    half = plain.shape[1] // 2
    off = [
        np.abs(one.astype(int) - plain[:, :half]).mean()
        for one in (turned[:, -half:][:, ::-1], turned[:, -half:])
    ]
    assert off[0] < 6 < 20 < off[1]


def test_areas_stay_on_what_they_were_marked_on() -> None:
    tones = Tones(0, 50, 100)
    before = [
        Laid((0.0, 0.0, 0.5, 1.0), (0.2, 0.0, 0.8, 1.0), False, 2.0, 0.0, tones, tones),
        Laid((0.5, 0.0, 1.0, 1.0), (0.0, 0.0, 1.0, 1.0), True, 2.0, 0.0, tones, tones),
    ]
    after = [
        Laid((0.0, 0.0, 1.0, 0.5), (0.0, 0.25, 1.0, 0.75), False, 2.0, 0.0, tones, tones),
        Laid((0.0, 0.5, 1.0, 1.0), (0.0, 0.0, 1.0, 0.5), True, 2.0, 0.0, tones, tones),
    ]
    eye = MarkedArea(AreaKind.ELLIPSE, ((0.2, 0.4), (0.3, 0.6)), name="eye")
    moved = area_moved(eye, before, after)
    assert moved is not None
    # In the photo it spans 0.44 to 0.56 across and 0.4 to 0.6 down.
    assert np.allclose(moved.corners, ((0.44, 0.15), (0.56, 0.35)))
    assert moved.name == "eye"
    other = MarkedArea(AreaKind.RECTANGLE, ((0.6, 0.1), (0.7, 0.2)))
    there = area_moved(other, before, after)
    assert there is not None
    assert np.allclose(sorted(there.corners), ((0.2, 0.6), (0.4, 0.7)))
    assert area_moved(eye, before, before) == eye
    on_wood = MarkedArea(AreaKind.RECTANGLE, ((10, 10), (20, 20)), On.WOOD)
    assert area_moved(on_wood, before, after) == on_wood


@pytest.mark.parametrize(
    "how",
    [
        {"lies": (Lies(),)}, {"lies": (Lies(),) * 9}, {"lies": (Lies(),) * 2, "middles": 2.0},
        {"lies": (Lies(),) * 2, "shares": (1.0,)}, {"lies": (Lies(),) * 2, "shares": (1.0, -1.0)},
        {"lies": (Lies(),) * 2, "shares": (0.0, 0.0)},
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(how: dict[str, object]) -> None:
    with pytest.raises(BadInput):
        Together(**how)  # type: ignore[arg-type]
    with pytest.raises(BadInput):
        Lies(box=(0.5, 0.0, 0.5, 1.0))
