"""A clock that is moved back: no time is lost, none is made up, and everything goes on."""

from collections.abc import Iterator
from datetime import UTC, timedelta
from pathlib import Path

import pytest

from burnplan.desk.jobs import checklists, commissions, review, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, quotes
from burnplan.desk.studio.studio import Studio, open_studio
from burnplan.desk.time import planned_sessions, promises
from burnplan.desk.wood import conditioning
from burnplan.errors import BadInput
from tests import books
from tests.conftest import FixedClock
from tests.faults.conftest import Tell

pytestmark = books.about_files


@pytest.fixture
def studio(home: Path, clock: FixedClock) -> Iterator[Studio]:
    opened = open_studio(home, clock=clock, zone=UTC)
    sessions.stop(opened)
    yield opened
    opened.close()


@pytest.mark.parametrize("ending", ["stop", "pause"])
def test_a_running_clock(studio: Studio, clock: FixedClock, fault: Tell, ending: str) -> None:
    sessions.start(studio, "Owl in ivy", sessions.Doing())
    before = commissions.show(studio, "Owl in ivy").hours_done
    clock.forward(hours=-2)
    running = sessions.open_now(studio)
    assert running is not None
    assert running.hours == 0
    ended = sessions.stop(studio) if ending == "stop" else sessions.pause(studio)
    assert ended.hours == 0
    assert commissions.show(studio, "Owl in ivy").hours_done == before
    fault(f"clock back while it runs: {ending}", "0 min", "no time below zero")


def test_a_paused_clock_goes_on(studio: Studio, clock: FixedClock, fault: Tell) -> None:
    sessions.start(studio, "Owl in ivy", sessions.Doing())
    clock.forward(hours=1)
    sessions.pause(studio)
    clock.forward(hours=-3)
    sessions.resume(studio)
    open_one = sessions.open_now(studio)
    assert open_one is not None
    assert (open_one.state, open_one.hours) == ("running", 1)
    clock.forward(minutes=30)
    stopped = sessions.stop(studio)
    assert stopped.hours == pytest.approx(1.5)
    assert sessions.open_now(studio) is None
    fault("clock back in a pause", "1 h 30", "both intervals counted")


def test_what_was_said_later_is_earlier_now(studio: Studio, clock: FixedClock, fault: Tell) -> None:
    commissions.add(studio, Wishes(title="Marten", size="12x9cm"))
    quotes.issue(studio, "Marten", quotes.QuoteRequest(hours=4))
    conditioning.log_moisture(studio, "B-3", "9.5")
    checklists.tick(studio, "Marten", ["1"])
    newest = undo.happenings(studio)[0]
    clock.forward(days=-40)
    with pytest.raises(BadInput, match="not between its issue and today"):
        accepting.accept(studio, "Marten")
    checklists.tick(studio, "Marten", ["2"])
    # The history is in the order things were done, whatever the clock said.
    last, before = undo.happenings(studio)[:2]
    assert before == newest
    assert last.at < before.at
    assert undo.undo_last(studio).number == last.number
    assert undo.undo_last(studio).number == before.number
    fault("clock back: the history", "in the order done", "undo takes the last done first")


def test_looking_ahead(studio: Studio, clock: FixedClock, fault: Tell) -> None:
    planned_sessions.lay_out(studio)
    clock.forward(days=-400)
    assert {job.code for job in review.review(studio)}
    assert promises.look_ahead(studio, hours=5.0, weeks=4).offer is not None
    assert planned_sessions.lay_out(studio) is not None
    assert conditioning.moisture_of(studio, "B-1").readings == []
    sessions.log(studio, "Owl in ivy", timedelta(hours=1), sessions.Doing())
    fault("clock back 400 days: promise, plans", "dates from that day on", "nothing lost")
