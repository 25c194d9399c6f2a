"""The portfolio as files: a page that needs nothing else, and a contact sheet as PDF."""

from collections.abc import Sequence
from pathlib import Path

from PIL import Image

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import portfolio as desk
from burnplan.desk.jobs.portfolio import PortfolioPiece
from burnplan.desk.studio.studio import Studio
from burnplan.money import check_locale
from burnplan.sheets.filling import filled_page, page_fields
from burnplan.sheets.jobs.portfolio import Portfolio, PortfolioWanted, portfolio
from burnplan.sheets.money import wood_pictures
from burnplan.sheets.money.letter import Letter, Prose, Section, Spelling, Tile, Tiles
from burnplan.sheets.money.letter_pdf import letter_paper, print_spelling, write_letter
from burnplan.sheets.money.proposal_html import FOR_PICTURES, write_page
from burnplan.sheets.reader import Reader, Spelled
from burnplan.sheets.writing import Written

LONGEST_PX = 900
"""Of a photo, while there are few: sharp where a piece is as wide as a phone (a guess: its
screen is 390 px wide, two dots to a pixel and more)."""

# Beyond so many photos they are smaller; a guess: one of full size takes some 50 to 100 kB, and
# smaller ones than the second are soft on a phone.
_FEW, _LEAST_PX = 12, 420

Photos = Sequence[Sequence[Image.Image]]


def write(
    studio: Studio,
    pieces: Sequence[PortfolioPiece],
    settings: Settings,
    wanted: PortfolioWanted,
    into: Path,
) -> list[Written]:
    """Write a portfolio into a folder as HTML and as PDF.

    Raises
    ------
    BadInput
        If the language cannot be.
    OperationFailed
        If a photo is missing.
    """
    language = check_locale(wanted.language) if wanted.language else ""
    count = sum(len(one.photos) for one in pieces)
    longest = max(_LEAST_PX, round(LONGEST_PX * min(1.0, (_FEW / count) ** 0.5)))
    seen = [
        [wood_pictures.photo(file, longest) for file in desk.photo_files(studio, one)]
        for one in pieces
    ]
    mark = wood_pictures.mark_of(studio)

    def said(spelled: Spelled) -> Portfolio:
        readers = [
            Reader.of(settings, language, one.currency or settings.currency, spelled)
            for one in pieces
        ]
        day = readers[0].day(studio.today())
        return portfolio(pieces, settings, wanted, readers, day)

    html, letter = into / "portfolio.html", contact_sheet(said(print_spelling), seen, mark)
    return [
        write_page(page(said(Spelling), seen, mark), html),
        write_letter(letter, into / "portfolio.pdf", letter_paper(settings)),
    ]


def page(said: Portfolio, seen: Photos, mark: Image.Image | None) -> str:
    """Return a portfolio as HTML, smaller than mail takes."""
    flat = [photo for photos in seen for photo in photos]
    data = iter(wood_pictures.embedded([*flat, *([mark] if mark else [])], FOR_PICTURES))
    pieces = [
        (piece, [{"data": next(data), "px": photo.size} for photo in photos])
        for piece, photos in zip(said.pieces, seen, strict=True)
    ]
    fields = page_fields(said, next(data) if mark else "", mark)
    return filled_page("portfolio.html", {**fields, "pieces": pieces})


def contact_sheet(said: Portfolio, seen: Photos, mark: Image.Image | None) -> Letter:
    """Return a portfolio as a contact sheet on paper."""
    tiles = tuple(
        Tile(
            tuple(photos),
            piece.title,
            (
                *piece.lines,
                *([f"{said.say('For')} {piece.client}"] if piece.client else []),
                *([piece.price] if piece.price else []),
            ),
        )
        for piece, photos in zip(said.pieces, seen, strict=True)
    )
    remark: list[Section] = [Prose("", said.remark)] if said.remark else []
    return Letter(
        kind=said.kind,
        studio=said.studio,
        sender="\n".join(said.sender),
        facts=(),
        title=said.title,
        detail=said.issued,
        sections=(*remark, Tiles(tiles)),
        language=said.reader.language,
        say=said.say,
        image=mark,
    )
