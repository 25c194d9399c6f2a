"""Coats as steps, with the earliest time for the next as the maker's label says."""

from datetime import timedelta
from typing import Literal

import pytest

from burnplan.desk.jobs import checklists, commissions, finishing
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.finishing import FinishView
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed
from tests.conftest import FixedClock
from tests.desk.test_whole_line import contents

HOURS = timedelta(hours=1)


def _plan(studio: Studio, coats: int = 2) -> FinishView:
    return finishing.plan(
        studio, "Barn", "hard wax oil", coats=coats, dry=8 * HOURS, next_coat=12 * HOURS
    )


@pytest.fixture(autouse=True)
def _barn(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Barn"))


def _coats(studio: Studio) -> dict[str, str]:
    steps = checklists.of(studio, "Barn").steps
    return {step.key: step.text for step in steps if step.key.startswith("coat-")}


def test_coats_become_steps_and_are_undone(studio: Studio) -> None:
    before = contents(studio)
    assert len(_coats(studio)) == 3  # as long as nothing is planned
    _plan(studio)
    assert list(_coats(studio).values()) == [
        "Lay coat 1 of hard wax oil",
        "Lay coat 2 of hard wax oil, 12 h after coat 1 at the earliest, as its label says",
    ]
    planned = contents(studio)
    _plan(studio, 4)
    assert len(_coats(studio)) == 4
    undo.undo_last(studio)
    assert contents(studio) == planned
    undo.undo_last(studio)
    assert contents(studio) == before


def test_every_coat_laid_too_early_is_named_also_when_ticked_together(
    studio: Studio, clock: FixedClock
) -> None:
    _plan(studio, 3)
    together = checklists.tick(studio, "Barn", ["coat-1", "coat-2", "coat-3"]).reminder
    assert "coat 1" not in together
    assert (
        "coat 2 may go on from Wed 17 Mar, 21:00; coat 3 may go on from Wed 17 Mar, 21:00"
        in together
    )
    checklists.untick(studio, "Barn", ["coat-2", "coat-3"])
    assert "coat 2" in checklists.tick(studio, "Barn", ["coat-2"]).reminder
    clock.forward(hours=12)
    assert checklists.tick(studio, "Barn", ["coat-3"]).reminder == ""


def test_the_next_coat_has_its_earliest_time(studio: Studio, clock: FixedClock) -> None:
    _plan(studio)
    laid = studio.now()
    checklists.tick(studio, "Barn", ["coat-1"])
    first, second = finishing.show(studio, "Barn").coats
    assert first.dry_at == laid + 8 * HOURS
    assert first.next_coat_from == laid + 12 * HOURS
    assert (second.laid_at, second.next_coat_from) == (None, None)
    times = {step.key: step.not_before for step in checklists.of(studio, "Barn").steps}
    assert times["coat-2"] == laid + 12 * HOURS
    assert times["coat-1"] is None
    clock.forward(hours=11, minutes=59)
    assert (
        "may go on from Wed 17 Mar, 21:00" in checklists.tick(studio, "Barn", ["coat-2"]).reminder
    )
    checklists.untick(studio, "Barn", ["coat-2"])
    clock.forward(minutes=1)
    assert checklists.tick(studio, "Barn", ["coat-2"]).reminder == ""
    assert finishing.show(studio, "Barn").coats[1].next_coat_from is None  # none follows


def test_a_coat_that_is_ticked_again_was_laid_when_it_was(
    studio: Studio, clock: FixedClock
) -> None:
    _plan(studio)
    laid = studio.now()
    checklists.tick(studio, "Barn", ["coat-1"])
    clock.forward(hours=12)
    assert checklists.tick(studio, "Barn", ["coat-1", "coat-2"]).reminder == ""
    assert finishing.show(studio, "Barn").coats[0].laid_at == laid


def test_laid_coats_are_not_planned_away(studio: Studio) -> None:
    _plan(studio)
    checklists.tick(studio, "Barn", ["coat-1"])
    before = contents(studio)
    with pytest.raises(NotAllowed, match="laid already"):
        _plan(studio, 3)
    assert contents(studio) == before


@pytest.mark.parametrize(
    ("use", "words"), [("indoor", "indoors"), ("outdoor", "UV"), ("food", "food contact")]
)
def test_the_use_says_what_finish(
    studio: Studio, use: Literal["indoor", "outdoor", "food"], words: str
) -> None:
    commissions.edit(studio, "Barn", Wishes(use=use))
    found = finishing.show(studio, "Barn")
    assert words in found.advice
    assert found.source
    assert "Local codes" in found.cautions[-1]


def test_what_cannot_be_is_refused(studio: Studio) -> None:
    for coats, dry, again in ((0, 8, 12), (13, 8, 12), (2, 0, 12), (2, 8, 4), (2, 2000, 3000)):
        with pytest.raises(BadInput):
            finishing.plan(
                studio, "Barn", "oil", coats=coats, dry=dry * HOURS, next_coat=again * HOURS
            )
    with pytest.raises(BadInput, match="product is empty"):
        finishing.plan(studio, "Barn", " ", coats=2, dry=HOURS)
