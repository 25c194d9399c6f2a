"""What the golden files hold, and the program that writes them anew.

Other tests hold relations: more of anything takes longer. These hold magnitudes, so
that a constant cannot move unseen. Four files, each of the sample photo or of the
invented studio of the demo on a fixed day:

- estimate.json: the photo on 30 × 20 cm of basswood, before any hours are known;
- learned.json: what the demo's hours say of its pace, and a forecast by it;
- review.json: its open jobs, and again with so few hours free that some are late;
- job_sheet.json: the words of one job's sheet, line by line.

Where a figure is meant to move, write them anew, read the difference, and say in the
commit which figures moved, by how much and why:

    .venv/bin/python -m tests.golden.figures
"""

import json
import tempfile
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pypdf

from burnplan.desk import demo
from burnplan.desk.derived.studio_settings import DAYS, Settings
from burnplan.desk.jobs import estimates, job_sheets, readings, references
from burnplan.desk.jobs.review import review
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import pace
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon.standard_hours import coarse_plan
from burnplan.reckon.work import grade_by_eye
from burnplan.sheets.jobs.job_sheet import job_sheet
from burnplan.tone.render import sepia
from burnplan.wood.species import species_or_own

FOLDER = Path(__file__).parent
NOW = datetime(2027, 3, 17, 9, 0, tzinfo=UTC)  # a Wednesday
_FEW_HOURS = {**dict.fromkeys(DAYS, 0.0), "wed": 1.7, "thu": 1.7, "fri": 1.7}
SHEET_OF = "Old tomcat"  # being burned, on a blank, with a ladder on its wood


def estimate() -> Any:
    """Return the estimate of the sample photo, without what it advises."""
    asked = readings.EstimateRequest(
        Outline(OutlineKind.RECTANGLE, 300, 200), species_or_own("basswood")
    )
    view, _ = estimates.estimate(demo.sample(demo.PHOTO), asked, Settings())
    return view.model_dump(mode="json", exclude={"width": {"__all__": {"narrow"}}})


def learned(studio: Studio) -> Any:
    """Return what a studio's hours say, and the forecast of a piece judged by eye."""
    found = pace.review(studio)
    piece = coarse_plan(
        240, 300, 720, hardness_lbf=950, darkness=grade_by_eye(4), texture=grade_by_eye(3)
    )
    return {
        **found.model_dump(mode="json", include={"jobs", "learned", "suspects", "tried"}),
        "forecast": pace.of_studio(studio).forecast(piece).to_dict(),
    }


def reviewed(studio: Studio) -> Any:
    """Return a studio's open jobs: as it is, and with so few hours free that some are at risk."""
    as_it_is = [job.model_dump(mode="json") for job in review(studio)]
    own = settings.current(studio)
    settings.save(studio, own.model_copy(update={"hours": _FEW_HOURS}))
    few_hours = [
        job.model_dump(mode="json", include={"code", "on_time", "attention"})
        for job in review(studio)
    ]
    settings.save(studio, own)
    return {"as it is": as_it_is, "few hours free": few_hours}


def sheet(studio: Studio) -> Any:
    """Return the words of a job's sheet, line by line."""
    found = job_sheets.gather(studio, SHEET_OF)
    _, reading = references.pictures(studio, found.commission.code, lambda _share, _label: None)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.pdf"
        made = job_sheet(path, found, settings.current(studio), sepia(reading.placed))
        words = [page.extract_text().splitlines() for page in pypdf.PdfReader(path).pages]
    return {"notes": made.notes, "pages": words}


def of_demo(studio: Studio) -> Mapping[str, Callable[[], Any]]:
    """Return how each golden file is reckoned, by its name."""
    return {
        "estimate": estimate,
        "learned": lambda: learned(studio),
        "review": lambda: reviewed(studio),
        "job_sheet": lambda: sheet(studio),
    }


def rounded(value: Any) -> Any:
    """Return the same with its figures to six digits, so that a difference can be read."""
    if isinstance(value, dict):
        return {key: rounded(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [rounded(one) for one in value]
    return float(f"{value:.6g}") if isinstance(value, float) else value


def path_of(name: str) -> Path:
    """Return the golden file of a name."""
    return FOLDER / f"{name}.json"


def main() -> None:
    """Write all golden files anew."""
    with tempfile.TemporaryDirectory() as folder:
        studio, clock = demo.open_demo(Path(folder), NOW)
        demo.fill(studio, clock)
        for name, reckon in of_demo(studio).items():
            text = json.dumps(rounded(reckon()), indent=1, ensure_ascii=False)
            path_of(name).write_text(text + "\n", "utf-8")
        studio.close()


if __name__ == "__main__":
    main()
