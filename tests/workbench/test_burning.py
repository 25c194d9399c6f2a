"""The burning page: what it shows at each size, and that a hand with a pen cannot go wrong."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from burnplan.desk.jobs import checklists, holding, references, sessions
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.errors import NotAllowed
from burnplan.reckon.checklist import Phase
from burnplan.workbench import board
from burnplan.workbench.board import Board, ZoneLine
from burnplan.workbench.gather import Shapes
from burnplan.workbench.gather import at_work as at_work_on
from burnplan.workbench.pages.burning import BurningPage
from tests.conftest import FixedClock
from tests.workbench.hand import BASSWOOD, SIZES, Hand, at_work, barn, settle_phases

NOON = datetime(2027, 3, 17, 12)  # noqa: DTZ001  on the clock on the wall
CAT = Board(
    state="running", title="Cat on the sill", code="C-0001", work="burn", zone=1, zones=5,
    worked=timedelta(minutes=24), began=NOON - timedelta(minutes=24), now=NOON,
    rest=NOON + timedelta(minutes=26), tip="shader 4 mm", heat="6.5", area="11 cm²",
    darkness=0.86, tone="#382018", bare="#f0e0c8", step="Burn Z1: features first", after="Burn Z2",
    caution="Tone comes from heat and time, not from pressure",
    all_zones=(ZoneLine(1, "11 cm²", "#382018", False), ZoneLine(2, "37 cm²", "#583828", False)),
)  # fmt: skip


def _half() -> Shapes:
    """A square whose left half is zone 1, with a speck of it far on the right."""
    labels = np.full((300, 300), 2, np.uint8)
    labels[:, :150] = 1
    labels[200:203, 260:263] = 1
    return Shapes(labels, {1: "#382018", 2: "#d0b090"})


def test_ticks_in_the_zone_show_how_to_lay_strokes() -> None:
    """Right, down to the right, down, down to the left; none in another zone or side by side."""
    angles = [0.0, np.pi / 4, np.pi / 2, 3 * np.pi / 4]
    ways = [(0.25, (n + 0.5) / 4, angle) for n, angle in enumerate(angles)]
    beside = [(0.27, 0.125, 0.0), (0.75, 0.5, 0.0)]
    shapes = _half()._replace(ways=[*ways, *beside])
    rows = [line.plain.strip() for line in board.picture(shapes, 1, 40, 20)]
    found = ["".join(letter for letter in row if letter in "─╲│╱") for row in rows]
    assert [strokes for strokes in found if strokes] == ["─", "╲", "│", "╱"]
    small = [line.plain for line in board.picture(shapes, 1, 6, 2)]
    assert sum(letter in "─╲│╱" for row in small for letter in row) <= 1


def _shown(shown: Board, width: int, height: int, *, picture: bool = True) -> list[str]:
    draw = (lambda w, h: board.picture(_half(), shown.zone, w, h)) if picture else None
    return [line.plain for line in board.lines(shown, draw, width, height)]


@pytest.mark.parametrize("size", [(w, h - 2) for w, h in (*SIZES, (60, 20), (40, 20), (140, 28))])
@pytest.mark.parametrize("picture", [True, False])
@pytest.mark.parametrize(
    "change",
    [
        {}, {"state": "paused", "rest": None}, {"now": NOON + timedelta(hours=1)},
        {"state": "standing", "rest": None, "began": None}, {"armed": True},
        {"zone": None, "work": "transfer", "darkness": None, "heat": "", "area": ""},
        {"heat": "as hot as it goes", "title": "A very long title " * 9, "step": "words " * 60},
        {"caution": "a caution that is long " * 20}, {"tone": "", "bare": ""},
    ],
)  # fmt: skip
def test_the_page_fills_the_screen_and_no_more(
    size: tuple[int, int], picture: bool, change: dict[str, Any]
) -> None:
    width, height = size
    shown = CAT._replace(**change)
    lines = board.lines(
        shown, (lambda w, h: board.picture(_half(), shown.zone, w, h)) if picture else None,
        width, height,
    )  # fmt: skip
    assert len(lines) == height
    assert max(line.cell_length for line in lines) <= width


def test_a_small_screen() -> None:
    lines = [line.rstrip() for line in _shown(CAT, 78, 22)]
    assert " ".join(lines[0].split()) == (
        "● BURNING zone 1 of 5, the darkest Cat on the sill C-0001 now 12:00"
    )
    panel = [line[48:] for line in lines[2:18]]
    assert panel[:5] == [
        "██████      ██████  ██  ██",
        "██  ██  ██      ██  ██  ██",
        "██  ██      ██████  ██████",
        "██  ██  ██  ██          ██",
        "██████      ██████      ██",
    ]
    assert panel[6] == "━" * 13 + "─" * 15
    assert panel[7] == "26 min to the break at 12:26"
    assert panel[9].split() == ["zone", "heat"]
    assert panel[10:13] == ["▄█       █▀▀   █▀▀", " █       █▀█   ▀▀█", "▀▀▀      ▀▀▀ ▀ ▀▀▀"]
    assert panel[13] == "tip   shader 4 mm"
    assert panel[14].split()[-3:] == ["86", "%", "dark"]
    assert lines[19:] == [
        "now   Burn Z1: features first",
        "then  Burn Z2",
        "! Tone comes from heat and time, not from pressure",
    ]


def test_words_say_what_colours_do() -> None:
    late = CAT._replace(now=NOON + timedelta(minutes=30))
    assert _shown(late, 118, 38)[0].startswith("‖ BREAK")
    assert any("Rest 10 min: eyes, hands, air" in line for line in _shown(late, 78, 22))
    paused = _shown(CAT._replace(state="paused", rest=None), 78, 22)
    assert paused[0].startswith("‖ PAUSED")
    assert "▒▒▒▒▒▒" in paused[2]
    assert "█" not in paused[2][48:]
    armed = _shown(CAT._replace(armed=True), 78, 22)
    assert any("Zone 1 done? Press enter once more" in line for line in armed)
    standing = _shown(CAT._replace(state="standing", rest=None, began=None), 78, 22)
    assert standing[0].startswith("○ STANDING")
    listed = "\n".join(
        _shown(CAT._replace(zone=2, all_zones=(CAT.all_zones[0]._replace(done=True),
                                               CAT.all_zones[1])), 118, 38)
    )  # fmt: skip
    assert "✓ Z1" in listed
    assert "▸ Z2" in listed


def test_the_zone_is_where_it_is_and_no_island_is_lost() -> None:
    rows = [line.plain for line in board.picture(_half(), 1, 40, 20)]
    assert all(row[:20] == "█" * 20 for row in rows)
    right = "".join(row[20:] for row in rows)
    assert sum(cell != " " for cell in right) == 1, "the speck is one dot"
    speck = next(y for y, row in enumerate(rows) if row[20:].strip())
    assert speck == pytest.approx(201.5 / 300 * 20, abs=1)


@pytest.mark.parametrize(("width", "height"), [(7, 5), (46, 17), (116, 46)])
def test_every_island_lights_a_dot(width: int, height: int) -> None:
    mask = np.zeros((400, 260), bool)
    for y, x in ((3, 3), (200, 130), (396, 250), (90, 77)):
        mask[y : y + 2, x : x + 3] = True
    found = board.lit(mask, width, height)
    for y, x in ((3, 3), (200, 130), (396, 250), (90, 77)):
        places = found[y * height // 400 : (y + 1) * height // 400 + 1,
                       x * width // 260 : (x + 2) * width // 260 + 1]  # fmt: skip
        assert places.any()


def _with_photo(studio: Studio, photo: Path) -> str:
    code = barn(studio)
    references.add(studio, code, photo)
    settle_phases(studio, code, Phase.PREPARE, Phase.TRANSFER)
    return code


def _page(hand: Hand) -> str:
    shown = hand.app.burning_page.shown
    assert shown is not None
    return "\n".join(line.plain for line in board.lines(shown, None, 118, 36))


@pytest.mark.long
def test_a_press_forgotten_in_time_forgets_no_later_one(studio: Studio, photo: Path) -> None:
    _with_photo(studio, photo)

    async def desk(hand: Hand) -> None:
        await hand.press("c", "enter")
        page = hand.app.burning_page
        waiting = page._disarming
        assert waiting is not None
        await hand.press("enter", "u", "enter")  # done, taken back, and half done again
        assert page._disarming is not waiting
        assert waiting._task is None or waiting._task.done() or waiting._task.cancelling()

    at_work(studio, desk)


@pytest.mark.long
def test_a_zone_is_burned_paused_and_done(studio: Studio, clock: FixedClock, photo: Path) -> None:
    code = _with_photo(studio, photo)

    async def desk(hand: Hand) -> None:
        app = hand.app
        await hand.press("c")
        assert app.page_name == "burning"
        assert "● BURNING  zone 1 of" in _page(hand)
        assert "moke" in hand.text("#mind"), "the caution is there without being asked for"
        clock.forward(minutes=12)
        await hand.press("space")
        assert "‖ PAUSED" in _page(hand)
        assert "‖" in hand.text("#running")
        clock.forward(minutes=30)
        await hand.press("space")
        clock.forward(minutes=8)
        # What does something elsewhere does nothing here.
        for key in ("t", "g", "x", "i", "a", "d", "h"):
            await hand.press(key)
            assert len(app.screen_stack) == 1
        await hand.press("enter")
        assert "Press enter once more" in _page(hand)
        assert [one.state for one in checklists.of(studio, code).steps if one.zone == 1] == ["open"]
        await hand.press("enter")
        assert sessions.open_now(studio) is None
        (step,) = (one for one in checklists.of(studio, code).steps if one.zone == 1)
        assert step.state == "ticked"
        (done,) = sessions.all_of(studio, code)
        assert done.hours == pytest.approx(20 / 60)
        assert "○ STANDING  zone 2 of" in _page(hand), "what comes next is offered"
        # Both are taken back together.
        await hand.press("u")
        assert sessions.open_now(studio) is not None
        (step,) = (one for one in checklists.of(studio, code).steps if one.zone == 1)
        assert step.state == "open"
        assert "● BURNING  zone 1 of" in _page(hand)
        await hand.press("enter", "enter", "space")
        again = sessions.open_now(studio)
        assert again is not None
        assert again.zone == 2
        await hand.press("n")
        await hand.fill(note="left ear is too light")
        await hand.press("s", "escape")
        assert app.page_name != "burning"

    at_work(studio, desk, size=(120, 40))
    assert sessions.all_of(studio, code)[0].note == "left ear is too light"


@pytest.mark.long
def test_one_press_is_forgotten(studio: Studio, photo: Path) -> None:
    code = _with_photo(studio, photo)

    async def desk(hand: Hand) -> None:
        await hand.press("c", "enter")
        hand.app.burning_page._disarm()
        assert "once more" not in _page(hand)
        await hand.press("enter")
        assert sessions.open_now(studio) is not None
        assert "once more" in _page(hand)

    at_work(studio, desk)
    assert all(one.state == "open" for one in checklists.of(studio, code).steps if one.zone)


@pytest.mark.long
def test_the_workbench_opens_at_what_is_being_burned(studio: Studio, photo: Path) -> None:
    code = _with_photo(studio, photo)
    sessions.start(studio, code, sessions.Doing(zone=2, tip="round 2 mm", heat="5"))

    async def desk(hand: Hand) -> None:
        assert hand.app.page_name == "burning"
        assert "zone 2 of" in _page(hand)
        assert "round 2 mm" in _page(hand)
        await hand.press("escape")
        assert hand.app.page_name == "today"
        await hand.press("b")
        assert hand.app.page_name == "burning"

    at_work(studio, desk)


@pytest.mark.long
def test_tip_and_heat_are_as_last_used_on_the_zone(studio: Studio, photo: Path) -> None:
    code = _with_photo(studio, photo)
    for zone, tip, heat in ((2, "shader", "7"), (1, "round 2 mm", "5")):
        sessions.start(studio, code, sessions.Doing(zone=zone, tip=tip, heat=heat))
        sessions.stop(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("c")

    at_work(studio, desk)
    found = sessions.open_now(studio)
    assert found is not None
    assert (found.zone, found.tip, found.heat) == (1, "round 2 mm", "5")


def test_a_break_is_due_by_all_work_since_the_last(studio: Studio, clock: FixedClock) -> None:
    code = barn(studio)
    began = studio.now()
    sessions.start(studio, code, sessions.Doing(work="transfer"))
    clock.forward(minutes=20)
    sessions.stop(studio)
    clock.forward(minutes=5)
    sessions.start(studio, code, sessions.Doing(work="transfer"))
    assert sessions.break_due(studio) == began + timedelta(minutes=50), "five minutes are no break"
    sessions.stop(studio)
    assert sessions.break_due(studio) is None
    clock.forward(minutes=10)
    sessions.start(studio, code, sessions.Doing(work="transfer"))
    assert sessions.break_due(studio) == studio.now() + timedelta(minutes=50)


def test_a_session_without_a_zone_has_none_to_be_done(studio: Studio) -> None:
    code = barn(studio)
    sessions.start(studio, code, sessions.Doing(work="transfer"))
    with pytest.raises(NotAllowed, match="burns no zone"):
        sessions.stop(studio, done=True)
    assert sessions.open_now(studio) is not None, "nothing half done"


@pytest.mark.long
def test_a_zone_that_is_not_done_yet_comes_next(studio: Studio, photo: Path) -> None:
    code = _with_photo(studio, photo)
    page = BurningPage(studio, "burning")
    for zone in (1, 3):  # what was left open before it does not call the hand back
        sessions.start(studio, code, sessions.Doing(zone=zone))
        sessions.stop(studio)
        page.found = at_work_on(studio, code)
        assert page.step is not None
        assert page.step.zone == zone


@pytest.mark.long
def test_of_a_piece_begun_again_the_first_step_comes_next(studio: Studio, photo: Path) -> None:
    """Not what follows the zone that was burned on the one that is ruined."""
    code = _with_photo(studio, photo)
    wood, spare = (blanks.add(studio, BASSWOOD).code for _ in range(2))
    holding.hold(studio, wood, code)

    async def desk(hand: Hand) -> None:
        await hand.press("c", "enter", "enter")
        assert "○ STANDING  zone 2 of" in _page(hand)
        holding.restart(studio, code, spare, "scorched")  # in another terminal
        hand.app.look()
        await hand.settle()
        step = hand.app.burning_page.step
        assert step is not None
        assert (step.number, step.key) == (1, "choose")

    at_work(studio, desk, size=(120, 40))
