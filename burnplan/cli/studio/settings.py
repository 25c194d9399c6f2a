"""burnplan settings: how this studio works."""

from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING, Annotated

import typer

from burnplan.cli import completion
from burnplan.cli.common import (
    AsJson,
    AsSchema,
    ask,
    print_json,
    print_schema,
    the_studio,
)

if TYPE_CHECKING:
    from burnplan.desk.derived.studio_settings import Settings


def ask_all(settings: "Settings") -> "Settings":
    """Ask every setting, one by one; Enter keeps what is shown."""
    from burnplan.desk.studio.settings import QUESTIONS
    from burnplan.show.console import notice

    notice("A few questions; Enter keeps what is shown, a single dot all the rest.")
    notice("Everything can be changed later with: burnplan settings")
    for name, question in QUESTIONS.items():
        check = partial(_changed_unless_dot, settings, name)
        answer = ask(question, check, default=written(settings, name))
        if answer is None:
            break
        settings = answer
    return settings


def _changed_unless_dot(settings: "Settings", name: str, text: str) -> "Settings | None":
    from burnplan.desk.studio.settings import parsed

    return None if text.strip() == "." else parsed(settings, name, text)


def written(settings: "Settings", name: str) -> str:
    """Return a setting as the user would write it."""
    value = getattr(settings, name)
    if name == "hours":
        return " ".join(f"{hours:g}" for hours in value.values())
    if name == "burning_hours":
        return f"{value:g}"
    if name in ("address", "pay_to"):
        return "; ".join(value.splitlines())
    if name == "holidays":
        return value or "none"
    if name == "hourly_target":
        from babel.numbers import format_decimal

        return str(format_decimal(value, locale=settings.locale))
    if name.endswith("_percent"):
        return f"{value.normalize():f}"
    return str(value)


def in_words(settings: "Settings", name: str) -> str:
    """Return a setting as it is read, with its unit."""
    from burnplan.money import format_money

    value = getattr(settings, name)
    if name == "hours":
        return _week(value)
    if name == "burning_hours":
        return "24 h: no limit" if value == 24 else f"at most {value:g} h a day"
    if name == "hourly_target":
        return f"{format_money(value, settings.currency, settings.locale)} an hour"
    if name.endswith("_percent"):
        return f"{written(settings, name)} %"
    if name.endswith("_days"):
        return f"{value} day{'' if value == 1 else 's'}"
    return written(settings, name) or "none"


def _week(hours: dict[str, float]) -> str:
    """Return the hours free, days alike together.

    Examples
    --------
    >>> _week({"mon": 4.0, "tue": 4.0, "wed": 0.0, "thu": 2.5})
    'Mon–Tue 4 h, Thu 2.5 h'
    """
    alike = [(free, [*days]) for free, days in groupby(hours, key=hours.__getitem__)]
    return ", ".join(
        f"{days[0].capitalize()}{f'–{days[-1].capitalize()}' if days[1:] else ''} {free:g} h"
        for free, days in alike
        if free
    )


def command(
    context: typer.Context,
    changes: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[NAME=VALUE]...",
            help="What to change, for example paper=a3.",
            autocompletion=completion.setting_names,
        ),
    ] = None,
    ask_again: Annotated[
        bool, typer.Option("--ask", help="Ask every setting, one by one.")
    ] = False,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Show or change how this studio works: units, money, paper, hand, free hours.

    Examples:

      burnplan settings

      burnplan settings currency=EUR locale=de_DE hourly_target=35

      burnplan settings units=imperial paper=letter "hours=4 4 0 4 4 2 0"

      burnplan settings burning_hours=3 holidays=DE-BY drying_days=2 delivery_days=3
    """
    from rich.text import Text

    from burnplan.desk.derived import studio_settings
    from burnplan.desk.studio import settings as desk
    from burnplan.errors import BadInput
    from burnplan.show.console import facts, show

    if as_schema:
        return print_schema(studio_settings.Settings)
    studio = the_studio(context)
    current = desk.current(studio)
    if ask_again:
        current = desk.save(studio, ask_all(current))
    for change in changes or []:
        name, equals, value = change.partition("=")
        if not equals:
            raise BadInput(f"'{change}' is not a change", "Write it like paper=a3")
        current = desk.parsed(current, name.strip().replace("-", "_"), value)
    if changes:
        desk.save(studio, current)
    if as_json:
        return print_json(current, studio_settings.Settings)
    names = {**desk.QUESTIONS, **desk.MORE_QUESTIONS}
    return show(
        facts(*((name, Text(in_words(current, name))) for name in names)),
        Text("Change one like paper=a3; all of them, one by one: burnplan settings --ask", "soft"),
    )
