from pathlib import Path

import pytest

from burnplan.desk import blanks, commissions, fitting, hazards, references
from burnplan.desk.commissions import Wishes
from burnplan.desk.studio import Studio
from burnplan.errors import NotFound


def test_the_blanks_that_suit_come_first(studio: Studio, photo: Path) -> None:
    for wood, size in (
        ("cherry", "32x24cm"), ("basswood", "24x32cm"), ("basswood", "round 25cm"),
        ("basswood", "32x24cm"), ("basswood", "8x6cm"),
    ):  # fmt: skip
        blanks.add(studio, blanks.NewBlank(species=wood, size=size))
    commissions.add(studio, Wishes(title="Barn", size="32x24cm", species="basswood"))
    with pytest.raises(NotFound, match="no photo"):
        fitting.fitting(studio, "Barn")
    references.add(studio, "Barn", photo, zones=3)
    found = fitting.fitting(studio, "Barn")
    assert [one.blank.code for one in found[:3]] == ["B-0002", "B-0004", "B-0001"]
    assert found[0].turned
    assert found[0].lost == pytest.approx(0)
    assert "another wood than asked for" in found[2].reasons
    blanks.hold(studio, "B-0004", "Barn")
    hazards.note(studio, "B-0002", ["treated"])
    codes = [one.blank.code for one in fitting.fitting(studio, "Barn")]
    assert codes[0] == "B-0001"
    assert not {"B-0002", "B-0004"} & set(codes), "held or never to be burned"
