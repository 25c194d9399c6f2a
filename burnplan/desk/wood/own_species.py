"""Woods of the user's own: what is not in the species table, with the figures they give."""

from sqlalchemy import select

from burnplan.cleaned import cleaned, cleaned_line, cleaned_note
from burnplan.desk.derived import woods
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed
from burnplan.ledger.models import OwnSpecies
from burnplan.view import View
from burnplan.wood.species import (
    Species,
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
    BadInput
        If a figure cannot be.
    """
    name = cleaned(new.name, "name", longest=60)
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


def meant(studio: Studio, text: str) -> Species:
    """Return the species that a text means, with the figures given where it is the user's own."""
    wood = species_or_own(text)
    if not wood.own or not studio.has_book:
        return wood
    with studio.reading() as book:
        return woods.on_record(book, wood.key)


def doubt(studio: Studio, text: str) -> str:
    """Return what to ask where a wood is neither in the table nor on record; or nothing."""
    near = perhaps_meant(text)
    if not near:
        return ""
    key = species_on_record(text).key
    if studio.has_book and any(key == one.key for one in known(studio)):
        return ""
    return f"'{cleaned_line(text)}' is not in the species table. Did you mean {' or '.join(near)}?"
