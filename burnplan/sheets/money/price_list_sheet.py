"""A price list to hang up or send: what a piece costs, by its size and its detail."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from burnplan.desk.derived.studio_settings import Settings
from burnplan.errors import BadInput
from burnplan.money import round_money
from burnplan.sheets.money.letter import Grid, Letter, Prose, Section, SmallPrint, Spelling, Twins
from burnplan.terminal_safe import terminal_safe

DETAILS = (
    "A few words or a plain outline, hardly any shading",
    "A simple drawing, one or two tones",
    "One animal, house or plant, shaded through",
    "A portrait, with fur, hair or cloth in all its tones",
    "A full scene, fine texture from edge to edge",
)
"""What the five grades of detail mean (our own grades)."""

ON_REQUEST = "on request"


@dataclass(frozen=True, slots=True)
class PriceList:
    """Prices by size and detail.

    A row has a size, as it is to be shown, and its price for each of the five grades of
    detail, None where it is on request; ``taxed`` says whether tax is in the prices,
    ``wood`` what they are for, such as ``basswood``.

    Raises
    ------
    BadInput
        If there is no size, a row has not five prices, or a price cannot be one.
    """

    rows: Sequence[tuple[str, Sequence[Decimal | None]]]
    taxed: bool = True
    valid_until: date | None = None
    wood: str = ""

    def __post_init__(self) -> None:
        if not self.rows:
            raise BadInput("The price list has no sizes", "Give at least one, such as 20x30cm")
        for size, prices in self.rows:
            if len(prices) != len(DETAILS):
                raise BadInput(
                    f"{size} has {len(prices)} prices instead of {len(DETAILS)}",
                    "Give one for each grade of detail, 1 to 5",
                )
            if any(
                price is not None and not (price.is_finite() and price >= 0) for price in prices
            ):
                raise BadInput(
                    f"A price for {size} is not an amount", "Give prices of zero or more"
                )


def _price(price: Decimal | None, spelling: Spelling) -> str:
    if price is None:
        return ON_REQUEST
    # Shown as it will be asked for: never finer than there are coins for.
    return spelling.money(round_money(price, spelling.currency))


def price_list_letter(
    prices: PriceList, settings: Settings, *, on: date, remark: str = ""
) -> Twins:
    """Return a price list, dated; ``remark`` is something more to say."""

    def letter(spelling: Spelling) -> Letter:
        said = [f"Prices in {spelling.currency}"]
        if prices.wood:
            said.append(f"on {prices.wood}")
        if settings.tax_percent:
            tax = f"{settings.tax_percent.normalize():f} %"
            said.append(f"with {tax} tax in them" if prices.taxed else f"before {tax} tax")
        rows = ((size, tuple(_price(one, spelling) for one in row)) for size, row in prices.rows)
        grades = tuple(f"Detail {grade}" for grade in range(1, len(DETAILS) + 1))
        means = tuple((grade, f"{what}.") for grade, what in zip(grades, DETAILS, strict=True))
        sections: list[Section] = [
            Grid("Size", grades, tuple(rows)),
            SmallPrint("What detail means", means),
            Prose(
                "",
                "These are prices to go by. What your piece costs is said in a quote, once the"
                " picture, the size and the wood are known; packing and delivery come on top.",
            ),
        ]
        if remark.strip():
            sections.append(Prose("", terminal_safe(remark)))
        facts = [("Date", spelling.day(on))]
        if prices.valid_until:
            facts.append(("Valid until", spelling.day(prices.valid_until)))
        return Letter(
            kind="Price list",
            studio=settings.name,
            sender=settings.address,
            facts=tuple(facts),
            title="Burned to order, by size and detail",
            detail=", ".join(said),
            sections=tuple(sections),
        )

    return Twins(letter, settings.currency, settings)
