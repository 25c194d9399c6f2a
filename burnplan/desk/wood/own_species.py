"""Woods of the user's own: what is not in the species table, with the figures they give."""

from collections.abc import Iterable

from sqlalchemy import select

from burnplan.cleaned import cleaned, cleaned_line, cleaned_note
from burnplan.desk.derived import woods
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import OwnSpecies
from burnplan.view import View
from burnplan.wood.species import (
    Species,
    kinds_of,
    own_species,
    perhaps_meant,
    species_on_record,
    species_or_own,
)


class NewSpecies(View):
    """A wood to put on record, as typed; what is not known is left out."""

    name: str
    botanical: str = ""
    radial: float | None = None
    tangential: float | None = None
    hardness: float | None = None
    specific_gravity: float | None = None
    bare: float | None = None
    burnt: float | None = None
    resinous: str = ""
    irritant: str = ""
    source: str = ""


class OwnSpeciesView(NewSpecies):
    """A wood of the user's own, as shown."""

    key: str


def _checked(new: NewSpecies) -> None:
    for name, (least, most, words) in woods.LIMITS.items():
        value = getattr(new, name)
        if value is not None and not least <= value <= most:
            raise BadInput(
                f"{value:g} cannot be the {words}", f"Give it from {least:g} to {most:g}"
            )
    if new.bare is not None and new.burnt is not None and new.burnt >= new.bare:
        raise BadInput("The darkest burn is not darker than the bare wood", "Check both L*")


def add(studio: Studio, new: NewSpecies) -> OwnSpeciesView:
    """Put a wood on record that is not in the table.

    Raises
    ------
    NotAllowed
        If the table or the book has it already.
    NotFound
        If several woods are sold by that name.
    BadInput
        If a figure cannot be.
    """
    name = cleaned(new.name, "name", longest=60)
    if several := kinds_of(name):
        keys = " or ".join(one.key for one in several)
        raise NotFound(f"'{name}' could be {keys}, or another", "Give its full name")
    wood = species_or_own(name)
    if not wood.own:
        raise NotAllowed(f"'{name}' is {wood.key} of the species table", "Use it as it is")
    _checked(new)
    with studio.writing("species.add") as (book, entry):
        if woods.own_row(book, wood.key) is not None:
            raise NotAllowed(f"{wood.name} is on record already", "Give it another name")
        row = OwnSpecies(
            key=wood.key,
            name=wood.name,
            botanical=cleaned_line(new.botanical)[:100],
            resinous=cleaned_note(new.resinous),
            irritant=cleaned_note(new.irritant),
            source=cleaned_note(new.source),
            added_at=studio.now(),
            **{figure: getattr(new, figure) for figure in woods.LIMITS},
        )
        book.add(row)
        book.flush()
        entry.says(f"Put {wood.name.lower()} among the species")
        return OwnSpeciesView.of(row)


def everything(studio: Studio) -> list[OwnSpeciesView]:
    """Return the woods of the user's own."""
    with studio.reading() as book:
        return [
            OwnSpeciesView.of(row)
            for row in book.scalars(select(OwnSpecies).order_by(OwnSpecies.name))
        ]


def known(studio: Studio) -> list[Species]:
    """Return the woods of the user's own as species, with the figures given."""
    with studio.reading() as book:
        return [
            woods.species_of_row(row)
            for row in book.scalars(select(OwnSpecies).order_by(OwnSpecies.name))
        ]


def kinds(studio: Studio, text: str) -> tuple[Species, ...]:
    """Return the woods that a name of the trade can mean, the commonest first.

    None where the studio has a wood of its own by that name.
    """
    found = kinds_of(text)
    if found and studio.has_book:
        key = own_species(text).key
        with studio.reading() as book:
            return () if woods.own_row(book, key) else found
    return found


def meant(studio: Studio, text: str) -> Species:
    """Return the species that a text means, with the figures given where it is the user's own."""
    wood = species_or_own(text)
    if not studio.has_book:
        return wood
    with studio.reading() as book:
        return woods.meant(book, text)


def choices(studio: Studio, text: str) -> list[str]:
    """Return the keys of what may be meant by a name that is in doubt, the likeliest first."""
    return [one.key for one in kinds(studio, text)] or list(nearly(studio, text))


def doubt(studio: Studio, text: str) -> str:
    """Return what to ask or to say of a wood that may be another than it is taken for; or nothing.

    It is in neither the table nor on record, but nearly; or several are sold by its name.
    """
    named = f"'{cleaned_line(text)}'"
    if found := kinds(studio, text):
        commonest, *others = (one.key for one in found)
        if_other = f"; if it is {' or '.join(others)}" if others else "; if it is another"
        return f"{named} is taken for {commonest}, the commonest{if_other}, name that"
    near = nearly(studio, text)
    asked = f"Did you mean {' or '.join(near)}?"
    return f"{named} is not in the species table. {asked}" if near else ""


def not_known(studio: Studio, keys: Iterable[str]) -> list[str]:
    """Return the names of woods on record that are in neither the species table nor the book."""
    on_record = {one.key for one in known(studio)} if studio.has_book else set()
    found = map(species_on_record, keys)
    return [wood.name for wood in found if wood.own and wood.key not in on_record]


def nearly(studio: Studio, text: str) -> tuple[str, ...]:
    """Return the woods of the table that a name in neither table nor book may be misspelt of."""
    near = perhaps_meant(text)
    if not near or not studio.has_book:
        return near
    key = species_on_record(text).key
    return () if any(key == one.key for one in known(studio)) else near


def doubt_of_job(studio: Studio, which: str) -> str:
    """Return what to ask of the wood of a job that is on record; or nothing."""
    with studio.reading() as book:
        species = find_commission(book, which).species
    near = nearly(studio, species) if species else ()
    if not near:
        return ""
    return f"Its wood '{species}' is not in the species table. Did you mean {' or '.join(near)}?"
