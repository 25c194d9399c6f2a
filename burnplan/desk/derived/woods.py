"""Woods as records name them: of the table, or the artist's own with the figures given."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.ledger.models import Blank, OwnSpecies
from burnplan.wood.species import (
    Figure,
    Mark,
    Species,
    kinds_of,
    own_species,
    species_on_record,
    species_or_own,
)

# Name, the least and the most it can be, and how it is asked for. The limits are our
# own, far beyond any wood: balsa has some 70 to 100 lbf, lignum vitae some 4400 (from memory).
LIMITS = {
    "radial": (0.1, 30.0, "radial shrinkage, green to oven-dry, %"),
    "tangential": (0.1, 30.0, "tangential shrinkage, green to oven-dry, %"),
    "hardness": (10.0, 6000.0, "side hardness, lbf"),
    "specific_gravity": (0.05, 1.5, "specific gravity at 12 % moisture"),
    "bare": (1.0, 100.0, "L* of the fresh sanded face"),
    "burnt": (0.0, 99.0, "L* of the darkest burn"),
}


def own_row(book: Session, key: str) -> OwnSpecies | None:
    """Return what is on record of a wood of the artist's own; None if nothing is."""
    return book.scalars(select(OwnSpecies).where(OwnSpecies.key == key)).first()


def on_record(book: Session, key: str) -> Species:
    """Return the species a record names, with the figures the user gave where it is their own."""
    wood = species_on_record(key)
    row = own_row(book, wood.key) if wood.own else None
    return wood if row is None else species_of_row(row)


def of_blank(book: Session, blank: Blank) -> Species:
    """Return the wood of a blank: its species, as light bare as a photo shows this very one."""
    wood = on_record(book, blank.species)
    return wood if blank.bare is None else wood.read_as(blank.bare)


def meant(book: Session, text: str) -> Species:
    """Return the species that a text means, with the figures given where it is the user's own.

    A name of the trade is the user's own wood of that name, else the commonest of its kinds.
    """
    wood = species_or_own(text)
    if not wood.own and not kinds_of(text):
        return wood
    row = own_row(book, wood.key if wood.own else own_species(text).key)
    return wood if row is None else species_of_row(row)


def species_of_row(row: OwnSpecies) -> Species:
    """Return a wood of the artist's own as a species, with the figures given."""
    given = {name: getattr(row, name) for name in LIMITS}
    return Species(
        key=row.key,
        name=row.name,
        botanical=row.botanical,
        figures=tuple(
            (name, Figure(value, Mark.GIVEN)) for name, value in given.items() if value is not None
        ),
        resinous=row.resinous,
        irritant=row.irritant,
        own=True,
    )
