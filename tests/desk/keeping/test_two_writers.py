"""Two processes work in one book at once, and each action counts exactly once."""

from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from multiprocessing import get_context
from multiprocessing.synchronize import Barrier
from pathlib import Path

import pytest
from sqlalchemy import select

from burnplan.desk.jobs import checklists, clients, commissions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.errors import NotFound, OperationFailed
from burnplan.ledger.models import Client, Commission, History, Step
from tests.desk.test_whole_line import contents

TIMES = 12
NOW = datetime(2027, 3, 17, 9, tzinfo=UTC)


def _now() -> datetime:
    return NOW


def _at_work(home: Path, url: str, start: Barrier) -> None:
    """Count up in a note, add jobs of one client, tick the same steps as the other process."""
    studio = Studio(home, url, _now, UTC)
    with studio.reading():
        pass
    start.wait(60)
    for number in range(1, TIMES + 1):
        _patiently(partial(_count_up, studio))
        wishes = Wishes(title="Bowl", client=f"Client {number}")
        _patiently(partial(commissions.add, studio, wishes))
    for number in range(1, 4):
        _patiently(partial(checklists.tick, studio, "Shared", [str(number)]))
    studio.close()


def _count_up(studio: Studio) -> None:
    with studio.writing("count") as (book, _):
        counter = book.scalars(select(Client).where(Client.name == "Counter")).one()
        counter.note = str(int(counter.note) + 1)


def _taking_back(home: Path, url: str, start: Barrier) -> None:
    studio = Studio(home, url, _now, UTC)
    with studio.reading():
        pass
    start.wait(60)
    try:
        while True:
            _patiently(partial(undo.undo_last, studio))
    except NotFound:
        studio.close()


def _patiently(do: Callable[[], object]) -> None:
    """Try again while the other is writing, as one is told to: a busy machine starves one."""
    for _ in range(6):
        try:
            do()
        except OperationFailed as error:
            if "Another program is writing" not in str(error):
                raise
        else:
            return
    raise AssertionError("never its turn")


def _twice(work, studio: Studio) -> None:  # type: ignore[no-untyped-def]
    """Do work in two new processes at once."""
    context = get_context("spawn")
    start = context.Barrier(2)
    processes = [
        context.Process(target=work, args=(studio.home, studio.database_url, start))
        for _ in range(2)
    ]
    for process in processes:
        process.start()
    for process in processes:
        process.join(120)
    assert [process.exitcode for process in processes] == [0, 0]


@pytest.mark.whole
def test_nothing_is_lost_doubled_or_given_one_code(studio: Studio) -> None:
    before = contents(studio)
    clients.add(studio, "Counter", clients.ClientDetails(note="0"))
    commissions.add(studio, Wishes(title="Shared"))
    _twice(_at_work, studio)
    with studio.reading() as book:
        assert book.scalar(select(Client.note).where(Client.name == "Counter")) == str(2 * TIMES)
        # The other found each client that one had added.
        assert len(book.scalars(select(Client)).all()) == 1 + TIMES
        numbers = sorted(book.scalars(select(Commission.id)))
        assert numbers == list(range(1, 2 + 2 * TIMES))
        assert len(book.scalars(select(Step).where(Step.ticked_at.is_not(None))).all()) == 3
        # A step ticked already stays as it is, and says nothing in the history.
        ticks = book.scalars(select(History).where(History.action == "step.tick")).all()
        assert len(ticks) == 3
        done = len(book.scalars(select(History)).all())
    _twice(_taking_back, studio)
    assert contents(studio) == before
    with studio.reading() as book:
        assert len(book.scalars(select(History)).all()) == 2 * done
