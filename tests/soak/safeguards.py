"""Each safeguard of the book taken away, one at a time, and which tests notice.

    nice -n 19 python tests/soak/safeguards.py            # all, about half an hour
    nice -n 19 python tests/soak/safeguards.py fsync undo # those whose words have one of these

What is taken away is found by its text in a copy of the checkout, once and no more: where the
program has changed since, that is said. Tests are run until one fails.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path
from typing import NamedTuple

from mutations import copied  # type: ignore[import-not-found]


class Safeguard(NamedTuple):
    """What keeps from harm, the text it has, what stands there without it, and its tests."""

    what: str
    file: str
    text: str
    without: str
    tests: str


def safeguards() -> list[Safeguard]:
    """Return all of them."""
    listed = tomllib.loads(Path(__file__).with_suffix(".toml").read_text("utf-8"))
    return [Safeguard(**one) for one in listed["safeguard"]]


def noticed(copy: Path, one: Safeguard) -> bool:
    """Take a safeguard away in a copy, and return whether a test fails."""
    path = copy / one.file
    source = path.read_text("utf-8")
    if source.count(one.text) != 1:
        raise SystemExit(f"{one.what}: its text is {source.count(one.text)} times in {one.file}")
    path.write_text(source.replace(one.text, one.without), "utf-8")
    words = [
        "-q", "-x", "-m", "not whole", "-p", "no:cacheprovider", "--hypothesis-profile", "few",
        *one.tests.split(),
    ]  # fmt: skip
    try:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", *words], cwd=copy, capture_output=True, check=False,
            env=os.environ | {"PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"},
        )  # fmt: skip
    finally:
        path.write_text(source, "utf-8")
    return done.returncode == 1


def main() -> None:
    """Take away those asked for, and print what was noticed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("words", nargs="*", help="of what is to be taken away; all if none")
    asked = parser.parse_args()
    chosen = [
        one
        for one in safeguards()
        if not asked.words or any(word in one.what for word in asked.words)
    ]
    count = 0
    with tempfile.TemporaryDirectory() as folder:
        copy = copied(Path(folder) / "copy")
        for one in chosen:
            began = time.monotonic()
            seen = noticed(copy, one)
            count += seen
            word = "noticed" if seen else "NOT NOTICED"
            print(f"{one.what:40s} {word:12s} {time.monotonic() - began:4.0f} s", flush=True)
    print(f"{count} of {len(chosen)} noticed")
    sys.exit(count < len(chosen))


if __name__ == "__main__":
    main()
