"""What can be typed next, each with what it stands for; of a book on a server, nothing."""

from burnplan.codes import blank_code, commission_code
from burnplan.desk.studio.studio import Studio
from burnplan.ledger import glance
from burnplan.wood.species import all_species

Choices = list[tuple[str, str]]


def commissions(studio: Studio) -> Choices:
    """Return the codes of the open commissions, newest first, with their titles."""
    found = glance.glance(studio.book_file, glance.COMMISSIONS)
    return [(commission_code(number), title) for number, title in found]


def blanks(studio: Studio) -> Choices:
    """Return the codes of the blanks, newest first, with their wood."""
    found = glance.glance(studio.book_file, glance.BLANKS)
    return [(blank_code(number), species) for number, species in found]


def species(studio: Studio) -> Choices:
    """Return the species of the table and the user's own."""
    own = glance.glance(studio.book_file, glance.OWN_SPECIES)
    return sorted([(one.key, one.name) for one in all_species()] + own)


def setting_names(_studio: Studio) -> Choices:
    """Return the settings as they begin to be typed."""
    from burnplan.desk.derived.studio_settings import ASKED

    return [(f"{name}=", asked.question) for name, asked in ASKED.items()]
