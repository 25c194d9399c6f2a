"""A proposal as files: the page for a phone, and the same as PDF."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import clients, commissions, finishing
from burnplan.desk.money import proposals, quotes
from burnplan.desk.money.proposals import ProposalView
from burnplan.desk.studio.studio import Studio
from burnplan.sheets.money import proposal_html, proposal_pdf, wood_pictures
from burnplan.sheets.money.letter import Spelling
from burnplan.sheets.money.proposal import Proposal, proposal
from burnplan.sheets.money.wood_pictures import Pictures
from burnplan.sheets.reader import Reader, Spelled
from burnplan.sheets.writing import Written


def write(
    studio: Studio, view: ProposalView, settings: Settings, into: Path, *, remark: str = ""
) -> list[Written]:
    """Write a proposal into a folder as HTML and as PDF.

    Raises
    ------
    OperationFailed
        If a photo is missing, or a price's lines do not add up.
    """
    said, seen = gathered(studio, view, settings, remark=remark)
    name = f"{view.quote.code}-proposal-{view.quote.version}"
    with ThreadPoolExecutor(1) as beside:
        # Pictures for the page are made while the PDF is set.
        data = beside.submit(proposal_html.embedded, seen)
        pdf = proposal_pdf.write_proposal(said, seen, settings, into / f"{name}.pdf")
        page = proposal_html.page(said(Spelling), seen, data.result())
    return [proposal_html.write_page(page, into / f"{name}.html"), pdf]


def gathered(
    studio: Studio, view: ProposalView, settings: Settings, *, remark: str = ""
) -> tuple[Callable[[Spelled], Proposal], Pictures]:
    """Return what a proposal says, by how amounts are written, and what is seen of it."""
    code = view.quote.code
    commission = quotes.as_quoted(view.quote, commissions.show(studio, code))
    client = clients.named(studio, commission.client)
    finish, wood = finishing.show(studio, code), proposals.wood_of(studio, view.quote)
    seen = wood_pictures.of_proposal(studio, view)

    def said(spelled: Spelled) -> Proposal:
        language = client.language if client else ""
        reader = Reader.of(settings, language, view.quote.currency, spelled)
        return proposal(
            view, commission, client, finish, wood, settings, reader,
            remark=remark, has_picture=seen.has_photo, on_own_wood=seen.on_own_wood,
        )  # fmt: skip

    return said, seen
