"""The proposal as one HTML file that needs nothing else: no network, no script."""

import os
from collections.abc import Sequence
from pathlib import Path

from burnplan.files import written_whole
from burnplan.sheets.filling import filled_page, page_fields
from burnplan.sheets.money import wood_pictures
from burnplan.sheets.money.proposal import Proposal
from burnplan.sheets.money.wood_pictures import Pictures
from burnplan.sheets.writing import Written

MOST_BYTES = 1_500_000
"""Of the whole file: what mail takes and a phone opens at once (common practice, no source)."""

FOR_PICTURES = MOST_BYTES - 60_000  # the words and their style take less than the rest
_GAP = 0.07  # between the sizes side by side, of their widths together; our own choice


def write_page(page: str, path: str | os.PathLike[str]) -> Written:
    """Write a page as an HTML file."""
    with written_whole(path) as unfinished:
        unfinished.write_text(page, encoding="utf-8")
    return Written(Path(path), 0)


def embedded(seen: Pictures) -> list[str]:
    """Return all that is seen of a proposal as data: large, each size, the board, the mark."""
    beside = [one for one in (seen.board, seen.mark) if one is not None]
    sizes = seen.sizes if len(seen.sizes) > 1 else ()
    return wood_pictures.embedded([seen.large, *sizes, *beside], FOR_PICTURES)


def page(said: Proposal, seen: Pictures, pictures: Sequence[str]) -> str:
    """Return a proposal as HTML, with its pictures as data."""
    data = iter(pictures)
    large = next(data)
    sizes = [next(data) for _ in seen.sizes] if len(seen.sizes) > 1 else [large]
    return filled_page(
        "proposal.html",
        {
            "large": large,
            "large_px": seen.large.size,
            "sizes": sizes,
            "on_own_wood": seen.on_own_wood,
            "board": next(data) if seen.board else "",
            "board_px": seen.board.size if seen.board else (0, 0),
            **page_fields(said, next(data) if seen.mark else "", seen.mark),
            **_row(said),
        },
    )


def _row(said: Proposal) -> dict[str, float]:
    """Return the row of sizes in mm: its width, two by two on a phone, and its height."""
    widths = [*(one.mm[0] for one in said.choices), said.scale.mm[0]]
    whole = sum(widths) * (1 + _GAP)
    pairs = [sum(widths[at : at + 2]) for at in range(0, len(widths), 2)]
    tallest = max(said.scale.mm[1], *(one.mm[1] for one in said.choices))
    return {"row_mm": whole, "pair_mm": max(pairs) * (1 + _GAP), "tall_mm": tallest}
