"""What the artist can do at the workbench: every action with its key and its words."""

from textual.binding import BindingType

from burnplan.workbench.actions.action import Action
from burnplan.workbench.actions.jobs import (
    checklist,
    clients,
    commission,
    consent,
    finishing,
    laying,
    lettering,
    reference,
    sheets,
)
from burnplan.workbench.actions.keeping import general, studio
from burnplan.workbench.actions.money import letters, quotes, what_if
from burnplan.workbench.actions.time import burning, clock, corrections, planning
from burnplan.workbench.actions.wood import blanks, condition, ladders

# In the order of the key line and of the palette.
_ROOMS = (
    checklist, reference, laying, lettering, blanks, quotes, burning, clock, corrections, general,
    commission, clients, consent, finishing, what_if, planning, condition, ladders, sheets, letters,
    studio,
)  # fmt: skip
_EVERY = [action for room in _ROOMS for action in room.ACTIONS]
ALL: dict[str, Action] = {action.name: action for action in _EVERY}
if len(ALL) < len(_EVERY):
    raise ValueError("Two actions of the workbench have one name")


def bindings(page: str = "") -> list[BindingType]:
    """Return the keys of a page, or those that work on all of them."""
    return [action.binding for action in ALL.values() if action.key and action.page == page]
