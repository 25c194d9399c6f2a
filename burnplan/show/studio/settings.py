"""Settings on the terminal."""

from itertools import groupby

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.studio.settings import MORE_QUESTIONS, QUESTIONS
from burnplan.money import format_money
from burnplan.show.console import facts


def written(settings: Settings, name: str) -> str:
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


def in_words(settings: Settings, name: str) -> str:
    """Return a setting as it is read, with its unit."""
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


def settings_card(settings: Settings) -> RenderableType:
    """Return all settings, and how to change one."""
    names = (*QUESTIONS, *MORE_QUESTIONS)
    return Group(
        facts(*((name, Text(in_words(settings, name))) for name in names)),
        Text("Change one like paper=a3; all of them, one by one: burnplan settings --ask", "soft"),
    )
