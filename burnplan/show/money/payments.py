"""Payments on the terminal."""

from datetime import date

from rich.console import RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.money.payments import PaymentView
from burnplan.money import format_money
from burnplan.show.console import table


def payment_table(payments: list[PaymentView], settings: Settings, today: date) -> RenderableType:
    """Return payments, or what to do when there are none."""
    if not payments:
        return Text("No payments yet. Take one with: burnplan payment add JOB AMOUNT", "soft")
    rows = table(">#", "paid", "job", "+title", "kind", ">amount", "how", "+note")
    for one in payments:
        rows.add_row(
            str(one.number),
            format_date(one.paid_on, today),
            Text(one.code, "code"),
            Text(one.title),
            one.kind,
            format_money(one.amount, one.currency, settings.locale),
            Text(one.method),
            Text(one.note),
        )
    return rows
