from pathlib import Path

import pytest

from burnplan.cli.app import run
from burnplan.desk.jobs import commissions, holding, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, fitting, hazards
from burnplan.errors import NotFound


@pytest.mark.long
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
    holding.hold(studio, "B-0004", "Barn")
    hazards.note(studio, "B-0002", ["treated"])
    commissions.add(studio, Wishes(title="Mill"))
    holding.hold(studio, "B-0003", "Mill")
    codes = [one.blank.code for one in fitting.fitting(studio, "Barn")]
    assert codes[:2] == ["B-0004", "B-0001"], "the one held for it is compared with the others"
    assert not {"B-0002", "B-0003"} & set(codes), "never to be burned, or held for another"


@pytest.mark.long
def test_the_blank_held_is_shown_though_none_is_in_stock(
    studio: Studio, photo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    blanks.add(studio, blanks.NewBlank(species="basswood", size="32x24cm", grit=320))
    commissions.add(studio, Wishes(title="Barn", species="basswood"))
    holding.hold(studio, "1", "Barn")
    references.add(studio, "Barn", photo, zones=3)
    assert run(["blank", "fit", "Barn"], studio) == 0
    said = capsys.readouterr().out
    assert "held for C-0001; it fits" in said
    assert "No blank" not in said
    hazards.note(studio, "1", ["treated"])
    assert run(["blank", "fit", "Barn"], studio) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "B-0001" in said
    assert "it fits" not in said
