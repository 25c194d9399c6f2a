"""Dates by command: promised, planned, written to files; and wrong entries put right."""

import json
import re
from pathlib import Path

import pytest
from PIL import Image

from burnplan.desk.jobs import commissions, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from tests.cli.conftest import Run


@pytest.fixture
def job(studio: Studio, photo: Path) -> str:
    """A job with a reference, due on Wed 28 April."""
    due = studio.today().replace(month=4, day=28)
    wishes = Wishes(title="Old barn", client="Mara", size="20x15cm", due=due)
    code = commissions.add(studio, wishes).code
    references.add(studio, code, photo, zones=3)
    return code


@pytest.mark.long
def test_dates_by_command(burnplan: Run, job: str, photo: Path, tmp_path: Path) -> None:
    """From a yes to a promised date, a plan of the week, a page for the wall."""
    burnplan("quote", "issue", job)
    burnplan("quote", "accept", job)
    deposit = json.loads(burnplan("quote", "show", job, "--json")[1])["deposit"]
    burnplan("payment", "add", job, str(deposit), "--deposit")
    assert "its own hours" in burnplan("promise")[1]
    offer = json.loads(burnplan("promise", "--hours", "12", "--sure", "80", "--json")[1])["offer"]
    assert offer["earliest"]["chance"] >= 0.8
    assert burnplan("days-off", "add", "friday", "--because", "Fair")[0] == 0
    assert burnplan("settings", "holidays=de-by", "burning_hours=2")[0] == 0
    assert "Good Friday" not in burnplan("days-off", "list")[1]  # in the country's own language
    assert "Karfreitag" in burnplan("days-off", "list")[1]
    assert burnplan("session", "plan", "--days", "10", "--starting", "18:30")[0] == 0
    planned = burnplan("session", "planned")[1]
    assert "18:30" in planned
    assert "Fri 19 Mar" not in planned
    ics, pdf, csv, png = (tmp_path / f"x.{ext}" for ext in ("ics", "pdf", "csv", "png"))
    code, out, err = burnplan("calendar", str(ics))
    assert (code, out) == (0, "")
    assert err.startswith("Wrote ")
    assert ics.read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
    assert burnplan("week", str(pdf))[0] == 0
    assert pdf.read_bytes().startswith(b"%PDF")
    assert burnplan("jobs", "--csv", str(csv))[0] == 0
    head, row = csv.read_text("utf-8").splitlines()
    assert head.startswith("code,title,client,stage,due,")
    assert row.startswith("C-0001,Old barn,Mara,booked,2027-04-28,")
    assert burnplan("photo", "add", job, str(photo), "--on", "yesterday")[0] == 0
    assert burnplan("photo", "sheet", job, str(png))[0] == 0
    with Image.open(png) as sheet:
        assert sheet.format == "PNG"
    assert "on course for" in burnplan("commission", "show", job)[1]


def test_a_wrong_entry_by_command(burnplan: Run, job: str) -> None:
    burnplan("session", "enter", job, "9h")
    because = ("--because", "clock left running")
    assert "1 h 30" in burnplan("session", "correct", "1", "--length", "1h30", *because)[1]
    assert "9 h" not in burnplan("session", "list")[1]
    out = burnplan("session", "list", "--replaced")[1]
    assert "9 h" in out
    assert "replaced by 2" in " ".join(out.split())
    burnplan("undo")
    assert "9 h" in burnplan("session", "list")[1]


def test_the_only_job_booked_is_said_to_be_so(burnplan: Run, job: str) -> None:
    assert "No other work is booked" in burnplan("promise", job)[1]
    assert "any day is free" in burnplan("promise")[1]
    burnplan("quote", "issue", job)
    burnplan("quote", "accept", job)
    deposit = json.loads(burnplan("quote", "show", job, "--json")[1])["deposit"]
    burnplan("payment", "add", job, str(deposit), "--deposit")
    out = burnplan("promise", job)[1]
    assert f"{job} is the only job booked" in out
    assert "any day is free" not in out
    assert json.loads(burnplan("promise", job, "--json")[1])["offer"]["booked"]
    assert "No other work" not in burnplan("promise", "--hours", "4")[1]


@pytest.mark.parametrize(
    ("count", "said"),
    [(1, "1 job is too few to judge"), (4, "4 jobs are too few to judge"), (5, "% of 5 jobs lay")],
)
def test_a_share_of_a_few_jobs_is_not_told(
    burnplan: Run, tmp_path: Path, count: int, said: str
) -> None:
    rows = [
        f"Job {n},2026-0{n}-10,300,400,basswood,eye:3,eye:3,1,2,10,1" for n in range(1, count + 1)
    ]
    head = (
        "title,finished_on,width_mm,height_mm,species,darkness,texture,"
        "prepare_h,transfer_h,burn_h,finish_h"
    )
    (tmp_path / "jobs.csv").write_text("\n".join([head, *rows]), "utf-8")
    assert burnplan("past", "import", str(tmp_path / "jobs.csv"))[0] == 0
    out = burnplan("past", "backtest")[1]
    assert said in out
    assert ("Half of the medians" in out) == (count >= 5)
    assert not re.search(r"\d%", out)
