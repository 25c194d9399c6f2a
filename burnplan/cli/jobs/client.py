"""burnplan client: who orders."""

from typing import Annotated

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    PageNumber,
    Rows,
    answer,
    answer_page,
    ask,
    group,
    the_studio,
)

app = group()

Name = Annotated[str, typer.Argument(metavar="CLIENT", help="The name, or part of it.")]
Email = Annotated[str | None, typer.Option(help="E-mail address.")]
Phone = Annotated[str | None, typer.Option(help="Telephone.")]
Address = Annotated[str | None, typer.Option(help="Postal address.")]
Note = Annotated[str | None, typer.Option(help="Anything worth remembering.")]


@app.command()
def add(
    context: typer.Context,
    name: Annotated[str | None, typer.Argument(help="The client's name.")] = None,
    email: Email = None,
    phone: Phone = None,
    address: Address = None,
    note: Note = None,
) -> None:
    """Add a client; asks when called bare in a terminal.

    Examples:

      burnplan client add "Mara Lindqvist" --email mara@example.org

      burnplan client add
    """
    from burnplan.desk.jobs import clients
    from burnplan.errors import BadInput
    from burnplan.show.console import interactive, show

    studio = the_studio(context)
    if name is None:
        if not interactive():
            raise BadInput("The client has no name", "Give it: burnplan client add NAME")
        name = ask("Name", default=None)
        email = email or ask("E-mail", hint="Enter to skip")
        phone = phone or ask("Telephone", hint="Enter to skip")
        address = address or ask("Address", hint="Enter to skip")
    details = clients.ClientDetails(email=email, phone=phone, address=address, note=note)
    client = clients.add(studio, name or "", details)
    show(f"Added client [code]{_plain(client.name)}[/]")


@app.command()
def edit(
    context: typer.Context,
    who: Name,
    name: Annotated[str | None, typer.Option(help="A new name.")] = None,
    email: Email = None,
    phone: Phone = None,
    address: Address = None,
    note: Note = None,
) -> None:
    """Change what is known of a client.

    Examples:

      burnplan client edit mara --phone "+46 8 000 00 00"
    """
    from burnplan.desk.jobs import clients
    from burnplan.show.console import show

    details = clients.ClientDetails(email=email, phone=phone, address=address, note=note)
    client = clients.edit(the_studio(context), who, details, name)
    show(f"Changed client [code]{_plain(client.name)}[/]")


@app.command("show")
def show_(
    context: typer.Context, who: Name, as_json: AsJson = False, as_schema: AsSchema = False
) -> None:
    """Show one client.

    Examples:

      burnplan client show mara
    """
    from burnplan.desk.jobs import clients
    from burnplan.show.jobs.clients import client_card

    return answer(
        clients.ClientView,
        as_json,
        as_schema,
        lambda: clients.show(the_studio(context), who),
        client_card,
    )


@app.command("list")
def list_(
    context: typer.Context,
    rows: Rows = 50,
    number: PageNumber = 1,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List all clients.

    Examples:

      burnplan client list

      burnplan client list --json
    """
    from burnplan.desk.jobs import clients
    from burnplan.show.jobs.clients import client_table

    return answer_page(
        clients.ClientView,
        as_json,
        as_schema,
        (number, rows),
        lambda page: clients.everyone(the_studio(context), page),
        client_table,
    )


def _plain(text: str) -> str:
    from rich.markup import escape

    return escape(text)
