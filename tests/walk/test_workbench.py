"""The workbench's pages and forms in an inch studio and a metric one: what each part says.

Each part's own lines are read, so that what stands beside it breaks nothing.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.widgets import Input, Static

from burnplan.workbench import laying_panel
from burnplan.workbench.listing import Listing
from tests import books
from tests.walk import scanning, studios
from tests.walk.studios import COUNTRIES
from tests.workbench.conftest import _wait_for_nothing_else  # noqa: F401  as its own tests wait
from tests.workbench.hand import Hand, at_work

JOBS = ("C-0004", "C-0005", "C-0006", "C-0009", "C-0011", "C-0012")
# Of forms: the key, on which page; escape leaves each.
FORMS = (("1", "n"), ("3", "b"))
ON_A_JOB = ("e", "i", "g", "w", "r")


def _parts(hand: Hand) -> Iterator[tuple[str, str, str]]:
    """Yield each part that is seen: its name, what it is to say, and its lines as drawn."""
    for part in hand.app.screen.query("*"):
        if not part.is_on_screen or not part.size.width:
            continue
        if isinstance(part, Listing) and part.id:
            lines = "\n".join(hand.lines(f"#{part.id}"))
            yield part.id, lines, lines
        if part.children:
            continue
        lines = "\n".join(part.render_line(y).text for y in range(part.size.height))
        whole = lines
        if isinstance(part, Static):
            whole = str(part.content)
        elif isinstance(part, Input):
            whole = f"{part.placeholder} {part.value}"
        yield part.id or type(part).__name__, whole, lines


@pytest.mark.parametrize(("name", "width"), [("en_US", 80), ("de_DE", 120)])
@pytest.mark.whole
def test_every_page_in(name: str, width: int, filled: Path, tmp_path: Path) -> None:
    country = COUNTRIES[name]
    books.copy(filled, tmp_path / "home")
    studio, _ = studios.open_at(tmp_path / "home")
    studios.fill(studio, country)
    wrong: list[str] = []
    seen: set[str] = set()
    dates = (scanning.ISO_DATE, re.compile(r"(?<![\w.,])0\d [A-Z][a-z]{2}\b"))

    def look(hand: Hand, where: str) -> None:
        for part, whole, lines in _parts(hand):
            seen.add(part)
            typed = where.startswith("form")  # dates are typed, and shown to be typed again
            patterns = (*scanning.FOREIGN[country.name], *(() if typed else dates))
            wrong.extend(f"{where} {part}: {one}" for one in scanning.found(patterns, whole))
            wrong.extend(
                f"{where} {part} is broken: {one}" for one in scanning.broken_on_paper(lines)
            )
            cut = re.findall(r"\S*\d…", scanning.own_words(lines))
            wrong.extend(f"{where} {part} is cut: {one}" for one in cut)

    async def desk(hand: Hand) -> None:
        for page in "123456":
            await hand.press(page)
            look(hand, f"page {page}")
        for page, key in FORMS:
            await hand.press(page, key)
            look(hand, f"form {key} on page {page}")
            await hand.press("escape")
        for code in JOBS:
            hand.app.open_job(code)
            await hand.settle()
            look(hand, code)
            for _ in range(2):
                await hand.press("f")
                look(hand, f"{code}, more facts")
        hand.app.open_job("C-0009")
        await hand.settle()
        for key in ON_A_JOB:
            await hand.press(key)
            look(hand, f"form {key} on a job")
            await hand.press("escape")
        hand.app.open_job("C-0005")
        await hand.settle()
        # The laying-out table, with each value in hand and each kind of mark.
        await hand.press("y")
        assert hand.app.page_name == "laying"
        for key in (*laying_panel.LETTERS.values(), "v", "o", "enter"):
            await hand.press(key)
            look(hand, f"form {key} at the laying-out table" if key == "enter"
                 else f"laying out, {key}")  # fmt: skip
        await hand.press("escape", "question_mark")
        look(hand, "keys of the laying-out table")
        await hand.press("escape", "escape", "down", "enter")
        assert hand.app.page_name == "job", "left as it was planned"
        await hand.press("c", "b")
        look(hand, "burning")

    at_work(studio, desk, size=(width, 40))
    studio.close()
    assert {"jobs-list", "zones", "tried", "preview", "Values", "laying-head"} <= seen
    assert not wrong, "\n".join(dict.fromkeys(wrong))
