"""Past jobs in and out, what they teach, what jobs earned, and what-ifs."""

import csv
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from sqlalchemy import select

from burnplan.desk import demo
from burnplan.desk.derived import pace_records, piece, studio_settings
from burnplan.desk.jobs import (
    checklists,
    commissions,
    corrections,
    endings,
    estimates,
    layouts,
    readings,
    references,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, earnings, payments, quotes, what_ifs
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import pace, past, past_import
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import Commission, PastJob
from burnplan.reckon.standard_hours import burned, coarse_plan, standard_hours
from burnplan.reckon.work import (
    UNKNOWN_DARKNESS,
    UNKNOWN_TEXTURE,
    Work,
    read_covered,
    read_grade,
)
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
    tried = past_import.bring_in(studio, path, dry_run=True)
    assert (tried.read, tried.added, tried.faults) == (3, 3, [])
    assert pace.trial(studio).jobs == []
    assert past_import.bring_in(studio, path).added == 3
    again = past_import.bring_in(studio, path)
    assert (again.added, again.known) == (0, 3)
    assert undo.undo_last(studio).summary == "Brought in 3 past jobs from jobs.csv"
    assert past_import.bring_in(studio, path).added == 3


BAD = [
    (",2026-03-01,200,300,,,,,,,,6,,", "title"),
    ("Owl,31.02.2026,200,300,,,,,,,,6,,", "finished_on"),
    ("Owl,,0,300,,,,,,,,6,,", "width_mm"),
    ("Owl,,200,tall,,,,,,,,6,,", "height_mm"),
    ("Owl,,200,300,star,,,,,,,6,,", "outline"),
    ("Owl,,200,300,round,,,,,,,6,,", "height_mm"),
    ("Owl,,200,300,,,1.5,,,,,6,,", "darkness"),
    ("Owl,,200,300,,,,eye:7,,,,6,,", "texture"),
    ("Owl,,200,300,,,eye:6,,,,,6,,", "darkness"),
    ("Owl,,200,300,,,,,,,,,,,5001", "total_h"),
    ("Owl,,200,300,,,,,,1,2,6,1,,9.9", "total_h"),
    ("Owl,,200,300,,,,,,1,2,6,1,,8.9,burn transfer prepare", "total_h"),
    ("Owl,,200,300,,,,,,,,,,,9,framing", "covers"),
    ("Owl,,200,300,,,,,,,,,,,9,,0", "covered"),
    ("Owl,,200,300,,,,,,,,,,,9,,140%", "covered"),
    ("Owl,,200,300,,,,,-1,,,6,,", "line_cm"),
    ("Owl,,200,300,,,,,,,,nan,,", "burn_h"),
    ("Owl,,200,300,,,,,,inf,,6,,", "prepare_h"),
    ("Owl,,200,300,,,,,,,,6,,cheap", "price"),
    ("Owl,,200,300,,,,,,,,6,,-5", "price"),
    ("Owl,,200,300,,,,,,,,6,,nan", "price"),
    ("Owl,,200,300,,,,,,,,6,,1e40", "price"),
]


@pytest.mark.parametrize(("line", "column"), BAD)
def test_a_bad_cell_is_named_and_its_row_left_out(
    studio: Studio, tmp_path: Path, line: str, column: str
) -> None:
    found = past_import.bring_in(studio, _file(tmp_path, GOOD, line, GOOD.replace("Owl", "Elk")))
    assert [(fault.line, fault.column) for fault in found.faults] == [(3, column)]
    assert (found.read, found.added, found.left) == (3, 2, 1)
    with studio.reading() as book:
        assert list(book.scalars(select(PastJob.title))) == ["Owl", "Elk"]


def test_any_other_name_of_a_wood_is_kept_as_its_own_species(
    studio: Studio, tmp_path: Path
) -> None:
    woods = ("Birch", "olive", "Hard Maple", "pine")
    lines = [f"Owl,,200,300,,{wood},,,,,,6,," for wood in woods]
    found = past_import.bring_in(studio, _file(tmp_path, *lines))
    assert found.added == 4
    *commonest, unknown = found.notes
    assert [note.split(" is taken for ")[0] for note in commonest] == ["'Birch'", "'pine'"]
    assert unknown.startswith("In neither the species table nor your own woods: Olive.")
    with studio.reading() as book:
        kept = [row[0] for row in book.query(PastJob.species).order_by(PastJob.id)]
    assert kept == ["paper-birch", "olive", "sugar-maple", "eastern-white-pine"]
    assert pace.of_studio(studio).jobs == 4


def test_a_wood_that_was_said_to_be_another_is_that(studio: Studio, tmp_path: Path) -> None:
    path = _file(tmp_path, *(f"{wood},,200,300,,{wood},,,,,,6,," for wood in ("birch", "pine")))
    assert past_import.look(studio, path).woods == {
        "birch": ["paper-birch", "yellow-birch"], "pine": ["eastern-white-pine"],
    }  # fmt: skip
    wood = next(one for one in past_import.look(studio, path).columns if one.meaning == "species")
    assert (wood.example, wood.read_as) == ("birch", "paper-birch")
    found = past_import.bring_in(studio, path, woods={"birch": "yellow-birch", "pine": "pine"})
    assert found.notes == []
    with studio.reading() as book:
        assert {row[0] for row in book.query(PastJob.species)} == {"yellow-birch", "pine"}


def test_one_total_comes_in_with_what_it_covers(studio: Studio, tmp_path: Path) -> None:
    lines = (
        "Owl,,200,300,,basswood,,,,,,,,,19",
        "Elk,,200,300,,basswood,,eye:6,,,,,,,40,burning alone,60%",
        "Fox,,200,300,,basswood,,,,,,12,,,20,whole,0.8",
        "Bee,,200,300,,basswood,,,,,,,,,0,burn,100%",
    )
    found = past_import.bring_in(studio, _file(tmp_path, *lines))
    assert (found.added, found.faults) == (4, [])
    with studio.reading() as book:
        rows = book.query(PastJob.total_h, PastJob.covers, PastJob.covered).order_by(PastJob.id)
        assert [tuple(row) for row in rows] == [
            (19.0, "", ""), (40.0, "burn", "eye:0.6"), (20.0, "", "0.8"), (None, "", ""),
        ]  # fmt: skip
        owl, elk, fox, bee = sorted(
            pace_records.records(book, studio.now()).jobs(),
            key=lambda job: ["Owl", "Elk", "Fox", "Bee"].index(job.title),
        )
    assert (owl.hours, owl.rest_h, owl.recorded) == ({}, 19, tuple(Work))
    assert (elk.hours, elk.rest_h, elk.recorded) == ({Work.BURN: 40}, None, (Work.BURN,))
    assert burned(elk.plan).share == pytest.approx(0.6)
    assert elk.plan.doubt.covered > fox.plan.doubt.covered == 0
    assert (fox.hours, fox.rest_h) == ({Work.BURN: 12}, 8)
    assert bee.total_h == 0
    out = tmp_path / "out.csv"
    past.give_out(studio, out)
    assert past_import.bring_in(studio, out).known == 4


def test_a_past_job_is_put_on_record_by_itself(studio: Studio, clock: FixedClock) -> None:
    made = past.add(
        studio,
        past.NewPastJob(
            title="Bridge", size="round 30cm", hours=40, covers="tracing and burning",
            species="basswood", dark=3, detail=6, covered="60", price="400",
            finished_on=studio.today(),
        ),
    )  # fmt: skip
    assert (made.hours, made.covers) == (40, [Work.TRANSFER, Work.BURN])
    assert past.teaching(studio) == 1
    with studio.reading() as book:
        kept = book.query(PastJob).one()
        assert (kept.width_mm, kept.outline, kept.species) == (300, "round", "basswood")
        assert (kept.darkness, kept.texture, kept.covered) == ("eye:3", "eye:6", "eye:0.6")
        assert (kept.total_h, kept.covers, kept.price) == (40, "transfer burn", Decimal(400))
        assert kept.finished_on == studio.today()
    assert undo.undo_last(studio).summary == "Put 'Bridge' among the past jobs"
    assert contents(studio)["past_job"] == []


def test_a_past_job_is_put_right_set_aside_and_removed(studio: Studio) -> None:
    past.add(studio, past.NewPastJob(title="Owl", size="20x30cm", hours=90))
    by_stage = studio.home / "jobs.csv"
    by_stage.write_text("title,width_mm,height_mm,finished_on,burn_h\nElk,200,200,2026-05-01,12\n")
    past_import.bring_in(studio, by_stage)
    elk, owl = past.all_of(studio)
    assert (elk.hours, elk.covers, owl.hours, owl.covers) == (12, [Work.BURN], 90, [*Work])

    slow = pace.of_studio(studio)
    put = past.correct(studio, owl.number, past.PastJobChange(hours=9, size="30x20cm", price="80"))
    assert (put.hours, put.outline.width_mm, put.price, put.title) == (9, 300, Decimal(80), "Owl")
    assert pace.of_studio(studio) != slow
    with pytest.raises(BadInput, match="no total of hours"):
        past.correct(studio, elk.number, past.PastJobChange(covers="burning"))
    whole = past.correct(studio, elk.number, past.PastJobChange(hours=20))
    assert (whole.hours, whole.covers) == (20, [*Work])
    undo.undo_last(studio)
    assert past.all_of(studio)[0] == elk

    past.set_aside(studio, owl.number, "the board split")
    assert past.teaching(studio) == 1
    past.teach_again(studio, owl.number)
    with pytest.raises(NotAllowed, match="was not set aside"):
        past.teach_again(studio, owl.number)
    assert past.teaching(studio) == 2
    assert past.remove(studio, owl.number) == "Owl"
    assert past.all_of(studio) == [elk]
    with pytest.raises(NotFound, match="no past job"):
        past.remove(studio, owl.number)
    undo.undo_last(studio)
    assert past.all_of(studio)[1] == put


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"hours": 0}, "0 h is not"), ({"hours": 5001}, "5001 h is not"),
        ({"title": " "}, "title"), ({"size": "big"}, "big"), ({"dark": 6}, "from 1 to 5"),
        ({"detail": 7}, "from 1 to 6"), ({"covered": "0"}, "no share"),
        ({"covers": "framing"}, "not what hours cover"), ({"price": "cheap"}, "cheap"),
        ({"finished_on": date(2999, 1, 1)}, "is to come"),
    ],
)  # fmt: skip
def test_what_no_past_job_is(studio: Studio, wrong: dict[str, object], words: str) -> None:
    asked = past.NewPastJob(title="Owl", size="20x30cm", hours=9).model_copy(update=wrong)
    with pytest.raises(BadInput, match=words):
        past.add(studio, asked)
    assert contents(studio)["past_job"] == []


@pytest.mark.long
def test_a_delivered_job_is_given_out_with_how_much_of_it_is_burned(
    studio: Studio, clock: FixedClock, tmp_path: Path
) -> None:
    code = commissions.add(studio, Wishes(title="Barn", size="20x15cm", species="basswood")).code
    half = layouts.LayoutChange(drop=["rectangle 0,0 50,100"])
    references.add(studio, code, demo.sample(demo.PHOTO))
    references.replan(studio, code, wanted=half)
    with studio.reading() as book:
        plan = piece.work_plan(book, book.get_one(Commission, 1))
    sessions.log(studio, code, timedelta(hours=5), sessions.Doing())
    endings.deliver(studio, code)
    assert past.give_out(studio, tmp_path / "none.csv") == 0, "how much that was is not known"
    checklists.tick(studio, code, [f"Z{zone.zone}" for zone in plan.zones if zone.area_cm2])
    past.give_out(studio, tmp_path / "out.csv")
    with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    assert float(row["covered"]) == pytest.approx(0.5, abs=0.02)
    again = coarse_plan(
        200, 150, 300, species="basswood", hardness_lbf=plan.hardness_lbf,
        darkness=read_grade(row["darkness"], UNKNOWN_DARKNESS),
        texture=read_grade(row["texture"], UNKNOWN_TEXTURE),
        covered=read_covered(row["covered"]), line_cm=float(row["line_cm"]),
        sandings=plan.sandings, coats=plan.coats,
    )  # fmt: skip
    as_measured = standard_hours(plan)[Work.BURN]
    assert standard_hours(again)[Work.BURN] == pytest.approx(as_measured, rel=0.01)


def test_a_cell_as_long_as_a_book_is_left_out_at_once(studio: Studio, tmp_path: Path) -> None:
    long = GOOD.replace("basswood", "1x" * 60_000)
    found = past_import.bring_in(studio, _file(tmp_path, GOOD, long))
    assert (found.added, found.faults[0].column) == (1, "species")
    assert "more than 200 letters" in found.faults[0].problem


def test_every_fault_of_a_file_is_named_at_once(studio: Studio, tmp_path: Path) -> None:
    found = past_import.bring_in(studio, _file(tmp_path, *(line for line, _ in BAD)))
    assert len(found.faults) == len(BAD)
    assert [fault.line for fault in found.faults] == list(range(2, 2 + len(BAD)))


def test_extra_columns_are_named_and_left_aside(studio: Studio, tmp_path: Path) -> None:
    path = _file(tmp_path, "x,Owl,200,300,6", header="mood,title,width_mm,height_mm,burn_h")
    found = past_import.bring_in(studio, path)
    assert (found.added, found.ignored_columns) == (1, ["mood"])


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no column"),
        (b"a,b\n1,2\n", "no column title or width_mm or height_mm"),
        (b"title,width_mm,height_mm\nGr\x81sse,100,200", "no text that can be read"),
        (b"title,title,width_mm,height_mm\n", "title twice"),
        (b"\x00\x01\x02", "no column"),
        (b"PK\x03\x04" + bytes(100), "Save it as CSV"),
        (b"title," * 1001 + b"\n", "more than 1,000 columns"),
    ],
)
def test_a_file_that_is_none_is_refused(
    studio: Studio, tmp_path: Path, content: bytes, words: str
) -> None:
    path = tmp_path / "jobs.csv"
    path.write_bytes(content)
    with pytest.raises(BadInput, match=words):
        past_import.bring_in(studio, path)


@pytest.mark.long
@given(st.binary(max_size=300) | st.text(max_size=200).map(str.encode))
@hypothesis_settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_no_file_breaks_the_reader(studio: Studio, tmp_path: Path, rest: bytes) -> None:
    path = tmp_path / "any.csv"
    path.write_bytes(HEADER.encode() + b"\n" + rest)
    try:
        past_import.bring_in(studio, path, dry_run=True)
    except BadInput:
        return


def test_what_is_given_out_comes_in_again(studio: Studio, tmp_path: Path) -> None:
    past_import.bring_in(studio, demo.sample(demo.PAST_JOBS))
    formula = _file(tmp_path, "=cmd()|x,,200,300,,,,,,,,6,,")
    past_import.bring_in(studio, formula)
    out = tmp_path / "out.csv"
    assert past.give_out(studio, out) == 8
    with out.open(encoding="utf-8", newline="") as file:
        titles = [row["title"] for row in csv.DictReader(file)]
    assert "'=cmd()|x" in titles, "a spreadsheet must not run it"
    assert past_import.bring_in(studio, out).known == 8


def test_the_backtest_looks_only_back(studio: Studio, tmp_path: Path) -> None:
    lines = [
        f"Job {n},2026-{n:02d}-01,200,300,rectangle,basswood,0.5,0.3,400,1,1,{6 + n % 3},1,"
        for n in range(1, 9)
    ]
    past_import.bring_in(studio, _file(tmp_path, *lines))
    before = pace.trial(studio).jobs
    past_import.bring_in(studio, _file(tmp_path, lines[0].replace("Job 1,2026-01", "Late,2027-01")))
    after = pace.trial(studio).jobs
    assert after[:8] == before
    assert [job.title for job in after] == [*(f"Job {n}" for n in range(1, 9)), "Late"]


@pytest.mark.long
def test_five_slow_jobs_make_the_estimate_longer(
    studio: Studio, tmp_path: Path, photo: Path
) -> None:
    asked = readings.EstimateRequest(parse_size("30x20cm"), species_or_own("basswood"), zones=3)
    first, _ = estimates.estimate(
        photo, asked, studio_settings.Settings(), pace=pace.of_studio(studio)
    )
    slow = [
        f"Slow {n},2026-0{n}-01,300,200,rectangle,basswood,0.5,0.2,400,2,3,20,2,"
        for n in range(1, 6)
    ]
    past_import.bring_in(studio, _file(tmp_path, *slow))
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
    past_import.bring_in(studio, _file(tmp_path, *slow))
    assert references.show(studio, "Barn").hours.total.p50 > 1.3 * before


def _delivered(studio: Studio, clock: FixedClock, title: str, hours: float) -> str:
    commissions.add(studio, Wishes(title=title, size="20x15cm", species="basswood"))
    references.add(studio, title, demo.sample(demo.PHOTO), zones=3)
    total = quotes.issue(studio, title, quotes.QuoteRequest(hours=10)).total
    accepting.accept(studio, title)
    payments.take(studio, title, str(total), "payment")
    clock.forward(days=3)
    sessions.log(studio, title, timedelta(hours=hours), sessions.Doing())
    return endings.deliver(studio, title, all_done=True).code


@pytest.mark.long
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


@pytest.mark.long
def test_a_price_in_other_money_is_not_given_out_as_the_studios(
    studio: Studio, clock: FixedClock, tmp_path: Path
) -> None:
    _delivered(studio, clock, "Barn", 3)

    def price() -> str:
        past.give_out(studio, tmp_path / "out.csv")
        with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as file:
            (row,) = csv.DictReader(file)
        (tmp_path / "out.csv").unlink()
        return row["price"]

    assert price() == "342.00"
    settings.save(studio, settings.current(studio).model_copy(update={"currency": "USD"}))
    assert price() == ""


@pytest.mark.long
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
    assert sessions.all_of(studio, code)[0].set_aside == "clock left running"
    # Put right it is still set aside, until that is taken back.
    length = timedelta(hours=2)
    made = corrections.correct(studio, number, corrections.Correction(length=length), "slip")
    assert made.set_aside == "clock left running"
    pace.teach_again(studio, made.number)
    with studio.reading() as book:
        assert pace_records.records(book, studio.now()).jobs()[0].total_h == 5
    with pytest.raises(NotAllowed, match="not set aside"):
        pace.teach_again(studio, made.number)
    with pytest.raises(NotFound):
        pace.teach_again(studio, 99)


@pytest.mark.long
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
    assert bare.price is not None
    assert same.price is not None
    assert small.price is not None
    assert large.price is not None
    assert bare.price < same.price
    assert contents(studio) == before
    assert small.price < same.price < large.price
    assert maple.hours_p50 > same.hours_p50
    assert same.hours_p50 == pytest.approx(references.show(studio, "Barn").hours.total.p50)
    with pytest.raises(BadInput):
        what_ifs.compare(studio, "Barn", sizes=[], zones=[], species=[])


def test_the_price_list_grows_with_size_and_detail(studio: Studio) -> None:
    found = what_ifs.price_list(studio, ["10x15cm", "20x30cm"], "basswood")
    assert found.details == [1, 2, 3, 4, 5]
    for row in found.prices:
        assert row == sorted(set(row))
    small, large = found.prices
    assert len(small) == len(found.details)
    assert all(less < more for less, more in zip(small, large, strict=True))


def test_up_to_twelve_are_put_side_by_side(studio: Studio) -> None:
    for count in (1, 12):
        assert len(what_ifs.price_list(studio, ["9x9cm"] * count, "basswood").prices) == count
    for count in (0, 13):
        with pytest.raises(BadInput, match="Give 1 to 12 sizes"):
            what_ifs.price_list(studio, ["9x9cm"] * count, "basswood")
    species = ["basswood"] * 3
    with pytest.raises(NotFound):  # no such job: it was not too many
        what_ifs.compare(studio, "Barn", sizes=["9x9cm"] * 6, zones=[3] * 3, species=species)
    with pytest.raises(BadInput, match="Give 1 to 12 changes"):
        what_ifs.compare(studio, "Barn", sizes=["9x9cm"] * 6, zones=[3] * 4, species=species)


@pytest.mark.long
def test_by_eye_less_of_the_face_takes_less(photo: Path) -> None:
    own = studio_settings.Settings()
    asked = readings.EstimateRequest(parse_size("30x40cm"), species_or_own("basswood"), zones=3)
    whole = estimates.judge(asked, estimates.ByEye(3, 3), own)
    part = estimates.judge(asked, estimates.ByEye(3, 3, "60%"), own)
    assert part.hours.burn.p50 == pytest.approx(0.6 * whole.hours.burn.p50, rel=0.05)
    assert (whole.covered, part.covered) == pytest.approx((1, 0.6))
    assert any("burned all over" in note for note in whole.notes)
    assert not any("burned all over" in note for note in part.notes)
    measured, _ = estimates.estimate(photo, asked, own)
    judged, _ = estimates.estimate(photo, asked, own, by_eye=estimates.ByEye(covered="30%"))
    assert 0.9 < measured.covered <= 1
    assert judged.covered == pytest.approx(0.3)
    assert judged.hours.burn.p50 < 0.5 * measured.hours.burn.p50
    with pytest.raises(BadInput, match="no share of the face"):
        estimates.judge(asked, estimates.ByEye(3, 3, "0"), own)


@pytest.mark.long
def test_what_a_photo_leaves_bare_is_measured() -> None:
    photo = demo.sample(demo.PHOTO)  # no part of it is as light as bare wood
    half = layouts.changed(
        layouts.Layout(), layouts.LayoutChange(drop=["rectangle 0,0 50,100"]), lambda _data: ""
    )
    asked = readings.EstimateRequest(parse_size("30x40cm"), species_or_own("basswood"), zones=3)
    own = studio_settings.Settings()
    found, _ = estimates.estimate(photo, replace(asked, layout=half), own)
    assert found.covered == pytest.approx(0.5, abs=0.01)
    # A grade of detail takes the place of what was measured, not of what is left bare.
    graded, _ = estimates.estimate(
        photo, replace(asked, layout=half), own, by_eye=estimates.ByEye(detail=6)
    )
    assert graded.covered == pytest.approx(found.covered)
    assert graded.hours.burn.p50 > 2 * found.hours.burn.p50


def test_an_estimate_by_eye_says_what_would_narrow_it() -> None:
    asked = readings.EstimateRequest(parse_size("30x40cm"), species_or_own("basswood"))
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
