"""What is looked up every day goes by an index, however many years the book has.

SQLite plans without statistics, so an empty book has the plans of a full one.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any

from sqlalchemy import event

from burnplan.desk.jobs import checklists, commissions, review, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import change_counter, undo
from burnplan.desk.money import payments, quotes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import calendar, promises, week
from burnplan.desk.wood import blanks
from tests import books

# Tables that grow with every day at work.
BIG = (
    "burn_session", "session_interval", "step", "history", "payment", "quote", "quote_line",
    "reference",
)  # fmt: skip

LOOKS: list[Callable[[Studio], Any]] = [
    lambda s: review.review(s),
    lambda s: promises.look_ahead(s),
    lambda s: calendar.entries(s),
    lambda s: week.page(s),
    lambda s: commissions.show(s, "C-1"),
    lambda s: commissions.show(s, "barn"),
    lambda s: commissions.everything(s, closed=False),
    lambda s: checklists.of(s, "C-1"),
    lambda s: sessions.all_of(s, "C-1"),
    lambda s: sessions.all_of(s, None),
    lambda s: sessions.open_now(s),
    lambda s: payments.all_of(s, "C-1"),
    lambda s: quotes.all_of(s, "C-1"),
    lambda s: blanks.show(s, "B-1"),
    lambda s: undo.happenings(s),
    lambda s: undo.happenings(s, "C-1"),
    lambda s: change_counter.version(s),
    lambda s: sessions.start(s, "C-1", sessions.Doing()),
    lambda s: sessions.stop(s),
    lambda s: undo.undo_last(s),
]


@contextmanager
def asked(studio: Studio) -> Iterator[list[tuple[str, Any]]]:
    """Note every question put to the book."""
    found: list[tuple[str, Any]] = []

    def note(_connection: Any, _cursor: Any, statement: str, values: Any, *_more: Any) -> None:
        if statement.startswith("SELECT"):
            found.append((statement, values))

    event.listen(studio.engine, "before_cursor_execute", note)
    yield found
    event.remove(studio.engine, "before_cursor_execute", note)


def slow(studio: Studio, statement: str, values: Any) -> list[str]:
    """Return the steps of a plan that read a whole big table."""
    with studio.engine.connect() as connection:
        plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values).all()
    steps = [row[3] for row in plan]
    whole = re.compile(rf"SCAN ({'|'.join(BIG)})\b|AUTOMATIC")
    # The newest few of all are read from the end of the table.
    newest = " LIMIT " in statement and "commission_id = ?" not in statement
    scans = [] if newest else [step for step in steps if whole.search(step)]
    # NULL for nearly every row: as good as reading all of them.
    return scans + [step for step in steps if "(replaced_by_id=?)" in step]


@books.about_files
def test_no_look_reads_a_table_that_grows(studio: Studio) -> None:
    blanks.add(studio, blanks.NewBlank(species="basswood", size="30x20cm"))
    commissions.add(studio, Wishes(title="Barn"))
    sessions.log(studio, "C-1", timedelta(hours=1), sessions.Doing())
    faults = []
    for number, look in enumerate(LOOKS):
        with asked(studio) as questions:
            look(studio)
        assert questions
        for statement, values in questions:
            faults += [(number, step, statement) for step in slow(studio, statement, values)]
    assert faults == []
