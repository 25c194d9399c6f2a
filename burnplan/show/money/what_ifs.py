"""Variants of a piece, and lists of prices, on the terminal."""

from decimal import Decimal

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.money.what_ifs import PriceListView, VariantView
from burnplan.money import format_money
from burnplan.show.console import table
from burnplan.show.jobs.estimates import open_price
from burnplan.units import format_hours_range
from burnplan.wood.species import species_on_record


def variant_table(variants: list[VariantView], settings: Settings) -> RenderableType:
    """Return variants of a piece side by side, each against the piece as it is."""
    rows = table("+what if", ">zones", ">hours", ">price", ">difference")
    for one in variants:
        price, more = "open", ""
        if one.price is not None:
            price = format_money(one.price, one.currency, settings.locale)
            more = _difference(one.price - (variants[0].price or one.price), one, settings)
        rows.add_row(
            Text(one.what, "title" if one is variants[0] else ""),
            str(one.zones),
            format_hours_range(one.hours_p50, one.hours_p80),
            price,
            Text(more, "soft"),
        )
    return rows if variants[0].price is not None else Group(rows, open_price())


def _difference(more: Decimal, one: VariantView, settings: Settings) -> str:
    shown = format_money(abs(more), one.currency, settings.locale)
    return f"{'+' if more > 0 else '−'}{shown}" if more else ""


def price_list_table(view: PriceListView, settings: Settings) -> RenderableType:
    """Return prices by size and detail."""
    rows = table("size", *(f">detail {detail}" for detail in view.details))
    for size, prices in zip(view.sizes, view.prices, strict=True):
        shown = (format_money(price, view.currency, settings.locale) for price in prices)
        rows.add_row(Text(size, "code"), *shown)
    wood = species_on_record(view.species).name.lower()
    return Group(
        rows, Text(f"On {wood}, without the blank; detail 1 is plain, 5 dense fur", "soft")
    )
