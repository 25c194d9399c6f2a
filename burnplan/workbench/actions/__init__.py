"""What the artist can do at the workbench: every action with its key and its words."""

from textual.binding import BindingType

from burnplan.workbench.actions import (
    checklist,
    clock,
    commission,
    general,
    money,
    reference,
    sheets,
    wood,
)
from burnplan.workbench.actions.action import Action

# In the order of the key line and of the palette.
ALL: dict[str, Action] = {
    action.name: action
    for action in (
        *checklist.ACTIONS,
        *reference.ACTIONS,
        *wood.ACTIONS,
        *money.ACTIONS,
        *clock.ACTIONS,
        *general.ACTIONS,
        *commission.ACTIONS,
        *sheets.ACTIONS,
    )
}


def bindings(page: str = "") -> list[BindingType]:
    """Return the keys of a page, or those that work on all of them."""
    return [action.binding for action in ALL.values() if action.key and action.page == page]
