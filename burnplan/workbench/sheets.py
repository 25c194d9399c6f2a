"""The sheets that the workbench writes: brings numpy and ReportLab, so only when one is wanted."""

from pathlib import Path

from burnplan.desk.jobs import job_sheets, portfolio, references
from burnplan.desk.money import payments
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import week
from burnplan.progress import part
from burnplan.sheets.jobs import portfolio_files
from burnplan.sheets.jobs.job_sheet import job_sheet
from burnplan.sheets.jobs.portfolio import PortfolioWanted
from burnplan.sheets.jobs.true_size import PRINT_HINT, write_true_size
from burnplan.sheets.money import job_letters
from burnplan.sheets.time.week_page import write_week
from burnplan.sheets.writing import Written
from burnplan.tone.render import sepia
from burnplan.workbench.threads import Stopper


def job(studio: Studio, code: str, into: Path, stopper: Stopper) -> list[Written]:
    """Write a job's sheet for the bench."""
    found = job_sheets.gather(studio, code)
    picture = None
    if found.commission.references:
        picture = sepia(references.pictures(studio, code, stopper)[1].placed)
    stopper(0.9, "writing the job sheet")
    return [job_sheet(into / f"{code}-job.pdf", found, settings.current(studio), picture)]


def reference(studio: Studio, code: str, into: Path, stopper: Stopper) -> list[Written]:
    """Write a job's reference, value map and lines at true size."""
    view, reading = references.pictures(studio, code, part(stopper, 0.0, 0.6))
    own, rest = settings.current(studio), part(stopper, 0.6, 1.0)
    return write_true_size(view, reading, own, studio.today(), into, on_progress=rest)


def quote(studio: Studio, code: str, into: Path, stopper: Stopper) -> list[Written]:
    """Write a job's newest quote for the client."""
    stopper(0.2, "writing the quote")
    letter, file = job_letters.quote(studio, code, settings.current(studio))
    return [letter.write(into / file)]


def invoice(studio: Studio, code: str, into: Path, stopper: Stopper) -> list[Written]:
    """Write the invoice of the quote that holds, with what has been paid."""
    stopper(0.2, "writing the invoice")
    letter, file = job_letters.invoice(studio, code, settings.current(studio))
    return [letter.write(into / file)]


def receipts(studio: Studio, code: str, into: Path, stopper: Stopper) -> list[Written]:
    """Write the receipt of each payment and refund of a job."""
    stopper(0.2, "writing the receipts")
    own = settings.current(studio)
    made = [job_letters.receipt(studio, one.number, own) for one in payments.all_of(studio, code)]
    return [letter.write(into / file) for letter, file in made]


def the_week(studio: Studio, _code: str, into: Path, stopper: Stopper) -> list[Written]:
    """Write the week's page for the wall."""
    stopper(0.1, "laying out the week")
    page = week.page(studio)
    stopper(0.6, "writing the week's page")
    return [write_week(page, into / f"week-{page.days[0].day}.pdf", settings.current(studio))]


def the_portfolio(studio: Studio, _code: str, into: Path, stopper: Stopper) -> list[Written]:
    """Write the portfolio: all pieces that may be shown, without hours and prices."""
    stopper(0.1, "gathering the portfolio")
    pieces, own = portfolio.shown(studio), settings.current(studio)
    stopper(0.3, "writing the portfolio")
    return portfolio_files.write(studio, pieces, own, PortfolioWanted(), into)


WRITERS = {
    "job": job, "reference": reference, "quote": quote, "invoice": invoice,
    "receipts": receipts, "week": the_week, "portfolio": the_portfolio,
}  # fmt: skip
# What is said of some once they are written.
HINTS = {"reference": PRINT_HINT}
