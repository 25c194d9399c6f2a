"""Which of a client's photos to burn: ranked, with reasons, and what to ask the client for."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from burnplan.desk.jobs.estimates import OnProgress
from burnplan.errors import BadInput
from burnplan.outline import Outline
from burnplan.view import View

if TYPE_CHECKING:
    from burnplan.tone.choosing import Fault, Worth

MOST = 20  # photos at once; a limit by definition
GOOD = 0.75
"""Worth from which a photo will do as it is (a guess: with no more than one fault, and that not at
its full)."""


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
    photos: Sequence[Path], outline: Outline, on_progress: OnProgress | None = None
) -> ComparisonView:
    """Rank photos for burning on a piece.

    Raises
    ------
    BadInput
        If one of them cannot be read, or there are too many.
    """
    from burnplan.tone.choosing import worth_of

    if not 1 <= len(photos) <= MOST:
        raise BadInput(f"That is {len(photos)} photos", f"Give 1 to {MOST} at a time")
    found = []
    for number, path in enumerate(photos):
        if on_progress:
            on_progress(number / len(photos), f"Looking at {path.name}")
        found.append((path, worth_of(path, outline)))
    found.sort(key=lambda one: -one[1].score)
    return ComparisonView(
        size_mm=(outline.width_mm, outline.height_mm),
        photos=[_view(rank, *one, outline) for rank, one in enumerate(found, start=1)],
        ask=_ask(found[0][0].name, found[0][1], len(found)),
    )


def _view(rank: int, path: Path, worth: "Worth", outline: Outline) -> PhotoWorthView:
    return PhotoWorthView.of(
        worth,
        rank=rank,
        photo=path.name,
        largest_mm=(outline.width_mm * worth.largest, outline.height_mm * worth.largest),
        faults=list(map(str, worth.faults)),
        reasons=[_reason(fault, worth) for fault in worth.faults] or ["Nothing is wrong with it"],
    )


def _reason(fault: "Fault", worth: "Worth") -> str:
    from burnplan.tone.choosing import Fault

    said = {
        Fault.FEW_PIXELS: f"only {worth.px_per_mm:.1f} pixels per mm at this size",
        Fault.SOFT: f"soft where the subject is: edges {worth.blur_mm:.2f} mm wide on the wood",
        Fault.DARK_CLIPPED: f"{worth.dark_clipped:.0%} of the subject is black without detail",
        Fault.LIGHT_CLIPPED: f"{worth.light_clipped:.0%} of the subject is white without detail",
        Fault.FEW_VALUES: f"few values: L* ranges over {worth.values:.0f} of 100",
        Fault.FRONT_LIGHT: "light seems to come from the front, which flattens form",
        Fault.DOES_NOT_FIT: f"{worth.off_piece:.0%} of the subject falls off the piece",
    }
    return said[fault].replace("%", " %")


def _ask(name: str, best: "Worth", count: int) -> str:
    """Return what to ask the client for, by what the best photo lacks."""
    from burnplan.tone.choosing import Fault

    wishes = {
        Fault.FEW_PIXELS: "the original file from the camera or phone, not one that was sent"
        " through a messenger or taken from a screen",
        Fault.SOFT: "one with the eyes in sharp focus, taken from nearer by",
        Fault.DARK_CLIPPED: "one in brighter light, so that the dark parts show their detail",
        Fault.LIGHT_CLIPPED: "one out of the glaring sun, so that the light parts show theirs",
        Fault.FEW_VALUES: "one with stronger light and shade",
        Fault.FRONT_LIGHT: "one by a window or outdoors in shade, with the light from one side and"
        " without flash",
        Fault.DOES_NOT_FIT: "one taken upright if the piece is upright, with room around",
    }
    thanks = "Thank you for the photo." if count == 1 else f"Thank you for the {count} photos."
    rights = (
        "Please tell me, too, who took it, and that they allow me to burn it and to show the"
        " finished piece."
    )
    asked = [wishes[fault] for fault in best.faults]
    if best.score >= GOOD or not asked:
        return f"{thanks} I would like to work from {name}. {rights}"
    lines = "\n".join(f"- {wish}" for wish in asked)
    also = "" if count == 1 else f" The best so far is {name}."
    return (
        f"{thanks}{also} For a portrait that shows every detail, could you look for another?"
        f" Best would be\n{lines}\nIf there is none, I can work from {name} and will tell you"
        f" what to expect. {rights}"
    )
