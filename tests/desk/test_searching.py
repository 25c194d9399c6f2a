"""What is found by part of what people call it."""

from burnplan.desk.studio import searching
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.desk.wood.blanks import NewBlank


def test_blanks_are_found_by_the_wood_as_it_is_shown(studio: Studio) -> None:
    code = blanks.add(studio, NewBlank(species="black-walnut", size="30x20cm")).code
    for typed in ("black walnut", "Walnut", "black-walnut", code):
        (found,) = searching.search(studio, typed, 5)
        assert (found.code, found.name) == (code, "Black walnut")
