"""What is said as a sitting begins, pauses and ends: in full the first time, then in short."""

from datetime import timedelta

from burnplan.desk.jobs import commissions, holding, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.sessions import Doing, to_mind
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, hazards
from burnplan.wood.cautions import DEFER, ELECTRICITY, PEN_OFF, Moment
from tests.conftest import FixedClock


def test_in_full_the_first_time_and_in_short_after(studio: Studio, clock: FixedClock) -> None:
    commissions.add(studio, Wishes(title="Fox", species="basswood"))
    before = clock.now - timedelta(days=1)
    sessions.log(studio, "Fox", timedelta(hours=1), Doing(work="transfer"), ended=before)
    first = sessions.start(studio, "Fox", Doing(work="burn"))
    said = to_mind(studio, first, Moment.START)
    assert {ELECTRICITY, DEFER} < set(said)
    assert said[-1] == "Take a break at 09:50: eyes, hands and air"
    clock.forward(hours=1)
    stopped = sessions.stop(studio)
    assert PEN_OFF in to_mind(studio, stopped, Moment.STOP)
    clock.forward(minutes=15)
    again = sessions.start(studio, "Fox", Doing(work="burn"))
    short, rest = to_mind(studio, again, Moment.START)
    assert short.startswith("Smoke drawn off at its source; tip on its stand")
    assert rest.startswith("Take a break at 11:05")
    assert to_mind(studio, sessions.pause(studio), Moment.PAUSE) == [
        "Pen off while you are away, tip on its stand"
    ]
    assert to_mind(studio, sessions.stop(studio), Moment.STOP) == [
        "Pen off and unplugged; watch the piece and the bench for smouldering"
    ]


def test_a_hazard_set_aside_is_said_each_time(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Fox"))
    board = blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm")).code
    hazards.note(studio, board, ["painted"])
    holding.hold(studio, board, "Fox", override="planed to bare wood")
    for _ in range(3):
        view = sessions.start(studio, "Fox", Doing(work="burn"))
        assert any("Set aside by the artist" in one for one in to_mind(studio, view, Moment.START))
        sessions.stop(studio)
