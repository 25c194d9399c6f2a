"""Pictures of a piece as it would look on its wood, for clients."""

import base64
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from burnplan.desk.money import proposals
from burnplan.desk.money.proposals import ProposalView
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.outline import Outline
from burnplan.tone.photo import open_photo
from burnplan.tone.region import outline_mask
from burnplan.tone.render import wood_preview
from burnplan.wood.species import Species

if TYPE_CHECKING:
    from burnplan.tone.place import Placed

LONGEST_PX = 1400
"""Of a large picture: sharp on a phone's screen of three dots to a pixel (our own choice)."""

SMALL_PX = 640
"""Of a picture among others (our own choice)."""

BOARD_PX, MARK_PX = 900, 256
"""Of the board's own photo, and of the studio's mark (our own choice)."""

_QUALITIES = (82, 74, 64, 52, 40, 28)
_BARE = np.float32(100)


@dataclass(frozen=True, slots=True)
class Pictures:
    """What is seen of a proposal.

    Parameters
    ----------
    large : Image
        Of the quote's own size.
    sizes : tuple of Image
        One for each choice, in order.
    has_photo : bool
        False where it is the bare board, since there is no photo yet.
    board, mark : Image, optional
        The blank held for it, and the studio's mark.
    """

    large: Image.Image
    sizes: tuple[Image.Image, ...]
    has_photo: bool
    board: Image.Image | None = None
    mark: Image.Image | None = None


def of_proposal(studio: Studio, view: ProposalView) -> Pictures:
    """Return what is seen of a proposal, drawn from the photo kept.

    Raises
    ------
    OperationFailed
        If a photo is missing or no longer what it was.
    """
    code, outlines = view.quote.code, [one.outline for one in view.choices]
    wood, board = proposals.wood_of(studio, code), proposals.board_photo(studio, code)
    mark = settings.mark_file(studio)
    placed = proposals.placed_on(studio, code, outlines, LONGEST_PX)
    seen = (
        [bare_wood(one, wood, LONGEST_PX) for one in outlines]
        if placed is None
        else [on_wood(one, wood) for one in placed]
    )
    own = next(number for number, one in enumerate(view.choices) if one.own)
    return Pictures(
        seen[own],
        tuple(smaller(one, SMALL_PX) for one in seen),
        placed is not None,
        photo(board, BOARD_PX) if board else None,
        _mark(mark) if mark else None,
    )


def _mark(path: Path) -> Image.Image:
    """Return the studio's mark, small; what is transparent in it stays so."""
    with Image.open(path) as image:
        image.draft("RGB", (MARK_PX, MARK_PX))
        shown = image.convert("RGBA")
    return smaller(shown, MARK_PX)


def on_wood(placed: "Placed", wood: Species) -> Image.Image:
    """Return a placed photo as the wood can hold it; transparent outside the outline.

    Where the photo does not reach it is bare wood.
    """
    mask = outline_mask(placed.outline, placed.inside.shape, placed.px_per_mm)
    light = np.where(placed.inside, placed.lightness, _BARE).astype(np.float32)
    whole = replace(placed, lightness=light, inside=mask)
    rgb = wood_preview(whole, wood.bare_lightness, wood.darkest_burn)
    alpha = np.where(mask, 255, 0).astype(np.uint8)
    return Image.fromarray(np.dstack([rgb, alpha]))


def bare_wood(outline: Outline, wood: Species, longest_px: int) -> Image.Image:
    """Return a blank of some outline, with nothing on it yet."""
    from burnplan.tone.lightness import srgb_of_lab
    from burnplan.tone.render import WOOD_AB

    fine = longest_px / max(outline.width_mm, outline.height_mm)
    shape = (max(1, round(outline.height_mm * fine)), max(1, round(outline.width_mm * fine)))
    mask = outline_mask(outline, shape, fine)
    colour = srgb_of_lab(np.array([[wood.bare_lightness, *WOOD_AB]]))[0]
    rgba = np.empty((*shape, 4), np.uint8)
    rgba[..., :3] = colour
    rgba[..., 3] = np.where(mask, 255, 0)
    return Image.fromarray(rgba)


def photo(path: Path, longest_px: int) -> Image.Image:
    """Return a photo, small enough for a page.

    Raises
    ------
    BadInput
        If it cannot be read.
    """
    picture = Image.fromarray(open_photo(path, at_least=(longest_px, longest_px)).rgb)
    picture.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
    return picture


def smaller(picture: Image.Image, longest_px: int) -> Image.Image:
    """Return a picture with no side longer than some pixels."""
    copy = picture.copy()
    copy.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
    return copy


def embedded(pictures: Sequence[Image.Image], most_bytes: int) -> list[str]:
    """Return pictures as data URIs that together take no more than some bytes.

    WebP, which keeps what is transparent; all of one quality, the best that fits.
    """
    for quality in _QUALITIES:
        found = [_webp(picture, quality) for picture in pictures]
        if sum(map(len, found)) <= most_bytes:
            break
    else:
        found = [_webp(smaller(one, max(one.size) // 2), _QUALITIES[-1]) for one in pictures]
    return found


def _webp(picture: Image.Image, quality: int) -> str:
    file = io.BytesIO()
    picture.save(file, "WEBP", quality=quality, method=2)
    return f"data:image/webp;base64,{base64.b64encode(file.getvalue()).decode()}"
