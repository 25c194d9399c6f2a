import hashlib
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pypdf
import pytest
from numpy.typing import NDArray

from burnplan.errors import BadInput, OperationFailed
from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.jobs.panel import Facts
from burnplan.sheets.jobs.reference_sheet import reference_sheet, value_key
from burnplan.sheets.jobs.shape import TAB_FILL
from burnplan.sheets.jobs.tone_key import KeyTone
from burnplan.sheets.paper import PAPERS, Paper, Tile, plan_tiles
from burnplan.units import UnitSystem, format_area
from tests.cases import quick_first
from tests.sheets.conftest import MM, Render, read

FACTS = Facts("Cat at the window", "C-0007", "15 × 20 cm", "Basswood", "2027-03-17", "My studio")
TRUE_MM = 0.2
"""What may be off on paper, mm."""

RECTANGLE = OutlineKind.RECTANGLE


def flat(outline: Outline) -> NDArray[np.uint8]:
    """A light picture on which the cutting line stands out."""
    size = (round(outline.height_mm), round(outline.width_mm), 3)
    return np.full(size, 235, np.uint8)


def middles(dark: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Middles of the stretches that are set, mm from the first pixel's outer edge."""
    edges = np.diff(dark.astype(np.int8), prepend=0, append=0)
    return (np.flatnonzero(edges == 1) + np.flatnonzero(edges == -1)) / 2 * MM


def bar_length(strip: NDArray[np.bool_], wanted: float = 50) -> float:
    """Length of the check bar in a strip whose first rows lie at the paper's edge, mm.

    The bar is the longest line along the strip; it is measured from the middle
    of one end tick to the middle of the other, where only those reach.
    """
    best, where, middle = 0, 0, 0.0
    for row, line in enumerate(strip):
        edges = np.diff(line.astype(np.int8), prepend=0, append=0)
        starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
        if len(starts) and (ends - starts).max() > best:
            longest = int(np.argmax(ends - starts))
            best, where = int(ends[longest] - starts[longest]), row
            middle = float(starts[longest] + ends[longest]) / 2 * MM
    assert best * MM == pytest.approx(wanted, abs=0.5)
    ticks = middles(strip[where + round(2.2 / MM)])
    ticks = ticks[np.abs(ticks - middle) < wanted / 2 + 1]
    return float(ticks[-1] - ticks[0])


@quick_first("left_handed", [False, True])
@quick_first("paper", PAPERS.values(), ids=PAPERS)
def test_cut_and_check_bars_measure_true_on_every_tile(
    paper: Paper, left_handed: bool, tmp_path: Path, render: Render
) -> None:
    # A rectangle over two pages and an oval over as many.
    kind = OutlineKind.OVAL if left_handed else RECTANGLE
    outline = Outline(kind, paper.width_mm * 0.8, paper.height_mm * 1.2)
    path = tmp_path / "sheet.pdf"
    written = reference_sheet(
        path, flat(outline), outline, FACTS, paper=paper, left_handed=left_handed
    )
    plan = plan_tiles(outline.width_mm, outline.height_mm, paper)
    assert len(plan.tiles) == 2
    assert written.pages in (2, 3)
    for tile in plan.tiles:
        page = render(path, tile.number)
        assert page.shape[1] * MM == pytest.approx(plan.page.width, abs=MM)
        assert page.shape[0] * MM == pytest.approx(plan.page.height, abs=MM)
        dark = page < 90  # the ink of lines and bars, not the paler tabs
        foot = dark[-round(17 / MM) :][::-1]
        assert bar_length(foot) == pytest.approx(50, abs=TRUE_MM)
        turned = dark[:, ::-1].T if left_handed else dark.T
        assert bar_length(turned[: round(12.5 / MM)]) == pytest.approx(50, abs=TRUE_MM)
        assert off_the_cut(dark, outline, tile) < TRUE_MM


@pytest.mark.parametrize("across", [False, True])
@pytest.mark.parametrize(
    ("paper", "short", "long", "units"),
    [
        (PAPERS["letter"], 8 * 25.4, 10 * 25.4, UnitSystem.IMPERIAL),
        (PAPERS["a4"], 200, 250, UnitSystem.METRIC),
    ],
    ids=["8x10in", "20x25cm"],
)
def test_a_picture_as_large_as_can_be_printed_is_true_on_one_page(
    paper: Paper,
    short: float,
    long: float,
    units: UnitSystem,
    across: bool,
    tmp_path: Path,
    render: Render,
) -> None:
    outline = Outline(RECTANGLE, *((long, short) if across else (short, long)))
    key = [KeyTone(zone, (40 * zone,) * 3, 12.0, 40.0) for zone in range(1, 7)]
    facts = replace(FACTS, size="", units=units)
    path = tmp_path / "sheet.pdf"
    written = reference_sheet(path, flat(outline), outline, facts, key=key, paper=paper)
    assert written.pages == 1
    (tile,) = plan_tiles(outline.width_mm, outline.height_mm, paper).tiles
    dark = render(path, 1) < 90
    assert off_the_cut(dark, outline, tile) < TRUE_MM
    foot = dark.T[::-1] if across else dark[::-1]
    wanted = 50.8 if units is UnitSystem.IMPERIAL else 50.0
    assert bar_length(foot[: round(12.5 / MM)], wanted) == pytest.approx(wanted, abs=TRUE_MM)
    text = pypdf.PdfReader(path).pages[0].extract_text()
    said = "2 in, the picture" if units is UnitSystem.IMPERIAL else "50 mm, the picture"
    assert said in text
    assert all(f"Z{tone.zone}" in text for tone in key)


def test_check_bars_are_in_inches_where_the_studio_thinks_in_them(
    tmp_path: Path, render: Render
) -> None:
    facts = replace(FACTS, units=UnitSystem.IMPERIAL)
    path = tmp_path / "sheet.pdf"
    reference_sheet(path, flat(Outline(RECTANGLE, 90, 120)), Outline(RECTANGLE, 90, 120), facts)
    dark = render(path, 1) < 90
    assert bar_length(dark[-round(17 / MM) :][::-1], 50.8) == pytest.approx(50.8, abs=TRUE_MM)
    assert bar_length(dark.T[: round(12.5 / MM)], 50.8) == pytest.approx(50.8, abs=TRUE_MM)
    text = pypdf.PdfReader(path).pages[0].extract_text()
    assert "Both bars must measure 2 in." in text
    assert "50 mm" not in text


def off_the_cut(dark: NDArray[np.bool_], outline: Outline, tile: Tile) -> float:
    """Farthest that the line to cut along lies from the outline on a page, mm."""
    top, left = round(tile.y / MM), round(tile.x / MM)
    part = dark[
        top - 3 : round((tile.y + tile.part.height) / MM) + 3,
        left - 3 : round((tile.x + tile.part.width) / MM) + 3,
    ]
    rows, columns = np.nonzero(part)
    x = (columns + left - 3 + 0.5) * MM - tile.x + tile.part.x
    y = (rows + top - 3 + 0.5) * MM - tile.y + tile.part.y
    width, height = outline.width_mm, outline.height_mm
    if outline.kind is RECTANGLE:
        sides = [x, width - x, y, height - y]
        off = np.min(np.abs(sides), axis=0)
        seen = [np.abs(side) < TRUE_MM for side in sides]
        # The sides that this part has are drawn from end to end.
        assert np.ptp(y[seen[0]]) == pytest.approx(tile.part.height, abs=2 * TRUE_MM)
        assert np.ptp(y[seen[1]]) == pytest.approx(tile.part.height, abs=2 * TRUE_MM)
        wide = seen[2] if tile.row == 0 else seen[3]
        assert np.ptp(x[wide]) == pytest.approx(width, abs=2 * TRUE_MM)
    else:
        a, b = width / 2, height / 2
        value = np.hypot((x - a) / a, (y - b) / b)
        gradient = np.hypot((x - a) / a**2, (y - b) / b**2) / value
        off = np.abs(value - 1) / gradient
        assert len(off) > 2 * tile.part.height / MM
    # The line itself is 0.2 mm wide and antialiased: its middle is what counts.
    return float(off.max()) - 0.1


@pytest.mark.long
@pytest.mark.parametrize("mirrored", [False, True])
def test_tiles_pasted_together_are_the_picture_on_one_page(
    mirrored: bool, tmp_path: Path, render: Render
) -> None:
    outline = Outline(RECTANGLE, 160, 190)
    picture = read(outline).placed.rgb  # in greys
    tiled, single = tmp_path / "tiled.pdf", tmp_path / "single.pdf"
    small, large = Paper("Small", 120, 150), Paper("Large", 190, 230)
    reference_sheet(tiled, picture, outline, FACTS, paper=small, mirrored=mirrored)
    reference_sheet(single, picture, outline, FACTS, paper=large, mirrored=mirrored)
    plan = plan_tiles(160, 190, small)
    (whole,) = plan_tiles(160, 190, large).tiles
    assert (plan.columns, plan.rows) == (2, 2)
    reference = cut_out(render(single, 1), whole.x, whole.y, 160, 190)
    pasted = np.zeros_like(reference)
    for tile in plan.tiles:
        # Trimmed in the middle of the overlap, where the marks say.
        across, down = (5.0 if at > 0 else 0.0 for at in (tile.column, tile.row))
        x, y = tile.part.x + across, tile.part.y + down
        shown = cut_out(
            render(tiled, tile.number), tile.x + across, tile.y + down, 160 - x, 190 - y
        )
        top, left = round(y / MM), round(x / MM)
        room = pasted[top : top + shown.shape[0], left : left + shown.shape[1]]
        room[:] = shown[: room.shape[0], : room.shape[1]]
    # All but a few pixels at the sharpest edges, where the renderer rounds differently.
    assert share_in_place(pasted, reference) > 0.9999
    # The measure sees what is half a millimetre off, and a mirrored picture.
    assert share_in_place(np.roll(pasted, 6, axis=1), reference) < 0.999
    assert share_in_place(pasted[:, ::-1], reference) < 0.8
    photo = cv2.resize(picture[..., 0], reference.shape[1::-1])
    photo = photo[:, ::-1] if mirrored else photo
    # JPEG and the printer's own resampling change tones by a few levels.
    assert share_in_place(reference, np.asarray(photo, np.uint8), levels=12) > 0.995


def share_in_place(one: NDArray[np.uint8], other: NDArray[np.uint8], levels: int = 3) -> float:
    """Share of pixels whose tone the other picture has within 0.2 mm."""
    inner = np.s_[6:-6, 6:-6]
    around = np.ones((2 * int(TRUE_MM / MM) + 1,) * 2, np.uint8)
    low = cv2.erode(other, around)[inner].astype(int) - levels
    high = cv2.dilate(other, around)[inner].astype(int) + levels
    return float(np.mean((one[inner] >= low) & (one[inner] <= high)))


def cut_out(
    page: NDArray[np.uint8], x: float, y: float, width: float, height: float
) -> NDArray[np.uint8]:
    """Return what a page has in a rectangle, mm."""
    top, left = round(y / MM), round(x / MM)
    return page[top : top + round(height / MM), left : left + round(width / MM)]


@quick_first("mirrored", [False, True])
@pytest.mark.parametrize("left_handed", [False, True])
def test_the_side_tab_lies_by_the_drawing_hand(
    left_handed: bool, mirrored: bool, tmp_path: Path, render: Render
) -> None:
    outline = Outline(RECTANGLE, 60, 80)
    path = tmp_path / "sheet.pdf"
    small = Paper("Small", 110, 140)
    reference_sheet(
        path,
        flat(outline),
        outline,
        FACTS,
        paper=small,
        left_handed=left_handed,
        mirrored=mirrored,
    )
    page = render(path, 1, colour=True)
    fill = np.all(np.abs(page.astype(int) - TAB_FILL) < 3, axis=2)
    columns = np.flatnonzero(fill.any(axis=0)) * MM
    middle = page.shape[1] * MM / 2
    reach_left, reach_right = middle - columns.min() - 30, columns.max() - middle - 30
    # On the wood the sheet lies face up; a mirrored one face down, so sides change.
    on_left = left_handed is not mirrored
    assert bool(reach_left > 5) is on_left
    assert bool(reach_right > 5) is not on_left
    side = fill[:, : round((middle - 31) / MM)] if on_left else fill[:, round((middle + 31) / MM) :]
    below_hinge = np.flatnonzero(side.any(axis=1)).mean() - np.flatnonzero(fill.any(axis=1))[0]
    assert below_hinge * MM > 0.8 * 80


def test_the_sheet_says_what_it_is_of(tmp_path: Path) -> None:
    outline = Outline(RECTANGLE, 150, 200)
    reading = read(outline)
    key = value_key(reading.placed, reading.zones, reading.placed.rgb)
    path = tmp_path / "sheet.pdf"
    written = reference_sheet(path, reading.placed.rgb, outline, FACTS, key=key)
    assert (written.path, written.pages, written.notes) == (path, 1, ())
    (page,) = pypdf.PdfReader(path).pages
    text = page.extract_text()
    for said in ("Cat at the window", "C-0007", "15 × 20 cm", "Basswood", "2027-03-17", "100 %"):
        assert said in text
    assert {"Job", "Size", "Wood", "Paper", "Date", "Studio"} <= set(text.splitlines())
    for tone in key:
        assert f"Z{tone.zone}" in text
        assert format_area(tone.area_cm2) in text  # as on every other surface
    assert float(page.mediabox.width) * 25.4 / 72 == pytest.approx(210)
    assert pypdf.PdfReader(path).viewer_preferences.print_scaling == "/None"  # type: ignore[union-attr]


def test_the_key_holds_the_mean_tone_of_each_zone() -> None:
    reading = read(Outline(RECTANGLE, 80, 60))
    key = value_key(reading.placed, reading.zones, reading.placed.rgb)
    areas = {measure.zone: measure.area_cm2 for measure in reading.measures}
    for tone in key:
        mask = reading.zones.labels == tone.zone
        assert tone.lightness == pytest.approx(reading.placed.lightness[mask].mean(), abs=0.01)
        assert np.allclose(tone.rgb, reading.placed.rgb[mask].mean(axis=0), atol=0.5)
        assert tone.area_cm2 == pytest.approx(areas[tone.zone])
    light = [tone.lightness for tone in key]
    assert light == sorted(light)


def test_the_same_sheet_is_the_same_bytes(tmp_path: Path) -> None:
    outline = Outline(OutlineKind.ROUND, 90, 90)
    hashes = []
    for name in ("one.pdf", "two.pdf"):
        reference_sheet(tmp_path / name, flat(outline), outline, FACTS)
        hashes.append(hashlib.sha256((tmp_path / name).read_bytes()).hexdigest())
    assert hashes[0] == hashes[1]


@pytest.mark.parametrize(
    "title",
    [
        "Жучка у окна",
        "Ωμέγα",
        "木の犬",
        "강아지",
        "\U0001f415\U0001f3fd",
        "שלום",
        "",
        "x" * 300,
        "\x00",
    ],
)
def test_titles_in_any_script_print_or_say_why_not(title: str, tmp_path: Path) -> None:
    outline = Outline(RECTANGLE, 60, 60)
    path = tmp_path / "sheet.pdf"
    written = reference_sheet(path, flat(outline), outline, Facts(title))
    reader = pypdf.PdfReader(path)
    text = reader.pages[0].extract_text()
    printed = title.strip("\x00")[:8] in text
    assert printed or any("empty boxes" in note for note in written.notes)
    fonts = reader.pages[0]["/Resources"]["/Font"]  # type: ignore[index]
    for font in fonts.get_object().values():
        assert "/FontFile2" in font.get_object()["/FontDescriptor"]


def test_a_picture_that_leaves_no_room_gets_a_page_for_its_facts(tmp_path: Path) -> None:
    outline = Outline(RECTANGLE, 180, 255)
    key = [KeyTone(1, (40, 30, 20), 12.0, 40.0), KeyTone(2, (200, 180, 160), 75.0, 419.0)]
    written = reference_sheet(tmp_path / "s.pdf", flat(outline), outline, FACTS, key=key)
    assert written.pages == 2
    text = pypdf.PdfReader(tmp_path / "s.pdf").pages[1].extract_text()
    assert "Strip of tones" in text


def test_the_map_names_every_page(tmp_path: Path) -> None:
    outline = Outline(RECTANGLE, 300, 400)
    path = tmp_path / "sheet.pdf"
    written = reference_sheet(path, flat(outline), outline, FACTS)
    assert written.pages == 4
    texts = [page.extract_text() for page in pypdf.PdfReader(path).pages]
    assert "Page map" in texts[-1].splitlines()
    assert "joins page 2" in texts[0]
    assert "joins page 3" in texts[0]
    assert "joins page 3" in texts[3]


def test_a_tiled_picture_without_room_has_its_map_on_a_page_of_its_own(tmp_path: Path) -> None:
    outline = Outline(RECTANGLE, 180, 510)
    written = reference_sheet(tmp_path / "s.pdf", flat(outline), outline, FACTS)
    assert written.pages == 3
    texts = [page.extract_text() for page in pypdf.PdfReader(tmp_path / "s.pdf").pages]
    assert ["Page map" in text.splitlines() for text in texts] == [False, False, True]
    assert "Page 3 of 3" in texts[2]


def test_what_stops_the_writing_leaves_nothing_behind(tmp_path: Path) -> None:
    outline = Outline(RECTANGLE, 60, 60)
    picture = flat(outline)
    with pytest.raises(BadInput, match="no folder"):
        reference_sheet(tmp_path / "none" / "sheet.pdf", picture, outline, FACTS)
    with pytest.raises(BadInput, match="is a folder"):
        reference_sheet(tmp_path, picture, outline, FACTS)
    with pytest.raises(OperationFailed, match="cannot be written"):
        reference_sheet(tmp_path / ("x" * 300), picture, outline, FACTS)
    kept = tmp_path / "kept.pdf"
    kept.write_bytes(b"before")
    with pytest.raises(BadInput):
        reference_sheet(
            kept, flat(Outline(RECTANGLE, 60, 60)), Outline(RECTANGLE, 5000, 5000), FACTS
        )
    assert kept.read_bytes() == b"before"
    assert [path.name for path in tmp_path.iterdir()] == ["kept.pdf"]
