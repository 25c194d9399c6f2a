"""Clients on the terminal."""

from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.clients import ClientView
from burnplan.money import format_balance, format_money
from burnplan.show.console import facts, table
from burnplan.show.jobs.review import due_text


def client_table(clients: list[ClientView]) -> RenderableType:
    """Return the list of clients, or what to do when there are none."""
    if not clients:
        return Text("No clients yet. Add one with: burnplan client add NAME", "soft")
    rows = table("code", "client", "+e-mail", "phone", ">commissions")
    for client in clients:
        rows.add_row(
            Text(client.code, "code"),
            Text(client.name),
            Text(client.email),
            Text(client.phone),
            str(client.commissions),
        )
    return rows


def client_card(client: ClientView, settings: Settings, today: date) -> RenderableType:
    """Return all that is known of one client: their jobs, what they paid and owe."""
    known = facts(
        (client.code, Text(client.name, "title")),
        ("e-mail", Text(client.email)),
        ("phone", Text(client.phone)),
        ("address", Text(client.address)),
        ("note", Text(client.note)),
        ("commissions", str(client.commissions)),
    )
    if not client.jobs:
        return known
    rows = table("job", "+title", "stage", "due", ">paid", ">to pay")
    for job in client.jobs:
        rows.add_row(
            Text(job.code, "code"),
            Text(job.title),
            settings.wording.own(job.stage.value),
            due_text(job.due, today),
            format_money(job.received, job.currency, settings.locale) if job.received else "–",
            format_balance(job.balance, job.currency, settings.locale) if job.balance else "–",
        )
    return Group(known, Text(), rows)
