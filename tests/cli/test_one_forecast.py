"""One forecast everywhere: the same facts give the same hours, said in the same way."""

import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from pypdf import PdfReader

from burnplan.desk.jobs import checklists, commissions, holding, job_sheets, review, sessions
from burnplan.desk.money import what_ifs
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import pace
from burnplan.desk.wood import blanks
from burnplan.reckon.pace import learn
from burnplan.sheets.jobs import job_sheet
from burnplan.units import format_hours_range
from tests import books
from tests.cli.conftest import Run
from tests.desk import recomputed, surfaces
from tests.workbench.hand import Hand, at_work

# Priced and not begun; its plan is for a photo, and no blank is held.
WAITING = "C-0009"


@pytest.fixture
def busy(studio: Studio, filled: Path) -> Iterator[Studio]:
    """The invented studio, in the place of the test's own."""
    studio.close()
    studio.__dict__.pop("engine", None)
    books.copy(filled, studio.home)
    yield studio
    studio.close()


@pytest.mark.whole
def test_every_surface_gives_what_the_rows_give(busy: Studio) -> None:
    surfaces.agree(busy, ["demo"])


@pytest.mark.whole
def test_after_work_a_spoiled_piece_and_a_change(busy: Studio) -> None:
    checklists.tick(busy, "C-0006", ["Z1"])
    sessions.log(busy, "C-0006", timedelta(hours=2), sessions.Doing(zone=1))
    surfaces.agree(busy, ["log"])
    spare = blanks.add(busy, blanks.NewBlank(species="cherry", size="round 20cm")).code
    holding.restart(busy, "C-0006", spare, "scorched")
    surfaces.agree(busy, ["log", "restart"])
    commissions.edit(busy, WAITING, commissions.Wishes(species="cherry"))
    surfaces.agree(busy, ["log", "restart", "edit"])


@pytest.mark.long
def test_what_if_begins_with_the_same_hours(busy: Studio) -> None:
    whole = recomputed.open_jobs(busy)[WAITING].whole
    assert whole is not None
    (as_it_is, _) = what_ifs.compare(busy, WAITING, sizes=[], zones=[4], species=[])
    assert (as_it_is.hours_p50, as_it_is.hours_p80) == pytest.approx(
        (whole.quantile(0.5), whole.quantile(0.8))
    )


def test_the_backtest_forecasts_each_job_as_the_jobs_before_it_would(busy: Studio) -> None:
    jobs = [job for job in recomputed.history(busy) if job.finished_on and job.is_whole]
    tried = pace.trial(busy).jobs
    assert len(tried) == len(jobs) > 5
    for one in tried:
        (job,) = [job for job in jobs if (job.title, job.total_h) == (one.title, one.actual_h)]
        day = one.finished_on
        known = [other for other in jobs if other.finished_on and other.finished_on < day]
        anew = learn(known).forecast(job.plan).of(job.recorded)
        found = (one.p10, one.p50, one.p80, one.p90)
        assert found == pytest.approx([anew.quantile(q) for q in (0.1, 0.5, 0.8, 0.9)])


def test_the_hours_are_said_alike_on_every_surface(
    busy: Studio, burnplan: Run, tmp_path: Path
) -> None:
    left = next(job for job in review.review(busy) if job.code == WAITING).hours_left
    said = format_hours_range(left.p50, left.p80)
    assert re.fullmatch(r"\d+ h( \d\d)? \(50 %\) to \d+ h( \d\d)? \(80 %\)", said)
    commands = (
        ("jobs",), ("commission", "show", WAITING), ("quote", "draft", WAITING),
        ("quote", "list", WAITING), ("promise", WAITING), ("whatif", WAITING, "--zones", "4"),
    )  # fmt: skip
    for command in commands:
        shown = " ".join(burnplan(*command)[1].split())
        assert said in shown, command
    view = job_sheets.gather(busy, WAITING)
    page = job_sheet.job_sheet(tmp_path / "sheet.pdf", view, settings.current(busy)).path
    assert said in " ".join(PdfReader(page).pages[0].extract_text().split())


@pytest.mark.long
def test_and_on_the_workbench(busy: Studio) -> None:
    left = next(job for job in review.review(busy) if job.code == WAITING).hours_left
    said = format_hours_range(left.p50, left.p80)

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        assert any(said in line for line in hand.lines("#jobs-list"))
        hand.app.open_job(WAITING)
        await hand.settle()
        assert said in " ".join(hand.text("#zones").split())

    at_work(busy, desk, size=(200, 60))
