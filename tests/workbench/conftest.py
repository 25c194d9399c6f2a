"""Waiting for the workbench by what it has to do, not by how busy the processor is."""

import pytest

from tests.workbench.hand import nothing_waits


@pytest.fixture(autouse=True)
def _wait_for_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    """Textual's own wait sleeps fiftieths of a second until little is reckoned."""
    for module in ("textual.app", "textual.pilot"):
        monkeypatch.setattr(f"{module}.wait_for_idle", nothing_waits)


@pytest.fixture(autouse=True)
def _in_all_colours(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no test depend on the terminal that it is started from."""
    monkeypatch.setattr("textual.constants.COLOR_SYSTEM", "truecolor")


@pytest.fixture
def looks_when_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the workbench take no key for recent, and leave looking each second to the test."""
    monkeypatch.setattr("burnplan.workbench.app.QUIET_SECONDS", -1.0)
    monkeypatch.setattr("burnplan.workbench.app.LOOK_SECONDS", 3600.0)  # the test looks itself
