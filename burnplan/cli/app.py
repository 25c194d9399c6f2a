"""The program: its commands, and the one place where errors become messages."""

import sys
from typing import TYPE_CHECKING, Annotated

import typer

import burnplan
from burnplan.cli import (
    blank,
    calendar,
    client,
    commission,
    demo,
    estimate,
    finish,
    job_sheet,
    jobs,
    keeping,
    ladder,
    money,
    moving,
    past,
    payment,
    photo,
    promise,
    quote,
    reference,
    session,
    settings,
    step,
    undo,
    workbench,
)
from burnplan.errors import BurnplanError

if TYPE_CHECKING:
    from burnplan.desk.studio import Studio

app = typer.Typer(
    name="burnplan",
    no_args_is_help=True,
    rich_markup_mode="rich",
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["--help", "-h"]},
)


@app.callback()
def _root(
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    """Plan, price and track wood-burning commissions: from a photo to the open jobs.

    Start with: burnplan demo
    """
    if version:
        typer.echo(f"burnplan {burnplan.__version__}")
        raise typer.Exit


# In the order a job goes.
_ESTIMATE, _JOB, _STUDIO = "Before a job", "Through a job", "The studio"
_KEEPING = "Keeping the book"

app.command("demo", rich_help_panel=_ESTIMATE)(demo.command)
app.command("estimate", rich_help_panel=_ESTIMATE)(estimate.command)
for _name, _group in (
    ("client", client.app),
    ("commission", commission.app),
    ("blank", blank.app),
    ("ladder", ladder.app),
    ("reference", reference.app),
    ("quote", quote.app),
    ("payment", payment.app),
    ("step", step.app),
    ("session", session.app),
    ("photo", photo.app),
    ("finish", finish.app),
):
    app.add_typer(_group, name=_name, rich_help_panel=_JOB)
app.command("job-sheet", rich_help_panel=_JOB)(job_sheet.command)
app.command("whatif", rich_help_panel=_ESTIMATE)(money.whatif)
app.command("price-list", rich_help_panel=_ESTIMATE)(money.price_list)
app.command("earnings", rich_help_panel=_STUDIO)(money.earnings)
app.command("pace", rich_help_panel=_STUDIO)(past.pace)
app.add_typer(past.app, name="past", rich_help_panel=_STUDIO)
app.command("workbench", rich_help_panel=_STUDIO)(workbench.command)
app.command("jobs", rich_help_panel=_STUDIO)(jobs.command)
app.command("promise", rich_help_panel=_STUDIO)(promise.promise)
app.command("calendar", rich_help_panel=_STUDIO)(calendar.calendar)
app.command("week", rich_help_panel=_STUDIO)(calendar.week)
app.add_typer(promise.days_off, name="days-off", rich_help_panel=_STUDIO)
app.command("history", rich_help_panel=_STUDIO)(undo.history)
app.command("undo", rich_help_panel=_STUDIO)(undo.undo)
app.command("move-book", rich_help_panel=_STUDIO)(moving.move_book)
app.command("settings", rich_help_panel=_STUDIO)(settings.command)
app.command("backup", rich_help_panel=_KEEPING)(keeping.backup)
app.command("restore", rich_help_panel=_KEEPING)(keeping.restore)
app.command("check", rich_help_panel=_KEEPING)(keeping.check)
app.command("export", rich_help_panel=_KEEPING)(keeping.export)
app.command("import", rich_help_panel=_KEEPING)(keeping.import_)


def run(arguments: list[str] | None = None, studio: "Studio | None" = None) -> int:
    """Run one command and return its exit code.

    Parameters
    ----------
    arguments : list of str, optional
        As typed after ``burnplan``; from the command line if not given.
    studio : Studio, optional
        The studio to work in; from the environment if not given.

    Returns
    -------
    int
        0 done, 1 the operation failed, 2 bad usage or input.
    """
    try:
        code = app(arguments, prog_name="burnplan", standalone_mode=False, obj=studio)
        sys.stdout.flush()
        return code if isinstance(code, int) else 0
    except BurnplanError as error:
        return _complain(str(error), error.exit_code)
    except typer.TyperException as error:
        return _complain_of_usage(error)
    except (typer.Abort, KeyboardInterrupt):
        return _complain("Stopped; nothing more was changed.", 130)
    except BrokenPipeError:
        # The reader of our output went away (| head); the rest has nowhere to go.
        sys.stdout = None
        return 0


def _complain(message: str, code: int) -> int:
    sys.stderr.write(f"burnplan: {' '.join(message.split())}\n")
    return code


def _complain_of_usage(error: typer.TyperException) -> int:
    if type(error).__name__ == "NoArgsIsHelpError":
        return 0  # its help has been printed
    context = getattr(error, "ctx", None)
    command = context.command_path if context else "burnplan"
    message = error.format_message().strip().rstrip(".")
    return _complain(f"{message}. See '{command} --help'.", 2)


def main() -> None:
    """Start the program."""
    sys.exit(run())
