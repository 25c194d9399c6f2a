"""What the terminal draws pictures with, and the size of its cells: it is asked, once."""

import os
import re
import sys
import time
from contextlib import suppress
from enum import Enum
from typing import NamedTuple

from burnplan.workbench import kitty

# The size of a cell, which many terminals answer (xterm's control sequences), and primary device
# attributes, which every terminal does: 4 is sixels (DEC STD 070).
_CELL_ASKED, _ATTRIBUTES_ASKED = b"\x1b[16t", b"\x1b[c"
_ATTRIBUTES = re.compile(rb"\x1b\[\?(\d+(?:;\d*)*)c")
_CELL = re.compile(rb"\x1b\[6;(\d+);(\d+)t")
# So long a terminal may take to answer, over a slow line too (our own choice). What has answered
# once is given longer: an answer that came later would be read as keys.
_SECONDS, _SECONDS_AGAIN = 0.5, 5.0


class Way(Enum):
    """How a terminal draws pictures in its own dots."""

    KITTY = "kitty"
    SIXELS = "sixel"


class Cell(NamedTuple):
    """The size of a cell of the terminal, px."""

    width: int
    height: int


class Terminal(NamedTuple):
    """How a terminal draws pictures, and the size of its cells; None for what it did not say."""

    way: Way | None = None
    cell: Cell | None = None

    @property
    def aspect(self) -> float:
        """How many times as high as wide a cell is; 2 where it is not known, as in most faces."""
        return self.cell.height / self.cell.width if self.cell else 2.0


def at_hand() -> Terminal:
    """Return the terminal that the program sits at.

    It is asked only where both ends are a terminal that shows colours, before anything is drawn
    there. ``BURNPLAN_PICTURES`` decides it: ``blocks``, or ``kitty`` or ``sixel`` without the
    question whether.
    """
    wish = os.environ.get("BURNPLAN_PICTURES", "").strip().lower()
    asked = {"": [*Way], "kitty": [Way.KITTY], "sixel": [Way.SIXELS]}.get(wish, [])
    reads, writes = sys.__stdin__, sys.__stdout__
    if not _is_the_terminals_own():
        asked = [way for way in asked if way is not Way.KITTY]
    if (
        not asked or os.environ.get("NO_COLOR")
        or not (reads and writes and reads.isatty() and writes.isatty())
    ):  # fmt: skip
        return Terminal(None, cell_now())
    answer = b""
    with suppress(ImportError, OSError, ValueError):
        ends = reads.fileno(), writes.fileno()
        answer = _answer(*ends, _CELL_ASKED, _SECONDS)
        if wish == "" and Way.KITTY in asked and _ATTRIBUTES.search(answer):
            answer += _answer(*ends, kitty.QUESTION, _SECONDS_AGAIN)
    said = {Way.KITTY: kitty.understood(answer), Way.SIXELS: draws_sixels(answer)}
    cell = cell_in(answer) or cell_now()
    way = next((one for one in asked if wish or said[one]), None)
    return Terminal(way if cell else None, cell)


def _is_the_terminals_own() -> bool:
    """Return whether what is written reaches the terminal as it is.

    tmux and GNU screen take a graphics command for a title and pass none on; the console of Linux
    may print it.
    """
    term = os.environ.get("TERM", "")
    return not (
        os.environ.get("TMUX") or os.environ.get("STY")
        or term.startswith(("tmux", "screen", "linux", "dumb"))
    )  # fmt: skip


def draws_sixels(answer: bytes) -> bool:
    r"""Return whether a terminal's answer says that it draws sixels.

    Examples
    --------
    >>> draws_sixels(b"\x1b[?63;1;2;4;6c"), draws_sixels(b"\x1b[?4;1c"), draws_sixels(b"")
    (True, False, False)
    """
    found = _ATTRIBUTES.search(answer)
    return found is not None and b"4" in found[1].split(b";")[1:]


def cell_in(answer: bytes) -> Cell | None:
    r"""Return the size of a cell that a terminal's answer tells.

    Examples
    --------
    >>> cell_in(b"\x1b[6;20;10t\x1b[?63;4c")
    Cell(width=10, height=20)
    """
    found = _CELL.search(answer)
    return _sound(int(found[2]), int(found[1])) if found else None


def cell_now() -> Cell | None:
    """Return the size of a cell as the terminal's window has it now; None where it is not told."""
    with suppress(ImportError, OSError, ValueError):
        import fcntl
        import struct
        import termios

        window = sys.__stdout__ or sys.stdout
        told = fcntl.ioctl(window.fileno(), termios.TIOCGWINSZ, bytes(8))
        rows, columns, across, down = struct.unpack("HHHH", told)
        if rows and columns:
            return _sound(across // columns, down // rows)
    return None


def _sound(width: int, height: int) -> Cell | None:
    """Return a cell, unless no face of a terminal is like that (a guess)."""
    sound = 4 <= width <= 100 and width <= height <= 4 * width
    return Cell(width, height) if sound else None


def _answer(reads: int, writes: int, question: bytes, seconds: float) -> bytes:
    """Return what a terminal says to a question and its attributes, as far as it is in time."""
    import select
    import termios
    import tty

    before, answer, until = termios.tcgetattr(reads), b"", time.monotonic() + seconds
    tty.setcbreak(reads, termios.TCSANOW)
    try:
        os.write(writes, question + _ATTRIBUTES_ASKED)
        while not _ATTRIBUTES.search(answer):
            if not select.select([reads], [], [], max(0.0, until - time.monotonic()))[0]:
                break
            answer += os.read(reads, 1024)
    finally:
        termios.tcsetattr(reads, termios.TCSANOW, before)
    return answer
