"""What the artist can do at the workbench: every action with its key and its words."""

from textual.binding import BindingType

from burnplan.workbench.actions.action import Action
from burnplan.workbench.actions.jobs import (
    checklist,
    clients,
    commission,
    finishing,
    laying,
    reference,
    sheets,
)
from burnplan.workbench.actions.keeping import general, studio
from burnplan.workbench.actions.money import quotes, what_if
from burnplan.workbench.actions.time import burning, clock, corrections, planning
from burnplan.workbench.actions.wood import blanks, condition, ladders

# In the order of the key line and of the palette.
ALL: dict[str, Action] = {
    action.name: action
    for action in (
        *checklist.ACTIONS,
        *reference.ACTIONS,
        *laying.ACTIONS,
        *blanks.ACTIONS,
        *quotes.ACTIONS,
        *burning.ACTIONS,
        *clock.ACTIONS,
        *corrections.ACTIONS,
        *general.ACTIONS,
        *commission.ACTIONS,
        *clients.ACTIONS,
        *finishing.ACTIONS,
        *what_if.ACTIONS,
        *planning.ACTIONS,
        *condition.ACTIONS,
        *ladders.ACTIONS,
        *sheets.ACTIONS,
        *studio.ACTIONS,
    )
}


def bindings(page: str = "") -> list[BindingType]:
    """Return the keys of a page, or those that work on all of them."""
    return [action.binding for action in ALL.values() if action.key and action.page == page]
