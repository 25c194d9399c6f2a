"""Prices are worked by hand beside each check; hours against their own priors, unit by unit."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.reckon import pace
from burnplan.reckon.price import LineKind, Terms, hours_paid, price_for
from burnplan.reckon.work import PRIORS, LineWork, Work, WorkPlan, ZoneWork, standard_hours


def _plan(**more: object) -> WorkPlan:
    plain: dict[str, object] = {
        "width_mm": 300, "height_mm": 400, "area_cm2": 1200.0, "species": "basswood",
        "hardness_lbf": 410, "zones": (ZoneWork(1, 1200, 0.5, 0.2),), "lines": LineWork(400, 600),
    }  # fmt: skip
    return WorkPlan(**{**plain, **more})  # type: ignore[arg-type]


def test_burning_is_area_times_passes_over_nib_and_speed() -> None:
    # 120 000 mm² × (1 + 3 × 0.5) passes ÷ (1.2 mm × 10 mm/s) = 25 000 s = 6.944 h;
    # texture 1 + 1.5 × 0.2 = 1.3 → 9.028 h; lines 1000 cm ÷ 48 cm/min = 0.347 h;
    # 9.375 h in 4.6875 sessions of 2 h, 10 min each = 0.781 h.
    assert standard_hours(_plan())[Work.BURN] == pytest.approx(9.0278 + 0.3472 + 0.7812, abs=1e-3)


def test_bare_wood_costs_nothing_and_lost_edges_neither() -> None:
    bare = _plan(zones=(ZoneWork(1, 1200, 0.0, 0.0),), lines=LineWork(0, 0, 500))
    setting_out_once = PRIORS["session_setup"].value / 60
    assert standard_hours(bare)[Work.BURN] == pytest.approx(setting_out_once)


def test_every_prior_says_where_it_comes_from() -> None:
    assert all(prior.provenance and prior.unit and prior.about for prior in PRIORS.values())


@given(
    st.floats(0.01, 1), st.floats(0, 1), st.floats(1, 5000), st.floats(0, 1e4), st.integers(0, 9)
)
def test_more_of_anything_takes_longer(
    dark: float, texture: float, area: float, line: float, sandings: int
) -> None:
    plan = _plan(
        area_cm2=area,
        zones=(ZoneWork(1, area, dark, texture),),
        lines=LineWork(line),
        sandings=sandings,
    )
    more = _plan(
        area_cm2=area * 1.5,
        zones=(ZoneWork(1, area * 1.5, min(1, dark * 1.1), min(1, texture * 1.1)),),
        lines=LineWork(line + 10),
        sandings=sandings + 1,
    )
    less_hours, more_hours = standard_hours(plan), standard_hours(more)
    assert all(less_hours[stage] < more_hours[stage] for stage in Work)


def test_a_plan_survives_the_book() -> None:
    import json

    plan = _plan()
    assert WorkPlan.from_dict(json.loads(json.dumps(plan.to_dict()))) == plan


def test_with_no_history_the_forecast_is_wide_about_the_standard() -> None:
    hours, standard = pace.forecast(_plan()), standard_hours(_plan())
    for stage, drawn in hours.draws.items():
        logs = np.log(drawn / standard[stage])
        assert abs(np.median(logs)) < 0.1
        assert 0.3 < logs.std() < 1.0
    assert hours.chance_within(hours.quantile(0.8)) == pytest.approx(0.8, abs=0.001)
    assert np.array_equal(pace.forecast(_plan()).total, hours.total)


class TestPrice:
    """Worked by hand, to the minor unit."""

    def test_in_euro(self) -> None:
        # 13.75 h × 28 = 385.00; wood 18.50; 4 % 15.40; 10 % 38.50; packing 12.00;
        # rush 25 % 96.25; so far 565.65; margin 10 % 56.57; discount −20; 602.22;
        # up to a multiple of 5: 605.00; tax 20 % 121.00; total 726.00; deposit 40 % 290.40
        terms = Terms(
            "EUR", 2, Decimal(28), wood=Decimal("18.50"), packing=Decimal(12),
            rush_percent=Decimal(25), margin_percent=Decimal(10), discount=Decimal(20),
            discount_reason="second order", round_to=Decimal(5), tax_percent=Decimal(20),
            deposit_percent=Decimal(40),
        )  # fmt: skip
        price = price_for(13.75, terms)
        amounts = {line.kind: str(line.amount) for line in price.lines}
        assert amounts == {
            LineKind.LABOUR: "385.00", LineKind.WOOD: "18.50", LineKind.CONSUMABLES: "15.40",
            LineKind.OVERHEAD: "38.50", LineKind.PACKING: "12.00", LineKind.RUSH: "96.25",
            LineKind.MARGIN: "56.57", LineKind.DISCOUNT: "-20.00", LineKind.ROUNDING: "2.78",
            LineKind.TAX: "121.00",
        }  # fmt: skip
        assert (str(price.total), str(price.deposit)) == ("726.00", "290.40")

    def test_in_yen(self) -> None:
        # 7.3 h × 3500 = 25 550; 4 % 1022; 10 % 2555; 29 127; tax 10 % 2912.7 → 2913
        price = price_for(7.3, Terms("JPY", 0, Decimal(3500), tax_percent=Decimal(10)))
        assert [str(line.amount) for line in price.lines] == ["25550", "1022", "2555", "2913"]
        assert price.total == 32040

    def test_in_dinar(self) -> None:
        # 2.5 h × 9.125 = 22.8125 → 22.813; 4 % 0.91252 → 0.913; 10 % 2.2813 → 2.281
        price = price_for(2.5, Terms("KWD", 3, Decimal("9.125")))
        assert [str(line.amount) for line in price.lines] == ["22.813", "0.913", "2.281"]

    def test_the_least_price(self) -> None:
        price = price_for(1, Terms("EUR", 2, Decimal(30), minimum=Decimal(80)))
        assert price.net == 80

    @given(
        st.floats(0.1, 500),
        st.sampled_from([("JPY", 0), ("EUR", 2), ("KWD", 3)]),
        st.decimals(0, 500, places=3),
        st.decimals(0, 100, places=2),
        st.decimals(0, 100, places=2),
        st.sampled_from([0, 1, 5, 10]),
    )
    def test_lines_always_add_up(
        self,
        hours: float,
        money: tuple[str, int],
        rate: Decimal,
        margin: Decimal,
        tax: Decimal,
        step: int,
    ) -> None:
        terms = Terms(
            *money, hourly_target=rate, margin_percent=margin, tax_percent=tax,
            round_to=Decimal(step), deposit_percent=Decimal(33),
        )  # fmt: skip
        price = price_for(hours, terms)
        unit = Decimal(1).scaleb(-terms.digits)
        assert sum(line.amount for line in price.lines) == price.total == price.net + price.tax
        assert all(line.amount % unit == 0 for line in price.lines)
        if step:
            assert price.net % step == 0

    def test_a_price_pays_the_hours_it_charges(self) -> None:
        terms = Terms("EUR", 2, Decimal(30), wood=Decimal(20), packing=Decimal(5))
        assert hours_paid(price_for(12, terms).net, terms) == pytest.approx(12, abs=0.001)

    @pytest.mark.parametrize(
        "wrong",
        [{"sure": 1.0}, {"wood": Decimal(-1)}, {"discount": Decimal(5)},
         {"deposit_percent": Decimal(101)}],
    )  # fmt: skip
    def test_terms_that_make_no_sense(self, wrong: dict[str, object]) -> None:
        with pytest.raises(BadInput):
            Terms("EUR", 2, Decimal(30), **wrong)  # type: ignore[arg-type]

    def test_a_discount_above_the_price(self) -> None:
        terms = Terms("EUR", 2, Decimal(1), discount=Decimal(99), discount_reason="friend")
        with pytest.raises(BadInput, match="more than the price"):
            price_for(1, terms)
