"""Watch the book for what others write into it."""

from sqlalchemy import func, select

from burnplan.desk.studio.studio import Studio
from burnplan.ledger.models import History


def version(studio: Studio) -> int:
    """Return a number that grows with every action on record, also of another program.

    Every action writes one line of history, so its newest number tells; finding
    it takes one step into the index.
    """
    with studio.reading() as book:
        return book.scalar(select(func.max(History.id))) or 0
