"""The clients."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from burnplan.desk.jobs import clients
from burnplan.desk.jobs.clients import ClientView
from burnplan.desk.studio.studio import Studio
from burnplan.workbench import gather
from burnplan.workbench.actions import bindings
from burnplan.workbench.drawing import SOFT, STRONG, Cell, Column
from burnplan.workbench.listing import Listing, columned
from burnplan.workbench.pages.page import WorkbenchPage

_COLUMNS = (
    Column("code", 6),
    Column("client", 16, grow=2),
    Column("e-mail", 20, grow=2),
    Column("phone", 14, grow=1, needs=90),
    Column("commissions", 11, right=True),
)


class ClientsPage(WorkbenchPage[list[ClientView]]):
    """The clients."""

    MAIN = "#clients-list"
    BINDINGS: ClassVar[list[BindingType]] = bindings("clients")

    def __init__(self, studio: Studio, name: str) -> None:
        super().__init__(studio, name)
        self._clients: dict[str, ClientView] = {}

    def compose(self) -> ComposeResult:
        """Lay out the list."""
        none = "No clients yet. They are added with their first commission."
        yield Listing("Clients", none, id="clients-list")

    @property
    def client(self) -> ClientView | None:
        """The client the cursor is on."""
        return self._clients.get(self.listing.key or "")

    def look_up(self) -> list[ClientView]:
        """Return the clients."""
        return clients.everyone(self.studio)

    def give(self, now: gather.Now, found: list[ClientView]) -> None:  # noqa: ARG002
        """Show the clients."""
        self._clients = {one.code: one for one in found}
        self.listing.give(columned(_COLUMNS, found, lambda one: one.code, _cells))


def _cells(one: ClientView) -> list[Cell]:
    return [
        (one.code, SOFT),
        (one.name, STRONG),
        (one.email or "–", ""),
        (one.phone or "–", ""),
        (str(one.commissions), ""),
    ]
