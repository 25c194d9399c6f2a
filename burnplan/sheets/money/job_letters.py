"""The letters of a job, gathered from the book: each with the name of its file."""

from datetime import date

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import clients, commissions
from burnplan.desk.money import payments, quotes
from burnplan.desk.studio.studio import Studio
from burnplan.sheets.money.invoice_sheet import invoice_letter, receipt_letter
from burnplan.sheets.money.letter import Twins
from burnplan.sheets.money.quote_sheet import quote_letter


def quote(studio: Studio, which: str, own: Settings, *, remark: str = "") -> tuple[Twins, str]:
    """Return the newest quote of a commission.

    Raises
    ------
    NotFound
        If it has none.
    """
    view = quotes.show(studio, which)
    piece = quotes.as_quoted(view, commissions.show(studio, view.code))
    client = clients.named(studio, piece.client)
    letter = quote_letter(view, piece, client, own, remark=remark)
    return letter, f"{view.code}-quote-{view.version}.pdf"


def invoice(
    studio: Studio, which: str, own: Settings, *, due: date | None = None
) -> tuple[Twins, str]:
    """Return the invoice of the quote that holds, with what has been paid.

    Raises
    ------
    NotFound
        If it has no quote.
    """
    piece = commissions.show(studio, which)
    letter = invoice_letter(
        quotes.agreed(studio, piece.code),
        payments.all_of(studio, piece.code),
        piece,
        clients.named(studio, piece.client),
        own,
        on=studio.today(),
        due=due,
    )
    return letter, f"{piece.code}-invoice.pdf"


def receipt(studio: Studio, number: int, own: Settings) -> tuple[Twins, str]:
    """Return the receipt of a payment or refund.

    Raises
    ------
    NotFound
        If there is no such payment.
    """
    payment = payments.show(studio, number)
    piece = commissions.show(studio, payment.code)
    letter = receipt_letter(
        payment,
        payments.all_of(studio, piece.code),
        quotes.agreed(studio, piece.code) if piece.quoted is not None else None,
        piece,
        clients.named(studio, piece.client),
        own,
    )
    return letter, f"{piece.code}-receipt-{payment.number}.pdf"
