"""A workbench killed at any moment: what was done is on record."""

import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Callable

import pytest

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import sessions
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.workbench.presses import GAP
from tests import books
from tests.conftest import FixedClock
from tests.workbench.hand import barn, states


def _until(true: Callable[[], bool], what: str) -> None:
    for _ in range(3000):
        if true():
            return
        time.sleep(0.02)
    raise AssertionError(f"Not in a minute: {what}")


@pytest.mark.long
def test_killed_outright_the_clock_and_every_tick_are_still_there(
    studio: Studio, clock: FixedClock
) -> None:
    code = barn(studio)
    settings.save(studio, studio_settings.Settings())  # or it would ask its first questions
    master, slave = pty.openpty()
    environment = {
        **os.environ,
        "BURNPLAN_HOME": str(studio.home),
        "BURNPLAN_DATABASE_URL": studio.database_url,
        "TERM": "xterm-256color",
    }
    process = subprocess.Popen(
        [sys.executable, "-m", "burnplan", "workbench"],
        stdin=slave, stdout=slave, stderr=slave, env=environment, start_new_session=True,
    )  # fmt: skip
    os.close(slave)
    os.set_blocking(master, False)
    seen = b""

    def shows(words: bytes) -> bool:
        nonlocal seen
        try:
            while chunk := os.read(master, 65536):
                seen += chunk
        except OSError:  # nothing more for now
            pass
        return words in seen

    def press(key: bytes, until: str) -> None:
        nonlocal seen
        seen = b""
        os.write(master, key)
        _until(lambda: shows(until.encode()), until)

    try:
        _until(lambda: shows(b"Old barn"), "the jobs")
        press(b"\r", until="☐")
        press(b" ", until="☑")
        time.sleep(2 * GAP)  # faster is a key held down
        press(b" ", until="☑")
        # What is shown is on record: it is killed as soon as the clock shows.
        press(b"c", until="●")
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()
        os.close(master)
    again = books.open_at(studio.home, clock)
    assert states(again, code)[:3] == ["ticked", "ticked", "open"]
    session = sessions.open_now(again)
    assert session is not None
    assert (session.code, session.state) == (code, "running")
    again.close()
