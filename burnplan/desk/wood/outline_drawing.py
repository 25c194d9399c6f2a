"""Outlines as SVG files: written at true size, and read back after a hand put them right.

SVG 1.1 (W3C, 2011): millimetres follow from width, height and viewBox; without a unit
a length is a CSS pixel, 1/96 inch.
"""

import itertools
import math
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from xml.etree import ElementTree as ET

from burnplan.errors import BadInput
from burnplan.files import refuse_what_is_no_file
from burnplan.units import MM_PER_INCH

Corners = list[tuple[float, float]]

_MM = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "pt": MM_PER_INCH / 72, "": MM_PER_INCH / 96}
"""Millimetres of SVG's units (CSS 2.1, W3C 2011)."""

_MOST_BYTES = 5_000_000  # of a file; a limit, our own: an outline takes kilobytes
# Straight pieces for a curve; off by 0.1 mm on a quarter of 20 cm radius, own derivation.
_CURVE = 24
_ROUND = 360  # for a circle; off by 0.01 mm on 25 cm radius, own derivation
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_HINT = "Draw it as one closed path or polygon, without turning or moving it as a group"


def read(path: Path) -> Corners:
    """Return the corners, mm, of the outline that an SVG file draws.

    That is the shape in the group called ``outline``, else the largest in the file.

    Raises
    ------
    BadInput
        If the file cannot be read or draws none.
    """
    refuse_what_is_no_file(path)
    try:
        data = path.read_bytes()
    except OSError:
        raise BadInput(f"'{path}' cannot be read", "Check the name and the folder") from None
    if len(data) > _MOST_BYTES or b"<!ENTITY" in data:
        raise BadInput(f"'{path.name}' is not a plain drawing of an outline", _HINT)
    try:
        root = ET.fromstring(data)  # noqa: S314 entities are refused above
    except (ET.ParseError, ValueError):
        raise BadInput(f"'{path.name}' is not an SVG file", "Save it as plain SVG") from None
    if _name(root) != "svg":
        raise BadInput(f"'{path.name}' is not an SVG file", "Save it as plain SVG")
    scale = _scale(root)
    named = [one for one in root.iter() if one.get("id") == "outline"]
    found = [shape for one in named or [root] for shape in _shapes(one)]
    if not found:
        raise BadInput(f"'{path.name}' draws no outline", _HINT)
    largest = max(found, key=_area)
    return [(x * scale[0], y * scale[1]) for x, y in largest]


def written(corners: Sequence[tuple[float, float]], size_mm: tuple[float, float], code: str) -> str:
    """Return an SVG file of an outline at true size."""
    width, height = size_mm
    path = "L".join(f"{x:.3f} {y:.3f}" for x, y in corners)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{height:.3f}mm"'
        f' viewBox="0 0 {width:.3f} {height:.3f}">\n<title>{code}</title>\n'
        f'<g id="outline" fill="none" stroke="#000" stroke-width="0.3"><path d="M{path}Z"/></g>\n'
        "</svg>\n"
    )


def _name(element: ET.Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _length(text: str | None) -> float | None:
    match = re.fullmatch(rf"\s*({_NUMBER})\s*(mm|cm|in|pt|px|)\s*", text or "")
    if match is None:
        return None
    return float(match[1]) * _MM[match[2].replace("px", "")]


def _scale(root: ET.Element) -> tuple[float, float]:
    """Millimetres of a unit of the drawing, across and down."""
    width, height = _length(root.get("width")), _length(root.get("height"))
    box = [float(one) for one in re.findall(_NUMBER, root.get("viewBox") or "")]
    if len(box) == 4 and min(box[2:]) > 0 and width and height:
        return width / box[2], height / box[3]
    return _MM[""], _MM[""]


def _shapes(element: ET.Element) -> Iterator[Corners]:
    if element.get("transform"):
        raise BadInput("The drawing turns or moves its outline as a group", _HINT)
    name = _name(element)
    if name == "path":
        yield from _path(element.get("d") or "")
    elif name in ("polygon", "polyline"):
        numbers = [float(one) for one in re.findall(_NUMBER, element.get("points") or "")]
        yield list(zip(numbers[::2], numbers[1::2], strict=False))
    elif name == "rect":
        x, y, w, h = (_plain(element, key) for key in ("x", "y", "width", "height"))
        yield [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
    elif name in ("circle", "ellipse"):
        x, y, r = (_plain(element, key) for key in ("cx", "cy", "r"))
        across, down = _plain(element, "rx") or r, _plain(element, "ry") or r
        turns = [2 * math.pi * step / _ROUND for step in range(_ROUND)]
        yield [(x + across * math.cos(turn), y + down * math.sin(turn)) for turn in turns]
    for child in element:
        yield from _shapes(child)


def _plain(element: ET.Element, key: str) -> float:
    match = re.match(_NUMBER, (element.get(key) or "0").strip())
    return float(match[0]) if match else 0.0


def _area(corners: Corners) -> float:
    ahead = corners[1:] + corners[:1]
    return abs(sum(x * v - u * y for (x, y), (u, v) in zip(corners, ahead, strict=True)))


_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}
"""Numbers that each letter of a path takes (W3C, SVG 1.1, 8.3)."""


def _path(data: str) -> Iterator[Corners]:
    """Yield each part of a path as corners."""
    tokens = re.findall(rf"[A-Za-z]|{_NUMBER}", data)
    line: Corners = []
    at, start, before = (0.0, 0.0), (0.0, 0.0), (0.0, 0.0)
    letter, place = "", 0
    while place < len(tokens):
        if tokens[place].isalpha():
            letter, place = tokens[place], place + 1
        kind = letter.upper()
        count = _TAKES.get(kind)
        if count is None or (count == 0 and place < len(tokens) and not tokens[place].isalpha()):
            raise BadInput(f"Its path has a '{letter or tokens[place]}' that is not read", _HINT)
        given = tokens[place : place + count]
        if len(given) < count or any(one.isalpha() for one in given):
            raise BadInput("Its path ends too early", _HINT)
        numbers, place = [float(one) for one in given], place + count
        base = at if letter.islower() else (0.0, 0.0)
        if kind == "Z":
            at = start
            continue
        if kind in "HV":
            along = kind == "H"
            to = (base[0] + numbers[0], at[1]) if along else (at[0], base[1] + numbers[0])
            if letter.islower() and not along:
                to = (at[0], at[1] + numbers[0])
            ends = [to]
        else:
            pairs = zip(numbers[::2], numbers[1::2], strict=True)
            ends = [(base[0] + x, base[1] + y) for x, y in pairs]
        if kind == "M":
            if line:
                yield line
            at = start = before = ends[0]
            line, letter = [at], "l" if letter == "m" else "L"
            continue
        reflected = (2 * at[0] - before[0], 2 * at[1] - before[1])
        if kind in "ST":
            ends = [reflected, *ends]
        if len(ends) > 1:
            line += _curve([at, *ends])[1:]
            before = ends[-2]
        else:
            line.append(ends[0])
            before = ends[0]
        at = ends[-1]
    if line:
        yield line


def _curve(controls: Corners) -> Corners:
    """Return places along a Bézier curve, by de Casteljau's rule."""
    found = []
    for step in range(_CURVE + 1):
        t, left = step / _CURVE, controls
        while len(left) > 1:
            left = [
                (a + (c - a) * t, b + (d - b) * t) for (a, b), (c, d) in itertools.pairwise(left)
            ]
        found.append(left[0])
    return found
