"""What the shell offers for a value; it never fails and says nothing beside the choices."""

from collections.abc import Callable
from typing import Any


def _offered(name: str) -> Callable[[str], list[Any]]:
    def offer(incomplete: str) -> list[Any]:  # noqa: ARG001  typer leaves out what does not begin so
        try:
            from burnplan.desk.studio import completion
            from burnplan.desk.studio.studio import open_studio
            from burnplan.terminal_safe import beside_a_choice

            found = getattr(completion, name)(open_studio())
            return [(value, beside_a_choice(words)) for value, words in found if _is_plain(value)]
        except Exception:  # noqa: BLE001  a message here would land in the line being typed
            return []

    return offer


def _is_plain(value: str) -> bool:
    """Return whether a shell takes a value as it is, without quotes."""
    from burnplan.terminal_safe import of_shells

    return value.isprintable() and " " not in value and not of_shells(value.removesuffix("="))


commissions = _offered("commissions")
blanks = _offered("blanks")
species = _offered("species")
setting_names = _offered("setting_names")
