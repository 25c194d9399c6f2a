"""What must not be burned, as a user types it: every command says so first, or stops."""

from pathlib import Path

import pytest
from PIL import Image

from tests.cases import quick_first
from tests.cli.conftest import Run

NAMES = ["MDF", "pine, treated", "pine (treated)", "Taxus baccata", "laquered board", "epoxy"]


@pytest.fixture
def small_photo(tmp_path: Path) -> Path:
    """A photo that is soon read: what is in it does not matter here."""
    Image.linear_gradient("L").save(tmp_path / "small.png")
    return tmp_path / "small.png"


@quick_first("name", NAMES)
def test_each_command_stops_or_says_so_first(burnplan: Run, small_photo: Path, name: str) -> None:
    assert burnplan("settings", "currency=USD")[0] == 0
    said = [
        ("commission", "add", "Fox", "--size", "20x15cm", "--species", name),
        ("estimate", "--size", "20x15cm", "--species", name, "--dark", "3"),
        ("price-list", "--species", name),
        ("blank", "add", name, "20x15cm"),
        ("reference", "add", "C-0001", str(small_photo), "--zones", "3", "--no-pictures"),
        ("reference", "plan", "C-0001", "--zones", "4", "--no-pictures"),
        ("quote", "draft", "C-0001"),
        ("whatif", "C-0001", "--size", "10x10cm"),
        ("whatif", "C-0001", "--species", name),
        ("promise", "C-0001"),
        ("session", "begin", "C-0001", "--work", "prepare"),
    ]
    for words in said:
        code, out, err = burnplan(*words)
        assert code == 0, (words, err)
        told = " ".join((out + err).split())
        assert "ust not be burned" in told or "do not sand" in told, words
    burnplan("session", "end")
    stopped = [
        ("session", "begin", "C-0001", "--work", "burn"),
        ("session", "enter", "C-0001", "1h", "--work", "burn"),
        ("session", "plan", "C-0001", "tomorrow 14:00", "2h", "--work", "burn"),
        ("step", "tick", "C-0001", "try-tones"),
        ("step", "tick", "C-0001", "Z1"),
        ("quote", "issue", "C-0001"),
        ("ladder", "add", name, "--tip", "ball", "--heat", "1,2", "--lightness", "60,40"),
        ("blank", "hold", "B-0001", "C-0001"),
        ("blank", "hold", "B-0001", "C-0001", "--override", "ok"),
    ]
    for words in stopped:
        code, out, err = burnplan(*words)
        assert code == 2, words
        assert out == ""
        assert "must not be burned" in err or "not enough of a reason" in " ".join(err.split())
    assert "must not be burned" in " ".join(burnplan("jobs")[1].split())
    assert burnplan("today")[1].startswith("! C-0001  Fox: must not be burned: ")


def test_it_is_said_at_full_strength(burnplan: Run) -> None:
    _, _, err = burnplan("estimate", "--size", "20x15cm", "--species", "mdf", "--dark", "3")
    assert err.startswith("! Must not be burned (mdf)")


def test_use_is_asked_about(burnplan: Run) -> None:
    _, _, err = burnplan("commission", "add", "Fox")
    assert "Taken as a piece for indoors" in err
    _, _, err = burnplan("commission", "add", "Board", "--use", "food")
    assert "touches food" in " ".join(err.split())
    assert "Taken as" not in err
    _, _, err = burnplan("commission", "add", "Sign", "--use", "outdoor", "--species", "glued oak")
    assert "what the glue is" in " ".join(err.split())
    assert "never treated wood" in " ".join(err.split())


def test_cautions_have_their_moments(burnplan: Run) -> None:
    burnplan("commission", "add", "Fox", "--species", "basswood")
    _, _, err = burnplan("session", "begin", "C-0001", "--work", "burn")
    told = [line for line in err.splitlines() if line.startswith("! ")]
    assert len(told) >= 8  # each by itself, the first time
    for words in ("smoke away", "hot tip", "eyes", "resin", "water", "break", "cord and plug"):
        assert any(words in line for line in told), words
    assert any("Local codes" in line for line in told)
    assert "never left alone" in burnplan("session", "break")[2]
    burnplan("session", "go-on")
    assert "smoulder" in burnplan("session", "end")[2]
    _, _, err = burnplan("session", "begin", "C-0001", "--work", "burn")
    assert "! Smoke drawn off at its source; tip on its stand" in err
    assert "! Pen off while you are away" in burnplan("session", "break")[2]
    _, _, err = burnplan("session", "end")
    assert "! Pen off and unplugged; watch the piece and the bench for smouldering" in err
    for work, words in (("prepare", "dust"), ("transfer", "never carbon"), ("finish", "flame")):
        _, _, err = burnplan("session", "begin", "C-0001", "--work", work)
        assert words in err
        burnplan("session", "end")
