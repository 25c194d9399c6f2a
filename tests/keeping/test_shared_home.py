"""A home that several users of one machine share: what one keeps, the others read and write."""

import json
import os
import shutil
import stat
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from burnplan.files import is_private, make_private
from burnplan.ledger import originals

ROOT = Path(__file__).parents[2]
GROUP, MARA, INES, STRANGER = 23_450, 23_451, 23_452, 23_453
Says = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def folder() -> Iterator[Path]:
    made = Path(tempfile.mkdtemp())  # where other users may come
    made.chmod(0o755)
    yield made
    shutil.rmtree(made)


def test_what_is_kept_in_a_groups_folder_is_the_groups(folder: Path) -> None:
    private = 0o600, 0o700
    for mode, (file, inner) in {0o2770: (0o660, 0o2770), 0o770: private, 0o755: private}.items():
        home = folder / f"{mode:o}"
        home.mkdir()
        home.chmod(mode)
        kept = originals.place(home / "originals", originals.keep(home / "originals", b"photo"))
        for path, wanted in ((kept, file), (kept.parent, inner), (home / "originals", inner)):
            assert stat.S_IMODE(path.stat().st_mode) == wanted, oct(mode)
            assert is_private(path)
            path.chmod(0o777)
            assert not is_private(path)
            make_private(path)
            assert is_private(path)


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can be several users")
def test_two_users_share_a_home_and_nobody_else(folder: Path, photo: Path) -> None:
    home = folder / "studio"
    home.mkdir()
    os.chown(home, MARA, GROUP)
    home.chmod(0o2770)
    shutil.copy(photo, folder / "photo.png")
    (folder / "photo.png").chmod(0o644)

    def by(user: int, *words: str) -> subprocess.CompletedProcess[str]:
        own = {"BURNPLAN_HOME": str(home), "BURNPLAN_NAME": str(user), "HOME": str(folder)}
        return subprocess.run(
            [sys.executable, "-m", "burnplan", *words], cwd=ROOT, umask=0o022,
            user=user, group=user, extra_groups=[GROUP] if user in (MARA, INES) else [],
            env=os.environ | own, capture_output=True, text=True, check=False,
        )  # fmt: skip

    try:
        by(STRANGER, "--version").check_returncode()
    except (PermissionError, subprocess.CalledProcessError):
        pytest.skip("other users cannot run the program where it is installed")
    picture = str(folder / "photo.png")
    for user, words in (
        (MARA, ["commission", "add", "Fox", "--size", "12x9cm"]),
        (INES, ["commission", "add", "Owl", "--size", "12x9cm"]),
        (INES, ["reference", "add", "2", picture, "--zones", "3", "--no-pictures"]),
        (MARA, ["reference", "preview", "2"]),
        (MARA, ["photo", "add", "1", picture]),
        (INES, ["client", "add", "Zoe"]),
        (MARA, ["undo"]),
        (INES, ["check"]),
    ):
        done = by(user, *words)
        assert done.returncode == 0, (user, words, done.stderr)
    authors = [one["author"] for one in json.loads(by(INES, "history", "--json").stdout)]
    assert set(authors) == {str(MARA), str(INES)}
    for path in [home, *home.rglob("*")]:
        assert path.stat().st_gid == GROUP, path
        assert path.stat().st_mode & 0o007 == 0, path
    refused = by(STRANGER, "jobs")
    assert refused.returncode != 0
    assert "Traceback" not in refused.stderr
