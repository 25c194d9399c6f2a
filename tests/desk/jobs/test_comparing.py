"""Photos ranked, with reasons, and the text to the client."""

import shutil
from pathlib import Path

import cv2
import pytest

from burnplan.desk import demo
from burnplan.desk.jobs import comparing
from burnplan.errors import BadInput
from burnplan.units import parse_size


@pytest.fixture
def photos(tmp_path: Path) -> list[Path]:
    """The same photo small and soft, and as it is: the last is the best."""
    good = tmp_path / "good.png"
    shutil.copy(demo.sample(demo.PHOTO), good)
    pixels = cv2.imread(str(good))
    assert pixels is not None
    for name, spoiled in (
        ("small.png", cv2.resize(pixels, None, fx=0.3, fy=0.3, interpolation=cv2.INTER_AREA)),
        ("soft.png", cv2.GaussianBlur(pixels, (0, 0), 6)),
    ):
        cv2.imwrite(str(tmp_path / name), spoiled)
    return [tmp_path / "small.png", tmp_path / "soft.png", good]


def test_the_best_comes_first_with_reasons(photos: list[Path]) -> None:
    found = comparing.compare(photos, parse_size("15x10cm"))
    assert found.photos[0].photo == "good.png"
    assert [one.rank for one in found.photos] == [1, 2, 3]
    scores = [one.score for one in found.photos]
    assert scores == sorted(scores, reverse=True)
    by_name = {one.photo: one for one in found.photos}
    assert any("pixels per mm" in reason for reason in by_name["small.png"].reasons)
    assert any("soft" in reason for reason in by_name["soft.png"].reasons)
    wide, high = by_name["small.png"].largest_mm
    assert wide / high == pytest.approx(1.5)
    assert wide < 150


@pytest.mark.long
def test_the_client_is_asked_for_what_the_best_lacks(photos: list[Path]) -> None:
    poor = comparing.compare(photos[:2], parse_size("60x40cm"))
    assert poor.photos[0].photo in poor.ask
    assert "original file" in poor.ask
    assert "who took it" in poor.ask
    good = comparing.compare(photos, parse_size("12x8cm"))
    assert "work from good.png" in good.ask


def test_what_is_no_photo_is_named(photos: list[Path], tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"none\.png"):
        comparing.compare([*photos, tmp_path / "none.png"], parse_size("15x10cm"))
    with pytest.raises(BadInput, match="21 photos"):
        comparing.compare(photos * 7, parse_size("15x10cm"))
