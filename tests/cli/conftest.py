"""Commands as a user types them."""

from collections.abc import Callable

import pytest

from burnplan.cli.app import run
from burnplan.desk.studio.studio import Studio

Answer = tuple[int, str, str]
Run = Callable[..., Answer]


@pytest.fixture
def burnplan(studio: Studio, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run one command in the test's studio; return exit code, stdout, stderr."""

    def typed(*arguments: str) -> Answer:
        code = run(list(arguments), studio)
        out, err = capsys.readouterr()
        return code, out, err

    return typed
