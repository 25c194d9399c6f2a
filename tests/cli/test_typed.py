"""What people type: sizes in the studio's own unit, a discount in per cent, the plain C locale."""

import pytest

from burnplan.desk.derived import studio_settings
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import commissions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.units import UnitSystem
from tests.cli.conftest import Run


@pytest.mark.parametrize(
    ("units", "size", "thick"),
    [(UnitSystem.IMPERIAL, (279.4, 355.6), 12.7), (UnitSystem.METRIC, (110, 140), 0.5)],
)
def test_a_bare_number_has_the_unit_of_the_studio(
    burnplan: Run, studio: Studio, units: UnitSystem, size: tuple[float, float], thick: float
) -> None:
    settings.save(studio, Settings(units=units))
    assert burnplan("commission", "add", "Fox", "--size", "11x14")[0] == 0
    assert commissions.show(studio, "Fox").size_mm == pytest.approx(size)
    assert burnplan("blank", "add", "basswood", "11x14", "--thickness", "1/2")[0] == 0
    blank = blanks.show(studio, "B-1")
    assert blank.size_mm == pytest.approx(size)
    assert blank.thickness_mm == pytest.approx(thick)
    assert burnplan("commission", "edit", "C-1", "--size", "round 10")[0] == 0
    assert burnplan("price-list", "8x10")[0] == 0


def test_a_discount_in_per_cent(burnplan: Run, studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Fox"))
    plain = quotes.draft(studio, "Fox", quotes.QuoteRequest(hours=10)).total
    issue = ("quote", "issue", "C-1", "--hours", "10", "--because", "friend", "--discount")
    assert burnplan(*issue, "20%")[0] == 0
    assert float(quotes.show(studio, "Fox").total) == pytest.approx(float(plain) * 0.8)
    assert burnplan(*issue, "120%")[0] == 2


@pytest.mark.parametrize("named", ["C", "POSIX", "C.UTF-8"])
def test_the_plain_locale_writes_money_as_people_do(
    named: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LC_ALL", named)
    assert studio_settings.first_guess().locale == "en_US"
