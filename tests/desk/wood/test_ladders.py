"""Tone ladders at the desk: by eye and from a photo, fitted, read backwards for a job."""

from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from PIL import Image
from scipy.interpolate import PchipInterpolator
from scipy.optimize import isotonic_regression

from burnplan.desk.jobs import commissions, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import ladders, own_species, zone_settings
from burnplan.desk.wood.ladders import NewLadder
from burnplan.errors import BadInput, NotFound
from burnplan.reckon.ladder import Reach
from tests import books
from tests.conftest import FixedClock
from tests.desk.test_whole_line import contents
from tests.tone.test_strip import LADDER, WOOD, draw_strip

HEATS = [2.0, 3.0, 4.0, 5.0, 6.0]
BY_EYE = NewLadder(
    species="basswood", tip="shader 4 mm", heat=HEATS, lightness=[78, 64, 51, 37, 26], bare=84
)


@pytest.fixture
def job(studio: Studio, photo: Path) -> str:
    code = commissions.add(studio, Wishes(title="Barn", size="20x15cm", species="basswood")).code
    references.add(studio, code, photo, zones=3)
    return code


def test_a_strip_by_eye_is_fitted_and_undone(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Barn"))
    before = contents(studio)
    made = ladders.add(studio, BY_EYE)
    assert (made.code, made.vary, made.scale, made.held) == (
        "L-0001", "heat", "heat, dial", "one stroke",
    )  # fmt: skip
    assert [patch.fitted for patch in made.patches] == pytest.approx([78, 64, 51, 37, 26])
    assert ladders.show(studio, "basswood") == ladders.show(studio, "L-1")
    undo.undo_last(studio)
    assert contents(studio) == before


def test_it_was_burned_on_the_day_of_the_wall(studio: Studio, clock: FixedClock) -> None:
    clock.now = datetime(2027, 3, 18, 3, tzinfo=UTC)  # in Chicago it is still the 17th
    here = books.open_at(studio.home, clock, ZoneInfo("America/Chicago"))
    assert ladders.add(here, BY_EYE).burned_on == date(2027, 3, 17)
    here.close()


def test_the_curve_is_that_of_scipy(studio: Studio) -> None:
    read = [80.0, 61, 66, 50, 53, 31, 22]
    settings = np.arange(1.0, 8)
    new = BY_EYE.model_copy(update={"heat": list(settings), "lightness": read})
    curve = np.array(ladders.add(studio, new).curve)
    pooled = isotonic_regression(read, increasing=False).x
    assert curve[:, 1] == pytest.approx(PchipInterpolator(settings, pooled)(curve[:, 0]), abs=1e-9)
    assert (np.diff(curve[:, 1]) <= 1e-9).all()


def test_speed_counts_as_time(studio: Studio) -> None:
    new = NewLadder(
        species="basswood", tip="ball", heat=[5], speed=[20, 10, 5], lightness=[75, 55, 35]
    )
    made = ladders.add(studio, new)
    assert (made.vary, made.scale, made.held) == ("speed", "s/cm", "heat 5, one stroke")
    assert [patch.setting for patch in made.patches] == [0.5, 1, 2]


@pytest.mark.parametrize(("exposure", "cast"), [(1.0, (1, 1, 1)), (0.5, (1, 0.8, 0.65))])
def test_a_strip_is_read_from_its_photo(
    studio: Studio, tmp_path: Path, exposure: float, cast: tuple[float, float, float]
) -> None:
    path = tmp_path / "strip.png"
    Image.fromarray(draw_strip(exposure=exposure, cast=cast)).save(path)
    before = contents(studio)
    new = NewLadder(
        species="cherry", tip="ball", heat=[float(n) for n in range(8)], photo=path, card="first"
    )
    made = ladders.add(studio, new)
    assert [patch.lightness for patch in made.patches] == pytest.approx(LADDER, abs=2)
    assert made.bare == pytest.approx(WOOD, abs=2)
    assert (made.photo, made.patches[0].read) == ("strip.png", "photo")
    undo.undo_last(studio)
    assert contents(studio) == before


def test_without_a_card_it_says_so_and_takes_no_bare_wood(studio: Studio, tmp_path: Path) -> None:
    path = tmp_path / "strip.png"
    Image.fromarray(draw_strip(card=None)).save(path)
    heat = [float(n) for n in range(8)]
    made = ladders.add(studio, NewLadder(species="cherry", tip="ball", heat=heat, photo=path))
    assert made.bare is None
    assert "No card" in made.notes[0]


class TestSettings:
    def test_each_zone_has_the_setting_that_burns_it(self, studio: Studio, job: str) -> None:
        ladders.add(studio, BY_EYE)
        found = zone_settings.settings_for(studio, job)
        measured = {zone.zone: zone for zone in references.show(studio, job).zones}
        # Basswood in the table: darkest burn L* 20; the ladder's bare wood is L* 84.
        for zone in found.zones:
            assert zone.wanted == pytest.approx(84 - measured[zone.zone].darkness * (84 - 20))
            if zone.reach is Reach.REACHED:
                burned = np.interp(zone.setting, HEATS, [78, 64, 51, 37, 26])
                assert burned == pytest.approx(zone.wanted, abs=1.5)  # PCHIP beside straight lines
        assert [zone.zone for zone in found.zones] == [1, 2, 3]

    def test_what_the_wood_cannot_reach_is_said(self, studio: Studio, job: str) -> None:
        pale = BY_EYE.model_copy(update={"lightness": [80.0, 76, 72, 68, 64]})
        ladders.add(studio, pale)
        darkest = zone_settings.settings_for(studio, job).zones[0]
        assert darkest.reach is Reach.TOO_DARK
        assert (darkest.setting, darkest.expected) == (6, 64)
        assert "not reachable" in darkest.words

    def test_the_newest_on_the_wood_counts(
        self, studio: Studio, job: str, clock: FixedClock
    ) -> None:
        ladders.add(studio, BY_EYE)
        clock.forward(days=1)
        ladders.add(studio, BY_EYE.model_copy(update={"tip": "ball 2 mm"}))
        ladders.add(studio, BY_EYE.model_copy(update={"species": "sugar maple"}))
        assert zone_settings.settings_for(studio, job).ladder == "L-0002"
        assert zone_settings.settings_for(studio, job, tip="shader").ladder == "L-0001"
        other = zone_settings.settings_for(studio, job, ladder="L-3")
        assert other.notes[0] == "The ladder is on sugar maple, not on this wood"
        assert [one.code for one in ladders.everything(studio, "basswood")] == ["L-0002", "L-0001"]

    def test_a_wood_of_ones_own_goes_by_its_own_figures(self, studio: Studio, photo: Path) -> None:
        own_species.add(studio, own_species.NewSpecies(name="Plum", bare=60, burnt=25))
        commissions.add(studio, Wishes(title="Barn", size="20x15cm", species="plum"))
        references.add(studio, "Barn", photo, zones=3)
        new = BY_EYE.model_copy(update={"species": "plum", "bare": None})
        ladders.add(studio, new)
        found = zone_settings.settings_for(studio, "Barn")
        assert found.bare == 60
        assert "own" in found.notes[0]

    def test_without_ladder_or_reference_it_says_what_to_do(self, studio: Studio, job: str) -> None:
        with pytest.raises(NotFound, match=r"ladder\.add"):
            zone_settings.settings_for(studio, job)
        commissions.add(studio, Wishes(title="Mill"))
        with pytest.raises(NotFound, match=r"reference\.add\(job=C-0002\)"):
            zone_settings.settings_for(studio, "Mill")


@pytest.mark.parametrize(
    "change",
    [
        {"heat": [3.0]},
        {"heat": []},
        {"strokes": [1.0, 2, 3, 4, 5]},
        {"speed": [0.0]},
        {"heat": [1.0, 2, 3, 4, float("nan")]},
        {"unit": "K"},
        {"lightness": [78.0, 64]},
        {"lightness": [78.0, 64, 51, 37, -1]},
        {"lightness": None},
        {"bare": 130.0},
        {"card": "first"},
        {"heat": [float(n) for n in range(50)]},
        {"tip": " "},
    ],
)
def test_what_cannot_be_is_refused(studio: Studio, change: dict[str, object]) -> None:
    with pytest.raises(BadInput):
        ladders.add(studio, BY_EYE.model_copy(update=change))
    assert ladders.everything(studio) == []
