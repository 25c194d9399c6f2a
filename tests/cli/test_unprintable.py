"""What cannot be printed is said by every command that writes a page."""

from pathlib import Path

import pytest

from tests.cases import quick_first
from tests.cli.conftest import Run

TITLE = "Fox \U0001f98a"


@pytest.mark.usefixtures("no_other_fonts")
@quick_first(
    "command",
    [
        ("quote", "print", "C-0001", "--into", "out"),
        ("payment", "invoice", "C-0001", "--into", "out"),
        ("job-sheet", "C-0001", "out.pdf"),
        ("reference", "sheet", "C-0001", "--into", "out"),
        ("photo", "sheet", "C-0001", "out.png"),
        ("week", "out.pdf"),
        ("price-list", "20x20cm", "--save", "out.pdf"),
        ("ladder", "card", "L-0001", "out.pdf"),
    ],
    ids=lambda command: " ".join(command[:2]),
    quick=3,
)
def test_it_is_said(
    command: tuple[str, ...],
    burnplan: Run,
    photo: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    for told in (
        ("settings", f"name={TITLE}"),
        ("commission", "add", TITLE, "--size", "10x10cm", "--species", "basswood"),
        ("reference", "add", "C-0001", str(photo)),
        ("quote", "issue", "C-0001", "--hours", "3"),
        ("quote", "accept", "C-0001"),
        ("photo", "add", "C-0001", str(photo)),
        ("ladder", "add", "basswood", "--tip", TITLE, "--heat", "2,3", "--lightness", "70,50"),
        ("session", "plan", "C-0001", "friday 14:00", "2h"),
    ):
        assert burnplan(*told)[0] == 0, told
    code, out, err = burnplan(*command)
    assert code == 0, (out, err)
    assert "No font here can print \U0001f98a" in out + err
