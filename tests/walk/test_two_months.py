"""Two months of a studio, lived through the commands, where inches and where centimetres rule.

After each step every surface gives the figures that the rows of the book give when they are
reckoned anew, and the money is what it is by hand.
"""

import json
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from burnplan.desk.jobs import review
from burnplan.desk.studio.studio import Studio
from burnplan.money import format_money
from burnplan.units import format_hours_range
from tests import books
from tests.conftest import FixedClock
from tests.desk import recomputed, surfaces
from tests.walk import scanning, studios
from tests.walk.studios import COUNTRIES, Country, Shown, Walker

PLACES = {
    "imperial": {"first": "8x10in", "wider": "10x10in", "blank": "9x12in", "sign": "12x4in"},
    "metric": {"first": "20x25cm", "wider": "25x25cm", "blank": "23x30cm", "sign": "30x10cm"},
}


@dataclass
class Life:
    """A studio that is lived in: each command is followed by a look at every surface."""

    studio: Studio
    clock: FixedClock
    walker: Walker
    story: list[str] = field(default_factory=list)

    def do(self, line: str) -> Shown:
        """Type a command, and hold all that is shown then to the rows."""
        shown = self.walker.walk(line.format(**PLACES[self.walker.country.own["units"]]))
        assert shown.code == 0, f"{line}: {shown.piped}"
        self.story.append(line)
        assert not list(scanning.wrong(shown, self.walker.country)), line
        surfaces.agree(self.studio, self.story)
        return shown

    def asked(self, line: str) -> Any:
        """Return what a command prints as JSON."""
        return json.loads(self.walker.walk(f"{line} --json").piped)

    def owed(self, code: str) -> Decimal:
        """Return what is owed, as every surface that says it has it."""
        found = Decimal(self.asked(f"commission show {code}")["balance"])
        listed = {one["code"]: one for one in self.asked("jobs")}
        if code in listed:
            assert Decimal(listed[code]["balance"]) == found
        return found

    def said_alike(self, code: str) -> str:
        """Return the hours left as they are said, the same on each surface in words."""
        (job,) = [one for one in review.review(self.studio) if one.code == code]
        said = format_hours_range(job.hours_left.p50, job.hours_left.p80)
        for line in ("jobs", "today", f"commission show {code}", f"promise {code}"):
            shown = self.walker.walk(line)
            assert said in " ".join(shown.piped.split()), line
        sheet = self.walker.folder / f"{code}.pdf"
        assert self.walker.walk(f"job-sheet {code} {sheet}").code == 0
        assert said in " ".join(PdfReader(sheet).pages[0].extract_text().split())
        return said


@pytest.fixture(params=COUNTRIES)
def life(
    request: pytest.FixtureRequest, empty_home: Path, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Any:  # fmt: skip
    country: Country = COUNTRIES[request.param]
    books.copy(empty_home, tmp_path / "home")
    clock = FixedClock()
    clock.now = datetime(2027, 3, 1, 9, tzinfo=UTC)
    studio = books.open_at(tmp_path / "home", clock)
    studios.settle_in(studio, country)
    yield Life(studio, clock, Walker(studio, country, tmp_path, monkeypatch))
    studio.close()


@pytest.mark.whole
def test_two_months(life: Life) -> None:
    country, money = life.walker.country, Decimal

    def amount(value: Decimal) -> str:
        """Return an amount as it is typed here."""
        return f"{value:.2f}".replace(".", "," if country.name == "de_DE" else ".")

    # A commission is priced, booked, and then wanted larger.
    life.do('client add "June Hale" --email june@example.org')
    life.do('commission add "Barn owl" --client "June Hale" --size {first} --species basswood'
            ' --due "in 6 weeks"')  # fmt: skip
    life.do("blank add basswood {first} --grit 150")
    life.do("blank add basswood {blank} --grit 220")
    life.do("blank add basswood {blank}")
    life.do("reference add C-0001 {{photo}} --zones 3 --no-pictures")
    life.do("blank hold B-0001 C-0001")
    life.do("quote issue C-0001 --round-to 5")
    life.do("quote accept C-0001")
    first = life.asked("quote show C-0001")
    deposit = money(first["deposit"])
    life.do(f"payment add C-0001 {amount(deposit)} --deposit")
    assert life.owed("C-0001") == money(first["total"]) - deposit
    life.said_alike("C-0001")

    life.clock.forward(days=3)
    life.do("blank release B-0001")
    life.do("commission edit C-0001 --size {wider}")
    assert life.asked("quote show C-0001")["outdated"]
    assert "another size" in life.walker.walk("jobs").piped
    assert life.owed("C-0001") == money(first["total"]) - deposit  # what was agreed stands
    life.do("quote issue C-0001 --round-to 5")
    life.do("quote accept C-0001")
    second = life.asked("quote show C-0001")
    assert money(second["total"]) > money(first["total"])
    assert life.owed("C-0001") == money(second["total"]) - deposit
    assert life.asked("commission show C-0001")["stage"] == "priced"  # more is to be paid down
    more = money(second["deposit"]) - deposit
    life.do(f"payment add C-0001 {amount(more)} --deposit")
    deposit += more

    # The blank is swapped for another, which is the size of the piece then.
    life.do("blank hold B-0002 C-0001 --reopen")
    assert life.asked("quote show C-0001")["outdated"]
    life.do("step tick C-0001 1 2 3")
    life.do("session enter C-0001 1h15 --work prepare")
    life.do("session enter C-0001 1h30 --work transfer")
    life.clock.forward(days=4)
    life.do("step tick C-0001 4-16")
    life.do("session begin C-0001 --zone 1")
    life.clock.forward(minutes=50)
    life.do("session break")
    life.clock.forward(minutes=20)
    life.do("session go-on")
    life.clock.forward(minutes=70)
    life.do("session end")
    hours = life.asked("session list C-0001")[0]["hours"]
    assert hours == pytest.approx(2.0)
    before = life.said_alike("C-0001")
    life.do('session correct 3 --length 1h30 --because "the phone rang"')
    assert life.asked("commission show C-0001")["hours_done"] == pytest.approx(1.25 + 1.5 + 1.5)

    # A second job has no photo: its hours are judged by eye, and count.
    life.do('commission add "Name sign" --client "Ole Brandt" --size {sign} --due "in 7 weeks"')
    life.do("quote issue C-0002 --hours 9")
    life.do("quote accept C-0002")
    judged = life.asked("quote show C-0002")
    sign = money(judged["total"])
    life.do(f"payment add C-0002 {amount(money(judged['deposit']))} --deposit")
    queue = {one["code"]: one for one in life.asked("promise")["queue"]}
    assert queue["C-0002"]["hours_left_p50"] == pytest.approx(9)
    assert life.said_alike("C-0002").startswith("9 h (50 %)")
    life.do("session enter C-0002 2h --work burn")
    life.said_alike("C-0002")
    assert life.asked("commission show C-0002")["hours_left"]["p50"] == pytest.approx(7, rel=0.02)
    life.do('session correct 5 --job C-0001 --because "it was the owl"')
    assert life.said_alike("C-0002").startswith("9 h (50 %)")
    assert life.asked("commission show C-0001")["hours_done"] == pytest.approx(6.25)
    life.do('session remove 6 --because "never was"')
    assert life.asked("commission show C-0001")["hours_done"] == pytest.approx(4.25)

    # The owl is scorched, and begun again: what was done is to do again, its hours stay.
    life.clock.forward(days=5)
    life.do('commission restart C-0001 --blank B-0003 --because "scorched"')
    begun = life.asked("commission show C-0001")
    assert begun["hours_done"] == 0
    assert begun["spoiled"][0]["hours"] == pytest.approx(4.25)
    assert life.said_alike("C-0001") != before
    assert begun["stage"] == "booked"

    # A third is dropped; its deposit is kept.
    life.do('commission add "Fox" --client "June Hale" --size {first} --species basswood')
    life.do("reference add C-0003 {{photo}} --zones 3 --no-pictures")
    life.do("quote issue C-0003 --round-to 5")
    life.do("quote accept C-0003")
    kept = money(life.asked("quote show C-0003")["deposit"])
    life.do(f"payment add C-0003 {amount(kept)} --deposit")
    life.clock.forward(days=6)
    life.do('commission drop C-0003 --because "moved away" --owed deposit --yes')
    assert life.owed("C-0003") == 0
    assert "C-0003" not in life.walker.walk("jobs").piped
    invoice = life.walker.walk("payment invoice C-0003 --text").piped
    due = format_money(kept, country.own["currency"], country.own["locale"])
    assert due.replace("\N{NO-BREAK SPACE}", " ") in invoice

    # Both others are made and handed over; one balance comes in, one is written off.
    for code, line in (("C-0001", "burn --zone 1"), ("C-0002", "burn")):
        life.clock.forward(days=7)
        life.do(f"session enter {code} 3h --work {line}")
        steps = len(life.asked(f"step list {code}")["steps"])
        life.do(f"step tick {code} 1-{steps - 1}")
        life.do(f"commission deliver {code} --yes")
        assert life.owed(code) > 0
        assert code in life.walker.walk("jobs").piped
    rest = life.owed("C-0001")
    assert rest == money(second["total"]) - deposit
    life.clock.forward(days=14)
    life.do(f"payment add C-0001 {amount(rest)}")
    assert "C-0001" not in life.walker.walk("jobs").piped
    assert life.owed("C-0002") == sign - money(judged["deposit"])
    life.do('payment write-off C-0002 --because "cannot be found"')
    assert "C-0002" not in life.walker.walk("jobs").piped
    earned = {one["name"].split("  ")[0]: one for one in life.asked("earnings")["jobs"]}
    assert len(earned) == 2
    assert recomputed.open_jobs(life.studio) == {}
    assert (life.studio.today() - datetime(2027, 3, 1, tzinfo=UTC).date()).days > 45
