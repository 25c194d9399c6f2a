"""The portfolio on the terminal: what may be shown, and why not."""

from datetime import date

from rich.console import RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.consents import ConsentView
from burnplan.desk.jobs.portfolio import PortfolioPiece
from burnplan.show.console import table
from burnplan.units import format_size

_WITHHELD = {
    "": "yes",
    "not asked": "no: nobody was asked",
    "refused": "no: refused",
    "no photo": "no: there is no photo",
    "named by its title": "no: its title names the client",
}


def consent_words(consent: ConsentView, today: date) -> str:
    """Return what was said of showing a piece: by whom, when, how, and as what."""
    if consent.said_on is None:
        return "not asked, so it is not shown"
    said = f"{consent.answer}, said {consent.said_by} {format_date(consent.said_on, today)}"
    more = [
        consent.how,
        "" if consent.answer == "no" else "may be named" if consent.with_name else "not by name",
        f"as '{consent.shown_as}'" if consent.shown_as else "",
    ]
    return ", ".join(part for part in (said, *more) if part)


def consent_line(consent: ConsentView, today: date) -> Text:
    """Return what is on record now of showing a piece."""
    return Text(f"May be shown: {consent_words(consent, today)}")


def portfolio_table(found: list[PortfolioPiece], settings: Settings, today: date) -> RenderableType:
    """Return the pieces handed over, and whether each is shown."""
    if not found:
        return Text("Nothing is handed over yet: burnplan commission deliver JOB", "soft")
    rows = table("job", "+title", "delivered", "size", ">photos", "+shown", "+said")
    for one in found:
        rows.add_row(
            Text(one.code, "code"),
            Text(one.shown_as),
            format_date(one.delivered_on, today),
            format_size(one.outline, settings.units) if one.outline else "–",
            str(len(one.photos)),
            Text(_WITHHELD[one.withheld], "" if not one.withheld else "soft"),
            Text(consent_words(one.consent, today) if one.consent.said_on else "–"),
        )
    return rows
