"""What the shell offers for a value; it never fails and says nothing beside the choices."""

from collections.abc import Callable
from typing import Any


def _offered(name: str) -> Callable[[str], list[Any]]:
    def offer(incomplete: str) -> list[Any]:  # noqa: ARG001  typer leaves out what does not begin so
        try:
            from burnplan.desk.studio import completion
            from burnplan.desk.studio.studio import open_studio
            from burnplan.terminal_safe import terminal_safe

            found = getattr(completion, name)(open_studio())
            return [(value, terminal_safe(words)) for value, words in found if value.isprintable()]
        except Exception:  # noqa: BLE001  a message here would land in the line being typed
            return []

    return offer


commissions = _offered("commissions")
blanks = _offered("blanks")
species = _offered("species")
setting_names = _offered("setting_names")
