"""Options that several commands take alike."""

from collections.abc import Callable
from functools import wraps
from inspect import Parameter, Signature, signature
from typing import Any


def gathered_by(
    gather: Callable[..., Any],
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Give a command the options of a function, and what it makes of them as ``wanted``.

    Typer makes an option of each parameter of a command. Here it is shown the function's
    parameters in the place of the command's parameter ``wanted``.

    Examples
    --------
    >>> def size(width: int = 3, height: int = 2) -> str:
    ...     return f"{width} × {height}"
    >>> @gathered_by(size)
    ... def saw(wood: str, *, wanted: str, quietly: bool = False) -> None:
    ...     print(f"Saw {wood} to {wanted}")
    >>> list(signature(saw).parameters)
    ['wood', 'width', 'height', 'quietly']
    >>> saw(wood="cherry", width=5, height=4)
    Saw cherry to 5 × 4
    """
    options = signature(gather).parameters

    def decorate(command: Callable[..., None]) -> Callable[..., None]:
        @wraps(command)
        def run(**given: Any) -> None:
            wanted = gather(**{name: given.pop(name) for name in options if name in given})
            command(**given, wanted=wanted)

        shown = [
            parameter.replace(kind=Parameter.KEYWORD_ONLY)
            for name, own in signature(command).parameters.items()
            for parameter in (options.values() if name == "wanted" else [own])
        ]
        run.__signature__ = Signature(shown)  # type: ignore[attr-defined]
        run.__annotations__ = {parameter.name: parameter.annotation for parameter in shown}
        return run

    return decorate
