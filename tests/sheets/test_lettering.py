import pytest

from burnplan.sheets.lettering import BOLD, BOX, REGULAR, Typesetter


@pytest.mark.parametrize("text", ["Zoë & Łukasz", "Длинное название", "Ωμέγα ἄνθρωπος", "Trần Ế"])
def test_latin_greek_and_cyrillic_are_in_the_face(text: str) -> None:
    typesetter = Typesetter()
    assert typesetter.runs(text, BOLD) == [(BOLD, text)]
    assert typesetter.notes == ()


@pytest.mark.usefixtures("no_other_fonts")
def test_letters_no_font_has_become_boxes_and_a_note() -> None:
    typesetter = Typesetter()
    runs = typesetter.runs("Rex \U0001f415\U0010ffff שלום")
    assert "".join(text for _, text in runs) == f"Rex {BOX * 2} {BOX * 4}"
    assert len(typesetter.notes) == 1
    assert "\U0001f415" in typesetter.notes[0]
    assert "ש" in typesetter.notes[0]


def test_what_only_steers_display_and_control_characters_leave_no_trace() -> None:
    typesetter = Typesetter()
    assert typesetter.runs("a\u200db\ufe0f\n c\x07\ud800") == [(REGULAR, "ab c")]
    assert typesetter.runs("e\u0301") == [(REGULAR, "é")]
    assert typesetter.runs("") == []
    assert typesetter.notes == ()


def test_lines_fit_their_width_and_lose_nothing() -> None:
    typesetter = Typesetter()
    text = "A long title for a portrait of two dogs at the lake"
    lines = typesetter.lines(text, 40, 12, most=9)
    assert len(lines) > 1
    assert " ".join(lines) == text
    assert all(typesetter.width_mm(line, 12) <= 40 for line in lines)


def test_too_much_text_is_cut_off_visibly() -> None:
    typesetter = Typesetter()
    lines = typesetter.lines("word " * 50, 40, 12, most=2)
    assert len(lines) == 2
    assert lines[-1].endswith("…")
    assert typesetter.width_mm(lines[-1], 12) <= 40
    long_word = typesetter.lines("Donaudampfschiff" * 5, 40, 12)
    assert len(long_word) == 1
    assert typesetter.width_mm(long_word[0], 12) <= 40
    assert long_word[0].endswith("…")


def test_width_is_that_of_the_font() -> None:
    # Source Sans figures are tabular: each 497 thousandths of the size wide (the font's own table).
    assert Typesetter().width_mm("0123456789", 10) == pytest.approx(4.97 * 10 * 25.4 / 72)
