"""The outline of a blank: by photo, corners, a drawing; put right by hand; undone."""

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from burnplan.cli.app import run
from burnplan.desk.jobs import commissions, holding
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, outline_drawing, outlines
from burnplan.desk.wood.outlines import ByPhoto
from burnplan.errors import BadInput, NotAllowed
from burnplan.outline import OutlineKind
from tests.tone.scenes import Scene, scene


def area(points: "np.ndarray[tuple[int, ...], np.dtype[np.float64]]") -> float:
    x, y = points.T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


@pytest.fixture(scope="module")
def slab() -> Scene:
    return scene(7, kind="live-edge", wood="cherry", bench="cloth", bark=6.0)


@pytest.fixture
def slab_file(slab: Scene, tmp_path: Path) -> Path:
    path = tmp_path / "slab.jpg"
    cv2.imwrite(str(path), slab.rgb[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 92])
    return path


@pytest.mark.long
def test_a_live_edge_is_found_kept_and_undone(studio: Studio, slab: Scene, slab_file: Path) -> None:
    blanks.add(studio, blanks.NewBlank(species="cherry", size="live-edge 14x14in"))
    assert not blanks.show(studio, "1").points_mm
    found = outlines.find(studio, "1", slab_file, ByPhoto(sheet="a5"))
    assert found.picture is not None
    view = found.view
    assert view.outline is OutlineKind.LIVE_EDGE
    assert view.area_mm2 == pytest.approx(area(slab.points_mm), rel=0.01)
    assert view.bark_mm == pytest.approx(6.0, abs=1.5)
    assert area(np.array(view.points_mm)) == pytest.approx(view.area_mm2, rel=1e-5)
    # What is kept shows the outline where it is in the photo.
    kept = outlines.show(studio, "B-0001")
    assert kept.view.model_copy(update={"notes": []}) == view.model_copy(update={"notes": []})
    assert kept.picture is not None
    red = (kept.picture[..., 0] > 230) & (kept.picture[..., 1] < 90)
    scale = kept.picture.shape[1] / slab.rgb.shape[1]
    true = slab.view.to_pixels(slab.points_mm) * scale
    ring = np.zeros(red.shape, np.uint8)
    cv2.polylines(ring, [np.rint(true).astype(np.int32)], True, 1, 15)
    assert red.sum() > 500
    assert red[ring == 0].mean() < 0.001
    # The blank is of that outline everywhere.
    shown = blanks.show(studio, "1")
    assert shown.shape().area_mm2 == pytest.approx(view.area_mm2, abs=1)
    assert shown.photos == 1
    undo.undo_last(studio)
    before = blanks.show(studio, "1")
    assert (before.points_mm, before.photos, before.size_mm) == ([], 0, (355.6, 355.6))


@pytest.mark.whole
def test_two_places_and_their_distance_will_do(studio: Studio, tmp_path: Path) -> None:
    flat = scene(11, kind="rectangle", wood="maple", bench="dark", tilt=0)
    path = tmp_path / "board.png"
    cv2.imwrite(str(path), flat.rgb[..., ::-1])
    first, second = flat.sheet_mm[0], flat.sheet_mm[2]
    at = flat.view.to_pixels([first, second])
    blanks.add(studio, blanks.NewBlank(species="maple", size="30x30cm"))
    by = ByPhoto(
        points=" ".join(f"{x:.1f},{y:.1f}" for x, y in at),
        apart=f"{np.linalg.norm(second - first):.2f}mm",
    )
    view = outlines.find(studio, "1", path, by).view
    assert view.area_mm2 == pytest.approx(area(flat.points_mm), rel=0.02)


def test_corners_by_hand_and_a_moved_one(studio: Studio) -> None:
    blanks.add(studio, blanks.NewBlank(species="cherry", size="0,0 300,10 290,200 5,190 mm"))
    assert blanks.show(studio, "1").shape().area_cm2 == pytest.approx(556)
    moved = outlines.move(studio, "1", "298mm,5mm", "310mm,-4mm")
    assert moved.width_mm == 310
    assert moved.points_mm[:2] == [(0, 4), (310, 0)]
    with pytest.raises(BadInput, match="do not go round"):
        outlines.give(studio, "1", "0,0 300,200 300,0 0,200 mm")
    disc = outlines.give(studio, "1", "round 25cm")
    assert disc.area_mm2 == pytest.approx(49087.4, abs=0.1)


def test_a_drawing_comes_back_as_it_went(studio: Studio, tmp_path: Path) -> None:
    blanks.add(studio, blanks.NewBlank(species="cherry", size="0,0 300,10 290,200 5,190 mm"))
    before = outlines.show(studio, "1").view
    path = tmp_path / "slab.svg"
    outlines.write_drawing(before, path)
    assert outlines.draw(studio, "1", path) == before
    added = blanks.add(studio, blanks.NewBlank(species="cherry", size=str(path)))
    assert added.points_mm == before.points_mm


@pytest.mark.parametrize(
    ("shape", "square_mm"),
    [
        ('<path d="M0 0h100v50h-100z"/>', 5000),
        ('<path d="m 10,10 100,0 0,50 -100,0 z"/>', 5000),
        (
            '<path d="M0 50C0 22.4 22.4 0 50 0S100 22.4 100 50 77.6 100 50 100 0 77.6 0 50Z"/>',
            7854,
        ),
        ('<path d="M0 0Q50 -50 100 0L100 80L0 80Z"/>', 8000 + 100 * 50 / 3),
        ('<circle cx="60" cy="60" r="50"/>', 7854),
        ('<polygon points="0,0 100,0 0,80"/>', 4000),
        ('<rect x="5" y="5" width="20" height="30"/><rect width="9" height="9"/>', 600),
    ],
)  # fmt: skip
def test_drawings_that_are_read(shape: str, square_mm: float, tmp_path: Path) -> None:
    """Areas by geometry; the four curves of a circle are within 0.03 % of it (common practice)."""
    path = tmp_path / "a.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="20cm" height="20cm" viewBox="0 0 200 200">'
        f"<g>{shape}</g></svg>"
    )
    assert area(np.array(outline_drawing.read(path))) == pytest.approx(square_mm, rel=2e-3)


@pytest.mark.parametrize(
    "text",
    ["", "<svg", "<html/>", "<svg/>", '<svg><path d="M0 0A5 5 0 0 0 9 9"/></svg>',
     '<svg><path d="M0"/></svg>', '<svg><g transform="scale(2)"><rect width="9"/></g></svg>'],
)  # fmt: skip
def test_drawings_that_are_not(text: str, tmp_path: Path) -> None:
    path = tmp_path / "a.svg"
    path.write_text(text)
    with pytest.raises(BadInput):
        outline_drawing.read(path)


def test_what_is_held_keeps_its_outline(studio: Studio) -> None:
    blanks.add(studio, blanks.NewBlank(species="cherry", size="30x20cm", grit=320))
    commissions.add(studio, Wishes(title="Barn"))
    holding.hold(studio, "1", "Barn")
    with pytest.raises(NotAllowed, match="Release it first"):
        outlines.give(studio, "1", "round 25cm")


@pytest.mark.long
def test_on_the_command_line(
    studio: Studio, slab_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    blanks.add(studio, blanks.NewBlank(species="cherry", size="live-edge 14x14in"))
    picture = tmp_path / "seen.png"
    line = ["blank", "outline", "1", str(slab_file), "--sheet", "a5", "--picture", str(picture)]
    assert run([*line, "--json"], studio) == 0
    found = json.loads(capsys.readouterr().out)
    assert {"width_mm", "height_mm", "area_mm2", "points_mm", "bark_mm"} <= found.keys()
    assert picture.stat().st_size > 10_000
    assert run(["blank", "outline", "1", str(slab_file)], studio) == 2
    assert "--sheet a5" in capsys.readouterr().err
    grey = tmp_path / "grey.png"
    cv2.imwrite(str(grey), np.full((600, 800, 3), 128, np.uint8))
    assert run(["blank", "outline", "1", str(grey), "--sheet", "a5"], studio) == 2
    assert "Lay a sheet of paper flat on the wood, whole in the picture" in " ".join(
        capsys.readouterr().err.split()
    )
