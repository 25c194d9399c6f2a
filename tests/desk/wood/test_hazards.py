"""Every hazard path: what blocks, what cautions, overrides with a reason, wood to buy."""

from datetime import timedelta
from pathlib import Path

import pytest

from burnplan.desk.jobs import checklists, commissions, holding, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, hazards, own_species, wood_to_buy
from burnplan.errors import BadInput, NotAllowed
from burnplan.wood.hazards import Condition, Level
from tests.cases import quick_first
from tests.desk.test_whole_line import contents

BLOCK = {
    "treated", "painted", "stained", "sealed", "plastic", "mdf", "particle-board", "reclaimed",
}  # fmt: skip
CAUTION = {"glued", "plywood", "resinous", "spalted"}


def _board(studio: Studio, species: str = "basswood", size: str = "30x20cm") -> str:
    return blanks.add(studio, blanks.NewBlank(species=species, size=size, grit=150)).code


@pytest.fixture
def board(studio: Studio) -> str:
    commissions.add(studio, Wishes(title="Barn", size="20x15cm"))
    return _board(studio)


def _caution(studio: Studio) -> str:
    (step,) = [s for s in checklists.of(studio, "Barn").steps if s.key == "sound-wood"]
    return step.caution


def test_every_condition_is_one_or_the_other() -> None:
    assert {str(condition) for condition in Condition} == BLOCK | CAUTION


@quick_first("kind", sorted(BLOCK), quick=3, long=99)
def test_what_blocks_is_refused_and_held_only_with_a_reason(
    studio: Studio, board: str, kind: str
) -> None:
    (found,) = hazards.note(studio, board, [kind])
    assert (found.key, found.level, found.blocks) == (kind, Level.BLOCK, True)
    assert found.source
    before = contents(studio)
    with pytest.raises(NotAllowed, match=rf"{board} must not be burned \({kind}\)") as refused:
        holding.hold(studio, board, "Barn")
    assert "local rules" in str(refused.value)
    for nothing in ("", "  \n"):
        with pytest.raises(BadInput, match="reason is empty"):
            holding.hold(studio, board, "Barn", override=nothing)
    assert contents(studio) == before

    held = holding.hold(studio, board, "Barn", override="planed to bare wood")
    assert [h.override for h in held.hazards] == ["planed to bare wood"]
    assert not any(h.blocks for h in held.hazards)
    assert "planed to bare wood" in undo.happenings(studio)[0].summary
    assert "planed to bare wood" in _caution(studio)
    undo.undo_last(studio)
    assert contents(studio) == before


@pytest.mark.parametrize("kind", sorted(CAUTION))
def test_what_cautions_is_held_and_said(studio: Studio, board: str, kind: str) -> None:
    (found,) = hazards.note(studio, board, [kind])
    assert (found.level, found.blocks) == (Level.CAUTION, False)
    held = holding.hold(studio, board, "Barn")
    assert held.state == "held"
    assert found.reason in _caution(studio)
    assert found.source in _caution(studio)
    assert "Local codes" in _caution(studio)


@pytest.mark.parametrize(
    ("species", "key", "level"),
    [
        ("eastern-white-pine", "resinous", Level.CAUTION),
        ("beech", "irritant", Level.CAUTION),
        ("plum", "unlisted", Level.CAUTION),
        ("rosewood", "irritant", Level.CAUTION),
        ("yew", "poisonous", Level.BLOCK),
        ("birch plywood", "plywood", Level.CAUTION),
        ("mdf", "mdf", Level.BLOCK),
    ],
)
def test_the_wood_itself(studio: Studio, species: str, key: str, level: Level) -> None:
    commissions.add(studio, Wishes(title="Barn", species=species, size="20x15cm"))
    board = _board(studio, species)
    found = {one.key: one.level for one in blanks.show(studio, board).hazards}
    assert found[key] is level
    if level is Level.BLOCK:
        with pytest.raises(NotAllowed, match="must not be burned"):
            holding.hold(studio, board, "Barn")
    else:
        assert holding.hold(studio, board, "Barn").held_for == "C-0001"


def test_a_word_for_the_user_s_own_wood_counts(studio: Studio) -> None:
    own_species.add(studio, own_species.NewSpecies(name="Spindle", irritant="dust is poisonous"))
    (irritant, unlisted) = blanks.show(studio, _board(studio, "spindle")).hazards
    assert (irritant.reason, unlisted.key) == ("Dust is poisonous", "unlisted")


def test_noted_while_held_it_stops_the_burning(studio: Studio, board: str, photo: Path) -> None:
    holding.hold(studio, board, "Barn")
    hazards.note(studio, board, ["painted"], "under the bark side")
    for burn in (
        lambda: checklists.tick(studio, "Barn", ["burn"]),
        lambda: sessions.start(studio, "Barn", sessions.Doing(work="burn")),
    ):
        with pytest.raises(NotAllowed, match=r"blank\.override\(blank=B-0001\)"):
            burn()
    sessions.start(studio, "Barn", sessions.Doing(work="prepare"))
    sessions.stop(studio)
    before = contents(studio)
    hazards.override(studio, board, "scraped off, tested for lead")
    assert checklists.tick(studio, "Barn", ["burn"]).code == "C-0001"
    undo.undo_last(studio)
    undo.undo_last(studio)
    assert contents(studio) == before


def test_an_override_is_for_one_job_only(studio: Studio, board: str) -> None:
    commissions.add(studio, Wishes(title="Mill", size="20x15cm"))
    hazards.note(studio, board, ["sealed"])
    holding.hold(studio, board, "Barn", override="sanded off")
    holding.release(studio, board)
    with pytest.raises(NotAllowed, match="must not be burned"):
        holding.hold(studio, board, "Mill")
    # Held for the same job again, the reason on record still counts.
    assert holding.hold(studio, board, "Barn").hazards[0].override == "sanded off"


def test_a_new_reason_for_the_same_job_takes_the_place_of_the_old(
    studio: Studio, board: str
) -> None:
    hazards.note(studio, board, ["sealed"])
    holding.hold(studio, board, "Barn", override="sanded off")
    holding.release(studio, board)
    held = holding.hold(studio, board, "Barn", override="planed to bare wood")
    assert [one.override for one in held.hazards] == ["planed to bare wood"]


def test_what_is_found_again_needs_a_reason_again(studio: Studio, board: str) -> None:
    hazards.note(studio, board, ["sealed"])
    holding.hold(studio, board, "Barn", override="sanded off")
    before = contents(studio)
    assert hazards.clear(studio, board, "sealed", "planed to bare wood") == []
    assert [one.blocks for one in hazards.note(studio, board, ["sealed"])] == [True]
    with pytest.raises(NotAllowed, match="must not be burned"):
        checklists.tick(studio, "Barn", ["burn"])
    undo.undo_last(studio)
    undo.undo_last(studio)
    assert contents(studio) == before


def test_what_is_still_known_otherwise_stays_set_aside(studio: Studio, board: str) -> None:
    hazards.note(studio, board, ["sealed"])
    blanks.edit(studio, board, blanks.BlankChange(note="varnished top"))
    holding.hold(studio, board, "Barn", override="only the back is varnished")
    found = hazards.clear(studio, board, "sealed", "noted twice")
    assert [one.override for one in found] == ["only the back is varnished"]


def test_the_checklist_minds_what_an_order_comes_to_say(studio: Studio, board: str) -> None:
    before = _caution(studio)
    commissions.edit(studio, "Barn", Wishes(note="on the MDF panel that she has"))
    said = [one.reason for one in hazards.for_job(studio, "Barn") if one.key == "mdf"]
    assert said[0] in _caution(studio)
    commissions.edit(studio, "Barn", Wishes(note=""))
    assert _caution(studio) == before


def test_a_further_hazard_needs_its_own_reason(studio: Studio, board: str) -> None:
    hazards.note(studio, board, ["sealed"])
    holding.hold(studio, board, "Barn", override="sanded off")
    found = {one.key: one.blocks for one in hazards.note(studio, board, ["treated"])}
    assert found == {"sealed": False, "treated": True}
    found_after = hazards.override(studio, board, "an untreated end was cut")
    assert {one.key: one.override for one in found_after} == {
        "sealed": "sanded off",
        "treated": "an untreated end was cut",
    }


def test_what_there_is_nothing_to_override_for_is_refused(studio: Studio, board: str) -> None:
    with pytest.raises(BadInput, match="Nothing blocks"):
        holding.hold(studio, board, "Barn", override="just in case")
    with pytest.raises(NotAllowed, match="not held"):
        hazards.override(studio, board, "x")
    holding.hold(studio, board, "Barn")
    with pytest.raises(NotAllowed, match="Nothing blocks"):
        hazards.override(studio, board, "x")


def test_a_condition_is_taken_back_with_a_reason(studio: Studio, board: str) -> None:
    before = contents(studio)
    hazards.note(studio, board, ["varnished"])  # another word for sealed
    noted = contents(studio)
    with pytest.raises(NotAllowed, match="already"):
        hazards.note(studio, board, ["sealed"])
    with pytest.raises(BadInput, match="no condition"):
        hazards.note(studio, board, ["ugly"])
    with pytest.raises(BadInput, match="reason is empty"):
        hazards.clear(studio, board, "sealed", " ")
    with pytest.raises(NotAllowed, match="not on record"):
        hazards.clear(studio, board, "painted", "x")
    assert hazards.clear(studio, board, "sealed", "planed off") == []
    assert holding.hold(studio, board, "Barn").held_for
    undo.undo_last(studio)
    undo.undo_last(studio)
    assert contents(studio) == noted
    undo.undo_last(studio)
    assert contents(studio) == before


class TestBuying:
    def _booked(self, studio: Studio, title: str, days: int, **wishes: str) -> None:
        due = studio.today() + timedelta(days=days)
        commissions.add(studio, Wishes(title=title, due=due, **wishes))
        deposit = quotes.issue(studio, title, quotes.QuoteRequest(hours=5)).deposit
        accepting.accept(studio, title)
        payments.take(studio, title, str(deposit), "deposit")

    def test_the_earliest_due_gets_the_blank_and_the_rest_is_bought(self, studio: Studio) -> None:
        self._booked(studio, "Late", 60, size="28x18cm", species="basswood")
        self._booked(studio, "Soon", 10, size="18x28cm", species="basswood")
        self._booked(studio, "Other", 20, size="20x20cm", species="cherry")
        commissions.add(studio, Wishes(title="Asked", size="10x10cm", species="basswood"))
        _board(studio, size="40x40cm")
        small = _board(studio)  # 30 × 20 cm
        found = {need.title: need.in_stock for need in wood_to_buy.needed(studio)}
        assert found == {"Soon": small, "Other": None, "Late": "B-0001"}
        assert list(found) == ["Soon", "Other", "Late"]

    def test_a_blocked_blank_is_none(self, studio: Studio) -> None:
        self._booked(studio, "Soon", 10, size="18x28cm", species="basswood")
        hazards.note(studio, _board(studio), ["painted"])
        assert [need.in_stock for need in wood_to_buy.needed(studio)] == [None]

    def test_a_round_is_sawn_from_a_board_not_the_other_way(self, studio: Studio) -> None:
        self._booked(studio, "Disc", 10, size="round 20cm")
        self._booked(studio, "Square", 20, size="20x20cm")
        _board(studio, size="round 25cm")
        _board(studio, size="25x25cm")
        found = {need.title: need.in_stock for need in wood_to_buy.needed(studio)}
        assert found == {"Disc": "B-0001", "Square": "B-0002"}
