import importlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from burnplan.errors import BadInput, OperationFailed
from burnplan.files import WouldReplace
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.contact_sheet import contact_sheet
from burnplan.tone.lightness import lightness
from burnplan.tone.lines import draw_lines
from burnplan.tone.passes import Pressure
from burnplan.tone.photo import open_photo
from burnplan.tone.place import Placed
from burnplan.tone.render import (
    save_png,
    sepia,
    trace_overlay,
    wood_preview,
    zone_map,
    zone_palette,
)
from burnplan.tone.zones import find_zones
from tests.cases import quick_first
from tests.tone.greys import grey_of_lightness

PlacedOf = Callable[..., Placed]
color: Any = importlib.import_module("skimage.color")


@pytest.fixture
def placed(photo_file: Callable[[str], Path], placed_of: PlacedOf) -> Placed:
    photo = open_photo(photo_file("flower.jpg"))
    return placed_of(photo.rgb, Outline(OutlineKind.OVAL, 90, 60))


def ramp(placed_of: PlacedOf) -> Placed:
    return placed_of(grey_of_lightness(np.tile(np.linspace(0, 100, 400), (40, 1))))


def test_sepia_keeps_lightness(placed_of: PlacedOf) -> None:
    placed = ramp(placed_of)
    lab = color.rgb2lab(sepia(placed))
    assert np.abs(lab[..., 0] - placed.lightness).max() < 1.5
    middle = lab[20, 150:250]
    assert middle[:, 1].min() > 5  # warm: towards red and yellow
    assert middle[:, 2].min() > 10


def test_wood_preview_spans_what_the_wood_holds(placed_of: PlacedOf) -> None:
    placed = ramp(placed_of)
    light = color.rgb2lab(wood_preview(placed, 78, 24))[20, :, 0]
    assert light[0] == pytest.approx(24, abs=1)
    assert light[-1] == pytest.approx(78, abs=1)
    assert np.all(np.diff(light) > -0.3)  # no tone is reversed, but for rounding to bytes


def test_wood_preview_takes_the_colour_of_the_wood(placed_of: PlacedOf) -> None:
    white = placed_of(np.full((40, 40), 255, np.uint8))
    lab = color.rgb2lab(wood_preview(white, 70, 20, wood_ab=(12.0, 26.0)))[20, 20]
    assert lab == pytest.approx([70, 12, 26], abs=1)


@pytest.mark.parametrize("count", range(1, 10))
def test_palette_tones_are_told_apart(count: int) -> None:
    lab = color.rgb2lab(zone_palette(count)[None])[0]
    assert lab.shape == (count, 3)
    assert np.all(np.diff(lab[:, 0]) > 8)  # darkest first


def test_outside_is_white_and_in_the_zone_map_transparent(placed: Placed) -> None:
    zones = find_zones(placed)
    lines = draw_lines(placed)
    outside = ~placed.inside
    for picture in (sepia(placed), wood_preview(placed, 80, 20)):
        assert picture.shape == (*placed.inside.shape, 3)
        assert picture.dtype == np.uint8
        assert picture[outside].min() == 255
    flat = zone_map(zones)
    assert flat.shape == (*placed.inside.shape, 4)
    assert np.array_equal(flat[..., 3] == 255, placed.inside)
    assert flat[outside][:, :3].min() == 255
    assert trace_overlay(lines, placed, scale=1)[outside].min() == 255


def test_zone_map_shows_each_zone_in_its_tone(placed: Placed) -> None:
    zones = find_zones(placed)
    flat, tones = zone_map(zones), zone_palette(6)
    for zone in range(1, 7):
        colours, counts = np.unique(flat[zones.labels == zone][:, :3], axis=0, return_counts=True)
        assert np.array_equal(colours[np.argmax(counts)], tones[zone - 1])


def red(picture: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    channels = picture.astype(int)
    return np.asarray(channels[..., 0] - channels[..., 1:].max(axis=2) > 80)


@quick_first(("dark", "pressure", "mm"), [(20, "firm", 0.55), (86, "light", 0.3)])
def test_firm_lines_are_drawn_heavier_than_light_ones(
    placed_of: PlacedOf, dark: float, pressure: str, mm: float
) -> None:
    picture = np.full((200, 400), 255, np.uint8)
    picture[:, :200] = grey_of_lightness(dark)
    placed = placed_of(picture)
    lines = draw_lines(placed)
    assert {line.pressure.value for line in lines.lines} == {pressure}
    scale = 8  # of the raster of 4 pixels a mm
    across = red(trace_overlay(lines, placed, scale=scale))[100 * scale].sum()
    assert across == pytest.approx(mm * 4 * scale, abs=3)  # soft at its edges


def test_lines_lie_where_they_were_traced_and_lost_ones_are_open(placed_of: PlacedOf) -> None:
    picture = np.full((200, 400), 255, np.uint8)
    picture[:, :100] = grey_of_lightness(20)
    picture[:, 100:200] = grey_of_lightness(50)
    picture[:, 200:300] = grey_of_lightness(53)
    placed = placed_of(picture)
    lines = draw_lines(placed)
    assert {line.pressure for line in lines.lines} == {Pressure.FIRM, Pressure.LOST}
    drawn = red(trace_overlay(lines, placed, scale=2))
    assert drawn.shape == (400, 800)
    columns = np.flatnonzero(drawn.any(axis=0))
    assert columns.min() >= 200 - 4
    assert not drawn[:, 210:590].any()
    left = columns[columns < 300]
    assert left.mean() + 0.5 == pytest.approx(200, abs=1)


@quick_first(
    ("outline", "columns"),
    [
        (Outline(OutlineKind.OVAL, 90, 60), 2),
        (Outline(OutlineKind.RECTANGLE, 40, 60), 4),
        (Outline(OutlineKind.LIVE_EDGE, 60, 60, ((2, 5), (58, 0), (50, 60), (0, 50))), 4),
    ],
)
def test_contact_sheet_holds_the_four_pictures(
    photo_file: Callable[[str], Path], placed_of: PlacedOf, outline: Outline, columns: int
) -> None:
    placed = placed_of(open_photo(photo_file("flower.jpg")).rgb, outline)
    zones = find_zones(placed)
    lines = draw_lines(placed)
    sheet = contact_sheet(placed, zones, lines, 82, 20, title="Rosehips " * 40, wood="basswood")
    assert sheet.dtype == np.uint8
    assert sheet.shape[2] == 3
    paper = sheet[3, 3]
    # The pictures are found where the sheet is not paper in the middle of each column.
    light = color.rgb2lab(sheet)[..., 0]
    width = sheet.shape[1]
    aspect = outline.width_mm / outline.height_mm
    panel = round((560_000 * aspect) ** 0.5)
    assert width == 2 * 84 + columns * panel + (columns - 1) * 56
    height = round(panel / aspect)
    top = 84 + 90
    means, ranges = [], []
    for place in range(4):
        x = 84 + place % columns * (panel + 56)
        y = top + place // columns * (height + 152)
        box = np.s_[y + height // 4 : y + 3 * height // 4, x + panel // 4 : x + 3 * panel // 4]
        means.append(light[box].mean())
        ranges.append(np.ptp(light[box]))
        off = np.abs(sheet[box][:, :, None].astype(int) - zone_palette(zones.count)).max(axis=3)
        assert bool(off.min(axis=2).mean() < 3) is (place == 2)  # flat tones of zones, there alone
        if columns == 2:  # the corners of an oval show the sheet
            assert np.array_equal(sheet[y + 3, x + 3], paper)
    assert ranges[1] == pytest.approx(ranges[0] * (82 - 20) / 100, rel=0.1)  # squeezed on wood
    assert means[3] > max(means[:3])  # the ground of the lines is faint
    # Margins are free of everything, a long title too.
    assert (sheet[:, :60] == paper).all()
    assert (sheet[:, -60:] == paper).all()
    assert (sheet[:60] == paper).all()
    assert (sheet[-40:] == paper).all()
    untitled = contact_sheet(placed, zones, lines, 82, 20)
    assert untitled.shape[0] == sheet.shape[0] - 90


def test_words_under_a_narrow_piece_stay_on_the_sheet(placed_of: PlacedOf) -> None:
    placed = placed_of(np.zeros((160, 20, 3), np.uint8), Outline(OutlineKind.RECTANGLE, 20, 160))
    sheet = contact_sheet(placed, find_zones(placed), draw_lines(placed), 82, 20)
    assert (sheet[:, -60:] == sheet[3, 3]).all()
    assert (sheet[-20:] == sheet[3, 3]).all()


def test_png_prints_at_true_size(tmp_path: Path, placed: Placed) -> None:
    path = tmp_path / "sepia.png"
    picture = sepia(placed)
    save_png(picture, path, placed.px_per_mm, title="Rosehips · ♀")
    with Image.open(path) as image:
        assert np.array_equal(np.asarray(image), picture)
        assert image.info["dpi"] == pytest.approx((101.6, 101.6), abs=0.05)
    zones = zone_map(find_zones(placed))
    with pytest.raises(WouldReplace):
        save_png(zones, path, placed.px_per_mm, title="Rosehips")
    save_png(zones, path, placed.px_per_mm, title="Rosehips · ♀")  # replaces it
    with Image.open(path) as image:
        assert image.mode == "RGBA"
    assert [p.name for p in tmp_path.iterdir()] == ["sepia.png"]


def test_where_a_picture_cannot_go(
    tmp_path: Path, placed: Placed, monkeypatch: pytest.MonkeyPatch
) -> None:
    picture = sepia(placed)
    with pytest.raises(BadInput, match="is a folder"):
        save_png(picture, tmp_path, 4)
    with pytest.raises(BadInput, match="There is no folder"):
        save_png(picture, tmp_path / "none" / "a.png", 4)

    def full(*_args: object, **_options: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Image.Image, "save", full)
    with pytest.raises(OperationFailed, match="No space left"):
        save_png(picture, tmp_path / "a.png", 4)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("count", range(3, 10))
def test_zones_are_told_apart_without_colour(count: int) -> None:
    """By their lightness alone, darkest first; 5 in L* is a step that is seen (a guess)."""
    tones = lightness(zone_palette(count)[None])[0]
    assert (np.diff(tones) >= 5).all()
