"""Modules that are loaded when something of them is first used."""

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder
from importlib.util import LazyLoader
from types import ModuleType


class _Lazily(MetaPathFinder):
    """Finds the program's modules, all but those of commands, to be loaded later."""

    def find_spec(
        self, name: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Return where a module is; None leaves it to the others."""
        if not name.startswith("burnplan.") or name.startswith("burnplan.cli."):
            return None
        spec = PathFinder.find_spec(name, path, target)
        if spec is not None and spec.loader is not None and not spec.submodule_search_locations:
            spec.loader = LazyLoader(spec.loader)
        return spec


@contextmanager
def lazily() -> Iterator[None]:
    """Let modules that are imported here wait until something of them is used.

    That holds for ``from burnplan.desk.jobs import clients``; a name taken out of a
    module, as in ``from burnplan.units import parse_size``, loads it at once.
    """
    finder = _Lazily()
    sys.meta_path.insert(0, finder)
    try:
        yield
    finally:
        sys.meta_path.remove(finder)
