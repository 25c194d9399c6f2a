"""Pictures in the terminal's own dots: told as sixels, laid over cells, gone with them."""

import asyncio
import fcntl
import os
import pty
import re
import select
import struct
import sys
import termios
import threading
import time
import tty
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

import numpy as np
import pytest
from numpy.typing import NDArray
from textual.widget import Widget

from burnplan.desk.jobs import commissions, references, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.reckon.checklist import Phase
from burnplan.workbench import board, kitty, sixels, terminal
from burnplan.workbench.dots import THROUGH, Dots
from burnplan.workbench.gather import Shapes
from burnplan.workbench.terminal import Cell, Terminal, Way
from tests.conftest import FixedClock
from tests.workbench.hand import Hand, at_work, settle_phases

SIZE, CELL = (120, 40), Cell(10, 20)


def read(told: str) -> NDArray[np.uint8]:
    """Return what a terminal paints, shape (height, width, 4), by its own rules.

    DEC, VT330/VT340 Programmer Reference Manual, volume 2, chapter 14: a character from ? to ~
    is six dots, the lowest bit above; ! repeats, $ goes back to the left, - to the next band,
    # chooses a colour or, with 2, gives it red, green and blue in per cent.
    """
    start = re.match(r'\x1bP0;1;0q"1;1;(\d+);(\d+)', told)
    assert start
    assert told.endswith("\x1b\\")
    width, height = int(start[1]), int(start[2])
    found = np.zeros((height + 6, width, 4), np.uint8)
    colours: dict[int, tuple[int, ...]] = {}
    x = y = colour = 0
    orders = re.findall(r"#[\d;]+|!\d+.|[?-~]|[$-]", told[start.end() : -2])
    assert "".join(orders) == told[start.end() : -2]
    for order in orders:
        if order == "$":
            x = 0
        elif order == "-":
            x, y = 0, y + 6
        elif order[0] == "#":
            colour, *rest = map(int, order[1:].split(";"))
            if rest:
                assert rest[0] == 2
                colours[colour] = tuple(round(one * 2.55) for one in rest[1:])
        else:
            many, letter = (int(order[1:-1]), order[-1]) if order[0] == "!" else (1, order)
            for bit in range(6):
                if (ord(letter) - 63) >> bit & 1:
                    found[y + bit, x : x + many] = (*colours[colour], 255)
            x += many
    return found[:height]


@pytest.mark.parametrize("size", [(1, 1), (6, 9), (17, 40)])
def test_what_is_told_is_what_is_painted(size: tuple[int, int]) -> None:
    random = np.random.default_rng(3)
    numbers = random.choice(np.array([0, 1, 2, 7, THROUGH], np.uint8), size)
    numbers[:, size[1] // 2 :] = numbers[:1, :1]  # runs
    colours = random.integers(0, 256, (8, 3)).astype(np.uint8)
    painted = read(sixels.drawn(Dots(numbers, colours)))
    assert painted.shape[:2] == size
    assert ((painted[..., 3] > 0) == (numbers != THROUGH)).all()
    wanted = colours[np.where(numbers == THROUGH, 0, numbers)].astype(int)
    off = np.abs(painted[..., :3].astype(int) - wanted)[numbers != THROUGH]
    assert off.size == 0 or off.max() <= 2  # colours are told in whole per cent


class Seat:
    """A terminal that the program sits at, and what it says of itself when it is asked."""

    CELL = rb"\x1b\[16t", b"\x1b[6;20;10t"
    GRAPHICS = rb"\x1b_Gi=31,s=1,v=1,a=q,t=d,f=24;AAAA\x1b\\", b"\x1b_Gi=31;OK\x1b\\"
    SIXELS, NO_SIXELS = ((rb"\x1b\[c", says) for says in (b"\x1b[?63;1;2;4;22c", b"\x1b[?62;22c"))

    def __init__(self, end: BinaryIO) -> None:
        self.end, self.told = end, b""

    @contextmanager
    def says(self, *answers: tuple[bytes, bytes]) -> Iterator[None]:
        """Answer so meanwhile, each as soon as it is asked, in the order of the questions."""
        self.told, done = b"", threading.Event()

        def listen() -> None:
            asked = 0
            while not done.is_set():
                if select.select([self.end], [], [], 0.01)[0]:
                    self.told += os.read(self.end.fileno(), 1000)
                    found = sorted(
                        (question.end(), said)
                        for pattern, said in answers
                        for question in re.finditer(pattern, self.told)
                    )
                    for _, said in found[asked:]:
                        self.end.write(said)
                    asked = len(found)

        thread = threading.Thread(target=listen)
        thread.start()
        try:
            yield
        finally:
            time.sleep(0.05)  # what was told last comes too
            done.set()
            thread.join()


@pytest.fixture
def seat(monkeypatch: pytest.MonkeyPatch) -> Iterator[Seat]:
    ours, theirs = pty.openpty()
    tty.setraw(theirs)
    with os.fdopen(ours, "r+b", buffering=0) as other, os.fdopen(theirs, "r+b", buffering=0) as end:
        for name in ("__stdin__", "__stdout__"):
            monkeypatch.setattr(sys, name, end)
        for name in ("BURNPLAN_PICTURES", "NO_COLOR", "TMUX", "STY"):
            monkeypatch.delenv(name, raising=False)
        monkeypatch.setenv("TERM", "xterm-256color")
        yield Seat(other)


def end_of_program() -> int:
    """Return where the program reads."""
    assert sys.__stdin__ is not None
    return sys.__stdin__.fileno()


@pytest.mark.parametrize(
    ("wish", "answers", "way"),
    [
        ("", [Seat.CELL, Seat.SIXELS], Way.SIXELS),
        ("", [Seat.CELL, Seat.NO_SIXELS], None),
        ("", [Seat.SIXELS], None),  # a cell of no known size
        ("", [Seat.CELL, Seat.GRAPHICS, Seat.NO_SIXELS], Way.KITTY),
        ("", [Seat.CELL, Seat.GRAPHICS, Seat.SIXELS], Way.KITTY),
        ("sixel", [Seat.CELL, Seat.GRAPHICS, Seat.NO_SIXELS], Way.SIXELS),
        ("kitty", [Seat.CELL, Seat.NO_SIXELS], Way.KITTY),
    ],
)
def test_a_terminal_is_asked_what_it_draws(
    seat: Seat,
    monkeypatch: pytest.MonkeyPatch,
    wish: str,
    answers: list[tuple[bytes, bytes]],
    way: Way | None,
) -> None:
    monkeypatch.setenv("BURNPLAN_PICTURES", wish)
    with seat.says(*answers):
        found = terminal.at_hand()
    assert found == Terminal(way, CELL if Seat.CELL in answers else None)
    # All that it was told is a question, the last one that for its attributes.
    both = kitty.QUESTION + b"\x1b[c" if not wish else b""
    assert seat.told == b"\x1b[16t\x1b[c" + both


def test_a_terminal_that_keeps_silent_has_blocks(
    seat: Seat, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(terminal, "_SECONDS", 0.2)
    before = termios.tcgetattr(end_of_program())
    with seat.says():
        assert terminal.at_hand() == Terminal()
    assert seat.told == b"\x1b[16t\x1b[c"
    assert termios.tcgetattr(end_of_program()) == before


@pytest.mark.parametrize("wish", ["blocks", "no", "NO_COLOR", "pipe"])
def test_nothing_is_asked_where_it_is_said_or_nobody_sits(
    seat: Seat, monkeypatch: pytest.MonkeyPatch, wish: str
) -> None:
    with Path(os.devnull).open() as pipe:
        if wish == "pipe":
            monkeypatch.setattr(sys, "__stdin__", pipe)
        elif wish == "NO_COLOR":
            monkeypatch.setenv(wish, "1")
        else:
            monkeypatch.setenv("BURNPLAN_PICTURES", wish)
        fcntl.ioctl(seat.end.fileno(), termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 720, 480))
        with seat.says(Seat.CELL, Seat.GRAPHICS, Seat.SIXELS):
            # The window says the size of its cells without a word.
            assert terminal.at_hand() == Terminal(None, Cell(9, 20))
    assert seat.told == b""


@pytest.mark.parametrize("wish", ["", "kitty"])
@pytest.mark.parametrize("between", [("TMUX", "t,1,0"), ("STY", "1.x"), ("TERM", "linux")])
def test_no_graphics_command_goes_where_it_is_not_passed_on(
    seat: Seat, monkeypatch: pytest.MonkeyPatch, between: tuple[str, str], wish: str
) -> None:
    monkeypatch.setenv(*between)
    monkeypatch.setenv("BURNPLAN_PICTURES", wish)
    with seat.says(Seat.CELL, Seat.GRAPHICS, Seat.SIXELS):
        found = terminal.at_hand()
    assert found.way is (None if wish else Way.SIXELS)
    assert b"\x1b_" not in seat.told


class Told:
    """What the terminal is told beside the cells: where each picture is laid, and its size."""

    def __init__(self, hand: Hand, cell: Cell | None = CELL) -> None:
        self.pictures: list[tuple[int, int, int, int]] = []
        driver = hand.app._driver
        assert driver is not None
        driver.write = self._note  # type: ignore[method-assign, assignment]
        hand.app.terminal = Terminal(Way.SIXELS if cell else None, cell)

    def _note(self, text: str) -> None:
        laid = re.match(r'\x1b7\x1b\[(\d+);(\d+)H\x1bP0;1;0q"1;1;(\d+);(\d+)', text)
        if laid:
            assert text.endswith("\x1b\\\x1b8")
            row, column, width, height = map(int, laid.groups())
            self.pictures.append((column - 1, row - 1, width, height))

    def take(self) -> list[tuple[int, int, int, int]]:
        """Return them, and begin anew."""
        taken, self.pictures = self.pictures, []
        return taken


@pytest.fixture
def job(studio: Studio, photo: Path) -> str:
    code = commissions.add(studio, Wishes(title="Biscuit", size="16x12cm", species="basswood")).code
    references.add(studio, code, photo, zones=3)
    return code


def test_a_picture_is_laid_over_its_cells_and_moves_with_them(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        told = Told(hand)
        hand.app.open_job(job)
        await hand.settle()
        picture = hand.app.job_page.query_one("#picture")
        laid = told.take()[-1]
        assert laid[:2] == picture.content_region.offset
        assert laid[2] % 10 == laid[3] % 20 == 0
        assert laid[2] / laid[3] == pytest.approx(16 / 12, rel=0.05)
        facts = hand.app.job_page.query_one("#facts")
        facts.scroll_to(y=3, animate=False)
        await hand.settle()
        assert facts.scroll_y == 3
        moved = told.take()[-1]
        assert moved[1] == facts.region.y
        assert moved[3] == laid[3] - 20 * (facts.region.y - picture.region.y)

    at_work(studio, desk, (120, 24))


@pytest.mark.long
def test_nothing_is_laid_over_what_covers_a_picture(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        told = Told(hand)
        hand.app.open_job(job)
        await hand.settle()
        assert told.take()
        await hand.press("question_mark")
        assert len(hand.app.screen_stack) == 2
        assert not told.take()
        await hand.press("escape")
        assert told.take()
        hand.app.say("Said in passing, over the picture\n" * 5)
        await hand.settle()
        assert not told.take()
        hand.app.clear_notifications()
        await hand.settle()
        assert told.take()
        await hand.press("2")  # the list has no slip's picture yet, or one of its own
        place = hand.app.job_page.query_one("#picture").region
        assert all(one[:2] != place.offset for one in told.take())

    at_work(studio, desk, SIZE)


@pytest.mark.long
@pytest.mark.parametrize("letters", [True, False])
def test_no_sixels_without_colour_or_where_the_terminal_has_none(
    studio: Studio, job: str, monkeypatch: pytest.MonkeyPatch, *, letters: bool
) -> None:
    if letters:
        monkeypatch.setenv("NO_COLOR", "1")

    async def desk(hand: Hand) -> None:
        told = Told(hand, Cell(10, 20) if letters else None)
        hand.app.open_job(job)
        await hand.settle()
        await hand.press("y")
        assert not told.take()

    at_work(studio, desk, SIZE)


@pytest.mark.long
def test_the_table_and_what_is_burned_are_laid(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        told = Told(hand)
        hand.app.open_job(job)
        await hand.settle()
        await hand.press("y")
        top = hand.app.laying_page.query_one("Top")
        size = (top.content_size.width * 10, top.content_size.height * 20)
        assert told.take()[-1] == (*top.content_region.offset, *size)
        await hand.press("right")
        assert told.take()[-1] == (*top.content_region.offset, *size)
        await hand.press("escape")
        await hand.press("down", "enter")  # the plan stays as it was
        hand.app.open_burning(job)
        await hand.settle()
        column, row, width, height = told.take()[-1]
        assert row >= hand.app.burning_page.region.y + 2
        assert width / height == pytest.approx(16 / 12, rel=0.05)
        assert column + width // 10 < SIZE[0] - 30  # beside the clock, not over it

    at_work(studio, desk, SIZE)


@pytest.mark.long
def test_a_minute_that_passes_leaves_the_picture_alone(
    studio: Studio, job: str, clock: FixedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Pages that are made while nobody presses a key lay all of the screen out anew, once.
    monkeypatch.setattr("burnplan.workbench.app.QUIET_SECONDS", 3600.0)

    async def desk(hand: Hand) -> None:
        told = Told(hand)
        hand.app.open_job(job)
        await hand.settle()
        settle_phases(studio, job, Phase.PREPARE, Phase.TRANSFER)
        sessions.start(studio, job, sessions.Doing(work="burn", zone=1))
        hand.app.open_burning(job)
        await hand.settle()
        assert told.take()
        page = hand.app.burning_page.query_one("Lines", Widget)
        for _ in range(3):
            before = page.render_line(0).text
            clock.forward(minutes=1)
            await hand.app._each_second()
            await hand.settle()
            assert page.render_line(0).text != before  # the time on the wall
        assert told.take() == []
        await hand.press("enter", "enter")  # the next zone has another picture
        assert told.take()

    at_work(studio, desk, SIZE)


@pytest.mark.long
def test_a_question_asked_while_a_picture_is_drawn_stays_whole(
    studio: Studio, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def desk(hand: Hand) -> None:
        told = Told(hand)
        hand.app.open_job(job)
        await hand.settle()
        assert told.take()
        begun, go_on, drawn = threading.Event(), threading.Event(), sixels.drawn

        def slowly(dots: Dots) -> str:
            begun.set()
            go_on.wait(10)
            return drawn(dots)

        monkeypatch.setattr(sixels, "drawn", slowly)
        hand.app.job_page.query_one("#picture").refresh()
        while not begun.is_set():
            await asyncio.sleep(0.01)
        await hand.pilot.press("question_mark")
        assert len(hand.app.screen_stack) == 2
        go_on.set()
        await hand.settle()
        assert told.take() == []

    at_work(studio, desk, SIZE)


def test_ticks_in_dots_lie_in_the_zone_along_its_strokes() -> None:
    labels = np.ones((40, 60), np.uint8)
    labels[:, 30:] = 2
    ways = [(0.25, 0.5, 0.0), (0.75, 0.5, 0.0)]  # from left to right, one in each zone
    shapes = Shapes(labels, {1: "#302010", 2: "#c0a080"}, ways)
    inks = [(0, 0, 0), (40, 40, 40), (80, 80, 80), (255, 255, 255)]
    found = board.in_dots(shapes, 1, (30, 10), inks, (300, 200)).numbers
    assert {*np.unique(found[:, :145])} == {0, 3}  # the zone, and strokes in it
    assert (found[:, 155:] == 1).all()  # wood that belongs to another
    rows, columns = np.nonzero(found[:, :145] == 0)
    assert abs(rows.mean() - 100) <= 2
    assert abs(columns.mean() - 75) <= 2
    assert columns.max() - columns.min() > 4 * (rows.max() - rows.min())
