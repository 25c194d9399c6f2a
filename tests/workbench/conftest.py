"""Waiting for the workbench by what it has to do, not by how busy the processor is."""

import pytest

from tests.workbench.hand import nothing_waits


@pytest.fixture(autouse=True)
def _wait_for_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    """Textual's own wait sleeps fiftieths of a second until little is reckoned."""
    for module in ("textual.app", "textual.pilot"):
        monkeypatch.setattr(f"{module}.wait_for_idle", nothing_waits)
