"""The program: its commands, and the one place where errors become messages."""

import sys
from typing import TYPE_CHECKING, Annotated

import typer

import burnplan
from burnplan.cli import reading
from burnplan.cli.commands import OnDemand
from burnplan.cli.usage import explained, say_plainly
from burnplan.errors import BurnplanError

if TYPE_CHECKING:
    from burnplan.desk.studio.studio import Studio

app = typer.Typer(
    name="burnplan",
    cls=OnDemand,
    no_args_is_help=True,
    rich_markup_mode="rich",
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["--help", "-h"]},
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"burnplan {burnplan.__version__}")
        raise typer.Exit


@app.callback()
def _root(
    _wanted: Annotated[
        bool, typer.Option("--version", help="Print the version.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """Plan, price and track wood-burning commissions: from a photo to the open jobs.

    Start with: burnplan demo
    """


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
        0 done, 1 the operation failed, 2 bad usage or input, 130 stopped by the user.
    """
    try:
        code = app(arguments, prog_name="burnplan", standalone_mode=False, obj=studio)
        sys.stdout.flush()
        return code if isinstance(code, int) else 0
    except BurnplanError as error:
        return _complain_of(error, studio)
    except typer.TyperException as error:
        return _complain_of_usage(error, studio)
    except (typer.Abort, KeyboardInterrupt):
        return _complain("Stopped; nothing more was changed.", 130)
    except BrokenPipeError:
        # The reader of our output went away (| head); the rest has nowhere to go.
        sys.stdout = None
        return 0
    except Exception as error:
        if isinstance(error, OSError) and error.strerror and error.filename:
            # What the system says of a file: a name too long, a disk that went away.
            return _complain(f"'{error.filename}': {error.strerror}. Check its name and folder.", 1)
        if damage := _damage(studio):
            return _complain_of(damage, studio)
        raise


def _damage(studio: "Studio | None") -> BurnplanError | None:
    from burnplan.desk.keeping import checking
    from burnplan.desk.studio.studio import open_studio

    try:
        return checking.damage(studio or open_studio())
    except BurnplanError as error:  # there is no opening it
        return error


def _complain_of(error: BurnplanError, studio: "Studio | None") -> int:
    from burnplan.show.commands import in_words

    wording = reading.wording(studio)
    return _complain(in_words(wording.of_error(error), wording), error.exit_code)


def _complain(message: str, code: int) -> int:
    say_plainly(f"burnplan: {message}")
    return code


def _complain_of_usage(error: typer.TyperException, studio: "Studio | None") -> int:
    if type(error).__name__ == "NoArgsIsHelpError":
        return 0  # its help has been printed
    return _complain(reading.wording(studio).beside_typed(explained(error)), 2)
