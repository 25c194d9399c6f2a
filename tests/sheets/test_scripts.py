"""Scripts that are written from the right, or whose letters join.

They need a font of the machine: those of Debian's fonts-noto-core, fonts-dejavu-core or
fonts-lohit-deva will do, and where there is none a test says so and is left out.
"""

import io
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import pytest
import uharfbuzz
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from burnplan.sheets import scripts
from burnplan.sheets.flowing import Compositor, LaidOut, height_mm
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM, REGULAR, Typesetter, plain
from burnplan.sheets.money.letter_pdf import print_spelling

HEBREW, ARABIC, HINDI = "שלום רחל", "مُحَمَّد الأحمد", "श्रीमती क्षत्रिय"


def typesetter_for(text: str) -> Typesetter:
    typesetter = Typesetter()
    typesetter.runs(text)
    if typesetter.notes:
        pytest.skip(f"No font of this machine has the letters of '{text}'")
    return Typesetter()


# In the examples of the standard capitals stand for letters that are read from the right.
def _in_capitals(text: str) -> str:
    return "".join(
        chr(ord(letter) - ord("א") + ord("A")) if "א" <= letter <= "ת" else letter
        for letter in text
    )


def _from_capitals(text: str) -> str:
    return "".join(
        chr(ord(letter) - ord("A") + ord("א")) if "A" <= letter <= "Z" else letter
        for letter in text
    )


@pytest.mark.parametrize(
    ("read", "shown"),
    [
        # UAX #9, section 3.4, rule L2, the first two examples (from memory).
        ("car means CAR.", "car means RAC."),
        ("CAR MEANS car.", ".car SNAEM RAC"),
        # Figures keep their order, and go with the letters before them (N1); brackets turn (L4).
        ("ABC 12.50 DEF", "FED 12.50 CBA"),
        ("ABC (DEF) GHI", "IHG (FED) CBA"),
        ("for ABC, 12 road", "for 12 ,CBA road"),
    ],
)
def test_letters_stand_in_the_order_of_the_standard(read: str, shown: str) -> None:
    typesetter = typesetter_for("אבגדהוזחטיכלמנסעפצקרש")
    runs = typesetter.runs(_from_capitals(read))
    assert _in_capitals("".join(text for _, text in runs)) == shown


@pytest.mark.parametrize("text", ["قطة", "محمد", "الأحمد", "क्षत्रिय", "श्रीमती", "বাংলা", "ความ"])
def test_shapes_are_those_of_the_font(text: str) -> None:
    """Held against HarfBuzz itself, on the file of the font that was chosen."""
    [(font_name, _)] = typesetter_for(text).runs(text)
    face = pdfmetrics.getFont(font_name).face
    blob = uharfbuzz.Blob.from_file_path(face.filename)
    font = uharfbuzz.Font(uharfbuzz.Face(blob))
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer, {"kern": True, "liga": True, "dlig": True})
    advance = sum(place.x_advance for place in buffer.glyph_positions) / font.face.upem
    assert Typesetter().width_mm(text, 100) * POINTS_PER_MM == pytest.approx(100 * advance, abs=0.3)
    [(_, shaped)] = Typesetter().runs(text)
    drawn = [face.charToGlyph[ord(letter)] for letter in shaped]
    assert drawn == [one.codepoint for one in buffer.glyph_infos]


def test_joiners_keep_letters_apart() -> None:
    typesetter = typesetter_for("می‌خواهم")
    apart, joined = (typesetter.width_mm(text, 20) for text in ("می\u200cخواهم", "میخواهم"))
    assert apart > joined


def test_figures_of_a_script_read_from_the_left() -> None:
    typesetter = typesetter_for("١٢٣ د")
    runs = typesetter.runs("١٢٣ د")
    assert "١٢٣" in [text for _, text in runs]


def test_text_without_such_letters_is_set_as_before() -> None:
    assert not scripts.needs_layout("Zoë & Łukasz, 漢字 12 €")
    assert Typesetter().runs("a \u200f b".replace("\u200f", "")) == [(REGULAR, "a b")]


@pytest.mark.parametrize("text", [HEBREW, ARABIC, HINDI])
@pytest.mark.parametrize("weight", [REGULAR, BOLD])
def test_a_paragraph_fits_and_loses_nothing(text: str, weight: str) -> None:
    typesetter_for(text)
    compositor = Compositor()
    long = " ".join([text] * 12)
    paragraph = compositor.text(long, 10, weight)
    assert isinstance(paragraph, LaidOut)
    lines = compositor.lines(long, 50, 10, weight, most=None)
    assert " ".join(line.lstrip("\u200e\u200f") for line in lines) == plain(long)
    assert all(compositor.width_mm(line, 10, weight) <= 50 for line in lines)
    assert height_mm([paragraph], 50) == pytest.approx(len(lines) * 13.6 / POINTS_PER_MM)
    first, second = paragraph.split(50 * POINTS_PER_MM, 3.5 * 13.6)
    assert height_mm([first], 50) + height_mm([second], 50) == pytest.approx(
        height_mm([paragraph], 50)
    )


def test_lines_of_a_paragraph_have_one_direction() -> None:
    typesetter = typesetter_for(HEBREW)
    lines = typesetter.lines(f"{HEBREW} 2014 (2026)", 22, 10, most=None)
    assert len(lines) > 1
    assert all(scripts.reads_from_the_right(line) for line in lines)


def test_a_word_wider_than_its_room_is_broken_not_lost() -> None:
    typesetter = typesetter_for(HEBREW)
    lines = typesetter.lines("שלום" * 20, 20, 10, most=None)
    assert "".join(line.lstrip("\u200f") for line in lines) == "שלום" * 20
    assert all(typesetter.width_mm(line, 10) <= 20 for line in lines)


def test_it_is_drawn() -> None:
    """Each letter leaves ink: the page has fewer bytes without the text."""

    def size(texts: Sequence[str]) -> int:
        file = io.BytesIO()
        canvas = Canvas(file, (400, 400), invariant=1, pageCompression=0)
        for text in texts:
            paragraph = Compositor().text(text, 10)
            paragraph.wrapOn(canvas, 300, 300)
            paragraph.drawOn(canvas, 10, 100)
        canvas.save()
        return len(file.getvalue())

    typesetter_for(HEBREW)
    assert size([HEBREW]) > size([]) + 1000


def test_a_letter_says_amounts_and_days_in_their_own_direction() -> None:
    """What reads from the right keeps its order inside an English sentence."""
    typesetter_for("١٢٣ د.ك. مارس")
    arabic = print_spelling("KWD", "ar_KW")
    amount, day = arabic.money(Decimal("1234.5")), arabic.day(date(2027, 3, 17))
    said = "".join(text for _, text in Typesetter().runs(f"Pay {amount} by {day}, please"))
    alone = "".join(text for _, text in Typesetter().runs(amount))
    assert alone in said
    assert said.startswith("Pay ")
    assert said.endswith(", please")
