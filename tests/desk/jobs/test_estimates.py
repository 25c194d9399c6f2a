from decimal import Decimal
from pathlib import Path

import pytest

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import estimates, readings, references
from burnplan.desk.jobs.commissions import Wishes, add
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.units import parse_size
from burnplan.wood.species import species_or_own


def _asked(size: str = "32x24cm") -> readings.EstimateRequest:
    return readings.EstimateRequest(parse_size(size), species_or_own("basswood"), zones=3)


@pytest.mark.long
def test_an_estimate_measures_what_was_drawn(photo: Path) -> None:
    """The drawn disc and square have closed forms: areas and borders within 1 %."""
    view, _ = estimates.estimate(photo, _asked(), studio_settings.Settings())
    disc, square, ground = view.zones
    assert disc.area_cm2 == pytest.approx(3.14159 * 5.5**2, rel=0.01)
    assert square.area_cm2 == pytest.approx(12 * 11, rel=0.01)
    assert sum(zone.area_cm2 for zone in view.zones) == pytest.approx(768, rel=1e-6)
    assert disc.line_cm == pytest.approx(2 * 3.14159 * 5.5, rel=0.01)
    assert square.line_cm == pytest.approx(46, rel=0.01)
    assert ground.line_cm == 0
    assert [zone.islands for zone in view.zones] == [1, 1, 1]
    assert disc.darkness > square.darkness > ground.darkness
    drawn = view.lines.firm_cm + view.lines.light_cm + view.lines.lost_cm
    assert drawn == pytest.approx(disc.line_cm + square.line_cm)


@pytest.mark.long
def test_quantiles_are_ordered_and_lines_add_up(photo: Path) -> None:
    own = studio_settings.Settings(tax_percent=Decimal(19))
    view, _ = estimates.estimate(photo, _asked(), own, wood=Decimal("12.30"))
    for name in type(view.hours).model_fields:
        part = getattr(view.hours, name)
        assert 0 < part.p10 < part.p50 < part.p80 < part.p90
    assert view.price is not None
    assert sum(line.amount for line in view.price.lines) == view.price.amount


@pytest.mark.long
def test_the_same_photo_gives_the_same_estimate(photo: Path) -> None:
    first, _ = estimates.estimate(photo, _asked(), studio_settings.Settings())
    again, _ = estimates.estimate(photo, _asked(), studio_settings.Settings())
    assert first == again


def test_larger_is_longer(photo: Path) -> None:
    small, _ = estimates.estimate(photo, _asked("16x12cm"), studio_settings.Settings())
    large, _ = estimates.estimate(photo, _asked("32x24cm"), studio_settings.Settings())
    assert large.hours.burn.p50 > 2.5 * small.hours.burn.p50


def test_a_reference_needs_a_size(studio: Studio, photo: Path) -> None:
    add(studio, Wishes(title="Barn"))
    with pytest.raises(BadInput, match="no size yet"):
        references.add(studio, "Barn", photo)
    assert not (studio.home / "originals").exists()


def test_the_reference_is_the_estimate(studio: Studio, photo: Path) -> None:
    add(studio, Wishes(title="Barn", size="32x24cm", species="basswood"))
    kept, _ = references.add(studio, "Barn", photo, zones=3)
    view, _ = estimates.estimate(photo, _asked(), studio_settings.Settings())
    assert kept.zones == view.zones
    assert kept.hours.total.p50 == pytest.approx(view.hours.total.p50)
    again, reading = references.pictures(studio, "Barn")
    assert again.thresholds == list(reading.zones.thresholds) == kept.thresholds
