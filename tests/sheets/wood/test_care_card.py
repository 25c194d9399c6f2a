"""Care cards: what a piece asks of whoever has it, on paper that fits."""

from pathlib import Path

import pytest
from pypdf import PageObject, PdfReader

from burnplan.cli.app import run
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import clients, commissions
from burnplan.desk.jobs.clients import ClientDetails
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.units import MM_PER_POINT
from tests.cases import quick_first

# Width and height, mm: ISO 216, and ISO/IEC 7810 ID-1.
FORMS = {"a6": (1, 105.0, 148.0), "business": (2, 85.6, 53.98)}
SAYS = {
    "indoor": ("soft dry cloth", "direct sun"),
    "outdoor": ("renewed as its label says", "pressure washer"),
    "food": ("never on the burned one", "label allows food contact"),
}


def heights(page: PageObject) -> list[float]:
    """How high over the foot of a page each text stands, points."""
    found: list[float] = []

    def see(text: str, moved: list[float], at: list[float], *_font: object) -> None:
        if text.strip():
            found.append(moved[3] * at[5] + moved[5])

    page.extract_text(visitor_text=see)
    return found


@quick_first("form", FORMS)
@pytest.mark.parametrize("use", SAYS)
def test_a_card_fits_its_paper_and_says_what_its_use_asks(
    studio: Studio, tmp_path: Path, form: str, use: str
) -> None:
    settings.save(studio, Settings(name="Hollow Oak", address="Mill Lane 2\nUpton\n01234 5"))
    title = "The two grandmothers with all eleven grandchildren under the chestnut at Whitsun"
    wishes = Wishes(title=title, client="Mara", size="20x30cm", species="cherry", use=use)
    commissions.add(studio, wishes)
    card = tmp_path / "card.pdf"
    assert run(["finish", "card", "C-0001", str(card), "--form", form], studio) == 0
    count, *size = FORMS[form]
    pages = PdfReader(card).pages
    assert len(pages) == count
    for page in pages:
        mm = [float(side) * MM_PER_POINT for side in page.mediabox[2:]]
        assert mm == pytest.approx(size, abs=0.01)
        assert min(heights(page)) * MM_PER_POINT > 2  # nothing runs off the foot
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for words in (*SAYS[use], "Hollow Oak", "01234 5", "black cherry", "Whitsun"):
        assert words in text
    clients.edit(studio, "Mara", ClientDetails(language="de"), None)
    german = tmp_path / "karte.pdf"
    assert run(["finish", "card", "C-0001", str(german), "--form", form], studio) == 0
    assert "So pflegen Sie es" in PdfReader(german).pages[-1].extract_text()
