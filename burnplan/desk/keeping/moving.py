"""Move the book between a file and a shared server."""

from pathlib import Path

from sqlalchemy import Engine

from burnplan.desk.studio.studio import Studio
from burnplan.errors import NotAllowed, NotFound
from burnplan.files import given_path
from burnplan.ledger import engines, migrate, moving
from burnplan.progress import Progress, silent
from burnplan.sentences import Do
from burnplan.view import View


class Moved(View):
    """What was copied from one book to another."""

    source: str
    target: str
    # The target is a database on a server, rather than a file.
    on_server: bool
    # Number of rows by table, parents first; each was read back and compared.
    rows: dict[str, int]
    # Where the photos on record are, and stay.
    originals: Path


def url_of(named: str) -> str:
    """Return the URL of a book named by a URL, its file or its folder.

    Examples
    --------
    >>> url_of("elsewhere/studio.db")
    'sqlite:///elsewhere/studio.db'
    """
    if "://" in named:
        return named
    path = given_path(named)
    return engines.sqlite_url(path / "book.db" if path.is_dir() else path)


def move_book(
    studio: Studio, target: str, source: str | None = None, *, on_progress: Progress = silent
) -> Moved:
    """Copy a whole book into a new file or an empty database; the source stays as it is.

    Parameters
    ----------
    studio : Studio
    target, source : str
        A URL, a file or a folder; the source is else the studio's own book.
    on_progress : callable

    Raises
    ------
    NotFound
        If there is no source.
    NotAllowed
        If the target has rows, or the source is not of the newest schema.
    OperationFailed
        If the copy does not compare; the target is then empty.
    """
    old = engines.open_engine(url_of(source) if source else studio.database_url)
    place = Studio(studio.home, url_of(target), studio.clock, begins_anew=True)
    try:
        _check_source(old)
        _check_target(place)
        rows = moving.move(old, place.engine, on_progress)
        path = engines.book_path(old)
        return Moved(
            source=engines.name_of(old),
            target=engines.name_of(place.engine),
            on_server=engines.book_path(place.engine) is None,
            rows=rows,
            originals=path.parent / "originals" if path else studio.originals,
        )
    finally:
        old.dispose()
        place.close()


def _schema(engine: Engine) -> str | None:
    with engines.transaction(engine, writing=False) as book:
        return migrate.version_of(book.connection())


def _check_source(engine: Engine) -> None:
    path = engines.book_path(engine)
    if path and not path.is_file():
        raise NotFound(f"There is no book {path}", "Name its file, its folder or its URL")
    schema = _schema(engine)
    if schema is None:
        raise NotFound(
            f"Nothing is in {engines.name_of(engine)}", "Name a book with something in it"
        )
    if schema != migrate.newest_version():
        raise NotAllowed(
            f"Another burnplan wrote {engines.name_of(engine)} (schema {schema})",
            "Open it once with this one, for example with ",
            Do("book.open"),
            ", and move it then",
        )


def _check_target(place: Studio) -> None:
    """Refuse a book of another schema before opening it would bring it to the newest."""
    if not place.has_book:
        return
    engine = engines.open_engine(place.database_url)
    schema = _schema(engine)
    engine.dispose()
    if schema not in (None, migrate.newest_version()):
        raise NotAllowed(
            f"A book is kept already in {engines.name_of(engine)}",
            "Name a new file or an empty database",
        )
