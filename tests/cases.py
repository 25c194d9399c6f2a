"""A test with many cases: the first are tried each time, the others are long tests."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import pytest


def quick_first(
    names: str | Sequence[str],
    cases: Iterable[Any],
    quick: int = 1,
    ids: Iterable[Any] | Callable[[Any], str] | None = None,
) -> pytest.MarkDecorator:
    """Parametrise a test as pytest does, with all cases but the first ``quick`` marked long."""
    made = [
        pytest.param(
            *((case,) if isinstance(names, str) else case),
            marks=() if number < quick else pytest.mark.long,
        )
        for number, case in enumerate(cases)
    ]
    return pytest.mark.parametrize(names, made, ids=ids)
