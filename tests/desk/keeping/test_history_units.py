"""Lines of the history have sizes in the studio's units of today; what was typed stays."""

import pytest

from burnplan.desk.jobs import checklists, commissions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio


@pytest.mark.parametrize("way", ["cm first", "inches first"])
def test_lines_from_before_a_change_of_units_are_in_those_of_today(
    studio: Studio, way: str
) -> None:
    units = ["metric", "imperial"] if way == "cm first" else ["imperial", "metric"]
    sizes = {"metric": "30 × 20 cm", "imperial": "11 13/16 × 7 7/8 in"}
    settings.save(studio, settings.parsed(settings.current(studio), "units", units[0]))
    code = commissions.add(studio, Wishes(title="Owl, 8 in", size="30x20cm")).code
    checklists.add(studio, code, "Glue a strip of 5 cm to it", "transfer")
    checklists.tick(studio, code, ["print", "own-1"])
    undo.undo_last(studio)
    undo.redo_last(studio)
    settings.save(studio, settings.parsed(settings.current(studio), "units", units[1]))
    lines = [one.summary for one in undo.happenings(studio) if "Ticked" in one.summary]
    assert len(lines) == 3
    for line in lines:
        assert sizes[units[1]] in line
        assert sizes[units[0]] not in line
        assert "'Owl, 8 in'" in line
        assert "'Glue a strip of 5 cm to it'" in line
