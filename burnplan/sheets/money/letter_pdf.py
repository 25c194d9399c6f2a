"""Letters to a client on paper.

A plain page: the studio and what the letter is at the head, a ribbon of tones
from burned to bare wood as the only ornament, figures in one column that lines
up at the right edge.
"""

import io
import os
from collections.abc import Callable, Sequence
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageTemplate,
    Table,
    TopPadder,
)

from burnplan.desk.derived.studio_settings import Paper as PaperName
from burnplan.desk.derived.studio_settings import Settings
from burnplan.files import written_whole
from burnplan.sheets.drawing import HAIR, INK, RGB, SOFT, Align, Drawing, options, ribbon
from burnplan.sheets.flowing import (
    LEADING,
    Compositor,
    gap,
    height_mm,
    in_two_columns,
    pad,
    rule,
    table,
)
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM, REGULAR, Typesetter
from burnplan.sheets.money.letter import (
    BLANKS,
    Figures,
    Grid,
    Letter,
    Pictures,
    Prose,
    Signature,
    SmallPrint,
    Spelling,
    Tile,
    Tiles,
    Weight,
)
from burnplan.sheets.paper import A4, LETTER, Box, Paper
from burnplan.sheets.scripts import embedded
from burnplan.sheets.writing import Written
from burnplan.wording import N_

if TYPE_CHECKING:
    from PIL.Image import Image

BURNT: RGB = (134, 66, 32)
_SIDE, _TOP, _FOOT = 24.0, 17.5, 24.0
_LATER_TOP = 34.0  # of the pages after the first
_GUTTER = 9.0
_SMALL, _BODY, _KIND = 8.4, 10.0, 24.0
_TITLES = (19.0, 14.0)  # the second where the first takes three lines or more
_MOST_ADDRESS_LINES = 8
_SPREADS = (1.0, 0.8, 0.6)
_TIGHTEST = 0.45  # where pictures part what is said
_TALLEST = 78.0  # of pictures side by side, mm
_LEAST_TALL = 0.65  # of that, where it saves a page; a guess: a hand is still wide
_LARGE_TILES = 6  # up to so many pieces stand two in a row
# Of a photo on a contact sheet, of its column's width; a guess: an upright photo of 4 to 5 fits
# nearly whole as wide.
_TALL_TILE = 1.15
_MARK = 13.0  # longest side of the studio's mark, mm
_LAST_ROWS = 4  # that stay together: one more than net, tax and total


def letter_paper(settings: Settings) -> Paper:
    """Return the paper for letters: A4, or Letter where the studio's paper is American."""
    american = settings.paper in (PaperName.LETTER, PaperName.TABLOID)
    return LETTER if american else A4


@cache
def can_set(text: str) -> bool:
    """Return whether a text can be printed here as it is."""
    typesetter = Typesetter()
    typesetter.runs(text)
    return not typesetter.notes


def print_spelling(currency: str, locale: str) -> Spelling:
    """Return the spelling of amounts and dates for print."""
    return Spelling(currency, locale, can_set, embedded)


def write_letter(letter: Letter, path: str | os.PathLike[str], paper: Paper) -> Written:
    """Write a letter as a PDF; the same letter gives the same bytes.

    Its gaps are as wide as they can be without taking a page more.
    """
    wide, middling, tight = _SPREADS
    if any(isinstance(one, Pictures | Tiles) for one in letter.sections):
        tight = _TIGHTEST
    layout = _Layout(letter, paper, wide)
    if layout.pages > 1 and (least := _Layout(letter, paper, tight)).pages < layout.pages:
        layout = min(_Layout(letter, paper, middling), least, key=lambda one: one.pages)
    with written_whole(path) as unfinished:
        unfinished.write_bytes(layout.pdf.getvalue())
    return Written(Path(path), layout.pages, (*layout.notes, *layout.set.notes))


class _Layout:
    """A letter laid out on paper; ``spread`` widens or narrows the gaps."""

    def __init__(self, letter: Letter, paper: Paper, spread: float) -> None:
        self.letter, self.paper, self.spread = letter, paper, spread
        self.set = Compositor()
        self.notes: list[str] = []
        self.width = paper.width_mm - 2 * _SIDE
        self.named = " ".join(part for part in (letter.kind, letter.number) if part)
        self.pdf = io.BytesIO()
        document = BaseDocTemplate(
            self.pdf,
            **options(paper.width_mm, paper.height_mm) | {"lang": letter.language},
            title=self.named,
            author=letter.studio,
            subject=letter.title,
            creator="burnplan",
            pageTemplates=[
                self._template("first", _TOP, self._foot),
                self._template("later", _LATER_TOP, self._continued),
            ],
        )
        self.pages = 0
        document.build([*self._story(), self.set.drawn(0, 0, self._number_pages)])

    def _template(
        self, name: str, top: float, furniture: Callable[[Drawing, int], None]
    ) -> PageTemplate:
        sides = (_SIDE, _FOOT, self.width, self.paper.height_mm - top - _FOOT)
        frame = Frame(*(side * POINTS_PER_MM for side in sides), 0, 0, 0, 0)

        def draw(canvas: Canvas, document: BaseDocTemplate) -> None:
            furniture(Drawing(canvas, self.paper.height_mm, self.set), document.page)

        return PageTemplate(name, frame, draw, autoNextPageTemplate="later")

    def _foot(self, drawing: Drawing, page: int) -> None:
        y, right = self.paper.height_mm - 12.0, _SIDE + self.width
        with drawing.kept():
            drawing.canvas.translate(*drawing.at(right, y))
            drawing.canvas.doForm(f"page-{page}")
        named = self.set.shortened(f"{self.named} · {self.letter.studio}", self.width - 28, 7.5)
        drawing.text(_SIDE, y, named, 7.5, colour=SOFT)

    def _number_pages(self, drawing: Drawing) -> None:
        """Draw what the feet of all pages have left room for: only now is their number known."""
        self.pages = drawing.canvas.getPageNumber()
        for page in range(1, self.pages + 1):
            drawing.canvas.beginForm(f"page-{page}", -100, -100, 100, 100)
            said = self.letter.say(N_("Page {page} of {pages}"))
            said = said.format(page=page, pages=self.pages)
            drawing.text(0, 0, said, 7.5, colour=SOFT, align=Align.RIGHT)
            drawing.canvas.endForm()

    def _continued(self, drawing: Drawing, page: int) -> None:
        """Draw the short head of a page after the first, and its foot."""
        said = self.letter.say(N_("{named}, continued")).format(named=self.named)
        drawing.text(_SIDE, 20.0, said, _SMALL, colour=SOFT)
        ribbon(drawing, Box(_SIDE, 23.0, self.width, 1.1))
        self._foot(drawing, page)

    def _gap(self, height: float) -> Flowable:
        return gap(height * self.spread)

    def _story(self) -> list[Flowable]:
        story = self._head()
        for section in self.letter.sections:
            match section:
                case Figures():
                    story += [self._figures(section), self._gap(6)]
                case Prose():
                    story += [*self._prose(section), self._gap(5)]
                case SmallPrint():
                    story += [self._small_print(section), self._gap(5)]
                case Grid():
                    story += [self._grid(section), self._gap(8)]
                case Pictures():
                    story += [*self._pictures(section), self._gap(7)]
                case Tiles():
                    story += self._tiles(section)
                case Signature():
                    story.append(self._signature(section))
        return story

    def _head(self) -> list[Flowable]:
        """Studio and kind of letter, ribbon, whom it is for, facts, what it is about."""
        letter = self.letter
        room = self.width - self.set.width_mm(letter.kind, _KIND) - 12
        studio = self.set.text(letter.studio, 14, BOLD, leading=1.3)
        beside = room - (_MARK + 4.0 if letter.image else 0.0)
        address = self._address(letter.sender.splitlines(), beside, "studio's", _SMALL, SOFT)
        sender: list[Flowable] = [studio, *address]
        if letter.image is not None:
            sender = [table([[self._mark(letter.image), sender]], [room - beside, beside])]
        kind = self.set.text(letter.kind, _KIND, REGULAR, BURNT, Align.RIGHT, 1.0)
        top = table(
            [[sender, kind]],
            [room, self.width - room],
            ("TOPPADDING", (0, 0), (0, 0), _KIND - 14),  # on one line
            ("BOTTOMPADDING", (0, 0), (0, 0), 8.4),
            ("BOTTOMPADDING", (1, 0), (1, 0), 15.7),
        )
        tones = self.set.drawn(self.width, 1.1, lambda d: ribbon(d, Box(0, 0, self.width, 1.1)))
        story = [top, tones, self._gap(9)]
        if letter.number or letter.facts or letter.recipient:
            story += [self._for_and_facts(), self._gap(10)]
        if letter.mark:
            story += [self.set.text(letter.mark, 11, BOLD, BURNT), gap(2.5)]
        titles = [self.set.text(letter.title, points, BOLD, leading=1.22) for points in _TITLES]
        short = height_mm(titles[:1], self.width) * POINTS_PER_MM < 2.5 * _TITLES[0] * 1.22
        detail = self.set.text(letter.detail, _BODY, REGULAR, SOFT)
        return [*story, titles[0] if short else titles[1], gap(1.1), detail, self._gap(7.5)]

    def _mark(self, image: "Image") -> Flowable:
        """Set the studio's mark, as large as its longer side allows."""
        fine = _MARK / max(image.size)
        width, height = (side * fine for side in image.size)
        box = Box(0, 0, width, height)
        return self.set.drawn(width, height, lambda drawing: drawing.image(image, box))

    def _address(
        self, said: Sequence[str], width: float, whose: str, points: float, colour: RGB
    ) -> list[Flowable]:
        """Return an address, no longer than a page has room for."""
        whole = self.set.text("\n".join(said), points, REGULAR, colour)
        room = (_MOST_ADDRESS_LINES + 0.5) * points * LEADING
        if height_mm([whole], width) * POINTS_PER_MM < room:
            return [whole] if said else []
        self.notes.append(f"The {whose} address was cut to {_MOST_ADDRESS_LINES} lines")
        return list(whole.split(width * POINTS_PER_MM, room)[:1])

    def _for_and_facts(self) -> Table:
        letter = self.letter
        number = [(letter.say(N_("Number")), letter.number)] if letter.number else []
        facts = [*number, *letter.facts]
        labels = max(self.set.width_mm(label, _SMALL) for label, _ in facts) + 6
        values = max(self.set.width_mm(value, _BODY) for _, value in facts) + 0.1
        right = min(labels + values, self.width * 0.5)
        small = partial(self.set.text, points=_SMALL, colour=SOFT)
        rows = [[small(label), self.set.text(value, _BODY, leading=1.44)] for label, value in facts]
        on_one_line = ("TOPPADDING", (0, 0), (0, -1), _BODY - _SMALL)
        known = table(rows, [labels, right - labels], on_one_line)
        room = min(self.width - right - 10, 95.0)
        recipient: list[Flowable] = []
        if letter.recipient:
            name, *address = letter.recipient
            recipient = [
                small(letter.say(N_("For")), leading=1.43),
                self.set.text(name, _BODY, BOLD),
                *self._address(address, room, "client's", _BODY, INK),
            ]
        between = self.width - right - room
        return table([[recipient, "", known]], [room, between, right], on_one_line)

    def _heading(self, text: str) -> Flowable:
        return self.set.text(text, 8, BOLD, BURNT, leading=1.62)

    def _figures(self, section: Figures) -> Table:
        """Set rows of figures; a sum is not torn from what it sums up."""
        spread, amounts = self.spread, 0.0
        rows = [[self._heading(section.heading), ""]]
        commands = [("SPAN", (0, 0), (-1, 0))]
        for number, row in enumerate(section.rows, start=1):
            total = row.weight is Weight.TOTAL
            points, weight = (13.0, BOLD) if total else (_BODY + 0.5, REGULAR)
            amounts = max(amounts, self.set.width_mm(row.amount, points, weight) + 0.1)
            label = self.set.text(row.label, points, weight)
            rows.append([label, self.set.text(row.amount, points, weight, align=Align.RIGHT)])
            summed = row.weight is Weight.SUM and number > 1
            above, below = 2.6 + 2.8 * spread, 9.2 * spread - 5.5
            line = rule("LINEABOVE", (0, number), (-1, number), INK, 0.35)
            if not total:
                above, below = 0.3 + 2 * spread, 0.2 + 1.4 * spread
                line = rule("LINEABOVE", (0, number), (-1, number), SOFT if summed else HAIR, 0.18)
            commands += [line, *pad(number, above, below)]
        set_rows = table(
            rows,
            [self.width - amounts, amounts],
            ("RIGHTPADDING", (0, 0), (0, -1), 8 * POINTS_PER_MM),
            ("VALIGN", (1, 0), (1, -1), "BOTTOM"),
            *commands,
        )
        short = height_mm([set_rows], self.width) < self.paper.height_mm / 2 - _FOOT
        ends = ((0, -1),) if short else ((0, 2), (-_LAST_ROWS, -1))
        set_rows.setStyle([("NOSPLIT", (0, first), (-1, last)) for first, last in ends])
        return set_rows

    def _prose(self, section: Prose) -> list[Flowable]:
        indent = max(0.0, self.width - 140) * POINTS_PER_MM
        text = self.set.text(section.text, _BODY, rightIndent=indent)
        if not section.heading:
            return [text]
        heading = self._heading(section.heading)
        return [CondPageBreak(heading.style.leading + 2 * text.style.leading), heading, text]

    def _pictures(self, section: Pictures) -> list[Flowable]:
        """Set pictures side by side on one ground line, in true relation, each with its name."""
        shown, gutter = section.shown, 6.0
        named = len(shown) > 1 and any(one.caption for one in shown)
        names = 9.0 if named else 0.0
        across = sum(one.mm[0] for one in shown)
        free = self.width - gutter * (len(shown) - 1)
        tallest = max(one.mm[1] for one in shown)
        fine = min(free / across, _TALLEST * max(self.spread, _LEAST_TALL) / tallest)
        spare = (self.width - fine * across) / max(1, len(shown) - 1)
        between = min(spare, 2 * gutter) if len(shown) > 1 else 0.0

        def draw(drawing: Drawing) -> None:
            x = 0.0 if len(shown) > 1 else (self.width - fine * across) / 2
            for one in shown:
                width, height = (side * fine for side in one.mm)
                box = Box(x, tallest * fine - height, width, height)
                if one.image is None:
                    drawing.stroke(HAIR, 0.25)
                    drawing.box(box)
                else:
                    drawing.image(one.image, box)
                room = width + between if one is not shown[-1] else max(width, 24.0)
                said = one.caption if named else ""
                lines = self.set.lines(said, room - 1.0, _SMALL, most=2)
                for number, line in enumerate(lines):
                    y = tallest * fine + 4.2 + 3.6 * number
                    drawing.text(x, y, line, _SMALL, colour=SOFT)
                x += width + between

        picture = self.set.drawn(self.width, tallest * fine + names, draw)
        head = [self._heading(section.heading), gap(1.5)] if section.heading else []
        parts = [*head, picture]
        if not named and shown[0].caption:
            caption = self.set.text(shown[0].caption, _SMALL, REGULAR, SOFT, Align.MIDDLE)
            parts += [gap(2), caption]
        return [KeepTogether(parts)]

    def _tiles(self, section: Tiles) -> list[Flowable]:
        """Set pieces in rows of one ground line, as large as their number allows."""
        shown, gutter = section.shown, 8.0
        across = 1 if len(shown) == 1 else 2 if len(shown) <= _LARGE_TILES else 3
        column = (self.width - gutter * (across - 1)) / across
        widths = [column, *[gutter, column] * (across - 1)]
        found: list[Flowable] = []
        for at in range(0, len(shown), across):
            row = shown[at : at + across]
            tallest = max(self._tile_height(one, column) for one in row)
            tiles = [self._tile(one, column, tallest) for one in row]
            cells = [part for tile in tiles for part in (tile, "")][:-1]
            cells += [""] * (len(widths) - len(cells))
            found += [
                table([cells], widths, ("NOSPLIT", (0, 0), (-1, -1))),
                gap(7),
            ]
        return found

    def _tile(self, one: Tile, column: float, tallest: float) -> list[Flowable]:
        """Set the photos of a piece, its name and what is said of it."""
        large, *also = one.images
        height = self._tile_height(one, column)
        width = height * large.width / large.height

        def draw(drawing: Drawing) -> None:
            drawing.image(large, Box(0, tallest - height, width, height))

        parts: list[Flowable] = [self.set.drawn(column, tallest, draw), gap(1.6)]
        parts.append(self.set.text(one.name, _BODY, BOLD, leading=1.25))
        parts += [self.set.text(line, _SMALL, REGULAR, SOFT) for line in one.lines]
        return [*parts, *([gap(1.6), self._also(also, column)] if also else [])]

    def _also(self, images: "Sequence[Image]", column: float) -> Flowable:
        """Set further photos of a piece, small and side by side."""
        side = min(18.0, (column - 2.0) / len(images))

        def draw(drawing: Drawing) -> None:
            for number, image in enumerate(images):
                fine = side / max(image.size)
                width, height = (length * fine for length in image.size)
                drawing.image(image, Box(number * (side + 2.0), 0, width, height))

        return self.set.drawn(column, side, draw)

    def _tile_height(self, one: Tile, column: float) -> float:
        """Return how tall the large photo of a tile is: no taller than its column by much."""
        large = one.images[0]
        tallest = column * _TALL_TILE * max(self.spread, _LEAST_TALL)
        return min(column * large.height / large.width, tallest)

    def _small_print(self, section: SmallPrint) -> Table:
        """Terms in two columns of about one height; none is torn apart."""
        parts = [
            [self.set.text(name, _SMALL, BOLD), self.set.text(said, _SMALL, spaceAfter=5)]
            for name, said in section.items
        ]
        terms = in_two_columns(parts, self.width, _GUTTER)
        whole = [[self._heading(section.heading)], [terms]]
        return table(whole, [self.width], ("NOSPLIT", (0, 0), (-1, -1)), *pad(0, 0, 2))

    def _signature(self, section: Signature) -> Flowable:
        """Set what is to be signed at the foot of the page."""
        column = (self.width - _GUTTER) / 2
        blanks = [self.set.text(self.letter.say(one), 7.5, REGULAR, SOFT) for one in BLANKS]
        sentence = self.set.text(section.sentence, _BODY)
        signed = table(
            [[sentence, "", ""], [blanks[0], "", blanks[1]]],
            [column, _GUTTER, column],
            ("SPAN", (0, 0), (-1, 0)),
            ("NOSPLIT", (0, 0), (-1, -1)),
            rule("LINEABOVE", (0, 0), (-1, 0), HAIR, 0.18),
            *(rule("LINEABOVE", (at, 1), (at, 1), SOFT, 0.25) for at in (0, 2)),
            *pad(0, 10, 44 * self.spread),
            *pad(1, 2.7, 0),
        )
        return TopPadder(signed)

    def _grid(self, section: Grid) -> Table:
        """Set a table of amounts; its head comes again on every page."""
        names = max(self.set.width_mm(name, _BODY, BOLD) for name, _ in section.rows)
        first = min(max(names, 24.0), self.width * 0.32) + 4
        column = (self.width - first) / len(section.heads)
        # The size of type at which the widest amount fits; no amount is ever cut.
        said = [*section.heads, *(amount for _, amounts in section.rows for amount in amounts)]
        widest = max(self.set.width_mm(text, _BODY, BOLD) for text in said)
        points = min(_BODY, _BODY * (column - 3) / widest)
        heads = [self.set.text(head, points, BOLD, align=Align.RIGHT) for head in section.heads]
        figure = partial(self.set.text, points=points, align=Align.RIGHT)
        rows = [
            [self.set.text(name, _BODY, BOLD), *map(figure, amounts)]
            for name, amounts in section.rows
        ]
        grid = table(
            [[self.set.text(section.corner, _SMALL, REGULAR, SOFT), *heads], *rows],
            [first, *[column] * len(heads)],
            ("RIGHTPADDING", (0, 0), (0, -1), 4 * POINTS_PER_MM),
            ("TOPPADDING", (0, 1), (0, -1), 4.2),
            ("TOPPADDING", (1, 1), (-1, -1), 4.2 + _BODY - points),  # on one line
            ("BOTTOMPADDING", (0, 1), (-1, -1), 3.2),
            rule("LINEBELOW", (0, 1), (-1, -1), HAIR, 0.18),
            *pad(0, 0, 3),
            rule("LINEBELOW", (0, 0), (-1, 0), INK, 0.35),
            heads=1,
        )
        if height_mm([grid], self.width) < self.paper.height_mm / 2 - _FOOT:
            grid.setStyle([("NOSPLIT", (0, 0), (-1, -1))])  # one look takes it in
        return grid
