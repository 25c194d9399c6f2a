"""Files that are none, or want all memory: said early, in one line, and nothing is changed."""

import json
import os
import subprocess
import sys
import zipfile
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import pytest
from sqlalchemy import select

from burnplan.cli.app import run
from burnplan.desk.jobs import commissions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import backups, restoring
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import past_import
from burnplan.errors import BadInput
from burnplan.ledger import json_book, package
from burnplan.ledger.models import PastJob
from burnplan.progress import silent
from tests import books
from tests.cases import quick_first
from tests.conftest import FixedClock
from tests.started import started

READS = (
    ("past", "import"), ("restore", "--yes"), ("import",), ("check", "--repair", "--from"),
    ("photo", "add", "1"), ("reference", "add", "1"),
)  # fmt: skip


@books.about_files
@pytest.mark.parametrize("words", READS, ids=" ".join)
@quick_first("kind", ["pipe", "/dev/zero"])
def test_what_is_no_file_is_not_read(
    words: tuple[str, ...], kind: str, tmp_path: Path, studio: Studio
) -> None:
    commissions.add(studio, Wishes(title="Fox", size="12x9cm"))
    studio.close()
    name = kind
    if kind == "pipe":
        name = str(tmp_path / "pipe")
        os.mkfifo(name)
    done = started([*words, name])
    assert done.returncode == 2
    assert "is not an ordinary file" in done.stderr
    assert done.stderr.count("\n") == 1


@quick_first("year", [1971, 1979, 1980, 2107, 2108, 2999], quick=0, long=3)
def test_any_clock_makes_a_backup_that_comes_back(
    year: int, studio: Studio, clock: FixedClock, tmp_path: Path
) -> None:
    clock.now = datetime(year, 3, 17, 9, tzinfo=UTC)
    commissions.add(studio, Wishes(title="Fox"))
    backups.back_up(studio, tmp_path / "b.zip")
    backups.export(studio, tmp_path / "e.zip")
    for name in ("b.zip", "e.zip"):
        with restoring.of_backup(studio, tmp_path / name) as ready:
            assert ready.about.made_at == clock.now
            ready.put_in_place(silent)
    assert commissions.show(studio, "Fox").added_at == clock.now


def written(folder: Path, **said: object) -> Path:
    """Write a package with this in its manifest, and a book of zeros."""
    archive = folder / "evil.zip"
    manifest = {
        "format": package.FORMAT, "version": package.FORMAT_VERSION, "program": "1",
        "schema": "0014", "made_at": "2027-03-17T09:00:00+00:00", "last_change": None,
        "rows": {}, "missing": [], "members": {},
    }  # fmt: skip
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("manifest.json", json.dumps(manifest | said))
    return archive


@pytest.mark.parametrize(
    "moment",
    ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "1900-01-01T00:00:00+00:00", "1e9"],
)
@pytest.mark.parametrize("name", ["made_at", "last_change"])
def test_a_moment_that_cannot_be_is_refused(
    moment: str, name: str, studio: Studio, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for command in ("restore", "import"):
        archive = str(written(tmp_path, **{name: moment}))
        assert run([command, archive], studio) == 2
        assert "is not used: it is damaged, or not of burnplan's making" in capsys.readouterr().err


LIMIT = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (1_200_000_000, 1_200_000_000))
from burnplan.cli.app import run
sys.exit(run(sys.argv[1:]))
"""


@pytest.mark.parametrize("where", ["manifest.json", "book.json"])
@quick_first("of", ["[],", "{},", '"",', "1.5,"], quick=0, long=1)
def test_a_small_archive_cannot_want_all_memory(
    where: str, of: str, tmp_path: Path, studio: Studio
) -> None:
    studio.close()
    size = (62 << 20) if where == "book.json" else (31 << 20)
    text = f"[{of * (size // len(of))}1]"
    archive = tmp_path / "evil.zip"
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as made:
        if where == "book.json":
            revision = json.dumps({"format": "burnplan-book", "version": 1, "schema": "0014"})
            head = f'{revision[:-1]}, "tables": {{\n"blank": [\n'
            data = (head + text).encode()
            member = {"bytes": len(data), "sha256": sha256(data).hexdigest()}
            made.writestr("book.json", data)
            # A little that cannot be packed, so that it does not stand out by its ratio.
            noise = os.urandom(1 << 20)
            name = f"originals/{sha256(noise).hexdigest()}"
            made.writestr(name, noise)
            members = {
                "book.json": member,
                name: {"bytes": len(noise), "sha256": sha256(noise).hexdigest()},
            }
            text = json.dumps({
                "format": package.FORMAT, "version": 1, "program": "1", "schema": "0014",
                "made_at": "2027-03-17T09:00:00+00:00", "last_change": None, "rows": {},
                "missing": [], "members": members,
            })  # fmt: skip
        made.writestr("manifest.json", text)
    done = subprocess.run(
        [sys.executable, "-c", LIMIT, "import", str(archive), "--replace"],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert "Traceback" not in done.stderr
    assert "is not used: " in done.stderr
    assert done.returncode == 2


def test_an_entry_of_the_history_goes_through_an_export(studio: Studio, tmp_path: Path) -> None:
    most = 400  # of each, the longest there can be
    row = f"{'é' * 200},2027-01-01,{'1' * 3}.5,{'1' * 3}.5,rectangle,{'w' * 60},eye:3,eye:3"
    longest = json_book.LONGEST_LINE / past_import.MOST_JOBS
    jobs = tmp_path / "jobs.csv"
    head = "title,finished_on,width_mm,height_mm,outline,species,darkness,texture,"
    hours = "line_cm,prepare_h,transfer_h,burn_h,finish_h,price"
    rest = "4999.5,4999.5,4999.5,4999.5,999999999.99"
    rows = "\n".join(f"{row},9999{n:03},{rest}" for n in range(most))
    jobs.write_text(f"{head}{hours}\n{rows}\n")
    assert past_import.bring_in(studio, jobs).added == most
    backups.export(studio, tmp_path / "e")
    lines = (tmp_path / "e" / "book.json").read_bytes().splitlines()
    assert max(map(len, lines)) / most < longest
    jobs.write_text("title,width_mm,height_mm\n" + "a,10,10\n" * (past_import.MOST_JOBS + 1))
    with pytest.raises(BadInput, match="more than 50,000 jobs"):
        past_import.bring_in(studio, jobs)


@pytest.mark.parametrize("parted", [";", "\t"])
def test_a_table_with_decimal_commas_is_read(parted: str, studio: Studio, tmp_path: Path) -> None:
    jobs = tmp_path / "jobs.csv"
    rows = (
        ("Title", "width_mm", "height_mm", "burn_h", "price", "darkness", "texture"),
        ("Fuchs, alt", "300,5", "200", "7,25", "240,50", "0,5", "eye:3"),
    )
    jobs.write_text("\ufeff" + "".join(f"{parted.join(row)}\r\n" for row in rows), "utf-8")
    found = past_import.bring_in(studio, jobs)
    assert (found.added, found.faults) == (1, [])
    with studio.reading() as book:
        job = book.scalars(select(PastJob)).one()
    assert (job.title, job.width_mm, job.burn_h, str(job.price)) == (
        "Fuchs, alt", 300.5, 7.25, "240.50",
    )  # fmt: skip
