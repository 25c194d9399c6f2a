"""What hangs on what: brings what is kept of what follows up to date with the facts.

Three things that follow from the facts are kept, because many are shown at once: the open
checklists, the forecasts of the open jobs, and of which closed jobs money is open. The
transaction of every action, and of every undo, comes through here before it commits; nothing
else refreshes them. What else follows (stages, balances, hours left) is reckoned when it is
read.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session, selectinload

from burnplan.desk.derived import balances, checklist, checklist_progress, pace_records, piece
from burnplan.ledger import engines
from burnplan.ledger.models import Blank, Commission
from burnplan.reckon.pace_rows import PastJob
from burnplan.reckon.work import WorkPlan

# Columns of a commission that its checklist and its plan hang on.
_OF_THE_PIECE = ("blank_id", "species", "outline", "width_mm", "height_mm", "use", "client_id")
# What an order says of its wood in its own words: a step minds it.
_IN_WORDS = ("title", "note")
_OF_THE_STUDIO = ("units", "drawing_hand", "locale", "ink")
_CLOSING = ("delivered_on", "dropped_on")
_OF_THE_ACCOUNT = (*_CLOSING, "drop_amount", "written_off_on")
# Rows of these are of a blank, and so of the job it is held for.
_OF_A_BLANK = ("sanding", "moisture_reading", "blank_condition", "hazard_override")


class Change(NamedTuple):
    """A row before and after, as the history keeps it; None where there was or is none."""

    table: str
    before: Mapping[str, Any] | None
    after: Mapping[str, Any] | None

    def of(self, column: str) -> set[Any]:
        """Return what a column held before and holds now."""
        return {row[column] for row in (self.before, self.after) if row is not None}

    def touches(self, columns: Iterable[str]) -> bool:
        """Return whether the row is new or gone, or one of some columns has changed."""
        if self.before is None or self.after is None:
            return True
        return any(self.before.get(name) != self.after.get(name) for name in columns)


class _Hanging:
    """What hangs on some changed rows; None for every open job."""

    def __init__(self, book: Session) -> None:
        self._book = book
        self.checklists: set[int] | None = set()
        self.plans: set[int] = set()
        self.accounts: set[int] = set()
        self.pace = False  # whether all are to be forecast anew, whatever else is found

    def note(self, change: Change) -> None:
        """Note what hangs on one changed row."""
        table = change.table
        if table == "studio":
            if change.touches(_OF_THE_STUDIO):
                self.checklists = None
        elif table == "commission":
            if change.touches((*_OF_THE_PIECE, *_CLOSING)):
                self._jobs(change.of("id"))
            elif change.touches(_IN_WORDS) and self.checklists is not None:
                self.checklists |= change.of("id")
            if change.touches(_OF_THE_ACCOUNT):
                self.accounts |= change.of("id")
        elif table in ("quote", "payment"):
            self.accounts |= change.of("commission_id")
        elif table in ("reference", "finish_coat", "lettering"):
            self._jobs(change.of("commission_id"))
        elif table == "original":
            if change.before and change.touches(("allowed",)):  # rare; of whichever jobs it is
                self.checklists = None
        elif table == "step":
            if change.touches(("ticked_at", "skipped_at")):
                self._jobs(change.of("commission_id"))  # sanding and coats are counted by steps
        elif table == "burn_session":
            if True in change.of("closed"):
                self.plans |= change.of("commission_id")
        elif table in ("past_job", "spoiled_piece"):
            self.pace = True
        elif table == "own_species":
            # Rare; and past jobs on that wood teach by its hardness.
            self.checklists, self.pace = None, True
        elif table == "climate":
            self._at(change.of("client_id"))
        elif table == "blank":
            self._on_blanks(change.of("id"))
        elif table in _OF_A_BLANK:
            self._on_blanks(change.of("blank_id"))

    def _jobs(self, numbers: set[int]) -> None:
        """Note that the work of some jobs may have changed, and what they teach."""
        self.plans |= numbers
        if self.checklists is not None:
            self.checklists |= numbers

    def _on_blanks(self, numbers: set[int]) -> None:
        held = select(Commission.id).where(Commission.blank_id.in_(numbers))
        self._jobs(set(self._book.scalars(held)))

    def _at(self, clients: set[int | None]) -> None:
        """Note that the air has changed at some clients' homes; at no client's: in the shop."""
        query = select(Commission.id).join(Blank, Commission.blank_id == Blank.id)
        if None not in clients:
            query = query.where(Commission.client_id.in_(clients))
        self._jobs(set(self._book.scalars(query)))


def renew(book: Session, changes: list[dict[str, Any]], now: datetime) -> None:
    """Bring up to date what hangs on the rows that a transaction has changed.

    Parameters
    ----------
    book : Session
        Flushed.
    changes : list of dict
        The rows changed, as the history keeps them; it grows by those changed here.
    now : datetime
    """
    hanging, seen = _Hanging(book), 0
    for _ in range(2):  # checklists first: plans and shares of the work hang on them
        for change in changes[seen:]:
            hanging.note(Change(**change))
        seen = len(changes)
        _renew_checklists(book, hanging.checklists)
        hanging.checklists = set()
        book.flush()
    if hanging.accounts:
        _renew_accounts(book, Commission.id.in_(hanging.accounts))
    if hanging.pace:
        _renew_forecasts(book, None, now)
    elif hanging.plans:
        with engines.transaction(book.get_bind().engine, writing=False) as as_it_was:
            before = _standing(as_it_was, hanging.plans, now)
        after = _standing(book, hanging.plans, now)
        other = {one for one in hanging.plans if before.get(one) != after.get(one)}
        taught = any(_taught_by(before.get(one)) != _taught_by(after.get(one)) for one in other)
        _renew_forecasts(book, None if taught else other, now)


class _Standing(NamedTuple):
    """What of a job its own forecast hangs on, and those of others."""

    is_open: bool
    reference: int | None
    plan: WorkPlan | None
    teaches: PastJob | None


def _standing(book: Session, numbers: set[int], now: datetime) -> dict[int, _Standing]:
    """Return how some jobs stand in the book as it is, or as it was before this transaction."""
    which = Commission.id.in_(numbers)
    query = select(Commission).where(which).order_by(Commission.id)
    some = book.scalars(query.options(*pace_records.with_hours())).all()
    stands = checklist_progress.of_all(book, select(Commission.id).where(which))
    plans = piece.work_plans(book, some)
    return {
        one.id: _Standing(
            one.is_open,
            one.references[-1].id if one.references else None,
            plans.get(one.id),
            pace_records.what_teaches(one, plans.get(one.id), stands[one.id], now),
        )
        for one in some
    }


def _taught_by(one: _Standing | None) -> PastJob | None:
    return one.teaches if one else None


def renew_all(book: Session, now: datetime) -> None:
    """Bring everything that is kept up to date: the book comes from elsewhere, or is of old."""
    _renew_checklists(book, None)
    book.flush()
    _renew_accounts(book, ~Commission.is_open)
    _renew_forecasts(book, None, now)


def _renew_accounts(book: Session, which: ColumnElement[bool]) -> None:
    """Note of which of some jobs money is open though they are closed."""
    query = select(Commission).where(which).order_by(Commission.id)
    query = query.options(selectinload(Commission.quotes), selectinload(Commission.payments))
    query = query.execution_options(yield_per=checklist_progress.AT_A_TIME)
    for commission in book.scalars(query):
        if commission.unsettled != (unsettled := balances.is_unsettled(commission)):
            commission.unsettled = unsettled


def _open(book: Session, numbers: set[int] | None) -> list[Commission]:
    query = select(Commission).where(Commission.is_open).order_by(Commission.id)
    if numbers is not None:
        query = query.where(Commission.id.in_(numbers))
    query = query.options(selectinload(Commission.references), selectinload(Commission.blank))
    return list(book.scalars(query))


def _renew_checklists(book: Session, numbers: set[int] | None) -> None:
    if numbers == set():
        return
    for commission in _open(book, numbers):
        checklist.refresh(book, commission)


def _renew_forecasts(book: Session, numbers: set[int] | None, now: datetime) -> None:
    """Forecast the hours of some open jobs; of all of them for None."""
    if numbers == set():
        return
    planned = [one for one in _open(book, numbers) if one.references]
    if not planned:
        return
    from burnplan.reckon import pace  # brings numpy: only where hours are forecast

    known = pace_records.records(book, now, newest=pace.MEMORY)
    plans = piece.work_plans(book, planned)
    for commission in planned:
        pace_of_today, reference = known.pace_for(commission.id), commission.references[-1]
        forecast = pace_of_today.forecast(plans[commission.id]).to_dict()
        if reference.hours != forecast:
            reference.hours = forecast
        if reference.taught_by != pace_of_today.jobs:
            reference.taught_by = pace_of_today.jobs
