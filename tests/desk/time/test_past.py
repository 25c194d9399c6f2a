"""Past jobs in and out, what they teach, what jobs earned, and what-ifs."""

import csv
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from burnplan.desk import demo
from burnplan.desk.derived import pace_records, studio_settings
from burnplan.desk.jobs import commissions, estimates, references, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import earnings, payments, quotes, what_ifs
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import pace, past
from burnplan.errors import BadInput
from burnplan.ledger.models import PastJob
from burnplan.units import parse_size
from burnplan.wood.species import species_or_own
from tests.conftest import FixedClock
from tests.desk.test_whole_line import contents

HEADER = ",".join(past.COLUMNS)
GOOD = "Owl,2026-03-01,200,300,rectangle,basswood,0.4,eye:3,500,1,1.5,6,1,240"


def _file(folder: Path, *lines: str, header: str = HEADER) -> Path:
    path = folder / "jobs.csv"
    path.write_text("\n".join((header, *lines)) + "\n", "utf-8")
    return path


def test_a_file_comes_in_whole(studio: Studio, tmp_path: Path) -> None:
    lines = (GOOD, "Fox,,100,100,round,olive,,,,,,2.5,,", '"A ""fine"" one, big",,50,60,,,,,,,,1,,')
    path = _file(tmp_path, *lines)
    tried = past.bring_in(studio, path, dry_run=True)
    assert (tried.read, tried.added, tried.faults) == (3, 3, [])
    assert pace.trial(studio).jobs == []
    assert past.bring_in(studio, path).added == 3
    again = past.bring_in(studio, path)
    assert (again.added, again.known) == (0, 3)
    assert undo.undo_last(studio).summary == "Brought in 3 past jobs from jobs.csv"
    assert past.bring_in(studio, path).added == 3


BAD = [
    (",2026-03-01,200,300,,,,,,,,6,,", "title"),
    ("Owl,01.03.2026,200,300,,,,,,,,6,,", "finished_on"),
    ("Owl,,0,300,,,,,,,,6,,", "width_mm"),
    ("Owl,,200,tall,,,,,,,,6,,", "height_mm"),
    ("Owl,,200,300,star,,,,,,,6,,", "outline"),
    ("Owl,,200,300,round,,,,,,,6,,", "height_mm"),
    ("Owl,,200,300,,,1.5,,,,,6,,", "darkness"),
    ("Owl,,200,300,,,,eye:6,,,,6,,", "texture"),
    ("Owl,,200,300,,,,,-1,,,6,,", "line_cm"),
    ("Owl,,200,300,,,,,,,,nan,,", "burn_h"),
    ("Owl,,200,300,,,,,,inf,,6,,", "prepare_h"),
    ("Owl,,200,300,,,,,,,,6,,cheap", "price"),
    ("Owl,,200,300,,,,,,,,6,,-5", "price"),
]


@pytest.mark.parametrize(("line", "column"), BAD)
def test_a_bad_cell_is_named_and_nothing_comes_in(
    studio: Studio, tmp_path: Path, line: str, column: str
) -> None:
    found = past.bring_in(studio, _file(tmp_path, GOOD, line, GOOD.replace("Owl", "Elk")))
    assert [(fault.line, fault.column) for fault in found.faults] == [(3, column)]
    assert found.added == 0
    assert contents(studio)["past_job"] == []


def test_any_name_of_a_wood_is_kept_as_its_own_species(studio: Studio, tmp_path: Path) -> None:
    lines = [f"Owl,,200,300,,{wood},,,,,,6,," for wood in ("birch", "olive", "Hard Maple")]
    assert past.bring_in(studio, _file(tmp_path, *lines)).added == 3
    with studio.reading() as book:
        assert {row[0] for row in book.query(PastJob.species)} == {"birch", "olive", "sugar-maple"}
    assert pace.of_studio(studio).jobs == 3


def test_every_fault_of_a_file_is_named_at_once(studio: Studio, tmp_path: Path) -> None:
    found = past.bring_in(studio, _file(tmp_path, *(line for line, _ in BAD)))
    assert len(found.faults) == len(BAD)
    assert [fault.line for fault in found.faults] == list(range(2, 2 + len(BAD)))


def test_extra_columns_are_named_and_left_aside(studio: Studio, tmp_path: Path) -> None:
    path = _file(tmp_path, "x,Owl,200,300,6", header="mood,title,width_mm,height_mm,burn_h")
    found = past.bring_in(studio, path)
    assert (found.added, found.ignored_columns) == (1, ["mood"])


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no column"),
        (b"a,b\n1,2\n", "no column title or width_mm or height_mm"),
        ("title,width_mm,height_mm\nGr\u00f6\u00dfe,1,2".encode("latin-1"), "not UTF-8"),
        (b"title,title,width_mm,height_mm\n", "title twice"),
        (b"\x00\x01\x02", "no column"),
    ],
)
def test_a_file_that_is_none_is_refused(
    studio: Studio, tmp_path: Path, content: bytes, words: str
) -> None:
    path = tmp_path / "jobs.csv"
    path.write_bytes(content)
    with pytest.raises(BadInput, match=words):
        past.bring_in(studio, path)


@given(st.binary(max_size=300) | st.text(max_size=200).map(str.encode))
@hypothesis_settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_no_file_breaks_the_reader(studio: Studio, tmp_path: Path, rest: bytes) -> None:
    path = tmp_path / "any.csv"
    path.write_bytes(HEADER.encode() + b"\n" + rest)
    try:
        past.bring_in(studio, path, dry_run=True)
    except BadInput:
        return


def test_what_is_given_out_comes_in_again(studio: Studio, tmp_path: Path) -> None:
    past.bring_in(studio, demo.sample(demo.PAST_JOBS))
    formula = _file(tmp_path, "=cmd()|x,,200,300,,,,,,,,6,,")
    past.bring_in(studio, formula)
    out = tmp_path / "out.csv"
    assert past.give_out(studio, out) == 8
    with out.open(encoding="utf-8", newline="") as file:
        titles = [row["title"] for row in csv.DictReader(file)]
    assert "'=cmd()|x" in titles, "a spreadsheet must not run it"
    assert past.bring_in(studio, out).known == 8


def test_the_backtest_looks_only_back(studio: Studio, tmp_path: Path) -> None:
    lines = [
        f"Job {n},2026-{n:02d}-01,200,300,rectangle,basswood,0.5,0.3,400,1,1,{6 + n % 3},1,"
        for n in range(1, 9)
    ]
    past.bring_in(studio, _file(tmp_path, *lines))
    before = pace.trial(studio).jobs
    past.bring_in(studio, _file(tmp_path, lines[0].replace("Job 1,2026-01", "Late,2027-01")))
    after = pace.trial(studio).jobs
    assert after[:8] == before
    assert [job.title for job in after] == [*(f"Job {n}" for n in range(1, 9)), "Late"]


def test_five_slow_jobs_make_the_estimate_longer(
    studio: Studio, tmp_path: Path, photo: Path
) -> None:
    asked = estimates.EstimateRequest(parse_size("30x20cm"), species_or_own("basswood"), zones=3)
    first, _ = estimates.estimate(
        photo, asked, studio_settings.Settings(), pace=pace.of_studio(studio)
    )
    slow = [
        f"Slow {n},2026-0{n}-01,300,200,rectangle,basswood,0.5,0.2,400,2,3,20,2,"
        for n in range(1, 6)
    ]
    past.bring_in(studio, _file(tmp_path, *slow))
    then, _ = estimates.estimate(
        photo, asked, studio_settings.Settings(), pace=pace.of_studio(studio)
    )
    assert then.hours.burn.p50 > 1.3 * first.hours.burn.p50
    assert (
        then.hours.total.p90 / then.hours.total.p10 < first.hours.total.p90 / first.hours.total.p10
    )


def test_open_jobs_are_forecast_again_when_something_is_learned(
    studio: Studio, tmp_path: Path, photo: Path
) -> None:
    commissions.add(studio, Wishes(title="Barn", size="20x15cm", species="basswood"))
    references.add(studio, "Barn", photo, zones=3)
    before = references.show(studio, "Barn").hours.total.p50
    slow = [
        f"Slow {n},2026-0{n}-01,300,200,rectangle,basswood,0.5,0.2,400,2,3,25,2,"
        for n in range(1, 6)
    ]
    past.bring_in(studio, _file(tmp_path, *slow))
    assert references.show(studio, "Barn").hours.total.p50 > 1.3 * before


def _delivered(studio: Studio, clock: FixedClock, title: str, hours: float) -> str:
    commissions.add(studio, Wishes(title=title, size="20x15cm", species="basswood"))
    references.add(studio, title, demo.sample(demo.PHOTO), zones=3)
    total = quotes.issue(studio, title, quotes.QuoteRequest(hours=10)).total
    quotes.accept(studio, title)
    payments.take(studio, title, str(total), "payment")
    clock.forward(days=3)
    sessions.log(studio, title, timedelta(hours=hours), sessions.Doing())
    return commissions.deliver(studio, title).code


def test_what_a_job_earned_is_worked_by_hand(studio: Studio, clock: FixedClock) -> None:
    settings.save(studio, studio_settings.Settings(tax_percent=Decimal(20)))
    _delivered(studio, clock, "Barn", 12)
    # 10 h × 30 = 300, 4 % 12, 10 % 30: 342 net, 20 % tax on top; 342 ÷ 12 h = 28.50
    view = earnings.review(studio)
    assert (view.total.earned, view.total.an_hour) == (Decimal("342.00"), Decimal("28.50"))
    assert [month.name for month in view.months] == ["2027-03"]
    assert view.jobs[0].by_work["burn"] == 12
    assert not earnings.review(studio, studio.today() + timedelta(days=1)).jobs
    clock.forward(days=400)
    assert not earnings.review(studio).jobs
    assert earnings.review(studio, view.since).total == view.total


def test_a_session_set_aside_teaches_nothing(studio: Studio, clock: FixedClock) -> None:
    code = _delivered(studio, clock, "Barn", 3)
    sessions.log(studio, code, timedelta(hours=24), sessions.Doing())
    with studio.reading() as book:
        wrong = pace_records.records(book, studio.now()).jobs()[0].total_h
    number = sessions.all_of(studio, code)[0].number
    pace.set_aside(studio, number, "clock left running")
    with studio.reading() as book:
        right = pace_records.records(book, studio.now()).jobs()[0].total_h
    assert (wrong, right) == (27, 3)


def test_what_ifs_change_one_thing_each(studio: Studio, photo: Path) -> None:
    commissions.add(studio, Wishes(title="Barn", size="20x15cm", species="basswood"))
    references.add(studio, "Barn", photo, zones=3)
    before = contents(studio)
    found = what_ifs.compare(
        studio, "Barn", sizes=["40x30cm", "10x7.5cm"], zones=[], species=["sugar-maple"]
    )
    same, large, small, maple = found
    (_, bare) = what_ifs.compare(
        studio, "Barn", sizes=[], zones=[], species=[], drop=["rectangle 50,0 100,100"]
    )
    assert bare.price < same.price
    assert contents(studio) == before
    assert small.price < same.price < large.price
    assert maple.hours_p50 > same.hours_p50
    assert same.hours_p50 == pytest.approx(references.show(studio, "Barn").hours.total.p50)
    with pytest.raises(BadInput):
        what_ifs.compare(studio, "Barn", sizes=[], zones=[], species=[])


def test_the_price_list_grows_with_size_and_detail(studio: Studio) -> None:
    found = what_ifs.price_list(studio, ["10x15cm", "20x30cm"], "basswood")
    for row in found.prices:
        assert row == sorted(row)
    assert all(small < large for small, large in zip(*found.prices, strict=True))


def test_an_estimate_by_eye_says_what_would_narrow_it() -> None:
    asked = estimates.EstimateRequest(parse_size("30x40cm"), species_or_own("basswood"))
    graded = estimates.judge(asked, estimates.ByEye(3, 3), studio_settings.Settings())
    blind = estimates.judge(asked, estimates.ByEye(), studio_settings.Settings())
    assert graded.depth == "eye"
    assert sum(one.share for one in blind.width) == pytest.approx(1, abs=0.02)
    assert any(str(one.narrow) == "Give a photo" for one in blind.width)
    by_eye = [
        sum(one.share for one in view.width if str(one.narrow) == "Give a photo")
        for view in (blind, graded)
    ]
    assert by_eye[0] > by_eye[1] > 0, "what is not even graded makes it wider"
