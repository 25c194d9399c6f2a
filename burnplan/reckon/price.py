"""The price of a job, in Decimal, from its hours and what else it costs.

Labour is charged for the hours that are enough in the share of cases the
artist wants to be sure of, at the hourly target: the price at which the chance
to earn at least that target is exactly that share.
"""

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from enum import StrEnum

from burnplan.errors import BadInput


class LineKind(StrEnum):
    """What a line of a price is for."""

    LABOUR = "labour"
    WOOD = "wood"
    CONSUMABLES = "consumables"
    OVERHEAD = "overhead"
    PACKING = "packing"
    RUSH = "rush"
    MARGIN = "margin"
    MINIMUM = "minimum"
    DISCOUNT = "discount"
    ROUNDING = "rounding"
    AGREED = "agreed"
    TAX = "tax"


@dataclass(frozen=True, slots=True)
class PriceLine:
    """One line of a price."""

    kind: LineKind
    label: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Terms:
    """What decides a price besides the hours; percentages are of the lines named.

    Parameters
    ----------
    currency : str
        ISO 4217.
    digits : int
        Decimals of its minor unit.
    hourly_target : Decimal
        What an hour should earn, before tax.
    sure : float
        The chance wanted of earning at least that, 0.05 to 0.99.
    wood, packing : Decimal
        At cost.
    consumables_percent, overhead_percent : Decimal
        Of labour.
    rush_percent : Decimal
        Of labour.
    margin_percent : Decimal
        Of everything before it.
    minimum : Decimal
        The least a piece is sold for, before tax.
    discount : Decimal
        Taken off, before tax.
    discount_reason : str
    round_to : Decimal
        The total before tax is rounded up to a multiple of this; 0 for not.
    tax_percent : Decimal
    deposit_percent : Decimal
        Of the total.
    agreed : Decimal, optional
        A price before tax that is settled already; a line brings the sum to it.
    """

    currency: str
    digits: int
    hourly_target: Decimal
    sure: float = 0.8
    wood: Decimal = Decimal(0)
    packing: Decimal = Decimal(0)
    consumables_percent: Decimal = Decimal(4)
    overhead_percent: Decimal = Decimal(10)
    rush_percent: Decimal = Decimal(0)
    margin_percent: Decimal = Decimal(0)
    minimum: Decimal = Decimal(0)
    discount: Decimal = Decimal(0)
    discount_reason: str = ""
    round_to: Decimal = Decimal(0)
    tax_percent: Decimal = Decimal(0)
    deposit_percent: Decimal = Decimal(0)
    agreed: Decimal | None = None

    def __post_init__(self) -> None:
        if not 0.05 <= self.sure <= 0.99:
            raise BadInput(
                f"The chance to be sure of must be 5 to 99 %, not {self.sure:.0%}",
                "80 % is a good start",
            )
        amounts = (
            self.hourly_target, self.wood, self.packing, self.consumables_percent,
            self.overhead_percent, self.rush_percent, self.margin_percent, self.minimum,
            self.discount, self.round_to, self.tax_percent, self.deposit_percent,
            self.agreed or Decimal(0),
        )  # fmt: skip
        if any(amount < 0 for amount in amounts):
            raise BadInput("A price has no part below zero", "Give a discount as a positive amount")
        if self.discount and not self.discount_reason:
            raise BadInput("A discount needs a reason", "Say why, so the job can be judged later")
        if self.deposit_percent > 100:
            raise BadInput("A deposit is at most 100 %", "Common is a third or a half")


@dataclass(frozen=True, slots=True)
class Price:
    """A price with the lines that add up to it.

    Parameters
    ----------
    lines : tuple of PriceLine
        Their amounts add up to the total, to the minor unit.
    deposit : Decimal
    hours_charged : float
    """

    lines: tuple[PriceLine, ...]
    deposit: Decimal
    hours_charged: float

    @property
    def total(self) -> Decimal:
        """What the client pays."""
        return sum((line.amount for line in self.lines), Decimal(0))

    @property
    def tax(self) -> Decimal:
        """The tax in it."""
        return sum((line.amount for line in self.lines if line.kind is LineKind.TAX), Decimal(0))

    @property
    def net(self) -> Decimal:
        """What is left without tax."""
        return self.total - self.tax


def price_for(hours: float, terms: Terms) -> Price:
    """Return the price of a job that is charged some hours.

    Every line is rounded half up to the minor unit, so that the lines add up
    to the total exactly.

    Parameters
    ----------
    hours : float
        The hours that are enough in the share of cases ``terms.sure``.
    terms : Terms

    Returns
    -------
    Price

    Raises
    ------
    BadInput
        If the discount is more than the price.

    Examples
    --------
    >>> price = price_for(10, Terms("EUR", 2, Decimal(30), tax_percent=Decimal(19)))
    >>> [(line.kind.value, str(line.amount)) for line in price.lines]
    [('labour', '300.00'), ('consumables', '12.00'), ('overhead', '30.00'), ('tax', '64.98')]
    """
    unit = Decimal(1).scaleb(-terms.digits)

    def rounded(amount: Decimal) -> Decimal:
        return amount.quantize(unit, ROUND_HALF_UP)

    labour = rounded(Decimal(repr(float(hours))) * terms.hourly_target)
    lines = [PriceLine(LineKind.LABOUR, "Work", labour)]

    def add(kind: LineKind, label: str, amount: Decimal) -> None:
        if amount := rounded(amount):
            lines.append(PriceLine(kind, label, amount))

    def so_far() -> Decimal:
        return sum((line.amount for line in lines), Decimal(0))

    add(LineKind.WOOD, "Wood", terms.wood)
    add(LineKind.CONSUMABLES, "Consumables", labour * terms.consumables_percent / 100)
    add(LineKind.OVERHEAD, "Workshop", labour * terms.overhead_percent / 100)
    add(LineKind.PACKING, "Packing", terms.packing)
    add(LineKind.RUSH, "Rush", labour * terms.rush_percent / 100)
    add(LineKind.MARGIN, "Margin", so_far() * terms.margin_percent / 100)
    add(LineKind.MINIMUM, "Up to the least price", max(Decimal(0), terms.minimum - so_far()))
    if terms.discount > so_far():
        raise BadInput("The discount is more than the price", "Give a smaller one")
    add(LineKind.DISCOUNT, f"Discount: {terms.discount_reason}", -terms.discount)
    if terms.round_to:
        multiples = (so_far() / terms.round_to).to_integral_value(ROUND_CEILING)
        add(LineKind.ROUNDING, "Rounding", multiples * terms.round_to - so_far())
    if terms.agreed is not None:
        add(LineKind.AGREED, "To the price agreed", terms.agreed - so_far())
    add(
        LineKind.TAX, f"Tax {terms.tax_percent.normalize():f} %", so_far() * terms.tax_percent / 100
    )
    return Price(tuple(lines), rounded(so_far() * terms.deposit_percent / 100), float(hours))


def hours_paid(net: Decimal, terms: Terms) -> float:
    """Return how many hours a net price pays at the target, after other costs.

    The chance that a price earns at least the hourly target is the chance that
    the job takes no more than these.
    """
    if not terms.hourly_target:
        return float("inf")
    left = net - terms.wood - terms.packing
    per_hour = terms.hourly_target * (
        1 + (terms.consumables_percent + terms.overhead_percent) / 100
    )
    return max(0.0, float(left / per_hour))
