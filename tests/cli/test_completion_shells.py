"""Completion in the shells themselves, on a terminal: nothing that is offered is run.

Titles and names are chosen to be run by a shell that takes them for its own text.
"""

import os
import pty
import select
import shutil
import sqlite3
import sys
import time
from pathlib import Path

import pytest
from sqlalchemy import func
from sqlalchemy import select as choose

from burnplan.cli import completion
from burnplan.cli.app import run
from burnplan.desk.jobs import commissions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.ledger.json_checks import checks
from burnplan.ledger.models import OwnSpecies, Record
from burnplan.terminal_safe import of_shells
from tests import books
from tests.cases import quick_first

pytestmark = books.about_files

RUN = "touch ${HOME}/run"
TITLES = (
    f"a $({RUN})", f"b \\$({RUN})", f"c `{RUN}`", f"d \\`{RUN}\\`", f'e "; {RUN}; "',
    f"f '; {RUN}; '", f"g )); {RUN}; ((", f"h [/b] [bold]$({RUN})", f"i \\[b]$({RUN})",
    "j :: %(!.x.y)",
)  # fmt: skip
# As an older burnplan took them; each begins alike, so that the shell fills in what it can.
KEYS = (f"zz-$({RUN.replace(' ', '${IFS}')})", "zz-`touch${IFS}run`", "zz-';touch${IFS}run;'")

SHELLS = {
    "bash": ["bash", "--norc", "--noprofile", "-i"],
    "zsh": ["zsh", "-f", "-i"],
    "fish": ["fish", "--no-config", "-i"],
}
BEGIN = {
    "bash": "PS1='> '; eval \"$(burnplan --show-completion bash)\"\n",
    "zsh": "PS1='> '; autoload -U compinit; compinit -u -D; "
    'eval "$(burnplan --show-completion zsh)"\n',
    "fish": "burnplan --show-completion fish | source\n",
}


@pytest.fixture
def evil(studio: Studio, tmp_path: Path) -> Studio:
    for title in TITLES:
        commissions.add(studio, Wishes(title=title))
    assert run(["settings", "units=metric"], studio) == 0
    assert run(["blank", "species-add", "zz plum"], studio) == 0
    studio.close()
    with sqlite3.connect(tmp_path / "home" / "book.db") as book:
        for key in KEYS:
            columns = [row[1] for row in book.execute("PRAGMA table_info(own_species)")]
            kept = ", ".join(name for name in columns if name not in ("id", "key", "name"))
            book.execute(
                f"INSERT INTO own_species (key, name, {kept}) "  # noqa: S608
                f"SELECT ?, ?, {kept} FROM own_species WHERE key = 'zz-plum'",
                (key, key),
            )
    book.close()
    return studio


def typed(shell: str, folder: Path, keys: list[tuple[str, str]]) -> str:
    """Type in a shell on a terminal, each time until something is seen; return all that was."""
    programs = folder / "bin"
    programs.mkdir(exist_ok=True)
    program = programs / "burnplan"
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -m burnplan "$@"\n')
    program.chmod(0o755)
    child, terminal = pty.fork()
    if child == 0:  # pragma: no cover - the other process
        os.chdir(folder)
        own = {"PATH": f"{programs}:{os.environ['PATH']}", "HOME": str(folder), "TERM": "xterm"}
        os.execvpe(SHELLS[shell][0], SHELLS[shell], os.environ | own)  # noqa: S606

    def hear(until: str) -> str:
        seen = b""
        end = time.monotonic() + (20 if until else 1)
        while time.monotonic() < end and not (until and until in seen.decode(errors="replace")):
            if select.select([terminal], [], [], 0.2)[0]:
                try:
                    seen += os.read(terminal, 65536)
                except OSError:  # it ended
                    break
        return seen.decode(errors="replace")

    seen = hear("")
    for key, until in [(BEGIN[shell], ""), ("echo r''eady\n", "ready"), *keys, ("exit\n", "")]:
        os.write(terminal, key.encode())
        seen += hear(until)
    os.close(terminal)
    os.kill(child, 9)
    os.waitpid(child, 0)
    return seen


@quick_first("shell", ["bash", "zsh", "fish"], quick=0, long=1)
def test_nothing_that_is_offered_is_run(shell: str, evil: Studio, tmp_path: Path) -> None:
    if shutil.which(shell) is None:
        pytest.skip(f"there is no {shell} here")
    keys = [
        ("burnplan commission show C-00\t", "C-0003" if shell == "fish" else ""),
        ("\t", "C-0003"), ("\x03", ""), ("\x15", ""),
        ("burnplan estimate --size 20x30cm --dark 3 --species zz\t", "zz-plum"),
        ("\n", "not in the price"),
    ]  # fmt: skip
    seen = typed(shell, tmp_path, keys)
    assert "C-0003" in seen, seen
    assert "Traceback" not in seen, seen
    assert not (tmp_path / "run").exists(), seen
    assert "on zz plum" in seen, "the one whole name is filled in"


@pytest.mark.long
@pytest.mark.usefixtures("evil")
def test_the_words_beside_a_choice_are_none_that_a_shell_runs() -> None:
    offered = completion.commissions("")
    assert len(offered) == len(TITLES)
    assert not {sign for _code, words in offered for sign in words} & set("$`\\[]'\"")


@pytest.mark.parametrize("name", ["a-$(b)", "a`b`", "a;b", "a*", "~a", "a\\b", "a(b)", "=a"])
def test_a_wood_gets_no_such_name(
    name: str, studio: Studio, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    jobs = tmp_path / "jobs.csv"
    jobs.write_text(f"title,width_mm,height_mm,species\nFox,100,100,{name}\n")
    for words in (
        ["blank", "species-add", name],
        ["blank", "add", name, "20x30cm"],
        ["commission", "add", "Fox", "--species", name],
        ["ladder", "add", name, "--tip", "ball", "--heat", "2,3", "--lightness", "70,50"],
        ["past", "import", str(jobs)],
    ):
        assert run(words, studio) != 0, words
        assert "A wood's name cannot have" in "".join(capsys.readouterr()), words
    with studio.reading() as book:
        assert checks(Record.metadata.tables["own_species"])["key"](name).startswith("has ")
        assert book.scalar(choose(func.count()).select_from(OwnSpecies)) == 0


def test_an_apostrophe_in_a_woods_name_is_none_in_its_key(studio: Studio) -> None:
    assert run(["settings", "units=metric"], studio) == 0
    assert run(["blank", "species-add", "bird's-eye maple"], studio) == 0
    with studio.reading() as book:
        (key,) = book.scalars(choose(OwnSpecies.key))
    assert key == "birds-eye-maple"
    assert not of_shells(key)
