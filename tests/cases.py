"""A test with many cases: the first are tried each time, some are long tests, others wait."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import pytest


def quick_first(
    names: str | Sequence[str],
    cases: Iterable[Any],
    quick: int = 1,
    long: int = 3,
    ids: Iterable[Any] | Callable[[Any], str] | None = None,
) -> pytest.MarkDecorator:
    """Parametrise a test as pytest does, with the first cases unmarked.

    After the first ``quick`` come ``long`` that are marked so; the others are tried with the whole.
    """

    def marks(number: int) -> Sequence[pytest.MarkDecorator]:
        if number < quick:
            return ()
        return (pytest.mark.long if number < quick + long else pytest.mark.whole,)

    made = [
        pytest.param(*((case,) if isinstance(names, str) else case), marks=marks(number))
        for number, case in enumerate(cases)
    ]
    return pytest.mark.parametrize(names, made, ids=ids)
