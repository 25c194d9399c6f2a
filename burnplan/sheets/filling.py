"""Pages and letters filled from templates: what is filled in stays text, whatever it holds.

Jinja in its sandbox: a template reaches nothing but what it is given, and a field that
there is not is named.
"""

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, Protocol

from jinja2 import FileSystemLoader, StrictUndefined, TemplateError, TemplateSyntaxError, meta
from jinja2.sandbox import SandboxedEnvironment

from burnplan.errors import BadInput
from burnplan.sheets.reader import Reader
from burnplan.shipped import shipped

if TYPE_CHECKING:
    from PIL.Image import Image


class Said(Protocol):
    """What a page says, in words: at least who reads it."""

    @property
    def reader(self) -> Reader:
        """Who reads it."""


def _environment(*, html: bool) -> SandboxedEnvironment:
    return SandboxedEnvironment(
        loader=FileSystemLoader(shipped("words")),
        autoescape=html,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        extensions=["jinja2.ext.i18n"],
    )


@cache
def _for_pages() -> SandboxedEnvironment:
    return _environment(html=True)


def filled_page(name: str, fields: Mapping[str, Any]) -> str:
    """Return a page of the program's own, as HTML."""
    return _for_pages().get_template(name).render(fields)


def page_fields(said: Said, mark: str, image: "Image | None") -> dict[str, Any]:
    """Return what the head and foot of every page name; ``mark`` is its image, as data."""
    from burnplan.sheets.drawing import TONES  # brings ReportLab, which letters do not need

    return {
        "p": said,
        "say": said.reader.say,
        "lang": said.reader.language,
        "dir": said.reader.direction,
        "mark": mark,
        "mark_px": image.size if image else (0, 0),
        "ribbon": [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in TONES],
    }


def filled_letter(source: str, name: str, fields: Mapping[str, Any], reader: Reader) -> str:
    """Return a letter in plain text, from a template that may be the studio's own.

    Parameters
    ----------
    source : str
    name : str
        Of the studio's own file; empty for one of the program's.
    fields : mapping
    reader : Reader
        Whose language its ``trans`` blocks are put into.

    Raises
    ------
    BadInput
        If it names fields that there are not, or is no template.
    """
    environment = _environment(html=False)  # of its own: it knows who reads
    environment.install_gettext_callables(  # type: ignore[attr-defined]
        reader.say, reader.say_of, newstyle=True
    )
    try:
        unknown = meta.find_undeclared_variables(environment.parse(source)) - {
            *fields, *environment.globals,
        }  # fmt: skip
        if unknown:
            names = ", ".join(sorted(unknown))
            raise BadInput(
                f"Your template '{name}' names what there is not: {names}",
                f"It may name {', '.join(sorted(fields))}",
            )
        return environment.from_string(source).render(fields)
    except TemplateSyntaxError as error:
        raise BadInput(
            f"Your template '{name}' is not right in line {error.lineno}: {error.message}",
            "Fields stand in double braces, like {{ title }}",
        ) from None
    except (TemplateError, TypeError, ValueError, ArithmeticError, LookupError) as error:
        raise BadInput(
            f"Your template '{name}' cannot be filled: {error}",
            "Fields stand in double braces, like {{ title }}",
        ) from None
