"""Trace sheets, held against the lines that were found."""

import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import cv2
import numpy as np
import pypdf
import pytest
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.jobs.numbers import CLEAR_MM, place_numbers, radius_mm
from burnplan.sheets.jobs.panel import Facts
from burnplan.sheets.jobs.trace_sheet import trace_pdf, trace_svg
from burnplan.sheets.paper import Paper, plan_tiles
from burnplan.tone.analysis import PhotoAnalysis
from burnplan.tone.lines import Detail, Lines
from burnplan.tone.passes import Pass, Pressure
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


def svg_of(reading: PhotoAnalysis, path: Path, *, mirrored: bool = False) -> ET.Element:
    written = trace_svg(
        path,
        reading.lines,
        reading.zones,
        reading.placed.outline,
        FACTS,
        px_per_mm=reading.placed.px_per_mm,
        mirrored=mirrored,
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
        "outline", "pass-1", "pass-2", "pass-3", "zone-numbers",
    ]  # fmt: skip


@pytest.mark.parametrize("which", ["reading", "cloudy"])
def test_numbers_lie_in_their_zone_and_never_over_a_line(
    which: str, request: pytest.FixtureRequest
) -> None:
    found: PhotoAnalysis = request.getfixturevalue(which)
    px_per_mm = found.placed.px_per_mm
    numbers = place_numbers(found.zones, found.lines, px_per_mm)
    assert numbers
    points = np.concatenate([sampled((line.points, line.closed))[0] for line in found.lines.lines])
    tree = cKDTree(points)
    y, x = np.indices(found.zones.labels.shape) + 0.5
    for number in numbers:
        room = radius_mm(number.points)
        assert tree.query([number.x, number.y])[0] > room + CLEAR_MM / 2
        under = np.hypot(x / px_per_mm - number.x, y / px_per_mm - number.y) < room
        assert set(found.zones.labels[under].tolist()) == {number.zone}


def test_a_disc_is_numbered_in_its_middle(reading: PhotoAnalysis) -> None:
    numbers = place_numbers(reading.zones, reading.lines, reading.placed.px_per_mm)
    (disc,) = [number for number in numbers if number.zone == 1]
    assert (disc.x, disc.y) == pytest.approx((180 * 120 / 640, 240 * 120 / 640), abs=0.5)


def test_islands_too_narrow_for_a_number_have_none(reading: PhotoAnalysis) -> None:
    labels = np.full((120, 160), 2, np.uint8)  # 30 × 40 mm
    labels[:, 60:66] = 1  # 1.5 mm wide
    labels[:, 66:80] = 3  # 3.5 mm wide
    none = Lines((), Detail.USUAL, reading.lines.style)
    numbers = place_numbers(replace(reading.zones, labels=labels), none, 4.0)
    assert [number.zone for number in numbers] == [2, 2, 3]


def test_printed_lines_lie_where_they_should(
    reading: PhotoAnalysis, tmp_path: Path, render: Render
) -> None:
    path = tmp_path / "t.pdf"
    paper = Paper("Small", 100, 130)
    written = trace_pdf(
        path,
        reading.lines,
        reading.zones,
        OUTLINE,
        FACTS,
        px_per_mm=reading.placed.px_per_mm,
        paper=paper,
    )
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


def test_the_passes_are_listed_in_order(reading: PhotoAnalysis, tmp_path: Path) -> None:
    path = tmp_path / "t.pdf"
    trace_pdf(
        path,
        reading.lines,
        reading.zones,
        OUTLINE,
        FACTS,
        px_per_mm=reading.placed.px_per_mm,
        left_handed=True,
        mirrored=True,
    )
    (page,) = pypdf.PdfReader(path).pages
    text = page.extract_text()
    rows = re.findall(r"^(\d)\.\s+(\w+)\s+(\d+)$", text, re.MULTILINE)
    counts = [sum(line.in_pass is in_pass for line in reading.lines.drawn) for in_pass in Pass]
    assert rows == [
        (str(number), word, str(count))
        for number, word, count in zip(Pass, ("Shapes", "Darkest", "Contours"), counts, strict=True)
    ]
    assert "leave it open" in " ".join(text.split())
    assert "face down" in text


def test_the_same_trace_is_the_same_bytes(reading: PhotoAnalysis, tmp_path: Path) -> None:
    what = (reading.lines, reading.zones, OUTLINE, FACTS)
    for name in ("one", "two"):
        trace_pdf(tmp_path / f"{name}.pdf", *what, px_per_mm=reading.placed.px_per_mm)
        trace_svg(tmp_path / f"{name}.svg", *what, px_per_mm=reading.placed.px_per_mm)
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


def test_what_is_left_bare_carries_no_number(reading: PhotoAnalysis) -> None:
    bare = np.zeros(reading.zones.labels.shape, np.bool_)
    bare[: len(bare) // 2] = True
    scale = reading.placed.px_per_mm
    everywhere = place_numbers(reading.zones, reading.lines, scale)
    numbers = place_numbers(reading.zones, reading.lines, scale, bare=bare)
    assert any(number.y < 45 for number in everywhere)
    assert numbers
    assert all(number.y - radius_mm(number.points) > 45 for number in numbers)


@pytest.mark.parametrize(
    ("units", "unit"), [(UnitSystem.METRIC, "cm"), (UnitSystem.IMPERIAL, "in")]
)
def test_the_lengths_to_trace_add_up_as_printed(
    cloudy: PhotoAnalysis, tmp_path: Path, units: UnitSystem, unit: str
) -> None:
    made = trace_pdf(
        tmp_path / "t.pdf",
        cloudy.lines,
        cloudy.zones,
        OUTLINE,
        replace(FACTS, units=units),
        px_per_mm=cloudy.placed.px_per_mm,
    )
    text = pypdf.PdfReader(made.path).pages[-1].extract_text()
    lengths = re.findall(
        rf"(< 1|\d+) {unit}\b|(–)", text.split("light", 1)[1].split("Heavy lines")[0]
    )
    values = [0 if "<" in number or dash else int(number) for number, dash in lengths]
    rows = np.reshape(values, (-1, 2))
    assert len(rows) == len(Pass) + 1  # a row for each pass, and their sums
    assert rows[:-1].sum(axis=0).tolist() == rows[-1].tolist()
