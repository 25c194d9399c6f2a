"""Make the README's pictures from the program as it is.

What they show comes from the program's own commands and screen, run on the sample photo and on
the demo's invented studio. Look at each before you commit it.

    .venv/bin/pip install --editable '.[pictures]'
    .venv/bin/python sample_data/pictures.py

A terminal is drawn here cell by cell, so that letters stand apart as they do on a screen.
"""

import asyncio
import os
import subprocess
import sys
import tempfile
from functools import cache
from importlib.resources import files
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont, ImageOps
from rich.cells import cell_len
from rich.color import Color
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from rich.terminal_theme import TerminalTheme
from rich.text import Text

from burnplan.desk.studio.studio import open_studio
from burnplan.workbench.app import Workbench

HERE = Path(__file__).parent
# Whatever terminal this is run in, the pictures are of one that has every colour.
os.environ["COLORTERM"] = "truecolor"
os.environ["TERM"] = "xterm-256color"
PHOTO = HERE / "cat.png"
ESTIMATE = ("estimate", str(PHOTO), "--size", "40x30cm", "--species", "basswood")
COLUMNS = 100  # of the terminal in which commands are shown
JOB = "tomcat"  # of the demo: under way, so there is something on every part of its page

# px: in this size the face's advance is 15 and its line 31.4, made even for half blocks. Pages
# show the pictures at about half their size, so they are sharp on fine screens too.
FONT_PX, CELL, MARGIN, BAR = 25, (15, 32), 30, 56
# Ground and ink of the terminal, then its eight colours.
THEME = TerminalTheme(
    (27, 25, 23), (222, 214, 203),
    [(27, 25, 23), (196, 84, 70), (134, 165, 98), (214, 165, 72),
     (108, 146, 178), (170, 122, 160), (104, 164, 154), (222, 214, 203)],
)  # fmt: skip
RGB = tuple[int, int, int]


@cache
def face(weight: int) -> ImageFont.FreeTypeFont:
    """Return the monospaced face in a weight, 400 being regular and 700 bold."""
    path = files("fontpkg_source_code_pro") / "files" / "SourceCodePro[wght].ttf"
    font = ImageFont.truetype(str(path), FONT_PX)
    font.set_variation_by_axes([weight])
    return font


@cache
def has(character: str) -> bool:
    """Return whether the face has a letter of its own for a character."""
    drawn, missing = (bytes(face(400).getmask(letter)) for letter in (character, "\uffff"))
    return drawn != missing


def mixed(ink: RGB, ground: RGB, share: float) -> RGB:
    """Return a colour between two."""
    red, green, blue = (
        round(share * a + (1 - share) * b) for a, b in zip(ink, ground, strict=True)
    )
    return red, green, blue


def colours(style: Style) -> tuple[RGB, RGB]:
    """Return ink and ground of a style."""

    def rgb(colour: Color | None, *, ink: bool) -> RGB:
        red, green, blue = (colour or Color.default()).get_truecolor(THEME, foreground=ink)
        return red, green, blue

    ink, ground = rgb(style.color, ink=True), rgb(style.bgcolor, ink=False)
    if style.reverse:
        ink, ground = ground, ink
    return (mixed(ink, ground, 0.6) if style.dim else ink), ground


def block(character: str) -> tuple[float, float, float, float] | None:
    """Return the part of its cell that a block element fills: left, top, right, bottom."""
    code = ord(character)
    if character == "▀":
        return 0, 0, 1, 0.5
    if character == "▐":
        return 0.5, 0, 1, 1
    if 0x2581 <= code <= 0x2588:  # lower one eighth to full
        return 0, 1 - (code - 0x2580) / 8, 1, 1
    if 0x2589 <= code <= 0x258F:  # left seven eighths to one
        return 0, 0, (0x2590 - code) / 8, 1
    return None


def terminal(lines: list[list[Segment]], title: str) -> Image.Image:
    """Draw lines of a terminal in a window."""
    wide, high = CELL
    columns = max(sum(segment.cell_length for segment in line) for line in lines)
    size = columns * wide + 2 * MARGIN, len(lines) * high + BAR + MARGIN
    image = Image.new("RGB", size, THEME.background_color)
    draw = ImageDraw.Draw(image)
    for row, line in enumerate(lines):
        column = 0
        for segment in line:
            style = segment.style or Style.null()
            ink, ground = colours(style)
            for character in segment.text:
                x, y = MARGIN + column * wide, BAR + row * high
                room = cell_len(character) * wide
                column += cell_len(character)
                draw.rectangle((x, y, x + room - 1, y + high - 1), ground)
                if part := block(character):
                    left, top, right, bottom = part
                    draw.rectangle(
                        (x + round(left * wide), y + round(top * high),
                         x + round(right * wide) - 1, y + round(bottom * high) - 1),
                        ink,
                    )  # fmt: skip
                elif not character.isspace():
                    if not has(character):
                        raise ValueError(f"The face has no {character!r}: show something else")
                    draw.text((x, y), character, ink, face(700 if style.bold else 400))
    soft = mixed(THEME.foreground_color, THEME.background_color, 0.6)
    draw.text((size[0] / 2, BAR / 2), title, soft, face(400), anchor="mm")
    return image


def burnplan(*words: str, home: Path) -> str:
    """Run a command and return what it shows in a terminal."""
    setting = {
        "BURNPLAN_HOME": str(home),
        "COLUMNS": str(COLUMNS),
        "FORCE_COLOR": "1",
        "COLORTERM": "truecolor",
        "TERM": "xterm-256color",
        "LC_ALL": "en_IE.UTF-8",
    }
    done = subprocess.run(  # noqa: S603  our own program
        [sys.executable, "-m", "burnplan", *words],
        check=True,
        capture_output=True,
        text=True,
        env=os.environ | setting,
    )
    return done.stdout.strip("\n")


def photo_to_trace(home: Path) -> Image.Image:
    """Draw four pictures of one photo side by side, each with what it is."""
    burnplan(*ESTIMATE, "--no-pictures", "--save", str(home / "pictures"), home=home)
    named = {
        "the photo": PHOTO,
        "its value zones": home / "pictures" / "zones.png",
        "the lines to trace": home / "pictures" / "trace.png",
        "what basswood can show": home / "pictures" / "wood.png",
    }
    wide, high, gap, line = 880, 660, 24, 56
    image = Image.new("RGB", (2 * wide + 3 * gap, 2 * (high + line) + gap), THEME.background_color)
    draw = ImageDraw.Draw(image)
    letters = files("font_source_sans_pro") / "files" / "SourceSansPro-Regular.ttf"
    words = ImageFont.truetype(str(letters), 30)
    for n, (name, path) in enumerate(named.items()):
        x, y = gap + n % 2 * (wide + gap), gap + n // 2 * (high + line)
        with Image.open(path) as picture:
            fitted = ImageOps.fit(picture.convert("RGB"), (wide, high), Image.Resampling.LANCZOS)
        image.paste(fitted, (x, y))
        draw.text((x, y + high + line / 2), name, THEME.foreground_color, words, anchor="lm")
    return image


def estimate(home: Path) -> Image.Image:
    """Draw the estimate of the photo, with no jobs on record."""
    shown = Text.from_ansi(burnplan(*ESTIMATE, "--no-pictures", home=home))
    lines = Console(width=COLUMNS).render_lines(shown, pad=False)
    return terminal(lines, " ".join(("burnplan", *ESTIMATE)).replace(str(PHOTO), PHOTO.name))


def workbench(home: Path, *keys: str) -> Image.Image:
    """Draw the workbench of the demo, with the page of a job or after more keys."""
    if not home.exists():
        burnplan("demo", "--keep", str(home), home=home)

    async def lines() -> list[list[Segment]]:
        app = Workbench(open_studio(home))

        async def settle() -> None:
            await pilot.pause()
            while not all(worker.is_finished for worker in app.workers):
                await asyncio.sleep(0.01)
            await pilot.pause()

        async with app.run_test(size=(110, 40)) as pilot:
            await settle()
            for key in ("ctrl+p", *JOB, "enter", *keys):
                await pilot.press(key)
                await settle()
            strips = app.screen._compositor.render_strips()  # noqa: SLF001  as a screenshot does
            return [list(strip) for strip in strips]

    return terminal(asyncio.run(lines()), "burnplan workbench")


def main() -> None:
    """Make them all."""
    with tempfile.TemporaryDirectory() as folder:
        photo = photo_to_trace(Path(folder) / "none")
        photo.save(HERE / "photo-to-trace.jpg", quality=86, optimize=True)
        screens = {
            "estimate": estimate(Path(folder) / "none"),
            "workbench": workbench(Path(folder) / "demo"),
            "burning": workbench(Path(folder) / "demo", "c"),
        }
    for name, image in screens.items():
        image.save(HERE / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main()
