"""Trace sheets, held against the lines that were found."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import cv2
import numpy as np
import pypdf
import pytest
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from burnplan.desk.derived.studio_settings import Ink
from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.drawing import Drawing
from burnplan.sheets.jobs.marks import place_marks
from burnplan.sheets.jobs.panel import Facts
from burnplan.sheets.jobs.trace_sheet import trace_pdf, trace_svg
from burnplan.sheets.paper import Paper, plan_tiles
from burnplan.tone.analysis import PhotoAnalysis
from burnplan.tone.passes import Pass, Pressure
from burnplan.tone.render import faint_photo
from burnplan.units import UnitSystem
from tests.sheets.conftest import MM, Render, drawn, read

SVG = "{http://www.w3.org/2000/svg}"
FACTS = Facts("Lake & sky <2>", "C-0007")
OUTLINE = Outline(OutlineKind.RECTANGLE, 120, 90)
Line = tuple[NDArray[np.float64], bool]


@pytest.fixture(scope="module")
def reading() -> PhotoAnalysis:
    return read(OUTLINE)


@pytest.fixture(scope="module")
def cloudy() -> PhotoAnalysis:
    """Many islands, whose boundaries branch and run together."""
    rng = np.random.default_rng(11)
    cloud = np.asarray(cv2.GaussianBlur(rng.normal(0, 1, (300, 400)), (0, 0), 9), np.float64)
    cloud[:, 200:] += np.sign(cloud[:, 200:]) * 0.05  # sharp edges over several thresholds
    level = (cloud - cloud.min()) / np.ptp(cloud) * 255
    packed = cv2.imencode(".png", level.astype(np.uint8))[1]
    return read(OUTLINE, packed.tobytes())


def svg_of(
    reading: PhotoAnalysis, path: Path, *, mirrored: bool = False, **more: Any
) -> ET.Element:
    written = trace_svg(
        path, reading.lines, reading.placed.outline, FACTS, mirrored=mirrored, **more
    )
    assert (written.path, written.pages) == (path, 0)
    return ET.fromstring(path.read_text("utf-8"))  # noqa: S314 - our own file


def lines_of(svg: ET.Element, group: str) -> list[Line]:
    """Lines of a group: points and whether they are closed."""
    found = []
    for path in svg.findall(f".//{SVG}g[@id='{group}']/{SVG}path"):
        data = path.attrib["d"]
        assert re.fullmatch(r"M[-\d.]+ [-\d.]+(L[-\d.]+ [-\d.]+)+Z?", data)
        points = [pair.split() for pair in data.removesuffix("Z")[1:].split("L")]
        found.append((np.array(points, float), data.endswith("Z")))
    return found


def sampled(line: Line, step: float = 0.1) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points along a line about a step apart, and how far along each lies."""
    points, closed = line
    if closed:
        points = np.vstack([points, points[:1]])
    lengths = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0], np.cumsum(lengths)])
    places = np.linspace(0, along[-1], max(2, round(along[-1] / step) + 1))
    return np.stack([np.interp(places, along, points[:, i]) for i in (0, 1)], axis=1), places


def drawn_twice(lines: list[Line], near: float = 0.05) -> float:
    """Length along which lines run over one another, mm, away from where they meet."""
    every = [sampled(line) for line in lines]
    xy = np.concatenate([points for points, _ in every])
    along = np.concatenate([places for _, places in every])
    total = np.concatenate([np.full(len(places), places[-1]) for _, places in every])
    number = np.repeat(np.arange(len(every)), [len(places) for _, places in every])
    ring = np.repeat([closed for _, closed in lines], [len(places) for _, places in every])
    ends = np.concatenate([line[0][[0, -1]] for line in lines])
    from_end = cKDTree(ends).query(xy)[0]
    pairs = cKDTree(xy).query_pairs(near, output_type="ndarray")
    one, other = pairs.T
    apart = np.abs(along[one] - along[other])
    apart = np.where(ring[one], np.minimum(apart, total[one] - apart), apart)
    foreign = (number[one] != number[other]) | (apart > 1.0)
    free = (from_end[one] > 0.6) & (from_end[other] > 0.6)
    return float(len(np.unique(pairs[foreign & free])) * 0.1)


def test_svg_is_at_true_size(reading: PhotoAnalysis, tmp_path: Path) -> None:
    svg = svg_of(reading, tmp_path / "t.svg")
    assert svg.attrib["width"] == "120mm"
    assert svg.attrib["height"] == "90mm"
    assert svg.attrib["viewBox"] == "0 0 120 90"
    assert svg.findtext(f"{SVG}title") == "C-0007 · Lake & sky <2> · Trace"


def test_firm_lines_are_heavy_and_light_ones_thin_and_whole(
    reading: PhotoAnalysis, tmp_path: Path
) -> None:
    svg = svg_of(reading, tmp_path / "t.svg")
    widths = [
        path.attrib["stroke-width"] for path in svg.findall(f".//{SVG}g/{SVG}path[@stroke-width]")
    ]
    drawn = reading.lines.drawn
    assert sorted(widths) == sorted(
        {Pressure.FIRM: "0.45", Pressure.LIGHT: "0.25"}[line.pressure] for line in drawn
    )
    assert not svg.findall(".//*[@stroke-dasharray]")


@pytest.mark.parametrize("which", ["reading", "cloudy"])
def test_every_line_is_there_exactly_once_in_its_pass(
    which: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    found: PhotoAnalysis = request.getfixturevalue(which)
    svg = svg_of(found, tmp_path / "t.svg")
    seen: list[Line] = []
    for in_pass in Pass:
        group = lines_of(svg, f"pass-{in_pass}")
        wanted = [line for line in found.lines.drawn if line.in_pass is in_pass]
        assert len(group) == len(wanted)
        for (points, closed), line in zip(group, wanted, strict=True):
            assert closed is line.closed
            assert points == pytest.approx(line.points, abs=6e-4)
        seen += group
    assert len(seen) == found.lines.strokes > 0
    # No two run over one another.
    assert drawn_twice(seen) <= 0.005 * sum(float(sampled(line)[1][-1]) for line in seen)
    # The measure sees a line that is drawn twice.
    assert drawn_twice([*seen, seen[0]]) > 0.5 * (sampled(seen[0])[1][-1] - 1.2)


def test_the_drawn_disc_has_its_circumference(reading: PhotoAnalysis, tmp_path: Path) -> None:
    # The photo is 640 px wide on 120 mm: a disc of radius 110 px, 20.6 mm.
    svg = svg_of(reading, tmp_path / "t.svg")
    middle, radius = np.array([180, 240]) * 120 / 640, 110 * 120 / 640
    rings = [
        sampled(line)
        for line in lines_of(svg, "pass-1")
        if np.abs(np.hypot(*(line[0] - middle).T) - radius).max() < 0.5
    ]
    length = sum(float(places[-1]) for _, places in rings)
    assert length == pytest.approx(2 * np.pi * radius, rel=0.02)


def test_lost_lines_are_left_open(cloudy: PhotoAnalysis, tmp_path: Path) -> None:
    svg = svg_of(cloudy, tmp_path / "t.svg")
    seen = [line for in_pass in Pass for line in lines_of(svg, f"pass-{in_pass}")]
    length = sum(float(sampled(line)[1][-1]) for line in seen) / 10
    assert length == pytest.approx(cloudy.lines.firm_cm + cloudy.lines.light_cm, rel=0.02)
    assert cloudy.lines.lost_cm > 0
    lost = np.concatenate(
        [
            sampled((line.points, line.closed))[0][8:-8]
            for line in cloudy.lines.lines
            if line.pressure is Pressure.LOST
        ]
    )
    near = cKDTree(np.concatenate([sampled(line)[0] for line in seen])).query(lost)[0]
    assert (near > 0.05).mean() > 0.99


def test_mirrored_svg_is_flipped_as_a_whole(reading: PhotoAnalysis, tmp_path: Path) -> None:
    svg = svg_of(reading, tmp_path / "t.svg", mirrored=True)
    group = svg.find(f"{SVG}g")
    assert group is not None
    assert group.attrib["transform"] == "translate(120 0) scale(-1 1)"
    assert [child.attrib["id"] for child in group] == [
        "outline", "pass-1", "pass-2", "pass-3", "direction", "marks",
    ]  # fmt: skip


def test_printed_lines_lie_where_they_should(
    reading: PhotoAnalysis, tmp_path: Path, render: Render
) -> None:
    path = tmp_path / "t.pdf"
    paper = Paper("Small", 100, 130)
    written = trace_pdf(path, reading.lines, OUTLINE, FACTS, paper=paper, ink=Ink.RED)
    plan = plan_tiles(120, 90, paper)
    assert 1 < len(plan.tiles) <= written.pages
    wanted = cKDTree(
        np.concatenate(
            [
                sampled((line.points, line.closed), 0.02)[0]
                for line in reading.lines.lines
                if line.pressure is not Pressure.LOST
            ]
        )
    )
    seen = []
    for tile in plan.tiles:
        page = render(path, tile.number, colour=True).astype(int)
        red = (page[..., 0] - page[..., 1] > 60) & (page[..., 0] > 150)
        rows, columns = np.nonzero(red)
        x = (columns + 0.5) * MM - tile.x + tile.part.x
        y = (rows + 0.5) * MM - tile.y + tile.part.y
        inside = (x > tile.part.x + 0.3) & (x < tile.part.right - 0.3)
        inside &= (y > tile.part.y + 0.3) & (y < tile.part.bottom - 0.3)
        seen.append(np.stack([x, y], axis=1)[inside])
    red_points = np.concatenate(seen)
    # Half the weight of a firm line and a pixel of the renderer.
    assert wanted.query(red_points)[0].max() < 0.45 / 2 + MM + 0.05
    back = cKDTree(red_points).query(wanted.data)[0]
    inner = np.all((wanted.data > 0.5) & (wanted.data < [119.5, 89.5]), axis=1)
    assert back[inner].max() < 0.2


@pytest.mark.parametrize(
    ("units", "unit", "unit_mm"),
    [(UnitSystem.METRIC, "m", 1000.0), (UnitSystem.IMPERIAL, "ft", 304.8)],
)
def test_the_passes_are_listed_in_order_as_the_checklist_names_them(
    reading: PhotoAnalysis, tmp_path: Path, units: UnitSystem, unit: str, unit_mm: float
) -> None:
    path, facts = tmp_path / "t.pdf", replace(FACTS, units=units)
    trace_pdf(path, reading.lines, OUTLINE, facts, left_handed=True, mirrored=True)
    (page,) = pypdf.PdfReader(path).pages
    text = " ".join(page.extract_text().split())
    assert "(1) basic shapes and features" in text
    for in_pass in Pass:
        mine = [line for line in reading.lines.drawn if line.in_pass is in_pass]
        said = re.search(rf"\({in_pass}\) {in_pass.called} (\d+) strokes? ([\d.]+) {unit} ", text)
        assert said is not None
        assert int(said[1]) == len(mine)
        length = sum(line.length_mm for line in mine) / unit_mm
        assert float(said[2]) == pytest.approx(length, abs=0.06)
    assert "leave it open" in text
    assert "face down" in text


def test_a_short_stroke_is_in_the_small_picture_of_its_pass_too(
    reading: PhotoAnalysis, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    short = replace(reading.lines.drawn[0], points=np.array([[9.0, 9.0], [12.0, 9.0]]))
    drawn_at: list[tuple[np.ndarray, bool]] = []
    monkeypatch.setattr(Drawing, "paths", lambda _self, lines: drawn_at.extend(lines))
    trace_pdf(tmp_path / "t.pdf", replace(reading.lines, lines=(short,)), OUTLINE, FACTS)
    assert sorted(len(points) for points, _closed in drawn_at) == [2, 2]


def test_ticks_and_marks_are_layers_of_their_own_and_said_once(
    reading: PhotoAnalysis, tmp_path: Path
) -> None:
    ticks = (np.array([[10.0, 10.0], [14.0, 12.0]]), np.array([[20.0, 30.0], [24.0, 31.5]]))
    marks = place_marks(reading.zones, reading.lines, reading.placed)
    plain = svg_of(reading, tmp_path / "plain.svg")
    for group in ("direction", "marks"):
        (empty,) = plain.findall(f"{SVG}g[@id='{group}']")
        assert not len(empty)
    svg = svg_of(reading, tmp_path / "t.svg", ticks=ticks, marks=marks)
    found = lines_of(svg, "direction")
    assert [points.tolist() for points, _closed in found] == [tick.tolist() for tick in ticks]
    written = [text.text for text in svg.findall(f"{SVG}g[@id='marks']/{SVG}text")]
    assert written == [f"Z{mark.zone}" for mark in marks.marks]
    for in_pass in Pass:  # what is traced stays as it is
        assert len(lines_of(svg, f"pass-{in_pass}")) == len(lines_of(plain, f"pass-{in_pass}"))
    path = tmp_path / "t.pdf"
    trace_pdf(path, reading.lines, OUTLINE, FACTS, ticks=ticks, marks=marks)
    text = " ".join(pypdf.PdfReader(path).pages[0].extract_text().split())
    assert text.count("not what to trace") == 1
    trace_pdf(path, reading.lines, OUTLINE, FACTS)
    text = pypdf.PdfReader(path).pages[0].extract_text()
    assert "not what to trace" not in text
    assert "Z1" not in text


@pytest.mark.parametrize("ink", list(Ink))
def test_lines_have_the_colour_asked_for_light_ones_paler(
    ink: Ink, cloudy: PhotoAnalysis, tmp_path: Path
) -> None:
    svg = svg_of(cloudy, tmp_path / "t.svg", ink=ink)
    colours = {
        (path.attrib["stroke-width"], path.attrib["stroke"])
        for path in svg.findall(f"{SVG}g/{SVG}path[@stroke-width]")
    }
    assert len(colours) == 2
    (_, light), (_, firm) = sorted(colours)
    levels = [[int(colour[at : at + 2], 16) for at in (1, 3, 5)] for colour in (firm, light)]
    assert sum(levels[1]) > sum(levels[0]) + 60
    red, green, blue = levels[0]
    wanted = {Ink.RED: red > green + 60, Ink.BLUE: blue > red + 60, Ink.GREY: red - blue < 10}
    assert wanted[ink]


def test_lines_lie_over_the_faint_photo(
    reading: PhotoAnalysis, tmp_path: Path, render: Render
) -> None:
    path = tmp_path / "t.pdf"
    trace_pdf(path, reading.lines, OUTLINE, FACTS, photo=faint_photo(reading.placed))
    (tile,) = plan_tiles(120, 90, Paper("A4", 210, 297)).tiles
    page = render(path, 1)
    at = round((tile.y + 45) / MM), round((tile.x + 180 * 120 / 640) / MM)
    disc = page[at[0] - 20 : at[0] + 20, at[1] - 20 : at[1] + 20]
    # The photo's darkest tone is there, and so faint that dark lines show on it.
    assert 180 < disc.mean() < 235
    assert page[20, 20] == 255


def test_the_same_trace_is_the_same_bytes(reading: PhotoAnalysis, tmp_path: Path) -> None:
    what = (reading.lines, OUTLINE, FACTS)
    for name in ("one", "two"):
        trace_pdf(tmp_path / f"{name}.pdf", *what)
        trace_svg(tmp_path / f"{name}.svg", *what)
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()
    assert (tmp_path / "one.svg").read_bytes() == (tmp_path / "two.svg").read_bytes()


@pytest.mark.parametrize(
    ("kind", "element"),
    [
        (OutlineKind.RECTANGLE, "path"),
        (OutlineKind.OVAL, "ellipse"),
        (OutlineKind.ROUND, "ellipse"),
    ],
)
def test_svg_outlines(kind: OutlineKind, element: str, tmp_path: Path) -> None:
    outline = Outline(kind, 60, 60)
    svg = svg_of(read(outline, drawn()), tmp_path / "t.svg")
    assert len(svg.findall(f"{SVG}g[@id='outline']/{SVG}{element}")) == 1
