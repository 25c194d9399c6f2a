"""A job that changes: its plan, its quote and its steps follow, or say that they do not."""

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from burnplan.desk.jobs import checklists, commissions, holding, references, review, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.layouts import LayoutChange
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import planned_sessions, promises
from burnplan.desk.wood import blanks
from burnplan.desk.wood.blanks import NewBlank
from burnplan.errors import NotAllowed
from burnplan.sheets.money import job_letters
from tests.conftest import FixedClock
from tests.desk import surfaces


@pytest.fixture
def fox(studio: Studio, tmp_path: Path) -> str:
    ramp = np.tile(np.linspace(0, 255, 240, dtype=np.uint8), (180, 1))
    Image.fromarray(ramp).save(tmp_path / "ramp.png")
    code = commissions.add(studio, Wishes(title="Fox", size="12x9cm", species="basswood")).code
    references.add(studio, code, tmp_path / "ramp.png", zones=3)
    return code


def _draft(studio: Studio, code: str) -> quotes.QuoteView:
    return quotes.draft(studio, code, quotes.QuoteRequest())


def _states(studio: Studio, code: str, *keys: str) -> list[str]:
    return [s.state for s in checklists.of(studio, code).steps if s.key in keys]


@pytest.mark.long
def test_a_new_size_is_planned_at_once_and_taken_back_in_one(studio: Studio, fox: str) -> None:
    small, before = references.show(studio, fox), _draft(studio, fox)
    issued = quotes.issue(studio, fox, quotes.QuoteRequest())
    commissions.edit(studio, fox, Wishes(size="24x18cm"))
    large = references.show(studio, fox)
    assert large.size_mm == (240.0, 180.0)
    burned = [sum(zone.area_cm2 for zone in view.zones) for view in (small, large)]
    assert burned[1] == pytest.approx(4 * burned[0], rel=0.02)
    assert _draft(studio, fox).total > before.total * 3 / 2
    assert quotes.show(studio, fox).outdated
    assert not issued.outdated
    surfaces.agree(studio, ["edit"])
    undo.undo_last(studio)
    assert references.show(studio, fox) == small
    assert not quotes.show(studio, fox).outdated


@pytest.mark.long
def test_lines_that_are_traced_from_an_earlier_plan_are_said_to_be(
    studio: Studio, fox: str, clock: FixedClock, photo: Path
) -> None:
    def said() -> bool:
        notes = references.show(studio, fox).notes
        return any("traced is of an earlier plan" in note for note in notes)

    clock.forward(minutes=1)
    references.add(studio, fox, photo)
    assert not said(), "nothing is traced"
    clock.forward(minutes=1)
    checklists.tick(studio, fox, ["features"])
    assert not said(), "what is traced is of this plan"
    clock.forward(minutes=1)
    references.replan(studio, fox, wanted=LayoutChange(turn=90))
    assert said()
    undo.undo_last(studio)
    assert not said()
    references.replan(studio, fox, zones=3)
    assert not said(), "the lines are the same"
    references.add(studio, fox, photo.with_name("ramp.png"))
    assert said()
    checklists.untick(studio, fox, ["features"])
    assert not said()


def test_another_wood_is_planned_at_once(studio: Studio, fox: str) -> None:
    before = references.show(studio, fox)
    commissions.edit(studio, fox, Wishes(species="walnut"))
    after = references.show(studio, fox)
    assert after.species == "black-walnut"
    # The bare wood is darker: what the photo asks for is less of its range.
    assert [z.darkness for z in after.zones] != [z.darkness for z in before.zones]


def test_what_changes_nothing_of_the_piece_plans_nothing(studio: Studio, fox: str) -> None:
    before = references.show(studio, fox)
    commissions.edit(studio, fox, Wishes(size="120x90mm", species="basswood", note="by May"))
    assert references.show(studio, fox) == before


def test_size_and_wood_are_those_of_the_blank_held(studio: Studio) -> None:
    job = commissions.add(studio, Wishes(title="Owl", species="walnut")).code
    blank = blanks.add(studio, NewBlank(species="cherry", size="24x18cm")).code
    holding.hold(studio, blank, job)
    for what, wishes in (("size", Wishes(size="9x9cm")), ("wood", Wishes(species="basswood"))):
        with pytest.raises(NotAllowed, match=f"Its {what} is that of the blank"):
            commissions.edit(studio, job, wishes)
    assert commissions.edit(studio, job, Wishes(species="cherry")).species == "cherry"


@pytest.mark.long
def test_a_blank_of_another_size_is_planned_for(studio: Studio, fox: str) -> None:
    blank = blanks.add(studio, NewBlank(species="cherry", size="24x18cm", grit=320)).code
    said = holding.beforehand(studio, blank, fox)
    assert (said.size_before, said.size) == ((120, 90), (240, 180))
    holding.hold(studio, blank, fox)
    assert references.show(studio, fox).size_mm == (240.0, 180.0)
    assert references.show(studio, fox).species == "cherry"
    holding.release(studio, blank)
    assert references.show(studio, fox).size_mm == (120.0, 90.0)
    assert references.show(studio, fox).species == "basswood"


@pytest.mark.long
def test_steps_that_the_change_undoes_are_opened_if_wanted(studio: Studio, fox: str) -> None:
    checklists.tick(studio, fox, ["sand-120", "features"])
    assert _states(studio, fox, "sand-120", "features") == ["ticked", "ticked"]
    wishes = Wishes(size="24x18cm")
    assert len(commissions.undone_by(studio, fox, wishes)) == 1
    assert commissions.undone_by(studio, fox, Wishes(note="x")) == []
    commissions.edit(studio, fox, wishes)
    assert _states(studio, fox, "features") == ["ticked"]
    commissions.edit(studio, fox, Wishes(size="30x20cm"), reopen=True)
    assert _states(studio, fox, "sand-120", "features") == ["ticked", "open"]
    blank = blanks.add(studio, NewBlank(species="basswood", size="30x20cm")).code
    assert len(holding.beforehand(studio, blank, fox).steps) == 1
    holding.hold(studio, blank, fox, reopen=True)
    assert _states(studio, fox, "sand-120") == ["open"]


@pytest.mark.long
def test_another_blank_is_looked_at_again(studio: Studio, fox: str) -> None:
    """That one board was bare and known says nothing of the next."""
    first, second = (
        blanks.add(studio, NewBlank(species="basswood", size="12x9cm", grit=320)).code
        for _ in range(2)
    )
    holding.hold(studio, first, fox)
    looked_at = ("choose", "sound-wood", "dust-off", "try-tones")
    checklists.tick(studio, fox, list(looked_at))
    holding.release(studio, first)
    assert _states(studio, fox, "choose", "sound-wood") == ["open", "ticked"]
    assert len(holding.beforehand(studio, second, fox).steps) == 2
    holding.hold(studio, second, fox, reopen=True)
    assert _states(studio, fox, *looked_at) == ["open", "open", "open", "ticked"]
    (choose,) = [step for step in checklists.of(studio, fox).steps if step.key == "choose"]
    assert second in choose.text


def test_another_wood_asked_for_is_looked_at_and_sanded_again(studio: Studio, fox: str) -> None:
    checklists.tick(studio, fox, ["sound-wood", "sand-120", "features"])
    assert commissions.undone_by(studio, fox, Wishes(species="basswood")) == []
    assert len(commissions.undone_by(studio, fox, Wishes(species="cherry"))) == 3
    commissions.edit(studio, fox, Wishes(species="cherry"), reopen=True)
    assert _states(studio, fox, "sound-wood", "sand-120", "features") == ["open"] * 3


def test_a_plan_that_cannot_be_made_again_says_so(studio: Studio, fox: str) -> None:
    for kept in studio.originals.rglob("*"):
        if kept.is_file():
            kept.unlink()
    commissions.edit(studio, fox, Wishes(size="24x18cm"))
    view = references.show(studio, fox)
    assert view.size_mm == (120.0, 90.0)
    assert any("another size" in note for note in view.notes)


def _review(studio: Studio, code: str) -> review.JobView:
    return next(one for one in review.review(studio) if one.code == code)


def test_a_quote_for_another_size_is_said_in_the_review(studio: Studio, fox: str) -> None:
    quotes.issue(studio, fox, quotes.QuoteRequest())
    assert _review(studio, fox).attention.startswith("quote open")
    commissions.edit(studio, fox, Wishes(size="24x18cm"))
    assert _review(studio, fox).attention == "quoted for another size or wood"
    quotes.issue(studio, fox, quotes.QuoteRequest())
    assert _review(studio, fox).attention.startswith("quote open")


def test_a_letter_of_a_quote_is_of_the_piece_that_it_was_reckoned_for(
    studio: Studio, fox: str
) -> None:
    quotes.issue(studio, fox, quotes.QuoteRequest())
    commissions.edit(studio, fox, Wishes(size="24x18cm", species="cherry"))
    letter, _ = job_letters.quote(studio, fox, settings.current(studio))
    assert "12 × 9 cm · basswood" in letter.text()
    quotes.issue(studio, fox, quotes.QuoteRequest())
    letter, _ = job_letters.quote(studio, fox, settings.current(studio))
    assert "24 × 18 cm · black cherry" in letter.text()


@pytest.mark.long
def test_hours_judged_by_eye_count_until_something_better_is_known(
    studio: Studio, tmp_path: Path, fox: str
) -> None:
    job = commissions.add(
        studio, Wishes(title="Owl", size="12x9cm", due=studio.today() + timedelta(days=2))
    ).code
    quotes.issue(studio, job, quotes.QuoteRequest(hours=40))
    payments.take(studio, job, str(accepting.accept(studio, job).deposit), "deposit")
    seen = _review(studio, job)
    assert seen.hours_left.p50 == pytest.approx(40)
    assert seen.on_time is not None
    assert seen.on_time < 0.01  # 40 hours in three days of four
    assert promises.look_ahead(studio).unknown == []
    assert planned_sessions.lay_out(studio, 7)[0].code == job
    sessions.log(studio, job, timedelta(hours=10), sessions.Doing())
    after = _review(studio, job).hours_left.p50
    assert after is not None
    assert 25 < after < 32
    references.add(studio, job, tmp_path / "ramp.png", zones=3)
    measured = _review(studio, job).hours_left.p50
    assert measured is not None
    assert measured < 10
