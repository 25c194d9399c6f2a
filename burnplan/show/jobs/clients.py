"""Clients on the terminal."""

from rich.console import RenderableType
from rich.text import Text

from burnplan.desk.jobs.clients import ClientView
from burnplan.show.console import facts, table


def client_table(clients: list[ClientView]) -> RenderableType:
    """Return the list of clients, or what to do when there are none."""
    if not clients:
        return Text("No clients yet. Add one with: burnplan client add NAME", "soft")
    rows = table("client", "+e-mail", "phone", ">commissions")
    for client in clients:
        rows.add_row(
            Text(client.name), Text(client.email), Text(client.phone), str(client.commissions)
        )
    return rows


def client_card(client: ClientView) -> RenderableType:
    """Return all that is known of one client."""
    return facts(
        ("client", Text(client.name, "title")),
        ("e-mail", Text(client.email)),
        ("phone", Text(client.phone)),
        ("address", Text(client.address)),
        ("note", Text(client.note)),
        ("commissions", str(client.commissions)),
    )
