"""Pictures of a piece as it would look on its wood, for clients."""

import base64
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from burnplan.desk.money import proposals
from burnplan.desk.money.proposals import ProposalView
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import faces
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
    on_own_wood : bool
        Whether the wood of the quote's own size is the very blank held for it, as photographed.
    board, mark : Image, optional
        The blank held for it, and the studio's mark.
    """

    large: Image.Image
    sizes: tuple[Image.Image, ...]
    has_photo: bool
    on_own_wood: bool
    board: Image.Image | None = None
    mark: Image.Image | None = None


def of_proposal(studio: Studio, view: ProposalView) -> Pictures:
    """Return what is seen of a proposal, drawn from the photo kept.

    Raises
    ------
    OperationFailed
        If a photo is missing or no longer what it was.
    """
    code = view.quote.code
    # Only its own size is shown large.
    wanted = [(one.outline, LONGEST_PX if one.own else SMALL_PX) for one in view.choices]
    wood = proposals.wood_of(studio, view.quote)
    # Of another size or wood the blank held is not the board that was put to the client.
    board = None if view.quote.outdated else proposals.board_photo(studio, code)
    placed = proposals.placed_on(studio, code, wanted)
    seen = (
        [bare_wood(one, wood, px) for one, px in wanted]
        if placed is None
        else [on_wood(one, wood) for one in placed]
    )
    own = next(number for number, one in enumerate(view.choices) if one.own)
    on_own = None
    if not view.quote.outdated:
        on_own = _on_own_wood(studio, code, wanted[own], placed[own] if placed else None)
    if on_own is not None:
        seen[own] = on_own
    return Pictures(
        seen[own],
        tuple(smaller(one, SMALL_PX) for one in seen),
        placed is not None,
        on_own is not None,
        photo(board, BOARD_PX) if board else None,
        mark_of(studio),
    )


def mark_of(studio: Studio) -> Image.Image | None:
    """Return the studio's mark, small, if it has one; what is transparent in it stays so."""
    path = settings.mark_file(studio)
    if path is None:
        return None
    with Image.open(path) as image:
        image.draft("RGB", (MARK_PX, MARK_PX))
        shown = image.convert("RGBA")
    return smaller(shown, MARK_PX)


def _on_own_wood(
    studio: Studio, code: str, wanted: tuple[Outline, int], placed: "Placed | None"
) -> Image.Image | None:
    """Return a placed photo, or bare wood, on the photo of the blank held; None without one."""
    outline, px = wanted
    if placed is not None:
        whole = _whole(placed)
        rgb = faces.burned_on_own_wood(studio, code, whole)
        return None if rgb is None else _cut_out(rgb, whole.inside)
    fine = px / max(outline.width_mm, outline.height_mm)
    found = faces.own_face(studio, code, outline, fine)
    if found is None:
        return None
    return _cut_out(found[0], outline_mask(outline, found[0].shape[:2], fine))


def on_wood(placed: "Placed", wood: Species) -> Image.Image:
    """Return a placed photo as the wood can hold it; transparent outside the outline.

    Where the photo does not reach it is bare wood.
    """
    whole = _whole(placed)
    rgb = wood_preview(whole, wood.bare_lightness, wood.darkest_burn)
    return _cut_out(rgb, whole.inside)


def _whole(placed: "Placed") -> "Placed":
    """Return a placed photo that reaches all over its outline, as bare wood where it did not."""
    mask = outline_mask(placed.outline, placed.inside.shape, placed.px_per_mm)
    light = np.where(placed.inside, placed.lightness, _BARE).astype(np.float32)
    return replace(placed, lightness=light, inside=mask)


def _cut_out(rgb: NDArray[np.uint8], mask: NDArray[np.bool_]) -> Image.Image:
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
    rgb = np.broadcast_to(colour, (*shape, 3))
    return _cut_out(rgb, mask)


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
