"""A tone ladder learns from a piece: what each zone's setting really gave."""

import re
from collections.abc import Sequence
from typing import NamedTuple

from burnplan.codes import commission_code, ladder_code
from burnplan.desk.derived import piece, woods
from burnplan.desk.jobs import photos
from burnplan.desk.jobs.comparisons import DOUBTFUL, ComparisonView
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import ladders
from burnplan.desk.wood.ladders import LadderView
from burnplan.errors import BadInput, NotFound
from burnplan.ledger.models import Commission, LadderPatch, ProgressPhoto, ToneLadder
from burnplan.sentences import Do
from burnplan.view import View
from burnplan.wood.species import UNKNOWN_WOOD

_HEAT = re.compile(r"\s*(?:heat|dial)?\s*(\d+(?:[.,]\d+)?)\s*(°?[CcFf])?\s*")


class TaughtView(View):
    """A tone ladder with what it learned: the heat and L* of each zone, and what was left out."""

    ladder: LadderView
    learned: list["TaughtZone"]
    left_out: list[str]


class TaughtZone(View):
    """What a zone's setting gave."""

    zone: int
    heat: float
    lightness: float


class _Burned(NamedTuple):
    heat: float | None
    why_not: str


def teach(studio: Studio, number: int, which: str | None = None) -> TaughtView:
    """Add to a tone ladder what each zone's setting gave, by a photo that was compared.

    A zone says something where it is ticked, was burned with one tip at one heat on record,
    and the light on it is known.

    Parameters
    ----------
    studio : Studio
    number : int
        Of the photo.
    which : str, optional
        The ladder; the newest on the wood of the piece if not given.

    Raises
    ------
    NotFound
        If the photo was not compared, or there is no ladder.
    BadInput
        If the ladder varies something else than heat, or no zone says anything.
    """
    with studio.writing("ladder.learn") as (book, entry):
        row = photos.find(book, number)
        view = _compared(row)
        commission = row.commission
        species = piece.species_of(commission) or UNKNOWN_WOOD
        ladder = ladders.find_ladder(book, which or species)
        if ladder.species != species:
            raise BadInput(
                f"{ladder_code(ladder.id)} is on {woods.on_record(book, ladder.species).name}"
                f" and the piece on {woods.on_record(book, species).name}",
                "Choose a ladder on the same wood",
            )
        if ladders.varied(ladder) != "heat":
            raise BadInput(
                f"{ladder_code(ladder.id)} varies {ladders.varied(ladder)}, and sessions say at"
                " which heat was burned",
                "Choose a ladder that varies heat",
            )
        learned, left_out = _zones(commission, row, view, ladder)
        if not learned:
            raise BadInput("No zone says what a setting gave", "; ".join(left_out))
        place = max(patch.position for patch in ladder.patches)
        first = ladder.patches[0]
        for one in learned:
            place += 1
            ladder.patches.append(
                LadderPatch(
                    position=place, heat=one.heat, strokes=first.strokes, speed=first.speed,
                    lightness=one.lightness, read="photo",
                )
            )  # fmt: skip
        book.flush()
        code = ladder_code(ladder.id)
        entry.says(f"{code} learned from '{commission.title}'", commission.id)
        return TaughtView(
            ladder=ladders.view(studio, book, ladder), learned=learned, left_out=left_out
        )


def _compared(row: ProgressPhoto) -> ComparisonView:
    if row.comparison is None:
        raise NotFound(
            f"Photo {row.id} was not compared with the plan",
            "Compare the piece: ",
            Do("photo.compare", job=commission_code(row.commission_id)),
        )
    return ComparisonView.model_validate(row.comparison["view"])


def _zones(
    commission: Commission, row: ProgressPhoto, view: ComparisonView, ladder: ToneLadder
) -> tuple[list[TaughtZone], list[str]]:
    learned, left_out = [], []
    for zone in view.zones:
        burned = _burned(commission, row, zone.zone, ladder)
        why = burned.why_not
        if not why and zone.doubt > DOUBTFUL:
            why = "the light on it is not known well"
        if why or burned.heat is None:
            left_out.append(f"Z{zone.zone}: {why}")
            continue
        bare, dark = view.bare_lightness, view.burn_lightness
        light = min(max(bare - zone.measured * (bare - dark), 0.0), 100.0)
        gave = TaughtZone(zone=zone.zone, heat=burned.heat, lightness=round(light, 1))
        if any(
            (patch.read, patch.heat, patch.lightness) == ("photo", gave.heat, gave.lightness)
            for patch in ladder.patches
        ):
            left_out.append(f"Z{zone.zone}: it is on the ladder already")
            continue
        learned.append(gave)
    return learned, left_out


def _burned(commission: Commission, row: ProgressPhoto, zone: int, ladder: ToneLadder) -> _Burned:
    """Return at which heat a zone was burned, or why it says nothing."""
    steps = [step for step in commission.steps if step.zone == zone]
    if not any(step.ticked_at is not None for step in steps):
        return _Burned(None, "it is not ticked")
    sessions = [one for one in commission.sessions if one.zone == zone and one.work == "burn"]
    if any(one.intervals[-1].started_at > row.added_at for one in sessions if one.intervals):
        return _Burned(None, "it was burned on since the photo")
    sittings = [(one.tip, one.heat) for one in sessions]
    tips = {tip.casefold() for tip, _ in sittings if tip}
    if tips - {ladder.tip.casefold()}:
        return _Burned(None, f"it was burned with {' and '.join(sorted(tips))}")
    return _one_heat([heat for _, heat in sittings if heat], ladder.heat_unit)


def _one_heat(said: Sequence[str], unit: str) -> _Burned:
    read = [_HEAT.fullmatch(one) for one in said]
    if not read:
        return _Burned(None, "no session says at which heat")
    found = {
        (float(one[1].replace(",", ".")), (one[2] or unit).upper().replace("°", ""))
        for one in read if one is not None
    }  # fmt: skip
    if None in read or len(found) != 1:
        return _Burned(None, f"it was burned at {', '.join(dict.fromkeys(said))}")
    [(heat, in_unit)] = found
    if in_unit != unit.upper().replace("°", ""):
        return _Burned(None, f"its heat is in {in_unit} and the ladder's in {unit}")
    return _Burned(heat, "")
