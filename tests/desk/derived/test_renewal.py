"""What hangs on a fact follows it in the same transaction, whichever action changed it."""

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from burnplan.desk.jobs import (
    checklists,
    commissions,
    corrections,
    endings,
    finishing,
    holding,
    references,
    review,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import quotes, what_ifs
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, conditioning, own_species
from burnplan.desk.wood.blanks import NewBlank
from burnplan.reckon import pace
from burnplan.reckon.pace import Pace
from burnplan.reckon.pace_rows import PastJob
from tests.conftest import FixedClock
from tests.desk import surfaces


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    ramp = np.tile(np.linspace(0, 255, 240, dtype=np.uint8), (180, 1))
    Image.fromarray(ramp).save(tmp_path / "ramp.png")
    return tmp_path / "ramp.png"


def _job(studio: Studio, title: str, photo: Path, species: str = "basswood") -> str:
    code = commissions.add(studio, Wishes(title=title, size="12x9cm", species=species)).code
    references.add(studio, code, photo, zones=3)
    return code


def _left(studio: Studio, code: str) -> float:
    found = next(one for one in review.review(studio) if one.code == code).hours_left.p50
    assert found is not None
    return found


def _burn(studio: Studio, code: str, hours: float) -> int:
    for phase in ("prepare", "transfer", "burn"):
        keys = [s.key for s in checklists.of(studio, code).steps if s.phase == phase]
        checklists.tick(studio, code, keys)
    return sessions.log(studio, code, timedelta(hours=hours), sessions.Doing()).number


@pytest.mark.long
def test_hours_logged_on_one_job_move_another_at_once(studio: Studio, photo: Path) -> None:
    one, other = _job(studio, "Fox", photo), _job(studio, "Owl", photo)
    before = _left(studio, other)
    number = _burn(studio, one, 20)
    slower = _left(studio, other)
    assert slower > 1.2 * before
    # A note put right says nothing new of the hours.
    corrections.correct(
        studio, number, corrections.Correction(note="with the shader"), "note missing"
    )
    assert _left(studio, other) == slower
    undo.undo_last(studio)
    assert _left(studio, other) == slower


@pytest.mark.long
def test_a_clock_stopped_teaches_like_hours_logged(
    studio: Studio, photo: Path, clock: FixedClock
) -> None:
    one, other = _job(studio, "Fox", photo), _job(studio, "Owl", photo)
    before = _left(studio, other)
    sessions.start(studio, one, sessions.Doing())
    clock.forward(hours=11)
    _tick_burning(studio, one)
    assert _left(studio, other) == before
    sessions.stop(studio)
    assert _left(studio, other) > before


def _tick_burning(studio: Studio, code: str) -> None:
    keys = [s.key for s in checklists.of(studio, code).steps if s.phase == "burn"]
    checklists.tick(studio, code, keys)


def test_coats_planned_reach_hours_and_price(studio: Studio, photo: Path) -> None:
    code = _job(studio, "Fox", photo)
    hours, price = _left(studio, code), quotes.draft(studio, code, quotes.QuoteRequest()).total
    finishing.plan(studio, code, "hard wax oil", coats=9, dry=timedelta(hours=12))
    assert _left(studio, code) > hours
    assert quotes.draft(studio, code, quotes.QuoteRequest()).total > price
    as_it_is = what_ifs.compare(studio, code, sizes=[], zones=[4], species=[])[0]
    assert as_it_is.hours_p50 == pytest.approx(_left(studio, code))


def test_what_the_blank_was_sanded_before_is_no_part_of_the_job(
    studio: Studio, photo: Path
) -> None:
    code = _job(studio, "Fox", photo)
    hours = references.show(studio, code).hours.prepare.p50
    blank = blanks.add(studio, NewBlank(species="basswood", size="12x9cm", grit=220)).code
    holding.hold(studio, blank, code)
    keys = [step.key for step in checklists.of(studio, code).steps if step.key != "sand-back"]
    assert [key for key in keys if key.startswith(("sand-", "raise-"))] == [
        "raise-grain",
        "sand-320",
    ]
    fewer = references.show(studio, code).hours.prepare.p50
    assert fewer < hours
    # Sanded for the job, the step is done, and its hours stay part of the job.
    blanks.sand(studio, blank, None)
    raised = next(s for s in checklists.of(studio, code).steps if s.key == "raise-grain")
    assert raised.state == "ticked"
    assert references.show(studio, code).hours.prepare.p50 == fewer


def test_air_noted_reaches_the_caution_on_end_grain(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Slice", client="Ada Berg")).code
    blank = blanks.add(studio, NewBlank(species="sugar-maple", size="round 25cm")).code
    holding.hold(studio, blank, code)
    conditioning.set_grain(studio, blank, "end-grain")
    conditioning.log_moisture(studio, blank, "24")

    def cautions() -> str:
        return " ".join(step.caution for step in checklists.of(studio, code).steps)

    assert "Checking risk" not in cautions()
    conditioning.note_air(studio, "21C 35%", "Ada Berg")
    assert "Checking risk" in cautions()


def test_figures_of_a_wood_of_ones_own_reach_every_price(studio: Studio, photo: Path) -> None:
    code = _job(studio, "Fox", photo, species="medlar")
    hours = _left(studio, code)
    listed = what_ifs.price_list(studio, ["20x30cm"], "medlar").prices[0][2]
    own_species.add(studio, own_species.NewSpecies(name="Medlar", hardness=2400))
    assert _left(studio, code) > hours
    assert what_ifs.price_list(studio, ["20x30cm"], "medlar").prices[0][2] > listed
    other = what_ifs.compare(studio, code, sizes=[], zones=[], species=["basswood", "medlar"])
    assert other[2].hours_p50 == pytest.approx(other[0].hours_p50)
    assert other[1].hours_p50 < other[0].hours_p50


def test_the_drawing_hand_reaches_open_checklists_alone(studio: Studio, photo: Path) -> None:
    is_open, closed = _job(studio, "Fox", photo), _job(studio, "Owl", photo)
    endings.drop(studio, closed, "called off")
    before = {code: checklists.of(studio, code) for code in (is_open, closed)}
    settings.save(studio, settings.parsed(settings.current(studio), "drawing_hand", "left"))
    assert checklists.of(studio, is_open) != before[is_open]
    assert checklists.of(studio, closed) == before[closed]


@pytest.mark.long
def test_what_follows_is_no_part_of_the_history(studio: Studio, photo: Path) -> None:
    one, other = _job(studio, "Fox", photo), _job(studio, "Owl", photo)
    _burn(studio, one, 20)
    slower = _left(studio, other)
    assert undo.happenings(studio)[0].summary.startswith("Logged")
    undo.undo_last(studio)
    assert _left(studio, other) < slower
    surfaces.agree(studio, ["undo"])
    assert quotes.draft(studio, other, quotes.QuoteRequest()).total > Decimal(0)


def test_pace_is_learned_again_only_where_what_is_taught_changes(
    studio: Studio, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, other = _job(studio, "Fox", photo), _job(studio, "Owl", photo)
    learned: list[int] = []
    learn = pace.learn

    def noted(jobs: Sequence[PastJob]) -> Pace:
        learned.append(len(jobs))
        return learn(jobs)

    monkeypatch.setattr(pace, "learn", noted)
    sessions.log(studio, one, timedelta(hours=3), sessions.Doing())
    steps = [step.key for step in checklists.of(studio, one).steps if step.phase == "burn"]
    checklists.tick(studio, one, steps[:-1])  # its hours are of no zone in particular
    assert not learned
    before = _left(studio, other)
    checklists.tick(studio, one, steps[-1:])  # now they are those of all burning
    assert learned
    assert _left(studio, other) != before
    learned.clear()
    undo.undo_last(studio)
    assert learned
    assert _left(studio, other) == pytest.approx(before)
