"""The clients."""

from textual.app import ComposeResult

from burnplan.desk.jobs import clients
from burnplan.desk.jobs.clients import ClientView
from burnplan.workbench import gather
from burnplan.workbench.drawing import STRONG, Cell, Column
from burnplan.workbench.listing import Listing, columned
from burnplan.workbench.pages.page import WorkbenchPage

_COLUMNS = (
    Column("client", 16, grow=2),
    Column("e-mail", 20, grow=2),
    Column("phone", 14, grow=1, needs=90),
    Column("commissions", 11, right=True),
)


class ClientsPage(WorkbenchPage[list[ClientView]]):
    """The clients."""

    MAIN = "#clients-list"

    def compose(self) -> ComposeResult:
        """Lay out the list."""
        none = "No clients yet. They are added with their first commission."
        yield Listing("Clients", none, id="clients-list")

    def look_up(self) -> list[ClientView]:
        """Return the clients."""
        return clients.everyone(self.studio)

    def give(self, now: gather.Now, found: list[ClientView]) -> None:  # noqa: ARG002
        """Show the clients."""
        self.listing.give(columned(_COLUMNS, found, lambda one: one.code, _cells))


def _cells(one: ClientView) -> list[Cell]:
    return [
        (one.name, STRONG),
        (one.email or "–", ""),
        (one.phone or "–", ""),
        (str(one.commissions), ""),
    ]
