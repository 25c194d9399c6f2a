"""burnplan client: who orders."""

from typing import Annotated

import typer
from rich.markup import escape

from burnplan.cli.answers import Answer, answers
from burnplan.cli.asking import ask, need_somebody, sure
from burnplan.cli.common import refuse_no_change, the_settings, the_studio
from burnplan.cli.naming import whole_client
from burnplan.cli.options import NewNote, Yes, gathered_by, group, page
from burnplan.desk.jobs import clients
from burnplan.desk.studio import paging
from burnplan.show import console
from burnplan.show.jobs import clients as shown

app = group()

Name = Annotated[
    str,
    typer.Argument(metavar="CLIENT", help="The name, or words that it has.", callback=whole_client),
]


def details(
    email: Annotated[str | None, typer.Option(help="E-mail address.")] = None,
    phone: Annotated[str | None, typer.Option(help="Telephone.")] = None,
    address: Annotated[str | None, typer.Option(help="Postal address.")] = None,
    note: NewNote = None,
    language: Annotated[
        str | None,
        typer.Option(help="What they read, like de or en_US; the studio's own if not said."),
    ] = None,
) -> "clients.ClientDetails":
    """Return what is said of a client, of the options that add and edit take."""
    return clients.ClientDetails(
        email=email, phone=phone, address=address, note=note, language=language
    )


@app.command()
@gathered_by(details)
def add(
    context: typer.Context,
    name: Annotated[str | None, typer.Argument(help="The client's name.")] = None,
    *,
    details: "clients.ClientDetails",
) -> None:
    """Add a client; asks when called bare in a terminal.

    Examples:
      burnplan client add "Mara Lindqvist" --email mara@example.org
      burnplan client add
    """
    studio = the_studio(context)
    if name is None:
        need_somebody("The client has no name", "Give it: burnplan client add NAME")
        name = ask("Name", default=None)
        details.email = details.email or ask("E-mail", hint="Enter to skip")
        details.phone = details.phone or ask("Telephone", hint="Enter to skip")
        details.address = details.address or ask("Address", hint="Enter to skip")
    client = clients.add(studio, name or "", details)
    console.show(f"Added client [code]{escape(client.name)}[/]")


@app.command()
@gathered_by(details)
def edit(
    context: typer.Context,
    who: Name,
    name: Annotated[str | None, typer.Option(help="A new name.")] = None,
    *,
    details: "clients.ClientDetails",
) -> None:
    """Change what is known of a client.

    Examples:
      burnplan client edit mara --phone "+46 8 000 00 00"
      burnplan client edit mara --language de
    """
    if name is None:
        refuse_no_change(details, "--phone '+46 8 000 00 00'")
    client = clients.edit(the_studio(context), who, details, name)
    console.show(f"Changed client [code]{escape(client.name)}[/]")


@app.command("show")
@answers
def show_(context: typer.Context, who: Name) -> "Answer[clients.ClientView]":
    """Show one client, with their jobs, what they paid and what they owe.

    Examples:
      burnplan client show mara
    """
    studio, own = the_studio(context), the_settings(context)
    found = clients.show(studio, who)
    return Answer(found, lambda one: shown.client_card(one, own, studio.today()))


@app.command()
def merge(
    context: typer.Context,
    who: Name,
    into: Annotated[str, typer.Option(help="The client to keep.", callback=whole_client)],
    yes: Yes = False,
) -> None:
    """Make one of two clients who are the same; the jobs of the first go to the second.

    Examples:
      burnplan client merge "Mara Lindquist" --into "Mara Lindqvist"
    """
    studio = the_studio(context)
    gone, kept = clients.show(studio, who), clients.show(studio, into)
    sure(f"Merge {gone.code} {gone.name} into {kept.code} {kept.name}?", yes)
    made = clients.merge(studio, gone.code, kept.code)
    jobs = "1 commission" if made.commissions == 1 else f"{made.commissions} commissions"
    console.show(f"[code]{made.code}[/] {escape(made.name)} has {jobs}")
    console.notice("Take it back with: burnplan undo")


@app.command()
def remove(context: typer.Context, who: Name) -> None:
    """Remove a client who has ordered nothing.

    Examples:
      burnplan client remove P-0004
    """
    gone = clients.remove(the_studio(context), who)
    console.show(f"Removed client [code]{escape(gone)}[/]; take it back with: burnplan undo")


@app.command("list")
@answers
@gathered_by(page)
def list_(context: typer.Context, *, page: "paging.ListPage") -> "Answer[list[clients.ClientView]]":
    """List all clients.

    Examples:
      burnplan client list
      burnplan client list --json
    """
    return Answer(clients.everyone(the_studio(context), page), shown.client_table, page)
