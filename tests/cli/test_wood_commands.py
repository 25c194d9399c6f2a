"""Wood, ladders, finish and job sheet as a user types them."""

import json
from pathlib import Path

import pypdf
import pytest
from PIL import Image

from burnplan.desk.studio.studio import Studio
from tests.cli.conftest import Run
from tests.desk.test_whole_line import contents
from tests.tone.test_strip import LADDER, draw_strip


@pytest.fixture
def job(burnplan: Run) -> str:
    for words in (
        ("blank", "add", "basswood", "32x24cm", "--grit", "150"),
        ("commission", "add", "Old barn", "--client", "Mara", "--size", "32x24cm"),
    ):
        assert burnplan(*words)[0] == 0
    return "C-0001"


@pytest.mark.long
def test_a_blank_from_painted_to_held(burnplan: Run, job: str, studio: Studio) -> None:
    assert "BLOCKED" in burnplan("blank", "condition", "1", "painted")[1]
    before = contents(studio)
    code, out, err = burnplan("blank", "hold", "1", job)
    assert (code, out) == (2, "")
    assert "must not be burned (painted)" in err
    assert "--override" in err
    assert contents(studio) == before
    code, out, _ = burnplan("blank", "hold", "1", job, "--override", "planed to bare wood")
    assert code == 0
    assert "set aside: planed to bare wood" in " ".join(out.split())
    for words in (("history",), ("blank", "show", "1")):
        assert "planed to bare wood" in " ".join(burnplan(*words)[1].split())
    assert burnplan("undo")[0] == 0
    assert contents(studio) == before
    code, out, _ = burnplan("blank", "condition", "1", "--clear", "painted", "--because", "planed")
    assert "does not mean safe" in out
    assert burnplan("blank", "hold", "1", job)[0] == 0


def test_a_hazard_noted_later_is_overridden_by_command(burnplan: Run, job: str) -> None:
    burnplan("blank", "hold", "1", job)
    burnplan("blank", "condition", "1", "reclaimed")
    code, _, err = burnplan("session", "begin", job, "--work", "prepare")
    assert code == 0
    assert "Its dust can harm as well" in " ".join(err.split())
    burnplan("session", "end")
    code, _, err = burnplan("session", "begin", job, "--work", "burn")
    assert code == 2
    assert "burnplan blank override B-0001" in err
    code, _, err = burnplan("blank", "override", "1", "from my own tree")
    assert code == 2
    assert "--yes" in err
    assert burnplan("blank", "override", "1", "from my own tree", "--yes")[0] == 0
    assert burnplan("session", "begin", job, "--work", "burn")[0] == 0


@pytest.mark.long
def test_moisture_in_either_scale(burnplan: Run, job: str) -> None:
    burnplan("blank", "hold", "1", job)
    assert "-5 °C, 80 %" in burnplan("blank", "climate", "-5C 80%")[1]
    assert "settles near 9.2 %" in burnplan("blank", "climate", "70F 50%")[1]  # Table 4-2: 9.2
    assert "21 °C" in burnplan("blank", "moisture", "1", "9.5")[1]
    assert "Go" in burnplan("blank", "moisture", "1")[1]
    assert "Wait" in burnplan("blank", "moisture", "1", "13.5", "--note", "end grain")[1]
    burnplan("blank", "climate", "22C 35%", "--client", "Mara")
    found = json.loads(burnplan("blank", "moisture", "1", "--json")[1])
    assert found["home_of"] == "Mara"
    assert "shrink" in " ".join(found["notes"])
    assert "flat-sawn" in burnplan("blank", "movement", "1")[1]
    burnplan("settings", "units=imperial")
    out = burnplan("blank", "movement", "1")[1]
    assert " in" in out
    assert "72 °F" in burnplan("blank", "moisture", "1")[1]


def test_a_reading_with_an_air_that_cannot_be_is_not_logged(
    burnplan: Run, job: str, studio: Studio
) -> None:
    before = contents(studio)
    assert burnplan("blank", "moisture", "1", "9", "--home", "21C")[0] == 2
    assert contents(studio) == before


def test_a_wood_of_ones_own(burnplan: Run) -> None:
    words = ("--bare", "68", "--burnt", "19", "--hardness", "1550", "--source", "own strip")
    assert "Plum" in burnplan("blank", "species-add", "plum", *words)[1]
    assert "plum" in burnplan("blank", "species")[1]
    listed = {row["key"]: row for row in json.loads(burnplan("blank", "species", "--json")[1])}
    assert listed["plum"]["figures"]["bare"]["value"] == 68
    assert listed["plum"]["figures"]["bare"]["mark"] == "given"
    assert "Handbook" not in listed["plum"]["figures"]["hardness"]["source"]


@pytest.mark.long
def test_from_a_strip_s_photo_to_the_job_sheet(
    burnplan: Run, job: str, photo: Path, tmp_path: Path
) -> None:
    burnplan("blank", "hold", "1", job)
    burnplan("reference", "add", job, str(photo), "--zones", "3", "--no-pictures")
    assert burnplan("blank", "grain", "1", "along-width")[0] == 0
    assert burnplan("blank", "photo", "1", str(photo))[0] == 0
    strip = tmp_path / "strip.png"
    Image.fromarray(draw_strip(exposure=0.6, cast=(1.0, 0.85, 0.7))).save(strip)
    heats = ",".join(str(n) for n in range(1, len(LADDER) + 1))
    code, out, err = burnplan(
        "ladder", "add", "basswood", "--tip", "shader", "--heat", heats,
        "--photo", str(strip), "--card", "first",
    )  # fmt: skip
    assert code == 0, err
    assert "┤" in out  # the curve
    found = json.loads(burnplan("ladder", "show", "1", "--json")[1])
    assert [p["lightness"] for p in found["patches"]] == pytest.approx(LADDER, abs=2)
    out = burnplan("ladder", "settings", job)[1]
    assert "Z1" in out
    assert burnplan("finish", "plan", job, "wax oil", "--coats", "2", "--dry", "8h")[0] == 0
    assert burnplan("step", "tick", job, "coat-1")[0] == 0
    assert "Too early" in burnplan("step", "tick", job, "coat-2")[2]
    for words, said in (
        (("ladder", "card", "1", "card.pdf"), "L-0001"),
        (("job-sheet", job, "job.pdf"), "wax oil"),
    ):
        path = tmp_path / words[-1]
        code, out, err = burnplan(*words[:-1], str(path))
        assert code == 0, err
        assert "Wrote" in out
        (page,) = pypdf.PdfReader(path).pages
        assert said in page.extract_text()


@pytest.mark.parametrize(
    "words",
    [
        ("ladder", "card", "1", "none/card.pdf"),
        ("ladder", "card", "9", "card.pdf"),
        ("job-sheet", "C-0099", "job.pdf"),
        ("job-sheet", "C-0001", "none/job.pdf"),
    ],
    ids=" ".join,
)
def test_misuse_writes_nothing(
    burnplan: Run, job: str, tmp_path: Path, words: tuple[str, ...]
) -> None:
    burnplan("ladder", "add", "basswood", "--tip", "x", "--heat", "1,2", "--lightness", "70,40")
    code, out, err = burnplan(*words[:-1], str(tmp_path / words[-1]))
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert not list(tmp_path.glob("**/*.pdf"))


def test_a_strip_that_shows_too_few_patches_is_one_clear_line(
    burnplan: Run, tmp_path: Path
) -> None:
    strip = tmp_path / "strip.png"
    Image.fromarray(draw_strip()).save(strip)
    heats = ",".join(str(n) for n in range(1, 21))
    code, out, err = burnplan(
        "ladder", "add", "cherry", "--tip", "x", "--heat", heats, "--photo", str(strip)
    )
    assert (code, out) == (2, "")
    assert "told apart" in err
