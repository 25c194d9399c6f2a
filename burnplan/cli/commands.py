"""All commands by name; each is made only when it is called.

Making all of them takes longer than most of them run. The list of commands
needs no more of each than what stands here.
"""

from importlib import import_module
from typing import Any, NamedTuple

import typer
from typer.core import TyperCommand, TyperGroup
from typer.main import get_command, get_group


class Listed(NamedTuple):
    """A command, or a group of them, as it is listed.

    Parameters
    ----------
    where : str
        Its module in :mod:`burnplan.cli`, and its name there.
    panel : str
        The heading it stands under.
    says : str
        What it is for: a group's own help, a command's first line.
    """

    where: str
    panel: str
    says: str

    def command(self, name: str) -> Any:
        """Import it and return it, made."""
        room, _, its_name = self.where.partition(":")
        found = getattr(import_module(f"burnplan.cli.{room}"), its_name)
        if isinstance(found, typer.Typer):
            made: Any = get_group(found)
            made.help = self.says
        else:
            alone = typer.Typer(add_completion=False, rich_markup_mode="rich")
            alone.command(name)(found)
            made = get_command(alone)
        made.name = name
        return made


_BEFORE, _JOB, _STUDIO = "Before a job", "Through a job", "The studio"
_KEEPING = "Keeping the book"

# In the order a job goes.
COMMANDS = {
    "demo": Listed(
        "studio.demo:command",
        _BEFORE,
        "Walk through an invented studio: photo, zones, estimate, quote, checklist, open jobs.",
    ),
    "estimate": Listed(
        "jobs.estimate:command",
        _BEFORE,
        "Estimate hours and a price: from a photo, by eye, or some of both.",
    ),
    "whatif": Listed(
        "money.figures:whatif",
        _BEFORE,
        "Compare sizes, numbers of zones and species side by side; nothing is changed.",
    ),
    "price-list": Listed(
        "money.figures:price_list",
        _BEFORE,
        "List prices by size and detail (1 plain to 5 dense fur), at your own pace.",
    ),
    "client": Listed("jobs.client:app", _JOB, "Clients: who orders."),
    "commission": Listed(
        "jobs.commission:app", _JOB, "Commissions: what is ordered, and how far each has come."
    ),
    "blank": Listed(
        "wood.blank:app",
        _JOB,
        "Blanks: the wood in stock, how far it is sanded, what it is held for.",
    ),
    "ladder": Listed(
        "wood.ladder:app", _JOB, "Tone ladders: which setting burns which tone on which wood."
    ),
    "reference": Listed(
        "jobs.reference:app",
        _JOB,
        "References: the photo on the wood, its value zones and trace lines.",
    ),
    "quote": Listed("money.quote:app", _JOB, "Quotes: a price reckoned, issued, accepted."),
    "payment": Listed("money.payment:app", _JOB, "Payments: money received and given back."),
    "step": Listed("jobs.step:app", _JOB, "Steps: the checklist made for each commission."),
    "session": Listed(
        "jobs.session:app",
        _JOB,
        "Sessions: a clock that runs on when the terminal is closed, or hours after the fact.",
    ),
    "photo": Listed(
        "jobs.photo:app", _JOB, "Photos of progress: by the day they show, and on one sheet."
    ),
    "finish": Listed(
        "jobs.finish:app",
        _JOB,
        "Finish: what a piece's use asks for, its coats and their drying times.",
    ),
    "job-sheet": Listed(
        "jobs.job_sheet:command",
        _JOB,
        "Write a job sheet: blank, picture, zones with settings, steps, cautions, sessions.",
    ),
    "jobs": Listed(
        "jobs.review:command",
        _STUDIO,
        "Review the open jobs: what needs attention first, and what is next.",
    ),
    "workbench": Listed(
        "studio.workbench:command",
        _STUDIO,
        "Open the workbench: today, the jobs, their checklists and the clock, full screen.",
    ),
    "promise": Listed(
        "time.promise:promise",
        _STUDIO,
        "Say when the booked jobs will be done, and what date one more can be given.",
    ),
    "calendar": Listed(
        "time.calendar:calendar",
        _STUDIO,
        "Write due dates, next coats, planned sessions and expiring quotes as an iCalendar file.",
    ),
    "week": Listed(
        "time.calendar:week",
        _STUDIO,
        "Write the week's page for the wall: each day's hours and sessions, and the open jobs.",
    ),
    "days-off": Listed(
        "time.promise:days_off",
        _STUDIO,
        "Days off: days away, and the public holidays of your country.",
    ),
    "pace": Listed(
        "time.past:pace",
        _STUDIO,
        "Show what your hours say of your pace, how sure that is, and what looks wrong.",
    ),
    "past": Listed(
        "time.past:app", _STUDIO, "Past jobs: brought in, given out, tried against the forecasts."
    ),
    "earnings": Listed(
        "money.figures:earnings",
        _STUDIO,
        "Review what delivered jobs earned an hour, against the target, and where hours went.",
    ),
    "history": Listed(
        "keeping.undo:history", _STUDIO, "Look back over what was done, newest first."
    ),
    "undo": Listed("keeping.undo:undo", _STUDIO, "Take back the last thing done."),
    "settings": Listed(
        "studio.settings:command",
        _STUDIO,
        "Show or change how this studio works: units, money, paper, hand, free hours.",
    ),
    "backup": Listed(
        "keeping.copies:backup",
        _KEEPING,
        "Write the book and its photos to one archive, whatever else is running.",
    ),
    "restore": Listed(
        "keeping.copies:restore",
        _KEEPING,
        "Put a backup, or a copy from the folder 'copies', in the place of the book.",
    ),
    "check": Listed(
        "keeping.copies:check", _KEEPING, "Look whether the book and its photos are whole."
    ),
    "export": Listed(
        "keeping.copies:export",
        _KEEPING,
        "Write everything in forms that any program can read: JSON, CSV and the photos.",
    ),
    "import": Listed(
        "keeping.copies:import_", _KEEPING, "Make an empty book what an export holds, row for row."
    ),
    "move-book": Listed(
        "keeping.moving:move_book",
        _KEEPING,
        "Copy the whole book to another place, such as a server that a studio shares.",
    ),
}


class OnDemand(TyperGroup):
    """The program: lists its commands, and makes the one that is called."""

    def __init__(self, **attrs: Any) -> None:
        super().__init__(**attrs)
        for name, one in COMMANDS.items():
            self.add_command(TyperCommand(name, help=one.says, rich_help_panel=one.panel))

    def resolve_command(self, ctx: Any, args: list[str]) -> tuple[str | None, Any, list[str]]:
        """Return the name, the command and the rest of what was typed."""
        name, command, rest = super().resolve_command(ctx, args)
        return name, COMMANDS[name].command(name) if name else command, rest

    def format_help(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002
        """Print what the program is for, its commands under their headings, and its options."""
        from rich.padding import Padding
        from rich.text import Text

        from burnplan.show.console import facts, show

        headings: dict[str, dict[str, str]] = {}
        for name, one in COMMANDS.items():
            headings.setdefault(one.panel, {})[name] = one.says
        headings["Options"] = {
            ", ".join(sorted(option.opts)): getattr(option, "help", "")
            for option in self.get_params(ctx)
        }
        show(Text(f"burnplan COMMAND ...\n\n{self.help}\n\nMore of each: burnplan COMMAND --help"))
        widest = max(map(len, COMMANDS))
        for heading, rows in headings.items():
            listed = facts(*((f"[title]{name:{widest}}[/]", says) for name, says in rows.items()))
            show(Text(f"\n{heading}", "ember"), Padding(listed, (0, 0, 0, 2)))
