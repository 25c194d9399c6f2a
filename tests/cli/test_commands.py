"""The commands as a user types them: what they say, their exit codes, their JSON."""

import json
import re
import shutil
from pathlib import Path

import pytest
from PIL import Image

from burnplan.cli.app import run
from burnplan.desk import demo
from burnplan.desk.studio.studio import Studio
from burnplan.show.console import console
from burnplan.units import format_hours
from tests import books
from tests.cases import quick_first
from tests.cli.conftest import Run
from tests.conftest import FixedClock, draw_photo
from tests.desk.test_whole_line import contents

STRIP = (
    "ladder", "add", "basswood", "--tip", "shader", "--heat", "2,3,4", "--lightness", "78,51,26",
)  # fmt: skip


@pytest.fixture(scope="session")
def home_with_job(tmp_path_factory: pytest.TempPathFactory, empty_home: Path) -> Path:
    """A home with an open job that has a blank and a reference; made once and copied."""
    folder = tmp_path_factory.mktemp("job")
    books.copy(empty_home, folder / "home")
    drawn = draw_photo(folder / "drawn.png")
    opened = books.open_at(folder / "home", FixedClock())
    for words in (
        ("blank", "add", "basswood", "32x24cm", "--cost", "14.50", "--grit", "150"),
        ("commission", "add", "Old barn", "--client", "Mara", "--due", "in 6 weeks"),
        ("blank", "hold", "1", "C-0001"),
        STRIP,
        ("reference", "add", "C-0001", str(drawn), "--zones", "3", "--no-pictures"),
    ):
        assert run(list(words), opened) == 0
    opened.close()
    return folder / "home"


@pytest.fixture
def job(studio: Studio, home_with_job: Path) -> str:
    """An open job with a blank and a reference, in the test's studio."""
    studio.close()
    studio.__dict__.pop("engine", None)
    books.copy(home_with_job, studio.home)
    return "C-0001"


@pytest.mark.long
def test_imperial_units_hold_throughout(burnplan: Run, job: str) -> None:
    assert burnplan("settings", "units=imperial")[0] == 0
    listed = burnplan("price-list")[1]
    for size in ("6 × 8 in", "8 × 12 in", "12 × 16 in", "16 × 20 in"):
        assert size in listed
    shown = burnplan("reference", "show", job)[1]
    assert re.search(r"Trace [\d.]+ ft in 2 strokes: firm [\d.]+ ft, light [\d.]+ ft", shown)
    assert not re.search(r"\d (m|cm|mm|cm²)\b", shown)


@pytest.mark.long
def test_what_is_set_of_a_reference_is_said(burnplan: Run, job: str) -> None:
    assert "left bare" not in burnplan("reference", "show", job)[1]
    changes = ("--drop", "rectangle 0,0 100,12", "--focal", "ellipse 30,30 60,60", "--levels")
    assert burnplan("reference", "plan", job, "--no-pictures", *changes)[0] == 0
    words = " ".join(burnplan("reference", "show", job)[1].split())
    assert "1 focal area, 1 area left bare, levels found from the photo" in words


@pytest.mark.long
def test_a_draft_says_the_hours_that_its_price_pays(burnplan: Run, job: str) -> None:
    quote = json.loads(burnplan("quote", "draft", job, "--sure", "90", "--json")[1])
    words = " ".join(burnplan("quote", "draft", job, "--sure", "90")[1].split())
    assert f"the price pays {format_hours(quote['hours_paid'])}: 90 % chance" in words


@pytest.mark.long
def test_the_four_uses(burnplan: Run, job: str) -> None:
    code, out, _ = burnplan("quote", "issue", job, "--round-to", "5")
    assert code == 0
    assert "chance by the starting guess to earn at least" in " ".join(out.split())
    burnplan("past", "add", "Owl", "--size", "20x30cm", "--hours", "9")
    out = burnplan("quote", "draft", job)[1]
    assert "% chance to earn at least the hourly target" in " ".join(out.split())
    assert "% chance by the starting guess" in " ".join(burnplan("quote", "show", job)[1].split())
    assert burnplan("quote", "accept", job)[0] == 0
    code, out, _ = burnplan("payment", "add", job, "100", "--deposit", "--how", "cash")
    assert code == 0
    assert "Deposit of €100.00 for C-0001" in out
    code, out, _ = burnplan("step", "tick", job, "1", "2", "Z1")
    assert code == 0
    assert out.count("☑") == 3
    assert burnplan("session", "begin", job, "--zone", "2")[0] == 0
    assert "running" in burnplan("session", "now")[1]
    assert burnplan("session", "end", "--note", "well")[0] == 0
    assert burnplan("session", "enter", job, "1h30", "--ended", "yesterday 18:00")[0] == 0
    code, out, _ = burnplan("jobs")
    assert code == 0
    assert "Old barn" in out
    assert "burning" in out


def test_jobs_json_is_the_stable_interface(burnplan: Run, job: str) -> None:
    (found,) = json.loads(burnplan("jobs", "--json")[1])
    assert {
        "code", "title", "client", "stage", "due", "hours_done", "hours_left", "on_time",
        "balance", "next_step", "attention",
    } <= set(found)  # fmt: skip
    assert set(found["hours_left"]) == {"p50", "p80"}
    assert (found["code"], found["stage"], found["client"]) == (job, "enquiry", "Mara")


def test_estimate_json_is_the_stable_interface(burnplan: Run, photo: Path, studio: Studio) -> None:
    shutil.rmtree(studio.home)
    code, out, _ = burnplan(
        "estimate", str(photo), "--size", "32x24cm", "--species", "basswood",
        "--zones", "3", "--min-area", "9", "--json",
    )  # fmt: skip
    assert code == 0
    found = json.loads(out)
    assert {"size_mm", "px_per_mm", "thresholds", "zones", "lines", "hours", "price"} <= set(found)
    assert found["size_mm"] == [320, 240]
    assert set(found["zones"][0]) == {
        "zone", "area_cm2", "darkness", "texture", "islands", "line_cm",
    }  # fmt: skip
    assert set(found["lines"]) == {
        "firm_cm", "light_cm", "lost_cm", "strokes", "firm_strokes", "light_strokes", "passes",
    }  # fmt: skip
    traced = found["lines"]
    assert [one["number"] for one in traced["passes"]] == [1, 2, 3]
    assert sum(one["strokes"] for one in traced["passes"]) == traced["strokes"] > 0
    assert traced["strokes"] == traced["firm_strokes"] + traced["light_strokes"]
    by_pass = sum(one["cm"] for one in traced["passes"])
    assert by_pass == pytest.approx(traced["firm_cm"] + traced["light_cm"])
    assert set(found["hours"]) == {"prepare", "transfer", "burn", "finish", "total"}
    assert set(found["hours"]["burn"]) == {"p10", "p50", "p80", "p90"}
    assert {"currency", "amount", "lines"} <= set(found["price"])
    assert not studio.home.exists(), "an estimate needs no book and makes none"


@pytest.mark.long
def test_pictures_are_saved_at_true_size(burnplan: Run, photo: Path, tmp_path: Path) -> None:
    code, out, err = burnplan(
        "estimate", str(photo), "--size", "32x24cm", "--zones", "3", "--save", str(tmp_path / "p")
    )
    assert code == 0
    assert "price" in out.lower()
    assert err.count("Wrote") == 4
    for name in ("sepia", "wood", "zones", "trace"):
        with Image.open(tmp_path / "p" / f"{name}.png") as image:
            dots_per_mm = image.info["dpi"][0] / 25.4
            assert image.width / dots_per_mm == pytest.approx(320, abs=0.3)


@pytest.mark.long
def test_a_preview_saves_a_contact_sheet_too(burnplan: Run, job: str, tmp_path: Path) -> None:
    assert burnplan("reference", "preview", job, "--save", str(tmp_path / "p"))[0] == 0
    assert {path.name for path in (tmp_path / "p").iterdir()} == {
        "sepia.png", "wood.png", "zones.png", "trace.png", "contact-sheet.png",
    }  # fmt: skip


def test_a_picture_without_colour_is_drawn_with_letters(
    burnplan: Run, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("FORCE_COLOR", "1")  # as a terminal has it, without being one
    monkeypatch.setenv("TERM", "xterm-256color")
    console.cache_clear()
    out = burnplan("estimate", str(photo), "--size", "32x24cm", "--zones", "3")[1]
    console.cache_clear()
    assert "@@" in out
    # Bold, dim and italic at most: no colour.
    codes = {code for found in re.findall(r"\x1b\[([\d;]*)m", out) for code in found.split(";")}
    assert codes <= {"0", "1", "2", "3"}


@pytest.mark.parametrize("why", ["a pipe", "dumb", "asked"])
def test_pictures_are_left_out_and_their_words_are_not(
    burnplan: Run, photo: Path, monkeypatch: pytest.MonkeyPatch, why: str
) -> None:
    if why != "a pipe":
        monkeypatch.setenv("FORCE_COLOR", "1")
        monkeypatch.setenv("TERM", "xterm-256color")
        name, value = ("TERM", "dumb") if why == "dumb" else ("BURNPLAN_PICTURES", "no")
        monkeypatch.setenv(name, value)
    console.cache_clear()
    out = burnplan("estimate", str(photo), "--size", "32x24cm", "--zones", "3")[1]
    console.cache_clear()
    assert "▀" not in out
    assert "@@" not in out
    assert "Picture, sepia: the photo as it lies on the wood" in out
    assert "Picture, zones: 3 flat tones, darkest first: Z1 " in " ".join(out.split())


READS = [
    ("jobs",), ("client", "list"), ("client", "show", "mara"), ("commission", "list"),
    ("commission", "list", "--all"), ("commission", "show", "C-0001"), ("blank", "list"),
    ("blank", "show", "1"), ("blank", "species"), ("reference", "show", "C-0001"),
    ("step", "list", "C-0001"), ("session", "list"), ("session", "now"),
    ("quote", "draft", "C-0001"), ("quote", "list", "C-0001"), ("payment", "list"), ("history",),
    ("blank", "fit", "C-0001"),
    ("settings",), ("past", "list"), ("past", "backtest"), ("pace",), ("pace", "--guess"),
    ("earnings",), ("price-list", "10x15cm"),
    ("whatif", "C-0001", "--size", "16x12cm"), ("estimate", "--size", "30x40cm", "--dark", "3"),
    ("blank", "moisture", "1"), ("blank", "moisture", "1", "--shop", "21C 45%"),
    ("blank", "movement", "1", "--shop", "21C 45%", "--home", "70F 30%"),
    ("blank", "condition", "1"), ("blank", "buy"), ("ladder", "list"), ("ladder", "show", "1"),
    ("ladder", "show", "basswood"), ("ladder", "settings", "C-0001"), ("finish", "show", "C-0001"),
    ("promise",), ("promise", "C-0001"), ("promise", "--hours", "12", "--weeks", "6"),
    ("calendar",), ("session", "planned"), ("days-off", "list"), ("photo", "list"),
    ("jobs", "--stage", "enquiry", "--client", "mara", "--due-until", "in 2 months"),
    ("session", "list", "--replaced"),
]  # fmt: skip


@quick_first("words", READS, ids=" ".join, quick=16, long=99)
def test_every_read_has_json_and_its_schema(
    burnplan: Run, job: str, words: tuple[str, ...], studio: Studio
) -> None:
    before = contents(studio)
    code, out, _ = burnplan(*words, "--json")
    assert code == 0
    json.loads(out)
    code, out, _ = burnplan(*words, "--json-schema")
    assert code == 0
    assert {"$defs", "type", "properties", "items", "anyOf"} & set(json.loads(out))
    code, out, _ = burnplan(*words)
    assert code == 0
    assert out.strip()
    assert contents(studio) == before


EMPTY = [
    ("jobs",), ("client", "list"), ("commission", "list"), ("blank", "list"), ("session", "list"),
    ("payment", "list"), ("history",), ("ladder", "list"), ("blank", "buy"),
    ("promise",), ("calendar",), ("session", "planned"),
    ("days-off", "list"), ("photo", "list"), ("jobs", "--owed"),
]  # fmt: skip


@pytest.mark.parametrize("words", EMPTY, ids=" ".join)
def test_every_empty_list_says_what_to_do(burnplan: Run, words: tuple[str, ...]) -> None:
    code, out, _ = burnplan(*words)
    assert code == 0
    assert "burnplan " in out


def test_a_list_that_ends_before_a_page_is_not_called_empty(burnplan: Run) -> None:
    assert burnplan("client", "add", "Ann Berg")[0] == 0
    for listing in (("client", "list"), ("history",)):
        code, out, err = burnplan(*listing, "--page", "2")
        assert (code, out, err) == (0, "Nothing is on page 2: the list ends before\n", "")


MISUSE = [
    ("commission", "show", "C-0099"),
    ("commission", "show", ""),
    ("commission", "add"),
    ("commission", "add", ""),
    ("commission", "add", "x", "--size", "30 over 40"),
    ("commission", "add", "x", "--size", "-3x4cm"),
    ("commission", "add", "x", "--due", "2020-01-01"),
    ("commission", "add", "x", "--due", "someday"),
    ("commission", "add", "x", "--use", "space"),
    ("commission", "add", "x", "--species", "black"),
    ("commission", "drop", "C-0001", "--because", "no"),
    ("commission", "drop", "C-0001", "--because", "", "--yes"),
    ("commission", "deliver", "C-0001", "--on", "tomorrow"),
    ("commission", "resume", "C-0001"),
    ("blank", "add", "basswood", "0x4cm"),
    ("blank", "add", "basswood", "20x20cm", "--cost", "-4"),
    ("blank", "add", "basswood", "20x20cm", "--cost", "4.999"),
    ("blank", "add", "basswood", "20x20cm", "--grit", "many"),
    ("blank", "add", "basswood", "20x20cm", "--grit", "9000"),
    ("blank", "add", "basswood", "20x20cm", "--thickness", "thick"),
    ("blank", "hold", "B-7", "C-0001"),
    ("blank", "hold", "1", "C-0001"),
    ("blank", "sand", "1"),
    ("blank", "sand", "1", "120"),
    ("reference", "add", "C-0001", "no such photo.jpg"),
    ("reference", "plan", "C-0001", "--zones", "12"),
    ("reference", "plan", "C-0001", "--zones", "x"),
    ("reference", "plan", "C-0001", "--thresholds", "80,20"),
    ("reference", "plan", "C-0001", "--thresholds", "a,b"),
    ("reference", "plan", "C-0001", "--min-area", "-1"),
    ("reference", "plan", "C-0001", "--min-area", "nan"),
    ("step", "tick", "C-0001", "99"),
    ("step", "tick", "C-0001", "no such step"),
    ("step", "skip", "C-0001", "1", "--because", " "),
    ("step", "add", "C-0001", "x", "--phase", "lunch"),
    ("session", "end"),
    ("session", "enter", "C-0001", "soon"),
    ("session", "enter", "C-0001", "2"),
    ("session", "enter", "C-0001", "25h"),
    ("session", "enter", "C-0001", "2h", "--ended", "tomorrow 9:00"),
    ("session", "enter", "C-0001", "2h", "--zone", "8"),
    ("session", "enter", "C-0001", "2h", "--ended", "25:99"),
    ("quote", "accept", "C-0001"),
    ("quote", "issue", "C-0001", "--hours", "-3"),
    ("quote", "issue", "C-0001", "--hours", "lots"),
    ("quote", "issue", "C-0001", "--sure", "100"),
    ("quote", "issue", "C-0001", "--discount", "5"),
    ("quote", "issue", "C-0001", "--discount", "99999", "--because", "friend"),
    ("quote", "issue", "C-0001", "--days", "0"),
    ("quote", "issue", "C-0001", "--packing", "-1"),
    ("payment", "add", "C-0001", "-5"),
    ("payment", "add", "C-0001", "ten"),
    ("payment", "add", "C-0001", "0"),
    ("payment", "add", "C-0001", "5", "--on", "tomorrow"),
    ("payment", "refund", "C-0001", "5"),
    ("client", "add"),
    ("client", "add", "Mara"),
    ("client", "add", "Kim", "--email", "nowhere"),
    ("client", "show", "nobody"),
    ("estimate",),
    ("estimate", "x.jpg"),
    ("estimate", "x.jpg", "--size", "30x40cm"),
    ("settings", "units=furlongs"),
    ("settings", "tax_percent=150"),
    ("settings", "tax_percent=nan7"),
    ("session", "plan", "--starting", "18:39999999999999999990"),
    ("settings", "tax_percent=7.12345"),
    ("settings", "currency=XXXX"),
    ("settings", "paper"),
    ("settings", "hours=1 2 3"),
    ("history", "--rows", "0"),
    ("past", "import", "no-such-file.csv"),
    ("past", "remove", "99"),
    ("past", "correct", "1"),
    ("commission", "edit", "C-0001"),
    ("client", "edit", "mara"),
    ("blank", "outline", "1", "--points", "0,0 9,0 9,9 0,9 cm", "--picture", "o.png"),
    ("letter", "deposit", "C-0001", "--until", "friday"),
    ("letter", "thanks", "C-0001", "--because", "so"),
    ("past", "correct", "1", "--covers", "framing"),
    ("price-list", "10 over 15"),
    ("price-list", "--darkness", "6"),
    ("whatif", "C-0001"),
    ("whatif", "C-0001", "--size", "huge"),
    ("whatif", "C-0001", "--zones", "1"),
    ("session", "set-aside", "99", "--because", "x"),
    ("payment", "receipt", "99"),
    ("blank", "fit", "C-0099"),
    ("blank", "photo", "1"),
    ("blank", "photo", "1", "no such photo.jpg"),
    ("blank", "fit", "C-0001", "--photo", "no such photo.jpg"),
    ("reference", "plan", "C-0001", "--crop", "90,0,10,100"),
    ("reference", "plan", "C-0001", "--focal", "blob"),
    ("reference", "plan", "C-0001", "--scale", "0"),
    ("reference", "plan", "C-0001", "--mask", "no such mask.png"),
    ("payment", "invoice", "C-0001"),
    ("quote", "print", "C-0001"),
    ("reference", "sheet", "C-0001", "--paper", "a0"),
    ("estimate", "--size", "30x40cm", "--dark", "9"),
    ("blank", "moisture", "1", "wet"),
    ("blank", "moisture", "1", "0.09"),
    ("blank", "moisture", "1", "9", "--at", "tomorrow 9:00"),
    ("blank", "moisture", "1", "9", "--shop", "warm"),
    ("blank", "moisture", "1", "--note", "both ends"),
    ("blank", "moisture", "99", "9"),
    ("blank", "movement", "1"),
    ("blank", "movement", "1", "--home", "21 C"),
    ("blank", "climate", "90C 40%"),
    ("blank", "climate", "21C 45%", "--client", "nobody"),
    ("blank", "grain", "1", "sideways"),
    ("blank", "photo", "1", "no such photo.jpg"),
    ("blank", "condition", "1", "ugly"),
    ("blank", "condition", "1", "--clear", "painted", "--because", "x"),
    ("blank", "condition", "1", "painted", "--clear", "mdf"),
    ("blank", "override", "1", "because"),
    ("blank", "override", "1", "because", "--yes"),
    ("blank", "hold", "1", "C-0001", "--override", "x"),
    ("blank", "species-add", "basswood"),
    ("blank", "species-add", "plum", "--bare", "200"),
    ("blank", "species-add", "plum", "--bare", "20", "--burnt", "40"),
    ("ladder", "add", "basswood", "--tip", "x", "--heat", "1,2"),
    ("ladder", "add", "basswood", "--tip", "x", "--heat", "1,2", "--lightness", "70"),
    ("ladder", "add", "basswood", "--tip", "x", "--heat", "1", "--lightness", "70"),
    ("ladder", "add", "basswood", "--tip", "x", "--heat", "a,b", "--lightness", "70,60"),
    ("ladder", "add", "basswood", "--tip", "", "--heat", "1,2", "--lightness", "70,60"),
    ("ladder", "add", "basswood", "--tip", "x", "--heat", "1,2", "--lightness", "70,160"),
    ("ladder", "add", "basswood", "--tip", "x", "--heat", "1,2", "--photo", "none.jpg"),
    ("ladder", "show", "L-0099"),
    ("ladder", "show", "cherry"),
    ("ladder", "settings", "C-0099"),
    ("ladder", "settings", "C-0001", "--tip", "ball"),
    ("ladder", "settings", "C-0001", "--ladder", "9"),
    ("finish", "plan", "C-0001", "wax oil", "--coats", "0", "--dry", "8h"),
    ("finish", "plan", "C-0001", "wax oil", "--dry", "soon"),
    ("finish", "plan", "C-0001", "", "--dry", "8h"),
    ("finish", "plan", "C-0001", "wax oil", "--dry", "8h", "--next", "4h"),
    ("finish", "show", "C-0099"),
    ("promise", "C-0099"),
    ("promise", "C-0001", "--sure", "100"),
    ("promise", "C-0001", "--sure", "maybe"),
    ("promise", "--hours", "0"),
    ("promise", "--hours", "lots"),
    ("promise", "--weeks", "999"),
    ("days-off", "add"),
    ("days-off", "add", "someday"),
    ("days-off", "add", "2027-05-02", "2027-05-01"),
    ("days-off", "add", "friday", "--because", " "),
    ("days-off", "remove", "3"),
    ("jobs", "--stage", "asleep"),
    ("jobs", "--client", "nobody"),
    ("jobs", "--due-until", "someday"),
    ("jobs", "--due-from", "2027-05-02", "--due-until", "2027-05-01"),
    ("jobs", "--csv", "no-such-folder/jobs.csv"),
    ("calendar", "no-such-folder/my.ics"),
    ("week", "no-such-folder/week.pdf"),
    ("week", "week.png"),
    ("week", "/"),
    ("calendar", "mine.txt"),
    ("jobs", "--csv", "jobs.pdf"),
    ("job-sheet", "C-0001", "job"),
    ("price-list", "--save", "prices.txt"),
    ("photo", "sheet", "C-0001", "contact.pdf"),
    ("week",),
    ("session", "plan", "C-0001"),
    ("session", "plan", "C-0001", "friday 14:00", "long"),
    ("session", "plan", "C-0001", "yesterday 14:00", "2h"),
    ("session", "plan", "C-0001", "friday 14:00", "20h"),
    ("session", "plan", "--days", "0"),
    ("session", "plan", "--starting", "25"),
    ("session", "unplan", "7"),
    ("session", "correct", "7", "--length", "1h", "--because", "x"),
    ("photo", "add", "C-0001", "no such photo.jpg"),
    ("photo", "remove", "7"),
    ("photo", "sheet", "C-0001", "sheet.png"),
    ("settings", "burning_hours=0"),
    ("settings", "burning_hours=25"),
    ("settings", "holidays=XX"),
    ("settings", "drying_days=-1"),
    ("settings", "delivery_days=soon"),
    ("settings", "hours=0 0 0 0 0 0 0"),
    ("no-such-command",),
    ("jobs", "--no-such-option"),
]


@quick_first("words", MISUSE[::3] + MISUSE[1::3] + MISUSE[2::3], ids=" ".join, quick=60, long=200)
def test_misuse_is_one_clear_line_and_changes_nothing(
    burnplan: Run, job: str, words: tuple[str, ...], studio: Studio
) -> None:
    before = contents(studio)
    code, out, err = burnplan(*words)
    assert code == 2, err
    assert out == ""
    assert err.startswith("burnplan: ")
    assert err.count("\n") == 1
    assert len(err) > 30
    assert contents(studio) == before


def _bad_photos(folder: Path, photo: Path) -> dict[str, Path]:
    whole = photo.read_bytes()
    made = {
        "empty": b"", "text": b"hello, I am not a photo", "truncated": whole[: len(whole) // 2],
        "pdf": b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n", "zip": b"PK\x03\x04" + bytes(60),
    }  # fmt: skip
    paths = {}
    for name, data in made.items():
        paths[name] = folder / f"{name}.jpg"
        paths[name].write_bytes(data)
    return {**paths, "folder": folder}


@pytest.mark.parametrize("kind", ["empty", "text", "truncated", "pdf", "zip", "folder"])
def test_a_bad_photo_is_one_clear_line(
    burnplan: Run, photo: Path, tmp_path: Path, kind: str, studio: Studio
) -> None:
    burnplan("commission", "add", "Mill", "--size", "20x15cm")
    before = contents(studio)
    bad = str(_bad_photos(tmp_path, photo)[kind])
    for words in (("reference", "add", "mill", bad), ("estimate", bad, "--size", "20x15cm")):
        code, out, err = burnplan(*words)
        assert (code, out) == (2, "")
        assert err.count("\n") == 1
    assert contents(studio) == before
    assert not (studio.home / "originals").exists()


def test_past_jobs_by_command(burnplan: Run, tmp_path: Path) -> None:
    head = "title,finished_on,width_mm,height_mm,burn_h,colour\n"
    good, bad = tmp_path / "good.csv", tmp_path / "bad.csv"
    good.write_text(f"{head}Owl,2026-03-01,200,300,6,red\n", "utf-8")
    bad.write_text(f"{head}Owl,2026-03-01,200,tall,6,red\nElk,,1,300,6,red\n", "utf-8")
    code, out, err = burnplan("past", "import", str(bad))
    assert code == 2
    assert "height_mm" in out
    assert "width_mm" in out
    assert "colour" in err
    assert "Would bring in 1" in burnplan("past", "import", str(good), "--dry-run")[1]
    assert "Brought in 1 of 1" in burnplan("past", "import", str(good))[1]
    found = json.loads(burnplan("past", "backtest", "--json")[1])
    assert set(found) == {"jobs", "coverage_p10_p90", "median_ape", "pinball"}
    assert set(found["jobs"][0]) == {
        "title", "finished_on", "actual_h", "p10", "p50", "p80", "p90",
    }  # fmt: skip
    assert burnplan("past", "export", str(tmp_path / "out.csv"))[0] == 0
    assert "Owl,2026-03-01,200,300" in (tmp_path / "out.csv").read_text("utf-8")


def test_what_an_empty_list_says_to_do_works_once_its_words_are_filled_in(burnplan: Run) -> None:
    burnplan("commission", "add", "Fox", "--size", "20x30cm")
    burnplan("blank", "add", "basswood", "20x30cm")
    filled = {"JOB": "C-0001", "BLANK": "B-0001", "DAY": "friday"}
    for asked in (("calendar",), ("blank", "buy")):
        (command,) = re.findall("burnplan (.*)", burnplan(*asked)[1])
        code, _, err = burnplan(*(filled.get(word, word) for word in command.split()))
        assert (code, err.count("Error")) == (0, 0), command


def test_how_a_draft_is_issued_says_that_its_options_are_said_again(burnplan: Run) -> None:
    burnplan("commission", "add", "Fox")
    said = ("C-0001", "--hours", "10", "--price", "300")
    draft = burnplan("quote", "draft", *said)[1]
    assert "with the same options: burnplan quote issue C-0001" in draft
    assert burnplan("quote", "issue", "C-0001")[0] == 2, "its hours are not known without them"
    assert burnplan("quote", "issue", *said)[0] == 0


def test_a_past_job_by_command(burnplan: Run) -> None:
    size = ("--size", "120x45cm", "--hours")
    for typed in ("2h30", "2:30", "2,5 h", "150 min"):
        assert "took 2 h 30" in burnplan("past", "add", "Owl", *size, typed)[1]
        burnplan("undo")
    asked = ("past", "add", "Bridge", *size, "40h")
    code, out, err = burnplan(*asked, "--covers", "burning", "--finished", "yesterday")
    assert (code, err) == (0, "")
    assert out == "'Bridge' took 40 h for burning alone; forecasts learn from 1 job now\n"
    code, out, err = burnplan(*asked)
    assert "for the whole piece; forecasts learn from 2 jobs now" in out
    assert "counts as the oldest" in err
    for wrong in (("--covers", "framing"), ("--covered", "0%"), ("--detail", "7")):
        code, out, err = burnplan(*asked, *wrong)
        assert (code, out, err.count("\n")) == (2, "", 1)


@pytest.mark.long
def test_an_estimate_says_how_much_is_burned(burnplan: Run) -> None:
    by_eye = ("estimate", "--size", "30x40cm", "--dark", "3", "--detail", "3")
    assert "judged by eye, 60 % of it burned" in burnplan(*by_eye, "--covered", "60%")[1]
    assert "of it burned" not in burnplan(*by_eye)[1]
    photo = str(demo.sample(demo.PHOTO))
    asked = ("estimate", photo, "--size", "32x24cm", "--zones", "3", "--no-pictures")
    dropped = burnplan(*asked, "--drop", "rectangle 0,0 50,100")[1]
    bare = "Burned: 50 % of the face; the rest stays bare wood"
    assert bare in dropped
    burnplan("commission", "add", "Cat", "--size", "32x24cm", "--species", "basswood")
    plan = ("C-0001", "--no-pictures", "--drop", "rectangle 0,0 50,100")
    assert bare not in burnplan("reference", "add", "C-0001", photo, "--no-pictures")[1]
    assert bare in burnplan("reference", "plan", *plan)[1]


@pytest.mark.long
def test_sheets_and_letters_are_written(burnplan: Run, job: str, tmp_path: Path) -> None:
    into = ("--into", str(tmp_path / "out"))
    assert burnplan("reference", "sheet", job, *into)[0] == 0
    burnplan("quote", "issue", job)
    burnplan("quote", "accept", job)
    burnplan("payment", "add", job, "100", "--deposit")
    for words in (
        ("quote", "print", job), ("payment", "invoice", job), ("payment", "receipt", "1"),
    ):  # fmt: skip
        code, out, _ = burnplan(*words, *into)
        assert code == 0
        assert "Wrote" in out
        text = burnplan(*words, "--text")[1]
        assert "Old barn" in text
        for internal in ("Work ", "Workshop", "Consumables", "margin", "hourly"):
            assert internal not in text, "the client sees no internal figures"
    assert burnplan("price-list", "10x15cm", "--save", str(tmp_path / "out" / "p.pdf"))[0] == 0
    saved = str(tmp_path / "again.pdf")
    assert json.loads(burnplan("price-list", "10x15cm", "--json", "--save", saved)[1])["prices"]
    assert Path(saved).is_file()
    code, listed, _ = burnplan("price-list", "10x15cm", "--text")
    assert code == 0
    assert "10 × 15 cm" in listed
    written = {path.name for path in (tmp_path / "out").iterdir()}
    assert written == {
        "C-0001-reference.pdf", "C-0001-values.pdf", "C-0001-trace.pdf", "C-0001-trace.svg",
        "C-0001-quote-1.pdf", "C-0001-invoice.pdf", "C-0001-receipt-1.pdf", "p.pdf",
    }  # fmt: skip
    for path in (tmp_path / "out").glob("*.pdf"):
        assert path.read_bytes().startswith(b"%PDF-")


@pytest.mark.long
def test_trace_sheets_show_what_is_asked_for(burnplan: Run, job: str, tmp_path: Path) -> None:
    def written(*options: str) -> tuple[str, bytes]:
        assert burnplan("reference", "sheet", job, "--into", str(tmp_path), *options)[0] == 0
        svg = (tmp_path / f"{job}-trace.svg").read_text("utf-8")
        return svg, (tmp_path / f"{job}-trace.pdf").read_bytes()

    svg, lines_alone = written()
    colours = set(re.findall(r'stroke="(#[0-9a-f]{6})" stroke-width="0.[24]5"', svg))
    assert ">Z1<" not in svg
    assert b"/DCTDecode" not in lines_alone
    marked, over_photo = written("--marks", "--ink", "red", "--over-photo")
    assert ">Z1<" in marked
    assert b"/DCTDecode" in over_photo
    assert not colours & set(re.findall(r'stroke="(#[0-9a-f]{6})" stroke-width="0.[24]5"', marked))
    without, _ = written("--no-direction")
    (group,) = re.findall(r'<g id="direction".*?</g>', without, re.DOTALL)
    assert "<path" not in group
    # What the settings say holds where nothing is asked for.
    assert burnplan("settings", "ink=red", "over_photo=yes")[0] == 0
    assert written("--marks") == (marked, over_photo)
    assert written("--ink", "blue", "--no-over-photo") == (svg, lines_alone)


def test_a_folder_that_cannot_be_made_is_said(burnplan: Run, job: str, photo: Path) -> None:
    code, _, err = burnplan("reference", "sheet", job, "--into", str(photo / "x"))
    assert code == 1
    assert err.startswith("burnplan: Cannot make the folder")


@pytest.mark.long
def test_of_a_piece_for_a_roll_the_trace_is_there(
    burnplan: Run, job: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("burnplan.sheets.paper.MOST_PAGES", 0)
    code, _, err = burnplan("reference", "sheet", job, "--into", str(tmp_path / "out"))
    assert (code, "printed on a roll" in err) == (2, True)
    assert [path.name for path in (tmp_path / "out").iterdir()] == [f"{job}-trace.svg"]


def test_undo_by_command(burnplan: Run, job: str) -> None:
    assert "Planned 'Old barn'" in burnplan("undo")[1]
    assert burnplan("reference", "show", job)[0] == 2
    assert "Undid" in burnplan("history")[1]


def test_what_was_done_on_one_commission(burnplan: Run, job: str) -> None:
    burnplan("blank", "add", "basswood", "30x40cm")
    whole, own = (json.loads(burnplan(*words, "--json")[1]) for words in (
        ("history",), ("history", job),
    ))  # fmt: skip
    assert own == [one for one in whole if one["job"] == job]
    assert 0 < len(own) < len(whole)


def test_dangerous_acts_ask_first(burnplan: Run, job: str) -> None:
    code, _, err = burnplan("commission", "drop", job, "--because", "moved away")
    assert code == 2
    assert "--yes" in err
    assert burnplan("commission", "drop", job, "--because", "moved away", "--yes")[0] == 0


@pytest.mark.long
def test_a_ruined_piece_begins_again_by_one_command(burnplan: Run, job: str) -> None:
    burnplan("blank", "add", "basswood", "20x15cm")
    assert burnplan("session", "enter", job, "2h")[0] == 0
    restart = ("commission", "restart", job, "--blank", "B-2", "--because", "scorched")
    code, out, err = burnplan(*restart)
    assert code == 0
    assert "begins again on B-0002" in out
    assert "on B-0001, after 2 h: scorched" in err
    assert "after 2 h: scorched" in burnplan("commission", "show", job)[1]
    assert "on a spoiled piece: scorched" in burnplan("session", "list", job)[1]
    assert burnplan(*restart)[0] == 2  # that blank is held by now


@pytest.mark.parametrize("yes", [False, True])
def test_a_person_is_asked_before_a_delivery(
    burnplan: Run, job: str, yes: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def confirm(question: str, **_: object) -> bool:
        asked.append(question)
        return yes

    assert burnplan("settings", "name=Bench")[0] == 0
    monkeypatch.setattr("burnplan.show.console.interactive", lambda: True)
    monkeypatch.setattr("burnplan.cli.asking.agreed", confirm)
    assert burnplan("commission", "deliver", job)[0] == (0 if yes else 1)
    assert "steps are open" in asked[0]
    stage = json.loads(burnplan("commission", "show", job, "--json")[1])["stage"]
    assert (stage == "delivered") is yes


def test_a_grit_noted_by_mistake_is_taken_off_later(burnplan: Run) -> None:
    job = "C-0001"
    assert burnplan("commission", "add", "Fox")[0] == 0
    assert burnplan("blank", "add", "basswood", "20x15cm", "--grit", "150")[0] == 0
    assert burnplan("blank", "hold", "1", job)[0] == 0
    assert burnplan("blank", "sand", "1", "320")[0] == 0
    assert burnplan("client", "add", "Ann Berg")[0] == 0
    code, _, err = burnplan("blank", "sand", "1", "220")
    assert (code, "take 320 off its record" in err) == (2, True)

    def ticked() -> set[str]:
        steps = json.loads(burnplan("step", "list", job, "--json")[1])["steps"]
        return {one["key"] for one in steps if one["state"] == "ticked"}

    assert "sand-320" in ticked()
    assert burnplan("blank", "sand", "1", "320", "--not-done")[0] == 0
    assert "sand-320" not in ticked()
    assert json.loads(burnplan("blank", "show", "1", "--json")[1])["grit"] == 150
    assert burnplan("blank", "sand", "1", "320", "--not-done")[0] == 2
    assert burnplan("blank", "sand", "1", "220")[0] == 0


def test_the_day_of_a_delivery_is_put_right_later(burnplan: Run, job: str) -> None:
    assert burnplan("commission", "deliver", job, "--on", "2020-03-16", "--yes")[0] == 0
    assert burnplan("client", "add", "Ann Berg")[0] == 0
    assert burnplan("commission", "deliver", job, "--on", "yesterday")[:2] == (
        0, f"{job} was delivered Tue 16 Mar 2027\n",
    )  # fmt: skip
    shown = json.loads(burnplan("commission", "show", job, "--json")[1])
    assert shown["delivered_on"] == "2027-03-16"
    assert burnplan("commission", "deliver", job, "--on", "tomorrow")[0] == 2
    assert burnplan("commission", "deliver", job, "--yes")[0] == 2


def test_a_delivery_of_what_is_not_done_asks_first(burnplan: Run, job: str) -> None:
    code, _, err = burnplan("commission", "deliver", job)
    assert code == 2
    assert len(err.splitlines()) == 1
    assert "steps are open" in err
    assert "--yes" in err
    assert burnplan("commission", "deliver", job, "--yes")[1].strip() == f"{job} is delivered"
    assert burnplan("commission", "deliver", job)[0] == 2
    assert burnplan("undo")[0] == 0
    view = json.loads(burnplan("step", "list", job, "--json")[1])
    steps = [step["key"] for step in view["steps"] if step["phase"] != "handover"]
    assert burnplan("step", "tick", job, *steps, "pack")[0] == 0
    assert burnplan("commission", "deliver", job)[0] == 0


def test_who_delivers_with_open_steps_is_told_what_teaches_nothing(burnplan: Run, job: str) -> None:
    assert burnplan("session", "enter", job, "4h", "--work", "burn")[0] == 0
    steps = json.loads(burnplan("step", "list", job, "--json")[1])["steps"]
    burning = [step["number"] for step in steps if step["zone"] is not None]
    command = f"burnplan step tick {job} {burning[0]}-{burning[-1]}"
    _, _, err = burnplan("commission", "deliver", job, "--yes")
    assert "4 h of burning of 'Old barn' teach nothing of your pace" in " ".join(err.split())
    assert command in " ".join(err.split())
    said = " ".join(burnplan("pace")[1].split())
    assert command in said
    assert "from no jobs with hours on record" in said
    assert burnplan(*command.split()[1:])[0] == 0
    said = " ".join(burnplan("pace")[1].split())
    assert "teach nothing" not in said
    assert "from 1 job with hours on record" in said


@pytest.mark.parametrize("all_done", [False, True])
def test_who_never_ticks_is_asked_whether_all_was_done(
    burnplan: Run, job: str, all_done: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def confirm(question: str, **_: object) -> bool:
        asked.append(question)
        return all_done or len(asked) == 1

    assert burnplan("session", "enter", job, "4h", "--work", "burn")[0] == 0
    monkeypatch.setattr("burnplan.show.console.interactive", lambda: True)
    monkeypatch.setattr("burnplan.cli.asking.agreed", confirm)
    code, _, err = burnplan("commission", "deliver", job)
    assert code == 0
    assert len(asked) == 2
    assert "Then they are ticked, and 4 h of burning teach your pace" in asked[1]
    assert ("teach nothing" in err) is not all_done
    steps = json.loads(burnplan("step", "list", job, "--json")[1])["steps"]
    left = {step["key"] for step in steps if step["state"] == "open"} - {"balance"}
    assert (left == set()) is all_done


def test_all_that_is_open_is_ticked_with_the_delivery(burnplan: Run, job: str) -> None:
    assert burnplan("session", "enter", job, "4h", "--work", "burn")[0] == 0
    code, out, err = burnplan("commission", "deliver", job, "--all-done", "--yes")
    assert (code, out.strip()) == (0, f"{job} is delivered")
    assert "teach nothing" not in err


def test_what_a_sitting_counts_as_and_when_it_was_is_said(burnplan: Run, job: str) -> None:
    _, out, err = burnplan("session", "enter", job, "1h30", "--ended", "yesterday 18:00")
    assert "prepare" in out
    assert "Tue 16 Mar, 16:30 to 18:00" in out
    assert "Counted as prepare" in err
    _, out, err = burnplan(
        "session", "enter", job, "1h", "--ended", "yesterday 17:30", "--zone", "2"
    )
    assert "burn" in out
    assert "Counted" not in err
    assert "Overlaps session 1" in err
    assert "burnplan session correct 2" in err
    assert "Counted" not in burnplan("session", "begin", job, "--work", "transfer")[2]


def test_inches_and_another_currency(burnplan: Run) -> None:
    burnplan("settings", "units=imperial", "currency=USD", "locale=en_US", "paper=letter")
    out = burnplan("blank", "add", "cherry", "round 10in", "--cost", "1,250.50")[1]
    assert "round 10 in" in out
    assert "$1,250.50" in out


def test_a_narrow_terminal_gets_cards(
    burnplan: Run, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    console.cache_clear()
    monkeypatch.setenv("COLUMNS", "60")
    out = burnplan("jobs")[1]
    console.cache_clear()
    assert "next:" in out
    assert max(map(len, out.splitlines())) <= 60


def test_a_title_with_markup_is_shown_as_it_is(burnplan: Run) -> None:
    burnplan("commission", "add", "[bold]x[/] [red", "--client", "[/]")
    assert "[bold]x[/] [red" in burnplan("jobs")[1]
    assert "[/]" in burnplan("client", "list")[1]


@pytest.mark.long
def test_long_lists_come_a_page_at_a_time(burnplan: Run, photo: Path, tmp_path: Path) -> None:
    for number in range(5):
        other = tmp_path / f"{number}.png"
        Image.open(photo).resize((20 + number, 30)).save(other)
        for words in (
            ("client", "add", f"Client {number}"),
            ("blank", "add", "basswood", f"{20 + number}x15cm"),
            ("commission", "add", f"Job {number}"),
            ("payment", "add", "1", f"{10 + number}"),
            ("session", "enter", "1", "30m"),
            ("photo", "add", "1", str(other)),
        ):
            assert burnplan(*words)[0] == 0, words
    for listing in (
        ("client", "list"), ("blank", "list"), ("commission", "list"), ("payment", "list"),
        ("session", "list"), ("photo", "list"), ("history",),
    ):  # fmt: skip
        everything = json.loads(burnplan(*listing, "--json")[1])
        pages = [
            json.loads(burnplan(*listing, "--rows", "2", "--page", f"{page}", "--json")[1])
            for page in range(1, len(everything) // 2 + 2)
        ]
        assert [row for page in pages for row in page] == everything, listing
        assert {len(page) for page in pages[:-1]} == {2}
        assert "--page 2" in burnplan(*listing, "--rows", "2")[2]
        assert "--page" not in burnplan(*listing, "--rows", "999")[2]


@pytest.mark.parametrize(
    "words",
    [("past", "export", ""), ("session", "unplan", "9" * 20), ("commission", "show", "9" * 20)],
)
def test_what_no_file_and_no_number_can_be_is_one_line(
    burnplan: Run, words: tuple[str, ...]
) -> None:
    code, out, err = burnplan(*words)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1


@pytest.mark.long
def test_a_likely_subject_is_offered_and_never_taken_unasked(burnplan: Run) -> None:
    photo = str(demo.sample(demo.PHOTO))
    asked = ("estimate", photo, "--size", "8x12cm", "--no-pictures")
    found = json.loads(burnplan(*asked, "--json")[1])
    assert found["subject"] == []
    assert found["likely_subject"].startswith("ellipse ")
    shown = " ".join(burnplan(*asked)[1].split())
    assert f"To burn it alone: --subject '{found['likely_subject']}'" in shown
    alone = json.loads(burnplan(*asked, "--subject", found["likely_subject"], "--json")[1])
    assert alone["subject"] == [found["likely_subject"]]
    assert sum(z["area_cm2"] for z in alone["zones"]) < sum(z["area_cm2"] for z in found["zones"])
    assert "To burn it alone" not in burnplan(*asked, "--subject", found["likely_subject"])[1]
    calm, fine = (
        json.loads(burnplan(*asked, "--line", line, "--json")[1])["lines"]["strokes"]
        for line in ("calm", "fine")
    )
    assert calm < fine
