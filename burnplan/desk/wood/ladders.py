"""Tone ladders: test strips on record, and fitted."""

import re
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from pydantic import Field
from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned, cleaned_note
from burnplan.codes import ladder_code
from burnplan.desk.derived import hazards_found, studio_settings, woods
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import own_species
from burnplan.errors import BadInput, NotFound
from burnplan.ledger.models import LadderPatch, Original, ToneLadder
from burnplan.reckon import ladder as fitting
from burnplan.reckon.ladder import Ladder, Patch, Reach
from burnplan.sentences import Do
from burnplan.units import MM_PER_INCH, UnitSystem, format_speed
from burnplan.view import View

if TYPE_CHECKING:
    from burnplan.tone.strip import StripRead

Vary = Literal["heat", "strokes", "speed"]
HeatUnit = Literal["dial", "°C", "°F"]
_UNITS: dict[str, HeatUnit] = {"dial": "dial", "c": "°C", "°c": "°C", "f": "°F", "°f": "°F"}
_LONGEST = 40  # patches; a limit by definition
_CURVE_POINTS = 81  # our own choice: more than columns that a curve is drawn in


class NewLadder(View):
    """A strip to put on record; each of heat, strokes and speed has one number or one a patch."""

    species: str
    tip: str
    heat: list[float]
    strokes: list[float] = Field(default_factory=lambda: [1.0])
    speed: list[float] | None = None
    unit: str = "dial"
    lightness: list[float] | None = None
    photo: Path | None = None
    card: Literal["first", "last"] | None = None
    grey_card: bool = False
    bare: float | None = None
    note: str = ""


class PatchView(View):
    """A patch: how it was burned, the L* read, and the L* the fit gives it; speed in mm/s."""

    heat: float
    strokes: float
    speed: float | None
    setting: float
    lightness: float
    fitted: float | None
    read: Literal["eye", "photo"]


class KeyView(View):
    """A lightness, and the setting that burns it; None where it is not reached."""

    lightness: float
    setting: float | None


class LadderView(View):
    """A tone ladder with its fit.

    ``curve`` is (setting, L*) along it and ``key`` the setting for every fifth L*.
    """

    code: str
    species: str
    species_name: str
    tip: str
    vary: Vary
    scale: str
    held: str
    heat_unit: HeatUnit
    bare: float | None
    patches: list[PatchView]
    curve: list[tuple[float, float]]
    key: list[KeyView]
    photo: str | None
    note: str
    burned_at: datetime
    burned_on: date
    notes: list[str] = Field(default_factory=list)


def _one_each(new: NewLadder) -> tuple[list[tuple[float, float, float | None]], Vary]:
    """Return heat, strokes and speed of each patch, and which of them varies."""
    given: dict[Vary, list[float]] = {"heat": new.heat, "strokes": new.strokes}
    if new.speed is not None:
        given["speed"] = new.speed
    several = [name for name, values in given.items() if len(values) > 1]
    if any(not values for values in given.values()) or len(several) != 1:
        raise BadInput(
            "Vary one thing along the strip: heat, strokes or speed",
            "Give several numbers for that one, and one number for the others",
        )
    vary = several[0]
    count = len(given[vary])
    if count > _LONGEST:
        raise BadInput(f"A strip has at most {_LONGEST} patches", "Make two ladders of it")
    limits = {"heat": (-100.0, 2000.0), "strokes": (0.1, 1000.0), "speed": (0.01, 1000.0)}
    for name, values in given.items():
        least, most = limits[name]
        for value in values:
            if not least <= value <= most:
                raise BadInput(
                    f"{value:g} is no {name} of a patch", f"Give it from {least:g} to {most:g}"
                )
    heat, strokes = _spread(new.heat, count), _spread(new.strokes, count)
    speed = _spread(new.speed, count) if new.speed is not None else [None] * count
    return list(zip(heat, strokes, speed, strict=True)), vary


def _spread(values: list[float], count: int) -> list[float]:
    return values * count if len(values) == 1 else values


def add(studio: Studio, new: NewLadder) -> LadderView:
    """Put a strip on record, its lightness given by eye or read from a photo.

    Raises
    ------
    BadInput
        If more than one thing varies, a number cannot be, or the photo does not
        show the patches.
    NotAllowed
        If the wood must not be burned.
    """
    wood, burned = own_species.meant(studio, new.species), _one_each(new)
    patches, _ = burned
    unit = _UNITS.get(new.unit.strip().lower())
    if unit is None:
        raise BadInput(f"Heat is not in '{new.unit}'", "Choose dial, C or F")
    if (new.lightness is None) == (new.photo is None):
        raise BadInput("Give the lightness by eye, or a photo of the strip", "One of the two")
    if new.photo is None and (new.card or new.grey_card):
        raise BadInput("A card goes with a photo of the strip", "Give the photo too")
    hazards_found.refuse_wood(wood)
    read, notes, bare, photo = _read(studio, new, len(patches))
    _check_lightness(read, len(patches), bare)
    with studio.writing("ladder.add") as (book, entry):
        ladder = ToneLadder(
            species=wood.key,
            tip=cleaned(new.tip, "tip", longest=80),
            heat_unit=unit,
            bare=bare,
            original_sha256=photo_store.recorded(book, photo).sha256 if photo else None,
            note=cleaned_note(new.note),
            burned_at=studio.now(),
            patches=[
                LadderPatch(
                    position=place,
                    heat=heat,
                    strokes=strokes,
                    speed=speed,
                    lightness=lightness,
                    read="eye" if new.photo is None else "photo",
                )
                for place, ((heat, strokes, speed), lightness) in enumerate(
                    zip(patches, read, strict=True), start=1
                )
            ],
        )
        book.add(ladder)
        book.flush()
        code = ladder_code(ladder.id)
        entry.says(f"Put tone ladder {code} on record ({wood.name.lower()}, {ladder.tip})")
        return view(studio, book, ladder, notes)


def _read(
    studio: Studio, new: NewLadder, count: int
) -> tuple[list[float], list[str], float | None, Original | None]:
    """Return the L* of the patches, what to mind, that of the bare wood, and the photo kept."""
    if new.photo is None:
        return new.lightness or [], [], new.bare, None
    strip = _read_photo(new, new.photo, count)
    bare = new.bare if new.bare is not None else strip.bare
    # Without a card the bare wood is only as the camera exposed it.
    known = bare if new.card or new.bare is not None else None
    read = [patch.lightness for patch in strip.patches]
    return read, list(strip.notes), known, photo_store.keep(studio, new.photo)


def _read_photo(new: NewLadder, path: Path, count: int) -> "StripRead":
    from burnplan.tone import strip
    from burnplan.tone.photo import open_photo

    card = None
    if new.card:
        light = strip.GREY_CARD if new.grey_card else strip.WHITE_CARD
        card = strip.Card(strip.End(new.card), light)
    photo = open_photo(path, at_least=(1600, 200))
    return strip.read_strip(photo.rgb, count, card=card, bare=new.bare)


def _check_lightness(read: list[float], count: int, bare: float | None) -> None:
    if len(read) != count:
        raise BadInput(
            f"There are {count} patches and {len(read)} lightnesses", "Give one for each patch"
        )
    for value in [*read, *([] if bare is None else [bare])]:
        if not 0 <= value <= 100:
            raise BadInput(f"{value:g} is no lightness", "L* goes from 0 (black) to 100 (white)")


# The fit ------------------------------------------------------------------------------


def varied(ladder: ToneLadder) -> Vary:
    """Return what varies along a strip."""
    names: tuple[Vary, ...] = ("strokes", "speed")
    for name in names:
        if len({getattr(patch, name) for patch in ladder.patches}) > 1:
            return name
    return "heat"


def _setting(patch: LadderPatch, vary: Vary, units: UnitSystem) -> float:
    """Return a patch's place on a scale where more burns darker."""
    if vary == "speed":  # mm/s to seconds for a centimetre or an inch
        return (MM_PER_INCH if units is UnitSystem.IMPERIAL else 10) / (patch.speed or 1.0)
    return float(getattr(patch, vary))


def scale_of(ladder: ToneLadder, vary: Vary, units: UnitSystem) -> str:
    """Return what a ladder's settings are given in."""
    time = "s/in" if units is UnitSystem.IMPERIAL else "s/cm"
    names = {"heat": f"heat, {ladder.heat_unit}", "strokes": "strokes", "speed": time}
    return names[vary]


def held_at(ladder: ToneLadder, vary: Vary, units: UnitSystem) -> str:
    """Say what stays the same along the strip."""
    first = ladder.patches[0]
    unit = "" if ladder.heat_unit == "dial" else f" {ladder.heat_unit}"
    said = {
        "heat": f"heat {first.heat:g}{unit}",
        "strokes": "one stroke" if first.strokes == 1 else f"{first.strokes:g} strokes",
        "speed": format_speed(first.speed, units) if first.speed else "",
    }
    return ", ".join(words for name, words in said.items() if name != vary and words)


def fitted(ladder: ToneLadder, units: UnitSystem) -> Ladder | None:
    """Return the curve through a ladder's patches; None where they have one setting only."""
    vary = varied(ladder)
    patches = [Patch(_setting(patch, vary, units), patch.lightness) for patch in ladder.patches]
    if len({patch.setting for patch in patches}) < 2:
        return None
    return fitting.fit(patches, ladder.bare)


def view(
    studio: Studio, book: Session, ladder: ToneLadder, notes: list[str] | None = None
) -> LadderView:
    """Return a tone ladder as shown, with its fit."""
    units = studio_settings.of_book(book).units
    vary, fit = varied(ladder), fitted(ladder, units)
    curve: list[tuple[float, float]] = []
    if fit is not None:
        low, high = fit.settings[0], fit.settings[-1]
        steps = [low + (high - low) * n / (_CURVE_POINTS - 1) for n in range(_CURVE_POINTS)]
        curve = [(setting, fit.lightness_at(setting)) for setting in steps]
    photo = book.get(Original, ladder.original_sha256) if ladder.original_sha256 else None
    return LadderView.of(
        ladder,
        code=ladder_code(ladder.id),
        species_name=woods.on_record(book, ladder.species).name,
        burned_on=studio.local(ladder.burned_at).date(),
        vary=vary,
        scale=scale_of(ladder, vary, units),
        held=held_at(ladder, vary, units),
        heat_unit=_UNITS[ladder.heat_unit.lower()],
        patches=[
            PatchView.of(
                patch,
                setting=_setting(patch, vary, units),
                fitted=fit.lightness_at(_setting(patch, vary, units)) if fit else None,
            )
            for patch in ladder.patches
        ],
        curve=curve,
        key=_key(fit) if fit else [],
        photo=photo.filename if photo else None,
        notes=notes or [],
    )


def _key(fit: Ladder) -> list[KeyView]:
    found = [fit.setting_for(lightness) for lightness in range(95, 0, -5)]
    return [
        KeyView(lightness=one.wanted, setting=one.setting if one.reach is Reach.REACHED else None)
        for one in found
    ]


def everything(studio: Studio, species: str | None = None) -> list[LadderView]:
    """Return the tone ladders, the newest first; of one species or all."""
    key = own_species.meant(studio, species).key if species else None
    with studio.reading() as book:
        return [view(studio, book, ladder) for ladder in of_species(book, key)]


def of_species(book: Session, key: str | None) -> list[ToneLadder]:
    """Return the ladders on a wood, or all of them, the newest first."""
    query = select(ToneLadder).order_by(ToneLadder.burned_at.desc(), ToneLadder.id.desc())
    if key is not None:
        query = query.where(ToneLadder.species == key)
    return list(book.scalars(query))


def find_ladder(book: Session, text: str) -> ToneLadder:
    """Return the ladder meant by ``L-0003``, ``3`` or its species, of which the newest.

    Raises
    ------
    NotFound
        If there is none.
    """
    number = re.fullmatch(r"(?:[lL]-?)?0*(\d{1,9})", text.strip())
    found = book.get(ToneLadder, int(number[1])) if number else None
    if found is None and not number and text.strip():
        found = next(iter(of_species(book, woods.meant(book, text).key)), None)
    if found is None:
        raise NotFound(f"No tone ladder is called '{text}'", "See ", Do("ladder.list"))
    return found


def show(studio: Studio, which: str) -> LadderView:
    """Return one tone ladder."""
    with studio.reading() as book:
        return view(studio, book, find_ladder(book, which))
