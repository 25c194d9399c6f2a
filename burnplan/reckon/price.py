"""The price of a job, in Decimal, from its hours and what else it costs.

Labour is charged for the hours that are enough in the share of cases the
artist wants to be sure of, at the hourly target: the price at which the chance
to earn at least that target is exactly that share.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from enum import StrEnum
from itertools import accumulate, pairwise
from math import isfinite

from burnplan.errors import BadInput
from burnplan.sentences import Do

VALID_DAYS = 30
"""That a quote stands where nobody says otherwise (common practice, no source)."""


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


class Milestone(StrEnum):
    """When an instalment falls due: after what part of the work, in its order."""

    PREPARED = "prepared"
    TRANSFERRED = "transferred"
    BURNED = "burned"


@dataclass(frozen=True, slots=True)
class Instalment:
    """A share of the total that falls due along the way.

    Parameters
    ----------
    at : Milestone
    percent : Decimal
    """

    at: Milestone
    percent: Decimal


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
    discount_percent : Decimal
        Taken off what is before it, in per cent, on top of the amount.
    discount_reason : str
    round_to : Decimal
        The price before tax is rounded up to a multiple of this; 0 for not.
    round_with_tax : bool
        Round what the client pays, tax included, instead.
    tax_percent : Decimal
    deposit_percent : Decimal
        Of the total.
    instalments : tuple of Instalment
        Shares of the total that fall due along the way, after the deposit.
    agreed : Decimal, optional
        A price before tax that is settled already; a line brings the sum to it.
    """

    currency: str
    digits: int
    hourly_target: Decimal
    sure: float = 0.8  # our own choice: four times in five the hours charged are enough
    wood: Decimal = Decimal(0)
    packing: Decimal = Decimal(0)
    consumables_percent: Decimal = Decimal(4)  # common practice, no source
    overhead_percent: Decimal = Decimal(10)  # common practice, no source
    rush_percent: Decimal = Decimal(0)
    margin_percent: Decimal = Decimal(0)
    minimum: Decimal = Decimal(0)
    discount: Decimal = Decimal(0)
    discount_percent: Decimal = Decimal(0)
    discount_reason: str = ""
    round_to: Decimal = Decimal(0)
    round_with_tax: bool = False
    tax_percent: Decimal = Decimal(0)
    deposit_percent: Decimal = Decimal(0)
    instalments: tuple[Instalment, ...] = ()
    agreed: Decimal | None = None

    def __post_init__(self) -> None:
        if not 0.05 <= self.sure <= 0.99:
            raise BadInput(
                f"The chance to be sure of must be 5 to 99 %, not {self.sure * 100:.0f} %",
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
        if not 0 <= self.discount_percent <= 100:
            raise BadInput(f"{self.discount_percent} % is no discount", "Give 0 to 100 %")
        if (self.discount or self.discount_percent) and not self.discount_reason:
            raise BadInput(
                "A discount needs a reason",
                "Say why with ",
                Do("quote.because"),
                ", so that the job can be judged later",
            )
        if self.deposit_percent > 100:
            raise BadInput("A deposit is at most 100 %", "Common is a third or a half")
        self._check_instalments()

    def _check_instalments(self) -> None:
        if any(part.percent <= 0 for part in self.instalments):
            raise BadInput("An instalment is a part above zero", "Leave it out if there is none")
        along = [part.at for part in self.instalments]
        if along != sorted(set(along), key=list(Milestone).index):
            raise BadInput(
                "Instalments come once each, in the order of the work",
                f"Give them in this order: {', '.join(Milestone)}",
            )
        whole = self.deposit_percent + sum(part.percent for part in self.instalments)
        if self.instalments and whole > 100:
            raise BadInput(
                f"Deposit and instalments are {whole.normalize():f} % of the price",
                "Let them be 100 % at most; the rest is due before delivery",
            )


@dataclass(frozen=True, slots=True)
class Price:
    """A price with the lines that add up to it.

    Parameters
    ----------
    lines : tuple of PriceLine
        Their amounts add up to the total, to the minor unit.
    deposit : Decimal
    instalments : tuple of Decimal
        One for each of the terms' instalments; the rest is the balance.
    """

    lines: tuple[PriceLine, ...]
    deposit: Decimal
    instalments: tuple[Decimal, ...]

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


def shared_out(parts: Sequence[Decimal], digits: int) -> tuple[Decimal, ...]:
    """Round parts to the minor unit so that they add up to their rounded sum.

    Each is rounded down, and what is then missing goes, a unit each, to those
    that lost most (the method of largest remainders). No part is a whole unit
    off, and one that needs no rounding is not touched.

    Parameters
    ----------
    parts : sequence of Decimal
    digits : int
        Decimals of the minor unit.

    Returns
    -------
    tuple of Decimal

    Examples
    --------
    >>> [str(part) for part in shared_out([Decimal("33.333")] * 3, 2)]
    ['33.34', '33.33', '33.33']
    """
    unit = Decimal(1).scaleb(-digits)
    whole = sum(parts, unit / 2).quantize(unit, ROUND_FLOOR)  # half up, below zero too
    down = [part.quantize(unit, ROUND_FLOOR) for part in parts]
    missing = int((whole - sum(down, Decimal(0))) / unit)
    most_lost = sorted(range(len(parts)), key=lambda i: down[i] - parts[i])
    for i in most_lost[:missing]:
        down[i] += unit
    return tuple(down)


def _rounded(amount: Decimal, digits: int) -> Decimal:
    return amount.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP)


def price_for(hours: float, terms: Terms) -> Price:
    """Return the price of a job that is charged some hours.

    Reckoned exactly; only then are the lines before tax rounded, so that they
    add up to the price before tax rounded half up (:func:`shared_out`). Tax is
    on that, rounded half up.

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
        If the hours are no number, or the discount is more than the price.

    Examples
    --------
    >>> price = price_for(10, Terms("EUR", 2, Decimal(30), tax_percent=Decimal(19)))
    >>> [(line.kind.value, str(line.amount)) for line in price.lines]
    [('labour', '300.00'), ('consumables', '12.00'), ('overhead', '30.00'), ('tax', '64.98')]
    """
    if not isfinite(hours) or hours < 0:
        raise BadInput(f"{hours} is not a number of hours", "Give the hours the job takes")
    labour = Decimal(repr(float(hours))) * terms.hourly_target
    exact = [(LineKind.LABOUR, "Work", labour)]

    def add(kind: LineKind, label: str, amount: Decimal) -> None:
        if amount:
            exact.append((kind, label, amount))

    def so_far() -> Decimal:
        return sum((amount for _, _, amount in exact), Decimal(0))

    add(LineKind.WOOD, "Wood", terms.wood)
    add(LineKind.CONSUMABLES, "Consumables", labour * terms.consumables_percent / 100)
    add(LineKind.OVERHEAD, "Workshop", labour * terms.overhead_percent / 100)
    add(LineKind.PACKING, "Packing", terms.packing)
    add(LineKind.RUSH, "Rush", labour * terms.rush_percent / 100)
    add(LineKind.MARGIN, "Margin", so_far() * terms.margin_percent / 100)
    add(LineKind.MINIMUM, "Up to the least price", max(Decimal(0), terms.minimum - so_far()))
    discount = terms.discount + so_far() * terms.discount_percent / 100
    if discount > so_far():
        raise BadInput("The discount is more than the price", "Give a smaller one")
    add(LineKind.DISCOUNT, f"Discount: {terms.discount_reason}", -discount)
    before = so_far()
    net, tax = _with_tax(before, terms)
    last = net - _rounded(before, terms.digits)
    if terms.agreed is None:
        add(LineKind.ROUNDING, "Rounding", last)
    else:
        add(LineKind.AGREED, "To the price agreed", last)
    amounts = shared_out([amount for _, _, amount in exact], terms.digits)
    lines = [
        PriceLine(kind, label, amount)
        for (kind, label, _), amount in zip(exact, amounts, strict=True)
        if amount or kind is LineKind.LABOUR
    ]
    if tax:
        lines.append(PriceLine(LineKind.TAX, f"Tax {terms.tax_percent.normalize():f} %", tax))
    percents = (terms.deposit_percent, *(part.percent for part in terms.instalments))
    # Each up to here, rounded, less what came before: together never more than the whole.
    until = [_rounded((net + tax) * share / 100, terms.digits) for share in accumulate(percents)]
    instalments = tuple(after - before for before, after in pairwise(until))
    return Price(tuple(lines), until[0], instalments)


def _with_tax(before: Decimal, terms: Terms) -> tuple[Decimal, Decimal]:
    """Return the price before tax, as agreed or rounded by the rule, and the tax on it."""
    rate = terms.tax_percent / 100
    if terms.agreed is not None:
        net = _rounded(terms.agreed, terms.digits)
        return net, _rounded(net * rate, terms.digits)
    net = _rounded(before, terms.digits)
    if terms.round_to and not terms.round_with_tax:
        net = _rounded(_up_to_multiple(net, terms.round_to), terms.digits)
    tax = _rounded(net * rate, terms.digits)
    if terms.round_to and terms.round_with_tax:
        whole = _rounded(_up_to_multiple(net + tax, terms.round_to), terms.digits)
        net = _rounded(whole / (1 + rate), terms.digits)
        tax = whole - net
    return net, tax


def _up_to_multiple(amount: Decimal, step: Decimal) -> Decimal:
    return (amount / step).to_integral_value(ROUND_CEILING) * step


def hours_paid(net: Decimal, terms: Terms) -> float:
    """Return how many hours a net price pays at the target, after other costs.

    The chance that a price earns at least the hourly target is the chance that
    the job takes no more than these.
    """
    # Each hour uses up consumables and workshop besides.
    share = (terms.consumables_percent + terms.overhead_percent) / 100
    per_hour = terms.hourly_target * (1 + share)
    if not per_hour:
        return float("inf")
    return max(0.0, float((net - terms.wood - terms.packing) / per_hour))
