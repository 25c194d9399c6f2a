"""Pictures by the Kitty graphics protocol: what a terminal holds and shows after what is done."""

import asyncio
import fcntl
import os
import pty
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from textual.widget import Widget

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import commissions, references, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.reckon.checklist import Phase
from burnplan.workbench import kitty, sharp
from burnplan.workbench.dots import THROUGH, Dots
from tests.cases import quick_first
from tests.workbench.hand import Hand, at_work, settle_phases
from tests.workbench.kitty_screen import KittyScreen, Placed, colours, shows, sits_at

SIZE = (120, 40)


@pytest.fixture
def job(studio: Studio, photo: Path) -> str:
    code = commissions.add(studio, Wishes(title="Biscuit", size="16x12cm", species="basswood")).code
    references.add(studio, code, photo, zones=3)
    return code


async def resize(hand: Hand, size: tuple[int, int]) -> None:
    """Draw the window larger or smaller."""
    await hand.pilot.resize_terminal(*size)
    while hand.app.query_one("KeyLine").region.bottom != size[1]:
        await asyncio.sleep(0.01)
    await hand.settle()


@pytest.mark.parametrize("size", [(1, 1), (6, 9), (170, 140)])
@pytest.mark.parametrize("clear", [True, False])
def test_what_is_sent_is_what_is_held(size: tuple[int, int], *, clear: bool) -> None:
    random = np.random.default_rng(5)
    numbers = random.integers(0, 200, size).astype(np.uint8)
    if clear:
        numbers[::2, ::2] = THROUGH
    dots = Dots(numbers, random.integers(0, 256, (200, 3)).astype(np.uint8))
    screen = KittyScreen()
    screen.alternate = True
    screen.feed(kitty.sent(3, dots))
    (held,) = screen.images.values()
    assert held[numbers != THROUGH].tolist() == colours(dots)[numbers != THROUGH].tolist()
    assert (held[..., 3] == colours(dots)[..., 3]).all()


@pytest.mark.long
def test_a_picture_is_sent_once_and_shown_where_it_moves(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        screen = sits_at(hand)
        hand.app.open_job(job)
        await hand.settle()
        page = hand.app.job_page
        picture, facts = page.query_one("#picture"), page.query_one("#facts")
        assert shows(screen, picture)
        whole = screen.only
        told = screen.sent_bytes
        for y in (3, 0, 5):
            facts.scroll_to(y=y, animate=False)
            await hand.settle()
            cut = facts.region.y - picture.region.y
            assert cut > 0 if y else cut <= 0
            moved = screen.only
            assert moved.row == max(facts.region.y, picture.region.y)
            assert moved.rows == whole.rows - max(0, cut)
            assert moved.part[1] == 20 * max(0, cut)
        assert (screen.received, screen.sent_bytes) == (1, told)
        assert screen.placed_bytes < 600

    at_work(studio, desk, (120, 24))


@pytest.mark.long
def test_what_covers_a_picture_takes_it_away_and_gives_it_back(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        screen = sits_at(hand)
        hand.app.open_job(job)
        await hand.settle()
        picture = hand.app.job_page.query_one("#picture")
        told = screen.sent_bytes
        for there, back in (
            (["question_mark"], ["escape"]), (["ctrl+p"], ["escape"]), (["i"], ["escape"]),
            (["5"], ["2", "enter"]),
        ):  # fmt: skip
            await hand.press(*there)
            assert screen.shown == {}
            await hand.press(*back)
            assert shows(screen, picture)
        hand.app.say("Said in passing, over the picture\n" * 5)
        await hand.settle()
        assert screen.shown == {}
        hand.app.clear_notifications()
        await hand.settle()
        assert shows(screen, picture)
        # The list has a slip beside it, with a picture of its own.
        slip = screen.received - 1
        assert slip <= 1
        assert screen.sent_bytes < 2 * told

    at_work(studio, desk, SIZE)


@pytest.mark.long
def test_text_written_under_a_picture_costs_no_picture(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        screen = sits_at(hand)
        hand.app.open_job(job)
        await hand.settle()
        told, placed = screen.sent_bytes, screen.placed_bytes
        for _ in range(3):
            hand.app.job_page.query_one("#picture").refresh()
            await hand.settle()
            await hand.press("down", "space")
        assert (screen.sent_bytes, screen.placed_bytes) == (told, placed)
        assert shows(screen, hand.app.job_page.query_one("#picture"))

    at_work(studio, desk, SIZE)


@pytest.mark.long
def test_while_a_hand_moves_a_picture_its_blocks_are_seen(
    studio: Studio, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def desk(hand: Hand) -> None:
        screen = sits_at(hand)
        hand.app.open_job(job)
        await hand.settle()
        await hand.press("y")
        top = hand.app.laying_page.query_one("Top")
        assert shows(screen, top)
        before = screen.pixels(next(iter(screen.shown))).copy()
        with monkeypatch.context() as slowly:
            slowly.setattr(sharp, "REST_SECONDS", 3600.0)
            await hand.pilot.press("right")
            while screen.shown:
                await asyncio.sleep(0.01)
        await hand.pilot.press("right")
        await hand.settle()
        assert shows(screen, top)
        assert not np.array_equal(screen.pixels(next(iter(screen.shown))), before)
        await hand.press("S")  # a mark's letter is not painted over
        assert (screen.pixels(next(iter(screen.shown)))[..., 3] == 0).sum() == 2 * 9 * 20

    at_work(studio, desk, SIZE)


@pytest.mark.long
def test_what_is_burned_is_shown_and_another_light_and_size_show_it_anew(
    studio: Studio, job: str
) -> None:
    settle_phases(studio, job, Phase.PREPARE, Phase.TRANSFER)

    async def desk(hand: Hand) -> None:
        screen = sits_at(hand)
        hand.app.open_job(job)
        await hand.settle()
        picture = hand.app.job_page.query_one("#picture")
        for keys, size in (["l"], SIZE), (["l"], SIZE), ([], (150, 50)), ([], (80, 24)):
            await hand.press(*keys)
            await resize(hand, size)
            assert shows(screen, picture)
        sessions.start(studio, job, sessions.Doing(work="burn", zone=1))
        hand.app.open_burning(job)
        await hand.settle()
        lines = hand.app.burning_page.query_one("Lines", Widget)
        assert shows(screen, lines)
        first = screen.pixels(next(iter(screen.shown))).copy()
        await hand.press("enter", "enter")
        assert shows(screen, lines)
        assert not np.array_equal(screen.pixels(next(iter(screen.shown))), first)

    at_work(studio, desk, SIZE)


@pytest.mark.long
def test_a_terminal_that_resizes_is_told_again_where_a_picture_is(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        screen = sits_at(hand)
        hand.app.open_job(job)
        await hand.settle()
        picture = hand.app.job_page.query_one("#picture")
        # The terminal lost it as its letters became larger.
        number = next(iter(screen.shown))
        screen.shown[number] = Placed(0, 0, 1, 1, (0, 0, 1, 1))
        await resize(hand, (SIZE[0], SIZE[1] + 1))
        assert shows(screen, picture)

    at_work(studio, desk, SIZE)


@pytest.mark.long
def test_pictures_are_asked_for_only_where_they_or_their_places_change(
    studio: Studio, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def desk(hand: Hand) -> None:
        sits_at(hand)
        hand.app.open_job(job)
        await hand.settle()
        kind = type(hand.app.job_page.query_one("#picture"))
        asked, overlay = [], kind.overlay  # type: ignore[attr-defined]

        def noted(self: Widget) -> object:
            asked.append(self)
            return overlay(self)

        monkeypatch.setattr(kind, "overlay", noted)
        written, display = [], hand.app._display

        def writes(*args: object) -> None:
            written.append(args)
            display(*args)  # type: ignore[arg-type]

        monkeypatch.setattr(hand.app, "_display", writes)
        await hand.press("down", "down", "space", "up")
        assert len(written) > 4
        assert asked == []
        await hand.press("l")
        assert asked

    at_work(studio, desk, SIZE)


# --- the program as it runs --------------------------------------------------------------------

_CRASH = """
import sys
from burnplan.workbench.app import Workbench
def fail(self): raise RuntimeError("not foreseen")
Workbench.turn_light = fail
from burnplan.__main__ import main
sys.argv = ["burnplan", "workbench"]
sys.exit(main())
"""


class Window:
    """The program in a window of a terminal that knows the protocol."""

    def __init__(self, studio: Studio, *command: str, **environment: str) -> None:
        settings.save(studio, studio_settings.Settings())  # or it would ask its first questions
        self.screen, self._asked = KittyScreen(), 0
        self.end, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 120 * 9, 40 * 20))
        kept = {name: value for name, value in os.environ.items()
                if name not in ("NO_COLOR", "TMUX", "STY", "BURNPLAN_PICTURES")}  # fmt: skip
        self.process = subprocess.Popen(
            [sys.executable, *command], stdin=theirs, stdout=theirs, stderr=theirs,
            start_new_session=True,
            env=kept | {
                "BURNPLAN_HOME": str(studio.home), "BURNPLAN_DATABASE_URL": studio.database_url,
                "TERM": "xterm-256color", "COLORTERM": "truecolor", **environment,
            },
        )  # fmt: skip
        os.close(theirs)
        os.set_blocking(self.end, False)

    def press(self, keys: str) -> None:
        """Press keys."""
        os.write(self.end, keys.encode())

    def listen(self) -> None:
        """Take in what was told, and answer what was asked."""
        try:
            while chunk := os.read(self.end, 65536):
                self.screen.feed(chunk.decode("utf-8", "replace"))
        except OSError:  # nothing more for now, or the program has ended
            pass
        for question in self.screen.questions[self._asked :]:
            said = {"16t": "\x1b[6;20;9t", "c": "\x1b[?62;c"}.get(question, "\x1b_Gi=31;OK\x1b\\")
            self.press(said)
        self._asked = len(self.screen.questions)

    def until(self, true: Callable[[], object], what: str) -> None:
        """Wait until something is so."""
        for _ in range(3000):
            self.listen()
            if true():
                return
            time.sleep(0.02)
        raise AssertionError(f"Not in a minute: {what}")

    def close(self) -> None:
        """End the program, however it stands."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        os.close(self.end)


@quick_first("how", ["quits", "fails", "rests"], quick=0, long=2)
def test_nothing_is_left_behind(studio: Studio, job: str, how: str) -> None:
    window = Window(
        studio, *(["-c", _CRASH] if how == "fails" else ["-m", "burnplan", "workbench"])
    )
    screen = window.screen
    try:
        window.until(lambda: screen.shown, "the picture in the slip")
        window.press("\r")
        window.until(lambda: len(screen.images) > 1 and screen.shown, "the picture of the job")
        if how == "rests":
            window.process.send_signal(signal.SIGTSTP)
            window.until(lambda: screen.left_with, "the shell")
            assert screen.left_with == [0]
            window.process.send_signal(signal.SIGCONT)
            window.until(lambda: screen.alternate and screen.shown, "the picture again")
        else:
            window.press("\x11" if how == "quits" else "l")
            window.until(lambda: window.process.poll() is not None, "the end")
            window.listen()
            assert screen.left_with == [0]
            assert screen.shown == screen.images == {}
    finally:
        window.close()


@quick_first(
    "environment",
    [{"NO_COLOR": "1"}, {"BURNPLAN_PICTURES": "blocks"}, {"TMUX": "t,1,0"}],
    quick=0,
    long=1,
)
def test_no_graphics_command_comes_unasked(
    studio: Studio, job: str, environment: dict[str, str]
) -> None:
    window = Window(studio, "-m", "burnplan", "workbench", **environment)
    try:
        window.until(lambda: window.screen.alternate, "the workbench")
        window.press("2\r")
        until = time.monotonic() + 6
        window.until(lambda: time.monotonic() > until, "time for a picture")
        window.press("\x11")
        window.until(lambda: window.process.poll() is not None, "the end")
        window.listen()
        assert window.screen.received == 0
        assert all("a=q" not in question for question in window.screen.questions)
    finally:
        window.close()
