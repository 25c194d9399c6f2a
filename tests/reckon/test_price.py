"""Prices are worked by hand beside each check, to the minor unit."""

from decimal import Decimal
from typing import ClassVar

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.reckon.price import (
    VALID_DAYS,
    Instalment,
    LineKind,
    Milestone,
    Terms,
    hours_paid,
    price_for,
    shared_out,
)


def test_in_euro() -> None:
    # 13.75 h × 28 = 385.00; wood 18.50; 4 % 15.40; 10 % 38.50; packing 12.00;
    # rush 25 % 96.25; so far 565.65; margin 10 % 56.565; discount −20; 602.215 → 602.22;
    # up to a multiple of 5: 605.00, rounding 2.78; lines 56.565 → 56.57 (the largest
    # remainder), sum 605.00; tax 20 % 121.00; total 726.00; deposit 40 % 290.40
    terms = Terms(
        "EUR", 2, Decimal(28), wood=Decimal("18.50"), packing=Decimal(12),
        rush_percent=Decimal(25), margin_percent=Decimal(10), discount=Decimal(20),
        discount_reason="second order", round_to=Decimal(5), tax_percent=Decimal(20),
        deposit_percent=Decimal(40),
    )  # fmt: skip
    price = price_for(13.75, terms)
    assert {line.kind: str(line.amount) for line in price.lines} == {
        LineKind.LABOUR: "385.00", LineKind.WOOD: "18.50", LineKind.CONSUMABLES: "15.40",
        LineKind.OVERHEAD: "38.50", LineKind.PACKING: "12.00", LineKind.RUSH: "96.25",
        LineKind.MARGIN: "56.57", LineKind.DISCOUNT: "-20.00", LineKind.ROUNDING: "2.78",
        LineKind.TAX: "121.00",
    }  # fmt: skip
    assert (str(price.total), str(price.deposit)) == ("726.00", "290.40")


def test_in_yen() -> None:
    # 7.3 h × 3500 = 25 550; 4 % 1022; 10 % 2555; 29 127; tax 10 % 2912.7 → 2913
    price = price_for(7.3, Terms("JPY", 0, Decimal(3500), tax_percent=Decimal(10)))
    assert [str(line.amount) for line in price.lines] == ["25550", "1022", "2555", "2913"]
    assert price.total == 32040


def test_in_dinar() -> None:
    # 2.5 h × 9.125 = 22.8125; 4 % 0.9125; 10 % 2.28125; sum 26.00625 → 26.006. Rounded
    # down 22.812 + 0.912 + 2.281 = 26.005: one fils is missing, and goes to the first of
    # the two that lost half a fils. Each rounded by itself would make 26.007.
    price = price_for(2.5, Terms("KWD", 3, Decimal("9.125")))
    assert [str(line.amount) for line in price.lines] == ["22.813", "0.912", "2.281"]
    assert str(price.total) == "26.006"


def test_three_lines_of_half_a_yen_do_not_make_two_yen() -> None:
    # 1 h × 1000.5; wood 100.5; packing 50.5; sum 1151.5 → 1152
    terms = Terms(
        "JPY", 0, Decimal("1000.5"), wood=Decimal("100.5"), packing=Decimal("50.5"),
        consumables_percent=Decimal(0), overhead_percent=Decimal(0),
    )  # fmt: skip
    price = price_for(1, terms)
    assert [str(line.amount) for line in price.lines] == ["1001", "101", "50"]


def test_rounding_what_the_client_pays() -> None:
    # 10 h × 30 = 300, 4 % 12, 10 % 30: 342.00, tax 19 % 64.98: 406.98 → 410;
    # 410 ÷ 1.19 = 344.5378 → 344.54, rounding 2.54; tax 65.46 (19 % of 344.54 = 65.4626)
    terms = Terms(
        "EUR", 2, Decimal(30), tax_percent=Decimal(19), round_to=Decimal(10), round_with_tax=True
    )
    price = price_for(10, terms)
    assert [str(line.amount) for line in price.lines] == [
        "300.00", "12.00", "30.00", "2.54", "65.46",
    ]  # fmt: skip
    assert str(price.total) == "410.00"


def test_the_least_price() -> None:
    price = price_for(1, Terms("EUR", 2, Decimal(30), minimum=Decimal(80)))
    # 30 + 1.20 + 3 = 34.20
    assert price.net == 80
    assert price.lines[-1].kind is LineKind.MINIMUM
    assert str(price.lines[-1].amount) == "45.80"


@pytest.mark.parametrize(("agreed", "last"), [("400", "58.00"), ("300.50", "-41.50")])
def test_a_price_agreed(agreed: str, last: str) -> None:
    # 10 h × 30 = 300, 4 % 12, 10 % 30: 342.00; no rule rounds what is agreed
    terms = Terms("EUR", 2, Decimal(30), agreed=Decimal(agreed), round_to=Decimal(7))
    price = price_for(10, terms)
    assert price.net == Decimal(agreed)
    assert price.lines[-1].kind is LineKind.AGREED
    assert str(price.lines[-1].amount) == last


@given(
    st.floats(0, 500),
    st.sampled_from([("JPY", 0), ("EUR", 2), ("KWD", 3)]),
    st.decimals(0, 500, places=3),
    st.decimals(0, 100, places=2),
    st.decimals(0, 100, places=2),
    st.decimals(0, 40, places=4),
    st.sampled_from([0, 1, 5, 10]),
    st.booleans(),
)
def test_lines_always_add_up(
    hours: float,
    money: tuple[str, int],
    rate: Decimal,
    margin: Decimal,
    tax: Decimal,
    wood: Decimal,
    step: int,
    with_tax: bool,
) -> None:
    terms = Terms(
        *money, hourly_target=rate, margin_percent=margin, tax_percent=tax, wood=wood,
        round_to=Decimal(step), round_with_tax=with_tax, deposit_percent=Decimal(33),
        rush_percent=margin,
    )  # fmt: skip
    price = price_for(hours, terms)
    unit = Decimal(1).scaleb(-terms.digits)
    assert sum(line.amount for line in price.lines) == price.total == price.net + price.tax
    assert all(line.amount % unit == 0 for line in price.lines)
    if step:
        assert (price.total if with_tax else price.net) % step == 0
    # Within a unit of what was reckoned before any rounding.
    labour = Decimal(repr(hours)) * rate
    exact = labour * (1 + (14 + margin) / 100) + wood
    exact += exact * margin / 100
    if not step:
        assert abs(price.net - exact) <= unit / 2
        assert abs(price.lines[0].amount - labour) < unit


@given(st.lists(st.decimals(-1000, 1000, places=5), max_size=9), st.sampled_from([0, 2, 3]))
def test_parts_add_up_and_none_is_a_unit_off(parts: list[Decimal], digits: int) -> None:
    unit = Decimal(1).scaleb(-digits)
    found = shared_out(parts, digits)
    assert abs(sum(found, Decimal(0)) - sum(parts, Decimal(0))) <= unit / 2
    assert all(abs(a - b) < unit for a, b in zip(found, parts, strict=True))
    assert all(a == b for a, b in zip(found, parts, strict=True) if b % unit == 0)


def test_a_piece_given_away_costs_nothing() -> None:
    """Work of 25 012.50 yen, down to the price agreed, is no unit below it."""
    whole = Terms("JPY", 0, Decimal(2001), consumables_percent=Decimal(0),
                  overhead_percent=Decimal(0), agreed=Decimal(0))  # fmt: skip
    assert price_for(12.5, whole).total == 0


def test_a_price_pays_the_hours_it_charges() -> None:
    terms = Terms("EUR", 2, Decimal(30), wood=Decimal(20), packing=Decimal(5))
    assert hours_paid(price_for(12, terms).net, terms) == pytest.approx(12, abs=0.001)


def test_the_chance_that_a_price_pays() -> None:
    # Each hour takes 20 × 1.14 = 22.80; 10 more for wood: 8 h are paid by 192.40.
    terms = Terms("EUR", 2, Decimal(20), wood=Decimal(10))
    assert hours_paid(Decimal("192.40"), terms) == pytest.approx(8)
    assert hours_paid(Decimal("192.39"), terms) < 8
    assert hours_paid(Decimal(5), terms) == 0
    assert hours_paid(Decimal(1), Terms("EUR", 2, Decimal(0))) == float("inf")


class TestInstalments:
    THIRDS: ClassVar = (
        Instalment(Milestone.TRANSFERRED, Decimal(33)),
        Instalment(Milestone.BURNED, Decimal(34)),
    )

    @given(
        st.floats(0, 200), st.sampled_from([0, 2, 3]), st.integers(0, 50),
        st.lists(st.integers(1, 16), max_size=3),
    )  # fmt: skip
    def test_with_deposit_and_balance_they_are_the_whole(
        self, hours: float, digits: int, deposit: int, percents: list[int]
    ) -> None:
        along = tuple(
            Instalment(at, Decimal(percent))
            for at, percent in zip(Milestone, percents, strict=False)
        )
        terms = Terms(
            "XXX", digits, Decimal(31), deposit_percent=Decimal(deposit), instalments=along
        )
        price = price_for(hours, terms)
        due = [price.deposit, *price.instalments]
        unit = Decimal(1).scaleb(-digits)
        assert all(amount >= 0 and amount % unit == 0 for amount in due)
        assert sum(due) <= price.total
        for amount, percent in zip(due, [deposit, *percents], strict=True):
            assert abs(amount - price.total * percent / 100) <= unit

    def test_thirds_of_a_hundred(self) -> None:
        # 33 %, 33 %, 34 % of 100.01 up to each: 33.00, 66.01, 100.01.
        terms = Terms(
            "EUR", 2, Decimal(30), agreed=Decimal("100.01"),
            deposit_percent=Decimal(33), instalments=self.THIRDS,
        )  # fmt: skip
        price = price_for(1, terms)
        assert [price.deposit, *price.instalments] == [
            Decimal("33.00"), Decimal("33.01"), Decimal("34.00"),
        ]  # fmt: skip

    @pytest.mark.parametrize(
        ("deposit", "along"),
        [
            (40, THIRDS),
            (1, (Instalment(Milestone.BURNED, Decimal("99.5")),)),
            (0, tuple(reversed(THIRDS))),
            (0, (Instalment(Milestone.BURNED, Decimal(0)),)),
            (0, (Instalment(Milestone.BURNED, Decimal(5)),) * 2),
        ],
    )
    def test_what_cannot_be_is_refused(self, deposit: int, along: tuple[Instalment, ...]) -> None:
        with pytest.raises(BadInput):
            Terms("EUR", 2, Decimal(30), deposit_percent=Decimal(deposit), instalments=along)


@pytest.mark.parametrize(
    "wrong",
    [
        {"sure": 0.991},
        {"sure": 0.049},
        *(
            {name: Decimal("-0.01"), "discount_reason": "x"}
            for name in (
                "wood", "packing", "consumables_percent", "overhead_percent", "rush_percent",
                "margin_percent", "minimum", "discount", "round_to", "tax_percent",
                "deposit_percent", "agreed",
            )
        ),
        {"discount": Decimal("0.01")},
        {"deposit_percent": Decimal("100.01")},
    ],
)  # fmt: skip
def test_terms_that_make_no_sense(wrong: dict[str, object]) -> None:
    with pytest.raises(BadInput):
        Terms("EUR", 2, Decimal(30), **wrong)  # type: ignore[arg-type]


def test_a_chance_that_cannot_be_is_said_in_per_cent() -> None:
    with pytest.raises(BadInput, match="must be 5 to 99 %, not 3 %"):
        Terms("EUR", 2, Decimal(30), sure=0.03)


def test_terms_at_their_edges() -> None:
    for sure in (0.05, 0.99):
        assert Terms("EUR", 2, Decimal(0), sure=sure).sure == sure
    whole = Terms("EUR", 2, Decimal(30), deposit_percent=Decimal(100))
    assert price_for(10, whole).deposit == 342
    burned = (Instalment(Milestone.BURNED, Decimal("0.5")),)
    terms = Terms("EUR", 2, Decimal(30), deposit_percent=Decimal("99.5"), instalments=burned)
    price = price_for(10, terms)
    assert (price.deposit, price.instalments) == (Decimal("340.29"), (Decimal("1.71"),))


def test_what_is_usual() -> None:
    """Common practice, no source: 4 % for consumables, 10 % for the workshop, four in five sure.

    A quote stands for a month.
    """
    assert VALID_DAYS == 30
    terms = Terms("EUR", 2, Decimal(30))
    assert terms.sure == 0.8
    assert (terms.consumables_percent, terms.overhead_percent) == (Decimal(4), Decimal(10))
    rest = (
        terms.wood, terms.packing, terms.rush_percent, terms.margin_percent, terms.minimum,
        terms.discount, terms.round_to, terms.tax_percent, terms.deposit_percent,
    )  # fmt: skip
    assert not any(rest)
    assert not terms.round_with_tax


def test_no_hours_cost_no_labour_and_a_line_of_nothing_is_left_out() -> None:
    nothing = price_for(0, Terms("EUR", 2, Decimal(30)))
    assert [line.kind for line in nothing.lines] == [LineKind.LABOUR]
    assert nothing.total == nothing.deposit == 0
    enough = price_for(1, Terms("EUR", 2, Decimal(30), minimum=Decimal("34.20")))
    assert LineKind.MINIMUM not in [line.kind for line in enough.lines]


def test_rounding_goes_up_to_the_next_multiple_and_no_further() -> None:
    # 342.00 is a multiple of 6 already; of 7 the next is 343.
    for step, net in ((6, 342), (7, 343), (50, 350)):
        assert price_for(10, Terms("EUR", 2, Decimal(30), round_to=Decimal(step))).net == net


@pytest.mark.parametrize("hours", [-1.0, float("nan"), float("inf")])
def test_hours_that_are_none(hours: float) -> None:
    with pytest.raises(BadInput, match="not a number of hours"):
        price_for(hours, Terms("EUR", 2, Decimal(30)))


def test_a_discount_in_per_cent_is_of_all_that_is_before_it() -> None:
    # Work 300, consumables 12, workshop 30: 342; a fifth of that is 68.40.
    terms = Terms("EUR", 2, Decimal(30), discount_percent=Decimal(20), discount_reason="friend")
    price = price_for(10, terms)
    assert price.total == Decimal("273.60")
    assert [line.amount for line in price.lines][-1] == Decimal("-68.40")
    with pytest.raises(BadInput, match="reason"):
        Terms("EUR", 2, Decimal(30), discount_percent=Decimal(20))
    with pytest.raises(BadInput, match="0 to 100"):
        Terms("EUR", 2, Decimal(30), discount_percent=Decimal(120), discount_reason="x")


def test_a_discount_above_the_price() -> None:
    given = {"discount": Decimal("342.01"), "discount_reason": "friend"}
    with pytest.raises(BadInput, match="more than the price"):
        price_for(10, Terms("EUR", 2, Decimal(30), **given))  # type: ignore[arg-type]
    given["discount"] = Decimal(342)
    assert price_for(10, Terms("EUR", 2, Decimal(30), **given)).total == 0  # type: ignore[arg-type]
