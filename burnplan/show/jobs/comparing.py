"""Photos compared, on the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.comparing import ComparisonView
from burnplan.outline import Outline, OutlineKind
from burnplan.show.console import table
from burnplan.units import MM_PER_INCH, UnitSystem, format_size


def comparison(view: ComparisonView, settings: Settings) -> RenderableType:
    """Return photos from the best to the least with reasons, and what to ask the client."""
    own = settings.wording.own
    rows = table(">rank", "photo", ">worth", ">pixels", ">soft", ">values", "up to", "+why")
    for one in view.photos:
        rows.add_row(
            str(one.rank),
            Text(one.photo),
            f"{one.score:.0%}".replace("%", " %"),
            _density(one.px_per_mm, settings.units),
            _fine(one.blur_mm, settings.units),
            f"{one.values:.0f}",
            _whole(one.largest_mm, settings.units),
            Text(own("; ".join(one.reasons))),
        )
    return Group(
        rows,
        Text(
            "worth: our own guess of what each fault costs. See for yourself that"
            " head, ears and chin are whole",
            "soft",
        ),
        Text(),
        Text("To send to the client:", "title"),
        Text(own(view.ask)),
    )


def _density(px_per_mm: float, units: UnitSystem) -> str:
    if units is UnitSystem.IMPERIAL:
        return f"{px_per_mm * MM_PER_INCH:.0f} px/in"
    return f"{px_per_mm:.1f} px/mm"


def _fine(mm: float, units: UnitSystem) -> str:
    """Show a length that is finer than a fraction of an inch tells."""
    if units is UnitSystem.IMPERIAL:
        return f"{mm / MM_PER_INCH:.3f} in"
    return f"{mm:.2f} mm"


def _whole(size_mm: tuple[float, float], units: UnitSystem) -> str:
    """Show a size to whole inches or centimetres, downwards: more would be said than is known."""
    step = MM_PER_INCH if units is UnitSystem.IMPERIAL else 10.0
    wide, high = (min(5000.0, max(1, side // step) * step) for side in size_mm)
    return format_size(Outline(OutlineKind.RECTANGLE, wide, high), units)
