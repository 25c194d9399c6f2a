"""burnplan backup, restore, check, export and import: nothing of the book is lost."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    Yes,
    answer,
    progress_bar,
    sure,
    the_studio,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from contextlib import AbstractContextManager

    from rich.console import RenderableType

    from burnplan.desk.keeping.restoring import Ready, Restored
    from burnplan.desk.studio.studio import Studio
    from burnplan.progress import Progress

Source = Annotated[Path, typer.Argument(metavar="FILE", help="What to take it from.")]


def backup(
    context: typer.Context,
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="[FILE]",
            help="A .zip archive, or a folder to put one in; the current one if not given.",
        ),
    ] = None,
    yes: Yes = False,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Write the book and its photos to one archive, whatever else is running.

    It holds your clients' data: only you can read it, keep it so. A backup is
    only one when it is on another disk.

    A book that is a file is also copied by itself, each day it is used, into the
    folder 'copies'. A book on a server is not: let a daily job call this with a
    folder, or use the server's own dumps.

    Examples:

      burnplan backup

      burnplan backup /media/stick/studio.zip --yes

      burnplan backup /srv/backups
    """
    from burnplan.desk.keeping import backups
    from burnplan.show.keeping.copies import packed

    def write() -> backups.Packed:
        studio = the_studio(context)
        target = Path() if file is None else file
        if target.is_dir():
            target = target / backups.default_name(studio, "backup")
        if target.exists():
            sure(f"'{target}' is there already. Replace it?", yes)
        with progress_bar() as progress:
            return backups.back_up(studio, target, progress)

    return answer(backups.Packed, as_json, as_schema, write, packed)


def export(
    context: typer.Context,
    into: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A new folder, or a .zip archive.")
    ],
    yes: Yes = False,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Write everything in forms that any program can read: JSON, CSV and the photos.

    book.json has every row, the history too, and book.schema.json describes it
    (JSON Schema). The tables are CSV for spreadsheets. 'burnplan import' makes
    the same book of it again.

    Examples:

      burnplan export studio-2027

      burnplan export studio-2027.zip
    """
    from burnplan.desk.keeping import backups
    from burnplan.show.keeping.copies import packed

    def write() -> backups.Packed:
        if into.is_file():
            sure(f"'{into}' is there already. Replace it?", yes)
        with progress_bar() as progress:
            return backups.export(the_studio(context), into, progress)

    return answer(backups.Packed, as_json, as_schema, write, packed)


def _put_in_place(
    context: typer.Context,
    prepare: "Callable[[Progress], AbstractContextManager[Ready]]",
    yes: bool,
) -> "Restored":
    """Verify, ask, and replace the book; where nobody is asked, say so if it was newer."""
    from contextlib import ExitStack

    from burnplan.show.console import notice
    from burnplan.show.keeping.copies import newer_here, question

    studio = the_studio(context)
    with ExitStack() as until_done:
        with progress_bar() as progress:
            ready = until_done.enter_context(prepare(progress))
        if warning := newer_here(ready.about, studio):
            notice(warning)
        if ready.about.present is not None or ready.about.damaged:
            sure(question(ready.about, studio), yes)
        with progress_bar() as progress:
            return ready.put_in_place(progress)


def restore(
    context: typer.Context,
    file: Source,
    yes: Yes = False,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Put a backup, or a copy from the folder 'copies', in the place of the book.

    It is verified first, down to each photo. The book here is kept aside, and
    if it has later changes you are told.

    Examples:

      burnplan restore burnplan-backup-2027-03-17-090000.zip

      burnplan restore copies/book-2027-03-16.db
    """
    from burnplan.desk.keeping import restoring

    def put() -> restoring.Restored:
        studio = the_studio(context)
        return _put_in_place(context, lambda tell: restoring.of_backup(studio, file, tell), yes)

    return answer(
        restoring.Restored,
        as_json,
        as_schema,
        put,
        lambda done: _told(done, the_studio(context)),
    )


def _told(done: "Restored", studio: "Studio") -> "RenderableType":
    """Say where the book from before is, and return what is in the new one."""
    from burnplan.show.console import notice
    from burnplan.show.keeping.copies import restored

    if done.aside:
        notice(f"The book from before is kept at {done.aside}")
    return restored(done, studio)


def import_(
    context: typer.Context,
    file: Source,
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Also if this book is not empty; it is kept aside."),
    ] = False,
    yes: Yes = False,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Make an empty book what an export holds, row for row.

    Examples:

      burnplan import studio-2027.zip

      burnplan import studio-2027 --replace
    """
    from burnplan.desk.keeping import restoring

    def put() -> restoring.Restored:
        studio = the_studio(context)
        return _put_in_place(
            context,
            lambda tell: restoring.of_export(studio, file, replace=replace, on_progress=tell),
            yes or not replace,
        )

    return answer(
        restoring.Restored,
        as_json,
        as_schema,
        put,
        lambda done: _told(done, the_studio(context)),
    )


def check(
    context: typer.Context,
    repair: Annotated[
        bool,
        typer.Option("--repair", help="Put right what is safe to put right."),
    ] = False,
    spare: Annotated[
        Path | None,
        typer.Option("--from", metavar="FILE", help="A backup to take missing photos from."),
    ] = None,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Look whether the book and its photos are whole.

    Looked at are the file, each row and the rules for it, the hash of each photo,
    and what others could read. A repair removes what a stopped program left half
    written, makes files private, and takes missing photos from a backup. The exit
    code is 1 if something is wrong.

    Examples:

      burnplan check

      burnplan check --repair --from burnplan-backup-2027-03-17-090000.zip
    """
    from burnplan.desk.keeping import checking
    from burnplan.show.keeping.copies import findings

    sound = True

    def look() -> checking.Checked:
        nonlocal sound
        with progress_bar() as progress:
            found = checking.check(
                the_studio(context), repair=repair, spare=spare, on_progress=progress
            )
        sound = found.sound
        return found

    answer(checking.Checked, as_json, as_schema, look, findings)
    if not sound:
        raise typer.Exit(1)
