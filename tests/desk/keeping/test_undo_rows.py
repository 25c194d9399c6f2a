"""The history sees every row that changes, whoever names it."""

from datetime import timedelta

from burnplan.desk.jobs import commissions, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.ledger.models import Blank, BurnSession, Client, Commission, History
from tests.desk.test_whole_line import contents


def _changes(studio: Studio) -> list[tuple[str, bool, bool]]:
    """Return each row of the newest entry: its table, whether it was there, whether it is."""
    with studio.reading() as book:
        newest = book.query(History).order_by(History.id.desc()).first()
        assert newest is not None
        return [
            (c["table"], c["before"] is not None, c["after"] is not None) for c in newest.changes
        ]


def test_rows_taken_out_of_their_parent_come_back(studio: Studio) -> None:
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm", grit=120))
    before = contents(studio)
    with studio.writing("test") as (book, _):
        blank = book.get_one(Blank, 1)
        blank.sandings.remove(blank.sandings[0])  # an orphan: nobody deletes it by name
    assert _changes(studio) == [("sanding", True, False)]
    assert contents(studio) != before
    undo.undo_last(studio)
    assert contents(studio) == before


def test_rows_that_go_with_their_parent_come_back(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Fox"))
    sessions.log(studio, "Fox", timedelta(hours=1), sessions.Doing())
    before = contents(studio)
    with studio.writing("test") as (book, _):
        book.delete(book.get_one(BurnSession, 1))
    assert _changes(studio) == [("session_interval", True, False), ("burn_session", True, False)]
    undo.undo_last(studio)
    assert contents(studio) == before


def test_keys_set_by_a_relationship_go_back(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Fox", client="Ada"))
    commissions.add(studio, Wishes(title="Owl"))
    before = contents(studio)
    with studio.writing("test") as (book, _):
        book.get_one(Commission, 2).client = book.get_one(Client, 1)
        book.get_one(Commission, 1).client = None
    undo.undo_last(studio)
    assert contents(studio) == before


def test_several_changes_of_one_row_in_one_action_go_back(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Fox"))
    before = contents(studio)
    with studio.writing("test") as (book, _):
        fox = book.get_one(Commission, 1)
        for title in ("Wolf", "Bear", "Hare"):
            fox.title = title
            book.flush()
    assert len(_changes(studio)) == 3
    undo.undo_last(studio)
    assert contents(studio) == before
