"""Commands that had other names: the old ones are taken for one version more, and not shown."""

import pytest

from tests.cli.conftest import Run

OLD = {
    "start": "begin", "pause": "break", "resume": "go-on", "stop": "end", "log": "enter",
    "status": "now",
}  # fmt: skip


def test_old_names_of_session_commands_still_work(burnplan: Run) -> None:
    burnplan("commission", "add", "Fox")
    for words in (
        ("start", "C-0001"), ("status",), ("pause",), ("resume",), ("stop",),
        ("log", "C-0001", "1h"),
    ):  # fmt: skip
        code, _, err = burnplan("session", *words)
        assert code == 0, err


@pytest.mark.parametrize(("old", "new"), OLD.items())
def test_the_help_has_the_new_name_only(burnplan: Run, old: str, new: str) -> None:
    listed = [
        line.strip(" │|").split(" ")[0] for line in burnplan("session", "--help")[1].splitlines()
    ]
    assert new in listed
    assert old not in listed
