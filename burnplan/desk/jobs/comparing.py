"""Which of a client's photos to burn: ranked, with reasons, and what to ask the client for."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from burnplan.errors import BadInput
from burnplan.outline import Outline
from burnplan.progress import Progress
from burnplan.view import View
from burnplan.wording import N_

if TYPE_CHECKING:
    from burnplan.tone.choosing import Worth

MOST = 20  # photos at once; a limit by definition
GOOD = 0.75
"""Worth from which a photo will do as it is (a guess: with no more than one fault, and that not at
its full)."""

# By what tone.choosing finds. The client reads them too, in a letter.
REASONS = {
    "few pixels": N_("only {per_mm} pixels per mm at this size"),
    "soft": N_("soft where the subject is: edges {blur} mm wide on the wood"),
    "shadows without detail": N_("{dark} of the subject is black without detail"),
    "highlights without detail": N_("{light} of the subject is white without detail"),
    "few values": N_("few values: its lightness ranges over {values} of 100"),
    "light from the front": N_("light seems to come from the front, which flattens form"),
    "cut off by the piece": N_("{off} of the subject falls off the piece"),
}
WISHES = {
    "few pixels": N_(
        "the original file from the camera or phone, not one that was sent through a messenger"
        " or taken from a screen"
    ),
    "soft": N_("one with the eyes in sharp focus, taken from nearer by"),
    "shadows without detail": N_("one in brighter light, so that the dark parts show their detail"),
    "highlights without detail": N_(
        "one out of the glaring sun, so that the light parts show theirs"
    ),
    "few values": N_("one with stronger light and shade"),
    "light from the front": N_(
        "one by a window or outdoors in shade, with the light from one side and without flash"
    ),
    "cut off by the piece": N_("one taken upright if the piece is upright, with room around"),
}
ANOTHER = "For a portrait that shows every detail, could you look for another? Best would be"
OTHERWISE = N_("If there is none, I can work from {file} and will tell you what to expect.")
RIGHTS = N_(
    "Please tell me, too, who took it, and that they allow me to burn it and to show the"
    " finished piece."
)


Asked = tuple[str, Path, Outline]
"""A photo: its name, its file, and what it is to fill."""


class Say(Protocol):
    """Puts words into a reader's language, and figures into their places."""

    def __call__(self, text: str, /, **figures: str) -> str:
        """Return them."""


def filled(text: str, /, **figures: str) -> str:
    """Return words as they are written here, with their figures."""
    return text.format(**figures)


class PhotoWorthView(View):
    """What a photo can carry; the best has rank 1.

    ``largest_mm`` is the largest piece of these proportions that its pixels and its
    sharpness carry; ``score`` is from 0 to 1, and ``faults`` are named, the gravest first.
    """

    rank: int
    photo: str
    size_px: tuple[int, int]
    px_per_mm: float
    blur_mm: float
    dark_clipped: float
    light_clipped: float
    values: float
    from_side: float
    off_piece: float
    largest_mm: tuple[float, float]
    score: float
    faults: list[str]
    reasons: list[str]


class ComparisonView(View):
    """Photos from the best to the least, and a text to send to the client."""

    size_mm: tuple[float, float]
    photos: list[PhotoWorthView]
    ask: str


def compare(
    photos: Sequence[Path], outline: Outline, on_progress: Progress | None = None
) -> ComparisonView:
    """Rank photos for burning on a piece: see :func:`ranked`.

    Raises
    ------
    BadInput
        If one of them cannot be read, or there are too many.
    """
    found = ranked([(path.name, path, outline) for path in photos], on_progress)
    size = (outline.width_mm, outline.height_mm)
    return ComparisonView(size_mm=size, photos=found, ask=_ask(found))


def ranked(photos: Sequence[Asked], on_progress: Progress | None = None) -> list[PhotoWorthView]:
    """Return photos, each with its name and what it is to fill, from the best to the least.

    Raises
    ------
    BadInput
        If one of them cannot be read, or there are too many.
    """
    from burnplan.tone.choosing import worth_of

    if not 1 <= len(photos) <= MOST:
        raise BadInput(f"That is {len(photos)} photos", f"Give 1 to {MOST} at a time")
    found = []
    for number, (name, path, outline) in enumerate(photos):
        if on_progress:
            on_progress(number / len(photos), f"Looking at {name}")
        found.append((name, worth_of(path, outline), outline))
    found.sort(key=lambda one: -one[1].score)
    return [_view(rank, *one) for rank, one in enumerate(found, start=1)]


def _view(rank: int, name: str, worth: "Worth", outline: Outline) -> PhotoWorthView:
    view = PhotoWorthView.of(
        worth,
        rank=rank,
        photo=name,
        largest_mm=(outline.width_mm * worth.largest, outline.height_mm * worth.largest),
        faults=list(map(str, worth.faults)),
        reasons=["Nothing is wrong with it"],
    )
    if view.faults:
        view.reasons = [reason(fault, view) for fault in view.faults]
    return view


def reason(fault: str, one: PhotoWorthView, say: Say = filled) -> str:
    """Return what is wrong with a photo, with its figure."""
    shares = {"dark": one.dark_clipped, "light": one.light_clipped, "off": one.off_piece}
    figures = {name: f"{100 * share:.0f} %" for name, share in shares.items()} | {
        "per_mm": f"{one.px_per_mm:.1f}",
        "blur": f"{one.blur_mm:.2f}",
        "values": f"{one.values:.0f}",
    }
    return say(REASONS[fault], **figures)


def _ask(photos: Sequence[PhotoWorthView]) -> str:
    """Return what to ask the client for, by what the best photo lacks."""
    best, count = photos[0], len(photos)
    thanks = "Thank you for the photo." if count == 1 else f"Thank you for the {count} photos."
    if is_good(best):
        return f"{thanks} I would like to work from {best.photo}. {RIGHTS}"
    lines = "\n".join(f"- {WISHES[fault]}" for fault in best.faults)
    also = "" if count == 1 else f" The best so far is {best.photo}."
    otherwise = OTHERWISE.format(file=best.photo)
    return f"{thanks}{also} {ANOTHER}\n{lines}\n{otherwise} {RIGHTS}"


def is_good(best: PhotoWorthView) -> bool:
    """Return whether the best of some photos will do as it is."""
    return best.score >= GOOD or not best.faults
