"""The proposal as one HTML file that needs nothing else: no network, no script."""

import os
from pathlib import Path

from burnplan.files import written_whole
from burnplan.sheets.drawing import TONES
from burnplan.sheets.filling import filled_page
from burnplan.sheets.money import wood_pictures
from burnplan.sheets.money.proposal import Proposal
from burnplan.sheets.money.wood_pictures import Pictures
from burnplan.sheets.writing import Written

MOST_BYTES = 1_500_000
"""Of the whole file: what mail takes and a phone opens at once (common practice, no source)."""

_FOR_PICTURES = MOST_BYTES - 60_000  # the words and their style take less than the rest
_GAP = 0.07  # between the sizes side by side, of their widths together; our own choice


def write_proposal(said: Proposal, seen: Pictures, path: str | os.PathLike[str]) -> Written:
    """Write a proposal as an HTML file."""
    with written_whole(path) as unfinished:
        unfinished.write_text(page(said, seen), encoding="utf-8")
    return Written(Path(path), 0)


def page(said: Proposal, seen: Pictures) -> str:
    """Return a proposal as HTML."""
    beside = [one for one in (seen.board, seen.mark) if one is not None]
    several = len(said.choices) > 1
    shown = [seen.large, *(seen.sizes if several else ()), *beside]
    data = iter(wood_pictures.embedded(shown, _FOR_PICTURES))
    large = next(data)
    sizes = [next(data) for _ in seen.sizes] if several else [large]
    return filled_page(
        "proposal.html",
        {
            "p": said,
            "say": said.say,
            "lang": said.reader.language,
            "dir": said.reader.direction,
            "large": large,
            "large_px": seen.large.size,
            "sizes": sizes,
            "board": next(data) if seen.board else "",
            "board_px": seen.board.size if seen.board else (0, 0),
            "mark": next(data) if seen.mark else "",
            "mark_px": seen.mark.size if seen.mark else (0, 0),
            "ribbon": [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in TONES],
            **_row(said),
        },
    )


def _row(said: Proposal) -> dict[str, float]:
    """Return the width of the row of sizes in mm: all in one, or two by two on a phone."""
    widths = [*(one.mm[0] for one in said.choices), said.scale.mm[0]]
    whole = sum(widths) * (1 + _GAP)
    pairs = [sum(widths[at : at + 2]) for at in range(0, len(widths), 2)]
    return {"row_mm": whole, "pair_mm": max(pairs) * (1 + _GAP)}
