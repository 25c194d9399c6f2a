"""How a photo is read and laid on the wood, as typed, and what it shows."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import layouts
from burnplan.errors import BadInput
from burnplan.files import make_folder
from burnplan.passes import Detail
from burnplan.show import console
from burnplan.show.jobs import pictures as drawn
from burnplan.tone import analysis, render

PHOTO = typer.Argument(metavar="PHOTO", help="JPEG, PNG, TIFF, WebP, HEIC.")
Zones = Annotated[int | None, typer.Option(help="Number of value zones, 3 to 9 (six if not said).")]
Thresholds = Annotated[
    str | None, typer.Option(help="Lightness L* between zones instead, like 20,40,60,80.")
]
MinArea = Annotated[
    float | None, typer.Option(help="Smallest area a pen can hold, mm² (9 if not said).")
]
Line = Annotated[
    Detail | None, typer.Option(help="How much is drawn of its lines, if not as in the settings.")
]
Subject = Annotated[
    list[str] | None,
    typer.Option(
        help="Rough mark round what is burned: 'ellipse 20,5 80,95' in %; the rest is left bare."
    ),
]
Drop = Annotated[
    list[str] | None, typer.Option(help="Area to leave bare, the background, written alike.")
]
Keep = Annotated[
    list[str] | None, typer.Option(help="Area to burn that would be left bare, written alike.")
]
SaveTo = Annotated[
    Path | None, typer.Option("--save", help="Write the pictures as PNG into this folder.")
]
Pictures = Annotated[
    bool, typer.Option("--pictures/--no-pictures", help="Show them in the terminal.")
]


TakenBy = Annotated[str | None, typer.Option(help="Who took the photo.")]
Allowed = Annotated[str | None, typer.Option(help="How they allowed its use, like 'in a mail'.")]


def parsed_thresholds(text: str | None) -> tuple[float, ...] | None:
    """Return the thresholds typed, if any."""
    if text is None:
        return None
    try:
        return tuple(float(part) for part in text.replace(",", " ").split())
    except ValueError:
        raise BadInput(f"'{text}' is not a list of lightness", "Write it like 20,40,60") from None


def save_pictures(
    pictures: "dict[str, drawn.Picture]", folder: Path, width_mm: float, *, of: str
) -> list[Path]:
    """Write pictures as PNG that print at true size, given the width of the wood."""
    make_folder(folder)
    written = []
    for name, pixels in pictures.items():
        path = folder / f"{name}.png"
        # The trace is drawn finer than the rest: its own scale is what counts.
        render.save_png(pixels, path, pixels.shape[1] / width_mm, title=f"{of} · {name}")
        written.append(path)
    return written


def show_first(reading: "analysis.PhotoAnalysis", own: "studio_settings.Settings") -> None:
    """Show the two pictures that say most."""
    words = drawn.in_words(reading, own.units)
    console.show(drawn.side_by_side(drawn.seen_first(reading), words))


def wanted(
    crop: Annotated[
        str | None, typer.Option(help="Left,top,right,bottom of the part to use, % of the photo.")
    ] = None,
    turn: Annotated[float | None, typer.Option(help="Degrees to turn the photo clockwise.")] = None,
    mirror: Annotated[
        bool | None, typer.Option("--mirror/--no-mirror", help="Left and right changed.")
    ] = None,
    whole: Annotated[
        bool | None, typer.Option("--whole/--fill", help="Show the whole photo, or fill the blank.")
    ] = None,
    scale: Annotated[float | None, typer.Option(help="Size beyond what fits, like 1.2.")] = None,
    shift: Annotated[str | None, typer.Option(help="Move it right,down, like 5mm,-3mm.")] = None,
    margin: Annotated[
        str | None,
        typer.Option(
            help="Bare strip inside the edge: 8mm, 'bark' for as deep as that, left=10mm by side."
        ),
    ] = None,
    focal: Annotated[
        list[str] | None,
        typer.Option(help="Area that counts most: 'ellipse 30,20 60,70' in %, or in mm; 'none'."),
    ] = None,
    subject: Subject = None,
    drop: Drop = None,
    keep: Keep = None,
    black: Annotated[
        float | None, typer.Option(help="Lightness L* taken as the darkest burn.")
    ] = None,
    white: Annotated[float | None, typer.Option(help="Lightness L* taken as bare wood.")] = None,
    midtone: Annotated[
        float | None, typer.Option(help="Above 1 lightens the middle tones, below darkens.")
    ] = None,
    contrast: Annotated[float | None, typer.Option(help="Local contrast, 0 to 100.")] = None,
    levels: Annotated[
        bool | None, typer.Option("--levels/--no-levels", help="Find black and white points.")
    ] = None,
    mask: Annotated[
        Path | None, typer.Option(help="Image of what to keep, white, and drop out, black; 'none'.")
    ] = None,
    line: Line = None,
) -> "layouts.LayoutChange":
    """Return how a photo is to be laid on the wood, of the options that add and plan take."""
    return layouts.LayoutChange(**locals())
