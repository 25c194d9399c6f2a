"""How this studio works: asked, changed, and kept in its book, so that a shared book has it."""

from decimal import Decimal
from difflib import get_close_matches
from pathlib import Path

from sqlalchemy import select

from burnplan.codes import blank_code
from burnplan.desk.derived.studio_settings import (
    ASKED,
    STARTING_TARGETS,
    Settings,
    first_guess,
    is_kept,
    of_book,
)
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.ledger import models, originals
from burnplan.view import View


class FigureView(View):
    """A figure that prices and dates go by where nobody says otherwise, and where it is from."""

    what: str
    value: str
    source: str


def figures() -> list[FigureView]:
    """Return the figures of the trade that the program begins with, each with its source.

    Those of hours are with ``pace --guess``, those of woods with the species.
    """
    from burnplan.reckon import day_plan, lateness  # rarely needed
    from burnplan.reckon.price import VALID_DAYS, Terms

    plain, terms = Settings(), Terms(currency="EUR", digits=2, hourly_target=Decimal(0))
    practice, guess = "common practice, no source", "a guess: every studio has its own"
    rows = (
        (
            "an hour earns, EUR",
            f"{STARTING_TARGETS['EUR']:g}",
            "Eurostat, labour costs 2022, EU: 30.5",
        ),
        (
            "an hour earns, USD",
            f"{STARTING_TARGETS['USD']:g}",
            "US BLS, wages, December 2023: 30.33",
        ),
        ("an hour, otherwise", "open", "no figure was found: say it"),
        ("deposit", f"{plain.deposit_percent:g} %", practice),
        ("consumables, of the work", f"{terms.consumables_percent:g} %", practice),
        ("workshop, of the work", f"{terms.overhead_percent:g} %", practice),
        (
            "share of cases in which the hours charged are enough",
            f"{terms.sure * 100:.0f} %",
            guess,
        ),
        ("a quote stands", f"{VALID_DAYS} days", practice),
        ("drying after the last coat", f"{plain.drying_days} day", practice),
        (
            "at risk below a chance of",
            f"{lateness.AT_RISK * 100:.0f} %",
            "our own choice, no source",
        ),
        ("likely late below", f"{lateness.LIKELY_LATE * 100:.0f} %", "our own choice, no source"),
        ("a break after", f"{day_plan.STRETCH.seconds // 60} min", practice),
    )
    return [FigureView(what=what, value=value, source=source) for what, value, source in rows]


def current(studio: Studio) -> Settings:
    """Return the studio's settings; the first guess where there is no book yet."""
    if not studio.has_book:
        return first_guess()
    with studio.reading() as book:
        return of_book(book)


def mark_file(studio: Studio) -> Path | None:
    """Return the image of the studio's mark, verified; None if there is none.

    Raises
    ------
    OperationFailed
        If it is missing or no longer what it was.
    """
    mark = current(studio).mark
    return originals.fetch(studio.originals, mark) if mark else None


def are_set(studio: Studio) -> bool:
    """Return whether the user has been asked already."""
    with studio.reading() as book:
        return book.get(models.Studio, 1) is not None


def _known_like(name: str) -> str:
    known = [*ASKED]
    near = [one for one in known if name and name in one] or get_close_matches(name, known, 2)
    return f"Did you mean {' or '.join(near)}?" if near else f"Settings are {', '.join(known)}"


def parsed(settings: Settings, name: str, text: str) -> Settings:
    """Return the settings with one changed, as the user typed it.

    Raises
    ------
    BadInput
        If there is no such setting, or it cannot have that value.
    """
    if name not in ASKED:
        raise BadInput(f"There is no setting '{name}'", _known_like(name))
    changed: dict[str, object] = {name: ASKED[name].read(text, settings)}
    if name == "currency" and changed[name] != settings.currency:
        # So many of another currency are worth something else.
        changed["hourly_target"] = STARTING_TARGETS.get(str(changed[name]))
    return settings.model_copy(update=changed)


def _changed(before: Settings, after: Settings) -> str:
    """Return which settings differ, and what they are now; those of many lines by name alone."""
    found = []
    for name, value in after:
        if value == getattr(before, name):
            continue
        asked = ASKED[name]
        # A mark is written as what it is kept by, which tells nobody anything.
        shown = asked.said(value, after) if name == "mark" else asked.written(value, after)
        found.append(name if "\n" in str(value) else f"{name} {shown or 'none'}")
    return ", ".join(found)


def save(studio: Studio, settings: Settings, seen: Settings | None = None) -> Settings:
    """Put settings on record, and return all as they are then.

    Parameters
    ----------
    studio : Studio
    settings : Settings
    seen : Settings, optional
        What they were made from: what was left as it was seen stays as it is on record
        meanwhile. None puts all of them on record.
    """
    mark = None
    if settings.mark and not is_kept(settings.mark):
        mark = photo_store.keep(studio, Path(settings.mark))
        settings = settings.model_copy(update={"mark": mark.sha256})
    with studio.writing("settings") as (book, entry):
        if mark is not None:
            photo_store.recorded(book, mark)
        before, row = of_book(book), book.get(models.Studio, 1)
        after = settings if seen is None else _with_changes(before, seen, settings)
        if row is None:
            row = models.Studio(id=1)
            book.add(row)
        for name, value in after.model_dump(exclude={"hours"}).items():
            setattr(row, name, value)
        for day, hours in after.hours.items():
            setattr(row, f"hours_{day}", hours)
        changed = _changed(before, after)
        entry.says(
            f"Changed the settings: {changed}" if changed else "Kept the settings as guessed"
        )
    return after


def priced_blanks(studio: Studio) -> list[str]:
    """Return the codes of blanks that have a cost: it is read in the studio's currency."""
    priced = select(models.Blank.id).where(models.Blank.cost > Decimal(0)).order_by(models.Blank.id)
    with studio.reading() as book:
        return [blank_code(number) for number in book.scalars(priced)]


def _with_changes(on_record: Settings, seen: Settings, settings: Settings) -> Settings:
    """Return the settings on record with what was changed of those that were seen."""
    changes = {name: value for name, value in settings if value != getattr(seen, name)}
    if "hours" in changes:
        days = {day: free for day, free in settings.hours.items() if free != seen.hours[day]}
        changes["hours"] = on_record.hours | days
    return on_record.model_copy(update=changes)
