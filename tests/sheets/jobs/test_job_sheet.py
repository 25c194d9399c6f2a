"""The job sheet: one page whatever is in it, with everything the bench needs."""

from datetime import timedelta
from pathlib import Path

import numpy as np
import pypdf
import pytest
from numpy.typing import NDArray

from burnplan.desk.derived.studio_settings import Paper, Settings
from burnplan.desk.jobs import checklists, commissions, finishing, holding, job_sheets, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.job_sheets import JobSheetView
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, hazards, ladders, own_species
from burnplan.desk.wood.ladders import NewLadder
from burnplan.sheets.jobs.job_sheet import job_sheet
from burnplan.tone.lightness import lightness
from burnplan.units import UnitSystem
from tests.cases import quick_first
from tests.sheets.conftest import MM, Render

LETTER_MM = 279.4  # high; ANSI/ASME Y14.1
PICTURE = np.full((300, 400, 3), 128, np.uint8)


@pytest.fixture
def job(studio: Studio, photo: Path) -> str:
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm", thickness="18mm"))
    commissions.add(studio, Wishes(title="Old barn", client="Mara"))
    hazards.note(studio, "1", ["spalted"])
    holding.hold(studio, "1", "C-0001")
    references.add(studio, "C-0001", photo, zones=4)
    return "C-0001"


def _words(path: Path) -> str:
    (page,) = pypdf.PdfReader(path).pages
    return " ".join(page.extract_text().split())


def _strip(studio: Studio) -> None:
    strip = NewLadder(
        species="basswood", tip="shader", heat=[2, 3, 4, 5], lightness=[76, 66, 55, 46], bare=84
    )
    ladders.add(studio, strip)


def test_says_all_the_bench_needs(studio: Studio, job: str, tmp_path: Path) -> None:
    _strip(studio)
    found = job_sheets.gather(studio, job)
    assert found.settings is not None
    made = job_sheet(tmp_path / "job.pdf", found, Settings(), PICTURE)
    assert (made.pages, made.notes) == (1, ())
    words = _words(made.path)
    for one in ("Old barn", "C-0001", "Mara", "B-0001", "Basswood", "20 × 15 cm", "18 mm",
                "ladder L-0001, shader", "spalted", "J. Occup. Environ. Hyg.", "follow local rules",
                "Sand with 320 grit", "Sessions", "Tip", "Heat"):  # fmt: skip
        assert one in words, one
    for zone in found.settings.zones:
        assert f"Z{zone.zone}" in words
        assert f"{zone.setting:.3g}" in words
    # The drawn photo's dark disc is darker than this pale ladder goes.
    assert "not reachable" in words
    (image,) = pypdf.PdfReader(made.path).pages[0].images
    assert image.image is not None
    assert image.image.size == (400, 300)


def test_boxes_stand_for_every_step(studio: Studio, job: str, tmp_path: Path) -> None:
    checklists.tick(studio, job, ["choose", "Z1"])
    found = job_sheets.gather(studio, job)
    path = tmp_path / "job.pdf"
    job_sheet(path, found, Settings())
    words = _words(path)
    for step in found.checklist.steps:
        if step.zone is None:
            assert " ".join(step.text.split()) in words, step.text
    assert "burnplan ladder add" in words  # what to do for settings


@pytest.mark.long
def test_zones_show_what_is_known_of_them(studio: Studio, job: str, tmp_path: Path) -> None:
    found = job_sheets.gather(studio, job)
    words = _words(job_sheet(tmp_path / "job.pdf", found, Settings()).path)
    assert "darkness" in words
    assert f"{found.zones[0].darkness * 100:.0f} %" in words
    assert "wanted L*" not in words
    _strip(studio)
    words = _words(job_sheet(tmp_path / "job.pdf", job_sheets.gather(studio, job), Settings()).path)
    assert "wanted L*" in words
    assert "darkness" not in words


def _swatches(page: NDArray[np.uint8]) -> list[float]:
    """L* of the swatches, from the top: even colour that is neither paper nor a thin line."""
    strip = page[:, round(40 / MM) : round(46 / MM)].astype(int)
    even = (np.ptp(strip, axis=1) < 4).all(axis=1) & (strip.mean(axis=(1, 2)) < 250)
    edges = np.flatnonzero(np.diff(even.astype(int), prepend=0, append=0))
    return [
        float(lightness(page[None, (top + bottom) // 2, round(43 / MM)][None])[0, 0])
        for top, bottom in edges.reshape(-1, 2)
        if bottom - top > 3 / MM
    ]


@quick_first("ladder", [False, True])
@pytest.mark.parametrize(("wood", "bare", "burnt"), [("basswood", 84, 20), ("pale one", 93, 48)])
def test_swatches_lie_in_this_woods_own_range(
    studio: Studio, photo: Path, tmp_path: Path, render: Render,
    wood: str, bare: float, burnt: float, ladder: bool,
) -> None:  # fmt: skip
    if wood == "pale one":
        own_species.add(studio, own_species.NewSpecies(name=wood, bare=bare, burnt=burnt))
    if ladder:
        strip = NewLadder(species=wood, tip="shader", heat=[2, 3, 4], lightness=[76, 60, 50])
        ladders.add(studio, strip)
    commissions.add(studio, Wishes(title="Barn", species=wood, size="20x15cm"))
    references.add(studio, "1", photo, zones=4)
    found = job_sheets.gather(studio, "1")
    assert (found.settings is not None) is ladder
    made = job_sheet(tmp_path / "job.pdf", found, Settings())
    wanted = [
        bare - zone.darkness * (bare - burnt) for zone in sorted(found.zones, key=lambda z: z.zone)
    ]
    assert _swatches(render(made.path, 1, colour=True)) == pytest.approx(wanted, abs=1)


def _with_one_step(studio: Studio, **more: object) -> JobSheetView:
    """A sheet whose only step goes over two lines."""
    found = job_sheets.gather(studio, "1")
    words = "Check every zone at arm's length and from across the room, then once more by lamplight"
    step = found.checklist.steps[0].model_copy(update={"text": words, **more})
    steps = found.checklist.model_copy(update={"steps": [step]})
    return found.model_copy(update={"checklist": steps})


def test_boxes_tell_open_ticked_and_skipped(studio: Studio, tmp_path: Path, render: Render) -> None:
    commissions.add(studio, Wishes(title="Barn"))
    pages = [
        render(job_sheet(tmp_path / "j.pdf", _with_one_step(studio, state=s), Settings()).path, 1)
        for s in ("open", "ticked", "skipped")
    ]
    box = np.s_[:, round(11.5 / MM) : round(15 / MM)]  # the column of boxes
    inks = [int((page[box] < 100).sum()) for page in pages]
    assert inks[0] < inks[1] < inks[2]  # none, one and two strokes in it


def test_a_settled_step_is_grey_on_both_its_lines(
    studio: Studio, tmp_path: Path, render: Render
) -> None:
    commissions.add(studio, Wishes(title="Barn"))
    dark = []
    for state in ("open", "ticked"):
        made = job_sheet(tmp_path / "j.pdf", _with_one_step(studio, state=state), Settings())
        words = render(made.path, 1)[:, round(16 / MM) : round(100 / MM)]
        dark.append(int((words < 70).any(axis=1).sum()))
    lost = (dark[0] - dark[1]) * MM
    assert lost > 3.5  # two lines of type of 7.8 points; one is at most 2.8 mm high


@pytest.mark.long
def test_a_blocked_blank_is_printed_as_such(studio: Studio, job: str, tmp_path: Path) -> None:
    hazards.note(studio, "1", ["painted"])
    job_sheet(tmp_path / "job.pdf", job_sheets.gather(studio, job), Settings())
    assert "BLOCKED. Must not be burned (painted): Paint gives off" in _words(tmp_path / "job.pdf")
    full = job_sheets.gather(studio, job)
    full.checklist.steps.extend(full.checklist.steps[:1] * 90)
    job_sheet(tmp_path / "full.pdf", full, Settings())
    sizes: dict[str, float] = {}

    def note(text: str, _user: object, _at: object, _font: object, size: float) -> None:
        sizes.setdefault(text.strip()[:7], size)

    pypdf.PdfReader(tmp_path / "full.pdf").pages[0].extract_text(visitor_text=note)
    assert sizes["Sanding"] < 5  # points: all else is small there
    assert sizes["BLOCKED"] > 7
    hazards.override(studio, "1", "scraped to bare wood")
    job_sheet(tmp_path / "job.pdf", job_sheets.gather(studio, job), Settings())
    words = _words(tmp_path / "job.pdf")
    assert "BLOCKED" not in words
    assert "Set aside by the artist: scraped to bare wood" in words


def test_each_caution_stands_at_its_moment(studio: Studio, job: str, tmp_path: Path) -> None:
    words = _words(job_sheet(tmp_path / "job.pdf", job_sheets.gather(studio, job), Settings()).path)
    for moment in (
        "Sanding: Dust collected", "Before burning: Smoke drawn off", "cord and plug sound",
        "When you leave it: Pen off", "When you stop: Pen off and unplugged", "smouldering",
        "Finishing: Room aired", "oily rags", "does not stop gases", "Local codes",
    ):  # fmt: skip
        assert moment.lower() in words.lower(), moment


@pytest.mark.parametrize("paper", list(Paper))
def test_a_title_alone_makes_a_page(studio: Studio, tmp_path: Path, paper: Paper) -> None:
    commissions.add(studio, Wishes(title="Barn"))
    own = Settings(paper=paper, units=UnitSystem.IMPERIAL)
    settings.save(studio, own)
    made = job_sheet(tmp_path / "job.pdf", job_sheets.gather(studio, "1"), own)
    assert made.pages == 1
    words = _words(made.path)
    assert "none held yet" in words
    assert "No reference is planned yet" in words


def _table_rows(page: np.ndarray) -> list[int]:
    """Rows of pixels where a line runs across the whole page inside its margins."""
    inside = page[:, round(13 / MM) : -round(13 / MM)]
    rows = np.flatnonzero((inside < 225).mean(axis=1) > 0.99)
    return [int(row) for n, row in enumerate(rows) if n == 0 or row - rows[n - 1] > 3]


@pytest.mark.long
@pytest.mark.parametrize("own_steps", [0, 30, 300])
def test_too_much_shrinks_and_is_counted_but_stays_one_page(
    studio: Studio, photo: Path, tmp_path: Path, render: Render, own_steps: int
) -> None:
    own = Settings(paper=Paper.LETTER)
    settings.save(studio, own)
    blanks.add(studio, blanks.NewBlank(species="pine", size="20x15cm"))
    hazards.note(studio, "1", ["plywood", "spalted", "resinous", "painted", "treated", "mdf"])
    commissions.add(studio, Wishes(title="A very long title " * 10, client="N" * 150))
    holding.hold(studio, "1", "1", override="because " * 60)
    references.add(studio, "1", photo, zones=9)
    _strip(studio)
    finishing.plan(studio, "1", "oil " * 20, coats=8, dry=timedelta(hours=8))
    found = job_sheets.gather(studio, "1")
    step = next(s for s in found.checklist.steps if s.zone is None)
    more = [step.model_copy(update={"text": f"Own step number {n}"}) for n in range(own_steps)]
    found.checklist.steps.extend(more)
    made = job_sheet(tmp_path / "job.pdf", found, own, PICTURE)
    words = _words(made.path)
    assert ("more steps: burnplan step list" in words) == (own_steps == 300)
    if own_steps == 300:
        missing = int(words.split("… and ")[1].split()[0])
        printed = words.count("Own step number")
        assert printed + missing >= own_steps
        assert printed > 5
    rows = _table_rows(render(made.path, 1))
    assert len(rows) >= 6  # five rows to write in
    assert rows[-1] * MM < LETTER_MM - 11
    assert np.diff(rows).min() * MM > 6


def test_wood_that_is_asked_for_has_its_name(studio: Studio, tmp_path: Path) -> None:
    code = commissions.add(studio, Wishes(title="Fox", size="20x15cm", species="sugar maple")).code
    words = _words(
        job_sheet(tmp_path / "job.pdf", job_sheets.gather(studio, code), Settings()).path
    )
    assert "Sugar maple" in words
    assert "sugar-maple" not in words
