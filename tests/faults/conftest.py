"""The fault matrix: what was tried, what burnplan said, what became of the book."""

from collections.abc import Callable

import pytest

Tell = Callable[[str, str, str], None]


@pytest.fixture
def fault(request: pytest.FixtureRequest) -> Tell:
    """Put a line into the table that is printed after the tests."""

    def tell(what: str, said: str, kept: str) -> None:
        request.node.user_properties.append(("fault", [what, said, kept]))

    return tell
