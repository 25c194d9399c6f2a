"""The ladder card: one page that carries the ladder's numbers and its tones."""

from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pypdf
import pytest

from burnplan.desk.wood.ladders import KeyView, LadderView, PatchView
from burnplan.errors import BadInput
from burnplan.sheets.paper import A4, LETTER, Paper
from burnplan.sheets.wood.ladder_card import ladder_card
from burnplan.tone.lightness import lightness
from burnplan.tone.strip import tone_of
from tests.cases import quick_first
from tests.sheets.conftest import MM, Render


def _view(count: int = 5, **more: object) -> LadderView:
    read = np.linspace(78, 26, count)
    settings = [2.0 + number for number in range(count)]
    plain = {
        "code": "L-0003", "species": "basswood", "species_name": "Basswood", "tip": "shader 4 mm",
        "vary": "heat", "scale": "heat, dial", "held": "one stroke", "heat_unit": "dial",
        "bare": 84.0, "photo": None, "note": "", "burned_at": datetime(2027, 3, 18, 1, tzinfo=UTC),
        "burned_on": date(2027, 3, 17),
        "curve": list(zip(settings, read, strict=True)),
        "key": [KeyView(lightness=60, setting=3.37), KeyView(lightness=15, setting=None),
                KeyView(lightness=20, setting=1050.4)],  # °F: no powers of ten
        "patches": [
            PatchView(heat=one, strokes=1, speed=None, setting=one, lightness=light, fitted=light,
                      read="eye")
            for one, light in zip(settings, read, strict=True)
        ],
    }  # fmt: skip
    return LadderView.model_validate({**plain, **more})


@pytest.mark.parametrize("paper", [A4, LETTER])
def test_is_one_page_with_every_setting(tmp_path: Path, paper: Paper) -> None:
    made = ladder_card(tmp_path / "card.pdf", _view(), studio="Oak", paper=paper)
    assert (made.pages, made.notes) == (1, ())
    (page,) = pypdf.PdfReader(made.path).pages
    assert float(page.mediabox.width) == pytest.approx(paper.width_mm * 72 / 25.4, abs=0.01)
    words = page.extract_text()
    for one in ("L-0003", "Basswood, shader 4 mm", "heat, dial", "one stroke", "3.37", "L* 84",
                "not on this ladder", "17 March 2027", "1050"):  # fmt: skip
        assert one in words


def test_the_patches_are_printed_as_light_as_they_are(tmp_path: Path, render: Render) -> None:
    view = _view()
    ladder_card(tmp_path / "card.pdf", view)
    page = render(tmp_path / "card.pdf", 1, colour=True)
    row = page[round((16 + 134 + 11) / MM)]
    for number, patch in enumerate(view.patches):
        at = round((16 + 178 / 5 * (number + 0.5)) / MM)
        found = lightness(row[None, at - 20 : at + 20])
        assert float(found.mean()) == pytest.approx(patch.lightness, abs=1)


@quick_first("count", [1, 2, 40], quick=2)
def test_few_and_many_patches_and_strange_names_fit(tmp_path: Path, count: int) -> None:
    view = _view(count, species_name="W" * 60, tip="x" * 80, note="n" * 900, curve=[])
    assert ladder_card(tmp_path / "card.pdf", view).pages == 1


@pytest.mark.parametrize("wanted", [5, 20, 50, 82, 95])
def test_swatches_have_the_lightness_they_stand_for(wanted: int) -> None:
    rgb = np.array([[tone_of(wanted)]], np.uint8)
    assert float(lightness(rgb)[0, 0]) == pytest.approx(wanted, abs=0.5)


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput):
        ladder_card(tmp_path / "none" / "card.pdf", _view())
