"""The catalogues of what clients read, brought up to date with the program's words.

``python -m tests.sheets.words`` adds new words to each catalogue, untranslated, and puts aside
those that are gone; ``python -m tests.sheets.words fr`` begins one for French.
"""

import io
import sys
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from burnplan.shipped import shipped
from burnplan.wood.species import all_species

KEYWORDS = {
    "N_": None,
    "say": None,
    "fill": None,
    "ngettext": (1, 2),
    "say_of": (1, 2),
    "gettext": None,
}
METHODS = [
    ("desk/jobs/comparing.py", "python"),
    ("sheets/**.py", "python"),
    ("words/**.html", "jinja2"),
    ("words/**.txt", "jinja2"),
]


def said() -> Catalog:
    """Return all that is said to clients, in English."""
    catalogue = Catalog(project="burnplan", charset="utf-8")
    folder = shipped("words").parent
    for file, _line, message, _comments, _context in extract_from_dir(
        str(folder), METHODS, keywords=KEYWORDS, strip_comment_tags=True
    ):
        catalogue.add(message, locations=[(f"burnplan/{file}", 0)])
    for name in sorted(one.name for one in all_species()):
        catalogue.add(name, locations=[("burnplan/wood/tables/species.toml", 0)])
    return catalogue


def read(path: Path, language: str) -> Catalog:
    """Return the catalogue of a language as it stands, an empty one for a new language."""
    if not path.exists():
        return Catalog(locale=language, project="burnplan", charset="utf-8")
    with path.open("rb") as file:
        return read_po(file, locale=language)


def written(catalogue: Catalog) -> str:
    """Return a catalogue as it is kept."""
    catalogue.header_comment = "# What clients read: see DEVELOPERS.md, how to add a language."
    catalogue.fuzzy = False
    file = io.BytesIO()
    write_po(file, catalogue, width=96, sort_output=True, include_lineno=False, no_location=False)
    return file.getvalue().decode()


def main() -> None:
    folder = shipped("words/languages")
    languages = {path.stem for path in folder.glob("*.po")} | set(sys.argv[1:])
    for language in sorted(languages):
        catalogue = read(folder / f"{language}.po", language)
        catalogue.update(said(), no_fuzzy_matching=True)
        (folder / f"{language}.po").write_text(written(catalogue), encoding="utf-8")
        missing = sum(1 for one in catalogue if one.id and not one.string)
        print(f"{language}: {missing} of {len(catalogue)} still to translate")


if __name__ == "__main__":
    main()
