"""Species on the terminal, unverified figures marked."""

from collections.abc import Sequence

from pydantic import BaseModel
from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.woods import LIMITS
from burnplan.desk.wood.own_species import OwnSpeciesView
from burnplan.show.console import facts, table
from burnplan.wood.species import SOURCES, UNITS, Mark, Species, all_species

_SHOWN = {
    "hardness": ">hardness lbf",
    "specific_gravity": ">density",
    "tangential": ">shrinks T %",
    "radial": ">R %",
    "bare": ">bare L*",
    "burnt": ">burnt L*",
}
_SIGNS = {
    Mark.SECOND_HAND: "†",
    Mark.COMPUTED: "‡",
    Mark.FROM_MEMORY: "?",
    Mark.ESTIMATE: "~",
    Mark.GIVEN: "*",
}


class FigureRow(BaseModel):
    """A figure with its unit, source, and how well it is known."""

    value: float
    unit: str
    source: str
    mark: str


class SpeciesRow(BaseModel):
    """A species, as listed."""

    key: str
    name: str
    botanical: str
    aliases: list[str]
    figures: dict[str, FigureRow]
    cautions: list[str]


def species_rows(own: Sequence[Species] = ()) -> list[SpeciesRow]:
    """Return the species table as plain rows, and then the user's own woods."""
    return [
        SpeciesRow(
            key=one.key,
            name=one.name,
            botanical=one.botanical,
            aliases=list(one.aliases),
            figures={
                name: FigureRow(
                    value=figure.value,
                    unit=UNITS[name],
                    source=SOURCES[name] if not one.own else one.source(name),
                    mark=figure.mark.name.lower().replace("_", " "),
                )
                for name, figure in one.figures
            },
            cautions=[caution for caution in (one.resinous, one.irritant) if caution],
        )
        for one in (*all_species(), *own)
    ]


def _cell(one: Species, name: str) -> Text:
    figure = dict(one.figures).get(name)
    if figure is None:
        return Text("–", "soft")
    sign = _SIGNS.get(figure.mark, "")
    return Text(f"{figure.value:g}{sign}", "soft" if sign else "")


def species_table(own: Sequence[Species] = ()) -> RenderableType:
    """Return the species table with what its signs mean."""
    rows = table("key", "+botanical", *_SHOWN.values())
    for one in (*all_species(), *own):
        cells = (_cell(one, name) for name in _SHOWN)
        rows.add_row(Text(one.key, "code"), Text(one.botanical, "soft italic"), *cells)
    yours = (Text("* as given for a wood of your own", "soft"),) if own else ()
    return Group(
        rows,
        Text(f"Shrinkage, density, hardness: {SOURCES['hardness'].split(',')[0]}", "soft"),
        Text("† as another text quotes it   ‡ computed from the table", "soft"),
        Text("? from memory, not verified   ~ our own estimate, no source: burn a strip", "soft"),
        *yours,
    )


def own_species_card(view: OwnSpeciesView) -> RenderableType:
    """Return a wood of the user's own."""
    given = [(name, getattr(view, name)) for name in LIMITS]
    return facts(
        (view.key, Text(view.name, "title")),
        ("botanical", Text(view.botanical)),
        *(
            (LIMITS[name][2].partition(",")[0], f"{value:g}")
            for name, value in given
            if value is not None
        ),
        ("resinous", Text(view.resinous)),
        ("irritant", Text(view.irritant)),
        ("source", Text(view.source)),
    )
