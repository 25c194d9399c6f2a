"""Photos of one or two tones: refused, or planned and read again from what was kept."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from burnplan.desk.jobs import commissions, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput


@pytest.fixture
def two_tones(tmp_path: Path) -> Path:
    picture = np.full((150, 200, 3), 220, np.uint8)
    picture[40:100, 60:120] = 40
    Image.fromarray(picture).save(tmp_path / "two.png")
    return tmp_path / "two.png"


def test_one_tone_is_no_reference(studio: Studio, tmp_path: Path) -> None:
    Image.new("RGB", (200, 150), (128, 128, 128)).save(tmp_path / "flat.png")
    commissions.add(studio, Wishes(title="Fox", size="12x9cm"))
    with pytest.raises(BadInput, match="one tone only"):
        references.add(studio, "Fox", tmp_path / "flat.png")
    assert commissions.show(studio, "Fox").references == 0


@pytest.mark.long
def test_two_tones_are_planned_again_and_drawn(studio: Studio, two_tones: Path) -> None:
    commissions.add(studio, Wishes(title="Fox", size="12x9cm"))
    first, _ = references.add(studio, "Fox", two_tones)
    assert len(first.zones) == 2
    again, _ = references.replan(studio, "Fox")
    assert again.zones == first.zones
    view, reading = references.pictures(studio, "Fox")
    assert view.thresholds == list(reading.zones.thresholds)
