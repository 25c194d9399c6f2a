"""Filled studios of two countries, and what their commands show at every width.

A command is done once. What it prints is kept and drawn anew for a terminal of each width, and
for a pipe.
"""

import io
import os
import shlex
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from rich.console import Console

from burnplan.cli import usage
from burnplan.cli.app import run
from burnplan.desk import demo
from burnplan.desk.jobs import clients, commissions, references, sessions
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.show.console import THEME, ShownConsole
from tests import books
from tests.conftest import FixedClock
from tests.walk.lines import SIZES

WIDTHS = (60, 80, 100)

LONG = "The two grandmothers with all eleven grandchildren under the chestnut at Whitsun"
LONG_CLIENT = "Konstantin Hohenstauffen-Weikersheim und Schaumburg"
SAME_LETTERS = "Grey heron and gray wolf, colour and color, 30 × 40 cm or 12 in"
SOURCE = "measured with a colorimeter, 21 °C"
TYPED = (LONG, LONG_CLIENT, SAME_LETTERS, SOURCE)
"""What the users typed, in whatever spelling and units: it is shown as it is."""


class Country(NamedTuple):
    """Where a studio is: its settings, and how sizes are typed there."""

    name: str
    own: dict[str, str]

    @property
    def sizes(self) -> dict[str, str]:
        """What stands for the sizes in lines of commands."""
        return SIZES[self.own["units"]]


COUNTRIES = {
    "en_US": Country(
        "en_US",
        {"units": "imperial", "locale": "en_US", "currency": "USD", "paper": "letter"},
    ),
    "de_DE": Country(
        "de_DE", {"units": "metric", "locale": "de_DE", "currency": "EUR", "paper": "a4"}
    ),
}


def open_at(home: Path) -> tuple[Studio, demo.DemoClock]:
    """Open a home on the clock that its book was made by."""
    clock = demo.DemoClock(FixedClock().now)
    return books.open_at(home, clock), clock


def settle_in(studio: Studio, country: Country) -> None:
    """Move a studio to a country."""
    own = settings.current(studio)
    for name, value in country.own.items():
        own = settings.parsed(own, name, value)
    settings.save(studio, own)


def fill(studio: Studio, country: Country) -> None:
    """Move the invented studio to a country, and add what is long."""
    settle_in(studio, country)
    size = country.sizes["size"]
    comma = country.name == "de_DE"
    clients.add(studio, LONG_CLIENT, clients.ClientDetails(email="k@example.org"))
    wishes = commissions.Wishes(
        title=LONG, client=LONG_CLIENT, size=size, species="basswood",
        due=studio.today() + timedelta(days=70),
    )  # fmt: skip
    code = commissions.add(studio, wishes).code
    assert code == "C-0012"
    references.add(studio, code, demo.sample(demo.PHOTO), zones=5)
    price = "48250,75" if comma else "48250.75"
    quotes.issue(studio, code, quotes.QuoteRequest(price=price, instalments=["30% transferred"]))
    accepting.accept(studio, code)
    paid = "19300,30" if comma else "19300.30"
    payments.take(studio, code, paid, "deposit", method="bank transfer")
    sessions.log(studio, code, timedelta(hours=2.5), sessions.Doing(work="prepare", note=LONG))
    commissions.add(studio, commissions.Wishes(title=SAME_LETTERS, client=LONG_CLIENT))


@dataclass
class Shown:
    """What a command showed: as it is for a program that reads it, and on each terminal."""

    line: str
    code: int
    piped: str
    # The same, in a pipe of a terminal that is as narrow as any.
    piped_elsewhere: str
    at: dict[int, str] = field(default_factory=dict)


class _Terminal(io.StringIO):
    """Standard error of somebody who reads it."""

    def isatty(self) -> bool:
        return True

    def fileno(self) -> int:
        return 2


class _Drawn(ShownConsole):
    print = Console.print


class Walker:
    """Types commands in a studio, and draws what they show at every width."""

    def __init__(
        self, studio: Studio, country: Country, folder: Path, patch: pytest.MonkeyPatch
    ) -> None:
        self.studio, self.country, self.folder, self._patch = studio, country, folder, patch
        self._kept: list[tuple[tuple[Any, ...], dict[str, Any]]] = []
        self._width = 80
        patch.setattr(
            ShownConsole, "print", lambda _self, *shown, **how: self._kept.append((shown, how))
        )
        patch.setattr(os, "get_terminal_size", lambda *_: os.terminal_size((self._width, 24)))
        patch.delenv("COLUMNS", raising=False)

    def words(self, line: str) -> list[str]:
        """Return a line of a command as its words, with what its braces stand for."""
        named = {
            "photo": demo.sample(demo.PHOTO), "past": demo.sample(demo.PAST_JOBS),
            "dir": self.folder, "long": "C-0012", "long_client": shlex.quote(LONG_CLIENT),
        }  # fmt: skip
        return shlex.split(line.format(**self.country.sizes, **named))

    def walk(self, line: str) -> Shown:
        """Type a command, and return what it shows."""
        self._kept.clear()
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            code = run(self.words(line), self.studio)
        wrote, complained = out.getvalue(), err.getvalue()
        piped = self._drawn(None) + wrote + complained
        at = {}
        for width in WIDTHS:
            self._width, terminal = width, _Terminal()
            with redirect_stderr(terminal):
                for one in complained.splitlines():
                    usage.say_plainly(one)
            at[width] = self._drawn(width) + wrote + terminal.getvalue()
        elsewhere = self._drawn(None, 40) + wrote + complained
        return Shown(line, code, piped, elsewhere, at)

    def _drawn(self, width: int | None, of: int = 80) -> str:
        """Draw what was shown on a terminal, or for a pipe on one that is so wide."""
        out = io.StringIO()
        drawn = _Drawn(
            file=out, width=width or of, force_terminal=width is not None, color_system=None,
            theme=THEME, highlight=False, emoji=False,
        )  # fmt: skip
        for shown, how in self._kept:
            drawn.print(*shown, **how)
        return out.getvalue()
