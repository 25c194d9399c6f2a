"""Lettering on sheets, measured as printed."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pypdf
import pytest

from burnplan.lettering.laying import Inscription, laid
from burnplan.lettering.typefaces import STAND_INS, shipped
from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.drawing import RGB, Drawing
from burnplan.sheets.jobs.lettering_sheet import lettering_sheet
from burnplan.sheets.jobs.marks import place_marks
from burnplan.sheets.jobs.panel import Facts
from burnplan.sheets.jobs.reference_sheet import reference_sheet
from burnplan.sheets.jobs.trace_sheet import trace_pdf, trace_svg
from burnplan.sheets.jobs.value_map import value_map
from burnplan.sheets.paper import A4
from burnplan.tone.analysis import PhotoAnalysis, analyse_photo
from burnplan.tone.render import sepia
from burnplan.units import MM_PER_POINT
from tests.sheets.conftest import MM, Render, drawn

OUTLINE = Outline(OutlineKind.RECTANGLE, 150, 110)
FACTS = Facts("Lake", "C-0007")
TRUE_MM = 0.2
"""How true a sheet is: a pen line is wider (our own measure)."""


@pytest.fixture(scope="module")
def reading() -> PhotoAnalysis:
    faces = (shipped("sans"), *(shipped(one) for one in STAND_INS))
    letters = laid(
        Inscription(lines=("HIH",), typefaces=faces, height_mm=12.0, clear_mm=3.0), OUTLINE
    )
    return analyse_photo(drawn(), OUTLINE, wood_lightness=82, burn_lightness=18, letters=[letters])


@pytest.mark.parametrize("mirrored", [False, True])
def test_svg_has_letters_at_true_size(
    reading: PhotoAnalysis, tmp_path: Path, mirrored: bool
) -> None:
    path = tmp_path / "trace.svg"
    trace_svg(path, reading.lines, OUTLINE, FACTS, mirrored=mirrored)
    svg = ET.fromstring(path.read_text("utf-8"))  # noqa: S314 - our own file
    space = "{http://www.w3.org/2000/svg}"
    assert (svg.attrib["width"], svg.attrib["viewBox"]) == ("150mm", "0 0 150 110")
    (group,) = svg.findall(f".//{space}g[@id='pass-1']/{space}g[@id='letters']")
    points = np.concatenate(
        [
            np.array([pair.split() for pair in one.attrib["d"][1:-1].split("L")], float)
            for one in group
        ]
    )
    left, top, right, bottom = reading.letters[0].box
    assert np.ptp(points[:, 1]) == pytest.approx(12.0, abs=0.01)
    assert np.ptp(points[:, 0]) == pytest.approx(right - left, abs=0.01)
    assert points.max(axis=0) == pytest.approx((right, bottom), abs=0.01)
    assert points.min(axis=0) == pytest.approx((left, top), abs=0.01)
    assert bool(svg.findall(f".//{space}g[@id='mirrored']//{space}g[@id='letters']")) is mirrored


def _ink_box(page: np.ndarray, dark: int, within: tuple[slice, slice]) -> tuple[float, ...]:
    rows, columns = np.nonzero(page[within] < dark)
    top, left = within[0].start, within[1].start
    return (
        (columns.min() + left) * MM, (rows.min() + top) * MM,
        (columns.max() + 1 + left) * MM, (rows.max() + 1 + top) * MM,
    )  # fmt: skip


def _frame(page: np.ndarray) -> tuple[float, float]:
    """Find the picture's top left corner on a page by its outline, the longest dark rows."""
    dark = page < 110
    rows = np.flatnonzero(dark.sum(axis=1) > 0.9 * 150 / MM)
    columns = np.flatnonzero(dark.sum(axis=0) > 0.9 * 110 / MM)
    return float(columns.min() * MM), float(rows.min() * MM)


@pytest.mark.long
def test_they_are_printed_at_true_size(
    reading: PhotoAnalysis, tmp_path: Path, render: Render
) -> None:
    """On each sheet the black of HIH is measured against where the letters are."""
    path = tmp_path / "values.pdf"
    value_map(
        path, reading, place_marks(reading.zones, reading.lines, reading.placed), FACTS,
        wood_lightness=82, burn_lightness=18,
    )  # fmt: skip
    page = render(path, 1)
    x, y = _frame(page)
    left, top, right, bottom = reading.letters[0].box
    around = (
        slice(int((y + top - 2) / MM), int((y + bottom + 2) / MM)),
        slice(int((x + left - 2) / MM), int((x + right + 2) / MM)),
    )  # within the strip that stays bare
    found = _ink_box(page, 120, around)
    assert found == pytest.approx((x + left, y + top, x + right, y + bottom), abs=TRUE_MM)
    assert found[3] - found[1] == pytest.approx(12.0, abs=TRUE_MM)

    reference = tmp_path / "reference.pdf"
    reference_sheet(reference, sepia(reading.placed), OUTLINE, FACTS, letters=reading.letters)
    page = render(reference, 1)
    x, y = _frame(page)
    around = (
        slice(int((y + top - 2) / MM), int((y + bottom + 2) / MM)),
        slice(int((x + left - 2) / MM), int((x + right + 2) / MM)),
    )
    found = _ink_box(page, 120, around)
    assert found == pytest.approx((x + left, y + top, x + right, y + bottom), abs=TRUE_MM)


@pytest.mark.parametrize("mirrored", [False, True])
def test_trace_sheets_have_them_as_thin_lines(
    reading: PhotoAnalysis, tmp_path: Path, render: Render, mirrored: bool
) -> None:
    path = tmp_path / "trace.pdf"
    trace_pdf(path, reading.lines, OUTLINE, FACTS, mirrored=mirrored)
    page = render(path, 1)
    x, y = _frame(page)
    left, top, right, bottom = reading.letters[0].box
    if mirrored:
        left, right = 150 - right, 150 - left
    around = (
        slice(int((y + top - 2) / MM), int((y + bottom + 2) / MM)),
        slice(int((x + left - 2) / MM), int((x + right + 2) / MM)),
    )
    half = 0.125  # of the line's weight, which goes on both sides of its path
    wanted = (x + left - half, y + top - half, x + right + half, y + bottom + half)
    assert _ink_box(page, 200, around) == pytest.approx(wanted, abs=TRUE_MM)


def test_the_client_reads_them_large(tmp_path: Path, render: Render) -> None:
    faces = (shipped("serif"), *(shipped(one) for one in STAND_INS))
    words = Inscription(lines=("Biscuit", "2014 – 2026"), typefaces=faces, height_mm=8.0)
    letters = laid(words, OUTLINE)
    path = tmp_path / "lettering.pdf"
    written = lettering_sheet(path, [letters], FACTS)
    assert (written.pages, written.notes) == (1, ())
    said = pypdf.PdfReader(path).pages[0].extract_text()
    assert "in writing" in said
    assert "Right as it stands" in said
    page = render(path, 1)
    rows = np.flatnonzero((page < 90).any(axis=1))
    assert (rows.max() - rows.min()) * MM > 100  # large, and a place to sign at the foot


@pytest.mark.parametrize("lines", [("Biscuit", "2014 – 2026"), tuple("abcdefghijk")])
def test_however_much_there_is_nothing_lies_over_anything_else(
    lines: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn_at: list[tuple[float, float]] = []

    def enlarged(_self: Drawing, rings: list[np.ndarray], _colour: RGB) -> None:
        y = np.concatenate(rings)[:, 1]
        drawn_at.append((float(y.min()), float(y.max())))

    def plain(
        _self: Drawing, _x: float, y: float, text: str, points: float, **_how: object
    ) -> None:
        if text in lines:
            drawn_at.append((y - 0.7 * points * MM_PER_POINT, y))

    monkeypatch.setattr(Drawing, "filled", enlarged)
    monkeypatch.setattr(Drawing, "text", plain)
    words = Inscription(lines=lines, typefaces=(shipped("serif"),), height_mm=4.0)
    lettering_sheet(tmp_path / "lettering.pdf", [laid(words, OUTLINE)] * 4, FACTS)
    assert len(drawn_at) == 4 * (1 + len(lines))
    assert all(above[1] < below[0] for above, below in pairwise(drawn_at))
    assert drawn_at[-1][1] < A4.height_mm - 26  # where the line to sign on is


@pytest.mark.long
def test_letters_of_a_font_of_ones_own_that_no_other_has_are_boxes(tmp_path: Path) -> None:
    of_own = laid(Inscription(lines=("I",), typefaces=(shipped("serif"),), height_mm=8.0), OUTLINE)
    written = lettering_sheet(tmp_path / "l.pdf", [replace(of_own, lines=("\ue000",))], FACTS)
    assert "empty boxes stand in their place" in written.notes[0]
