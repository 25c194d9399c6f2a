"""Tables in a terminal too narrow for them: rows are stacked, and no word is cut to pieces."""

import re
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console
from rich.text import Text

from burnplan.cli.studio import demo as walk
from burnplan.show.console import THEME, table
from tests.conftest import new_terminal

TITLE = "Two cats on a windowsill, wedding gift"


def _printed(width: int, *rows: tuple[str, str, str, str]) -> list[str]:
    made = table("job", "+title", "stage", ">owed")
    for row in rows:
        made.add_row(*map(Text, row))
    made.caption = "owed by the newest quote"
    out = StringIO()
    Console(file=out, width=width, color_system=None, theme=THEME, force_terminal=True).print(made)
    return [line.rstrip() for line in out.getvalue().splitlines()]


def test_where_there_is_room_it_is_a_table() -> None:
    lines = _printed(80, ("C-0001", TITLE, "burning", "€20.00"))
    assert lines[0].split() == ["job", "title", "stage", "owed"]
    assert re.fullmatch(r"C-0001 +Two cats .*gift +burning +€20\.00", lines[2])


def test_where_there_is_none_rows_are_stacked() -> None:
    rows = ("C-0001", TITLE, "burning", "€20.00"), ("C-0002", "Old barn", "enquiry", "–")
    assert _printed(44, *rows) == [
        "C-0001",
        "  Two cats on a windowsill, wedding gift",
        "  stage burning  owed €20.00",
        "C-0002  Old barn",
        "  stage enquiry",
        "owed by the newest quote",
    ]
    assert _printed(30, *rows)[:4] == [
        "C-0001",
        "  Two cats on a windowsill,",
        "  wedding gift",
        "  stage burning  owed €20.00",
    ]


def test_a_row_keeps_its_style_and_sections_a_gap() -> None:
    made = table("size", ">detail 1", ">detail 2", ">detail 3")
    made.add_row("20 × 30 cm", "€312.08", "€370.96", "€438.38", style="bold", end_section=True)
    made.add_row("30 × 40 cm", "€527.17", "€637.11", "€760.34")
    out = StringIO()
    coloured = Console(
        file=out, width=30, theme=THEME, force_terminal=True, color_system="standard",
        highlight=False,
    )  # fmt: skip
    coloured.print(made)
    lines = out.getvalue().split("\n")
    assert lines[0] == "\x1b[1m20 × 30 cm\x1b[0m"
    last = lines.index("30 × 40 cm")
    assert all("\x1b[1" in line for line in lines[: last - 1])
    assert lines[last - 1] == ""


def test_in_a_pipe_a_row_is_a_line_however_long(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    made = table("job", "+title", "client")
    made.add_row("C-0001", TITLE * 3, "Petra")
    out = StringIO()
    Console(file=out, width=40, theme=THEME).print(made, crop=False)
    assert out.getvalue().split("\n")[2].split() == ["C-0001", *(TITLE * 3).split(), "Petra"]


words = st.text("abcdefghij€é", min_size=1, max_size=12)


@pytest.mark.long
@given(
    st.lists(st.tuples(words, st.lists(words, min_size=1, max_size=6), words, words), min_size=1),
    st.integers(30, 100),
)
def test_no_word_is_cut_and_no_line_is_too_long(
    rows: list[tuple[str, list[str], str, str]], width: int
) -> None:
    lines = _printed(width, *((a, " ".join(title), b, c) for a, title, b, c in rows))
    assert all(len(line) <= width for line in lines)
    found = " ".join(lines).split()
    for a, title, b, c in rows:
        for word in (a, *title, b, c):
            assert word in found


def test_a_rule_ends_where_a_line_does_not(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("COLUMNS")
    new_terminal()
    walk._chapter(1, "A commission comes in", "commission add")
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) == 100
