"""All commands by name; each is made only when it is called.

Making all of them takes longer than most of them run. The list of commands
needs no more of each than what stands here.
"""

from importlib import import_module
from keyword import iskeyword
from typing import Any, NamedTuple

import typer
from typer.core import TyperCommand, TyperGroup
from typer.main import get_command, get_group

from burnplan.cli.help import HelpedCommand, listed
from burnplan.cli.lazily import lazily


class Listed(NamedTuple):
    """A command, or a group of them, as it is listed.

    Its module has its name, and in it ``command``, or a group's ``app``.

    Parameters
    ----------
    room : str
        The package of :mod:`burnplan.cli` that its module is in.
    says : str
        What it is for: a group's own help, a command's first line.
    """

    room: str
    says: str

    def command(self, name: str) -> Any:
        """Import it and return it, made."""
        file = f"{name}_" if iskeyword(name) else name.replace("-", "_")
        with lazily():
            module: Any = import_module(f"burnplan.cli.{self.room}.{file}")
        if hasattr(module, "command"):
            alone = typer.Typer(add_completion=False)
            alone.command(name, cls=HelpedCommand)(module.command)
            made: Any = get_command(alone)
        else:
            for app in (module.app, *(one.typer_instance for one in module.app.registered_groups)):
                for one in app.registered_commands:
                    one.cls = HelpedCommand
            made = get_group(module.app)
            made.help = self.says
        made.name = name
        return made


# In the order a job goes.
COMMANDS = {
    "demo": Listed(
        "studio",
        "Walk through an invented studio: photo, zones, estimate, quote, checklist, open jobs.",
    ),
    "estimate": Listed(
        "jobs", "Estimate hours and a price: from a photo, by eye, or some of both."
    ),
    "whatif": Listed(
        "money", "Compare sizes, numbers of zones and species side by side; nothing is changed."
    ),
    "price-list": Listed(
        "money", "List prices by size and detail (1 plain to 5 dense fur), at your own pace."
    ),
    "client": Listed("jobs", "Clients: who orders."),
    "commission": Listed("jobs", "Commissions: what is ordered, and how far each has come."),
    "blank": Listed(
        "wood", "Blanks: the wood in stock, how far it is sanded, what it is held for."
    ),
    "ladder": Listed("wood", "Tone ladders: which setting burns which tone on which wood."),
    "reference": Listed(
        "jobs", "References: the photo on the wood, its value zones and trace lines."
    ),
    "quote": Listed("money", "Quotes: a price reckoned, issued, accepted."),
    "payment": Listed("money", "Payments: money received and given back."),
    "letter": Listed(
        "money", "Write a letter to a client in words, filled from the book, in their language."
    ),
    "step": Listed("jobs", "Steps: the checklist made for each commission."),
    "session": Listed(
        "jobs",
        "Sessions: a clock that runs on when the terminal is closed, or hours after the fact.",
    ),
    "photo": Listed("jobs", "Photos of progress: by day, on one sheet, and against the plan."),
    "finish": Listed(
        "jobs", "Finish: what a piece's use asks for, its coats and their drying times."
    ),
    "job-sheet": Listed(
        "jobs", "Write a job sheet: blank, picture, zones with settings, steps, cautions, sessions."
    ),
    "portfolio": Listed(
        "jobs", "Portfolio: pieces handed over, shown to others where their clients agree."
    ),
    "today": Listed(
        "time",
        "Show the day: the clock, planned sessions, next steps, coats, money due, what is at risk.",
    ),
    "jobs": Listed("jobs", "Review the open jobs: what needs attention first, and what is next."),
    "workbench": Listed(
        "studio",
        "Open the workbench: the clock, the jobs, their checklists and the wood, full screen.",
    ),
    "promise": Listed(
        "time", "Say when the booked jobs will be done, and what date one more can be given."
    ),
    "calendar": Listed(
        "time",
        "Write due dates, next coats, planned sessions and expiring quotes as an iCalendar file.",
    ),
    "week": Listed(
        "time",
        "Write the week's page for the wall: each day's hours and sessions, and the open jobs.",
    ),
    "days-off": Listed("time", "Days off: days away, and the public holidays of your country."),
    "pace": Listed(
        "time", "Show what your hours say of your pace, how sure that is, and what looks wrong."
    ),
    "past": Listed(
        "time", "Past jobs: brought in, put right, given out, tried against the forecasts."
    ),
    "earnings": Listed(
        "money",
        "Review what delivered jobs earned an hour, against the target, and where hours went.",
    ),
    "history": Listed("keeping", "Look back over what was done, newest first."),
    "undo": Listed(
        "keeping",
        "Take back the last thing you did; says so where somebody else did something since.",
    ),
    "redo": Listed("keeping", "Do again what you undid last, if you did nothing else since."),
    "settings": Listed(
        "studio", "Show or change how this studio works: units, money, paper, hand, free hours."
    ),
    "backup": Listed(
        "keeping", "Write the book and its photos to one archive, whatever else is running."
    ),
    "restore": Listed(
        "keeping", "Put a backup, or a copy from the folder 'copies', in the place of the book."
    ),
    "check": Listed("keeping", "Look whether the book and its photos are whole."),
    "export": Listed(
        "keeping", "Write everything in forms that any program can read: JSON, CSV and the photos."
    ),
    "import": Listed("keeping", "Make an empty book what an export holds, row for row."),
    "move-book": Listed(
        "keeping", "Copy the whole book to another place, such as a server that a studio shares."
    ),
}
# What stands above the commands from these on.
_HEADINGS = {
    "demo": "Before a job",
    "client": "Through a job",
    "today": "The studio",
    "backup": "Keeping the book",
}


class OnDemand(TyperGroup):
    """The program: lists its commands, and makes the one that is called."""

    def __init__(self, **attrs: Any) -> None:
        super().__init__(**attrs)
        for name, one in COMMANDS.items():
            self.add_command(TyperCommand(name, help=one.says))

    def resolve_command(self, ctx: Any, args: list[str]) -> tuple[str | None, Any, list[str]]:
        """Return the name, the command and the rest of what was typed."""
        name, command, rest = super().resolve_command(ctx, args)
        return name, COMMANDS[name].command(name) if name else command, rest

    def format_help(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002
        """Print what the program is for, its commands under their headings, and its options."""
        from rich.text import Text

        from burnplan.show.console import show

        show(Text(f"burnplan COMMAND ...\n\n{self.help}\n\nMore of each: burnplan COMMAND --help"))
        lists: dict[str, dict[str, str]] = {}
        heading = ""
        for name, one in COMMANDS.items():
            heading = _HEADINGS.get(name) or heading
            lists.setdefault(heading, {})[name] = one.says
        lists["Options"] = {
            ", ".join(sorted(option.opts)): getattr(option, "help", "")
            for option in self.get_params(ctx)
        }
        for heading, rows in lists.items():
            show(Text(f"\n{heading}", "ember"), *listed(rows, max(map(len, COMMANDS))))
