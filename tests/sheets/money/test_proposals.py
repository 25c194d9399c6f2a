"""Proposals: sizes side by side, what is kept of them, and the page that a client reads."""

import re
from datetime import date
from decimal import Decimal
from pathlib import Path
from string import Formatter

import cv2
import html5lib
import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import clients, commissions, holding, references
from burnplan.desk.jobs.clients import ClientDetails
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, proposals, quotes, what_ifs
from burnplan.desk.money.quotes import QuoteRequest
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import promises
from burnplan.desk.wood import blanks, faces, outlines
from burnplan.desk.wood.outlines import ByPhoto
from burnplan.errors import BadInput, NotAllowed
from burnplan.money import format_money
from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.money import proposal_files, wood_pictures
from burnplan.sheets.money.letter import Spelling
from burnplan.sheets.money.proposal_html import MOST_BYTES
from burnplan.sheets.reader import SOURCE_LANGUAGE, Reader, languages
from burnplan.shipped import shipped
from burnplan.units import UnitSystem
from tests.cases import quick_first
from tests.conftest import FixedClock
from tests.sheets import words
from tests.tone.scenes import scene

SIZES = ["6x8cm", "12x15cm"]


@pytest.fixture
def job(studio: Studio, photo: Path) -> str:
    settings.save(studio, Settings(name="Hollow Oak Studio", address="Mill Lane 2\nUpton"))
    wishes = Wishes(title="Two cats", client="Mara", size="9x11cm", species="basswood")
    code = commissions.add(studio, wishes).code
    references.add(studio, code, photo)
    return code


def written(studio: Studio, code: str, into: Path) -> tuple[str, str]:
    """The page of the newest proposal, and the text of its PDF."""
    view = proposals.show(studio, code)
    into.mkdir(exist_ok=True)
    page, pdf = proposal_files.write(studio, view, settings.current(studio), into)
    text = "\n".join(one.extract_text() for one in PdfReader(pdf.path).pages)
    return page.path.read_text(encoding="utf-8"), text


def said(page: str) -> str:
    """What a page shows, as one line; it must be valid."""
    document = html5lib.HTMLParser(strict=True).parse(page)
    body = document.find("{http://www.w3.org/1999/xhtml}body")
    return " ".join(" ".join(body.itertext()).split())


@pytest.mark.long
def test_prices_and_dates_are_those_of_draft_whatif_and_promise(studio: Studio, job: str) -> None:
    drafted = quotes.draft(studio, job, QuoteRequest())
    variants = what_ifs.compare(studio, job, sizes=SIZES, zones=[], species=[])
    promised = promises.look_ahead(studio, job, confidence=0.95).offer
    view = proposals.issue(studio, job, QuoteRequest(), sizes=SIZES, certainty=0.95)
    assert [one.letter for one in view.choices] == ["A", "B", "C"]
    assert [one.own for one in view.choices] == [False, True, False]
    assert view.choices[1].total == drafted.total == variants[0].price
    assert [view.choices[0].total, view.choices[2].total] == [one.price for one in variants[1:]]
    assert promised is not None
    assert view.choices[1].ready_on == promised.sparing.ready
    days = [one.ready_on for one in view.choices if one.ready_on]
    assert days == sorted(days)
    assert len(days) == 3
    assert proposals.show(studio, job) == view
    for one in view.choices:
        assert sum(line.amount for line in one.lines) == one.total


@quick_first(("meant", "version", "size"), [
    ("c", 2, (120, 150)), ("12 x 15 cm", 2, (120, 150)), ("B", 1, (90, 110)),
    (None, 1, (90, 110)), ("9x11", 1, (90, 110)),
], quick=3)  # fmt: skip
def test_a_yes_to_one_size_holds_its_figures(
    studio: Studio, job: str, clock: FixedClock, meant: str | None, version: int,
    size: tuple[float, float],
) -> None:  # fmt: skip
    wanted = QuoteRequest(instalments=["30% transferred"], packing="12")
    view = proposals.issue(studio, job, wanted, sizes=SIZES)
    own = settings.current(studio)
    settings.save(studio, own.model_copy(update={"hourly_target": Decimal(90)}))
    clock.forward(days=20)
    taken = accepting.accept(studio, job, size=meant)
    shown = view.choices[2 if version == 2 else 1]
    assert (taken.version, taken.total, taken.deposit) == (version, shown.total, shown.deposit)
    assert (taken.lines, taken.instalments) == (shown.lines, shown.instalments)
    assert (taken.issued_on, taken.valid_until) == (view.quote.issued_on, view.quote.valid_until)
    piece = commissions.show(studio, job)
    assert piece.size_mm == size
    assert piece.accepted_on == studio.today()
    assert references.show(studio, job).size_mm == size  # its plan is of the size that was chosen
    assert not quotes.show(studio, job).outdated
    undo.undo_last(studio)
    assert quotes.show(studio, job).state == "open"
    assert commissions.show(studio, job).size_mm == (90, 110)


def test_what_cannot_be_accepted(studio: Studio, job: str, clock: FixedClock) -> None:
    proposals.issue(studio, job, QuoteRequest(), sizes=SIZES, valid_days=10)
    for typed in ("6x15cm", "9x8cm", "30x40cm"):
        with pytest.raises(BadInput, match=f"'{typed}' was not put to the client") as refused:
            accepting.accept(studio, job, size=typed)
    assert "A (6 × 8 cm), B (9 × 11 cm), C (12 × 15 cm)" in str(refused.value.sentence)
    board = blanks.add(studio, blanks.NewBlank(species="basswood", size="9x11cm")).code
    holding.hold(studio, board, job)
    with pytest.raises(NotAllowed, match="has a blank of another size"):
        accepting.accept(studio, job, size="A")
    clock.forward(days=11)
    with pytest.raises(NotAllowed, match="expired"):
        accepting.accept(studio, job, size="B")


def test_sizes_that_cannot_be(studio: Studio, job: str) -> None:
    with pytest.raises(BadInput, match="there twice"):
        proposals.issue(studio, job, QuoteRequest(), sizes=["9x11cm"])
    with pytest.raises(BadInput, match="too many"):
        proposals.issue(studio, job, QuoteRequest(), sizes=["1x1cm", "2x2cm", "3x3cm"])
    assert commissions.show(studio, job).quoted is None


@pytest.mark.long
def test_another_size_has_the_shape_of_the_piece(studio: Studio, photo: Path) -> None:
    code = commissions.add(studio, Wishes(title="Fox", size="oval 8x10cm")).code
    references.add(studio, code, photo)
    view = proposals.issue(studio, code, QuoteRequest(), sizes=["9x11cm", "rectangle 12x15cm"])
    kinds = [one.outline.kind for one in view.choices]
    assert kinds == [OutlineKind.OVAL, OutlineKind.OVAL, OutlineKind.RECTANGLE]
    accepting.accept(studio, code, size="B")
    assert commissions.show(studio, code).outline is OutlineKind.OVAL


def test_without_a_photo_judged_hours_grow_with_the_size(studio: Studio, tmp_path: Path) -> None:
    code = commissions.add(studio, Wishes(title="Two cranes", size="8x12cm")).code
    with pytest.raises(BadInput, match="no reference"):
        proposals.issue(studio, code, QuoteRequest())
    view = proposals.issue(studio, code, QuoteRequest(hours=12), sizes=["10x15cm"])
    assert view.choices[0].total == quotes.draft(studio, code, QuoteRequest(hours=12)).total
    assert view.choices[1].total > view.choices[0].total
    page, _ = written(studio, code, tmp_path)
    assert "Your photo is still to come" in said(page)
    assert 'alt="The bare board of wood, 8' in page


INTERNAL = ("hour", "labour", "workshop cost", "overhead", "margin", "consumable")


def test_the_page_says_all_that_a_client_asks_and_nothing_internal(
    studio: Studio, job: str, tmp_path: Path
) -> None:
    wanted = QuoteRequest(packing="12", instalments=["30% burned"], note="PRIVATE")
    view = proposals.issue(studio, job, wanted, sizes=SIZES)
    page, pdf = written(studio, job, tmp_path)
    for text in (said(page), " ".join(pdf.split())):
        plain = text.replace("\N{NO-BREAK SPACE}", " ")
        for one in view.choices:
            for amount in (one.total, one.deposit, one.instalments[0].amount):
                assert format_money(amount, "EUR", "en_GB") in plain
        assert "PRIVATE" not in plain
        assert not [word for word in INTERNAL if word in plain.lower()]
        for wanted_words in ("Two cats", "Mara", "Hollow Oak Studio", "How to say yes", "Deposit"):
            assert wanted_words in plain
    assert len(page.encode()) < MOST_BYTES
    assert not re.search(r"<script|https?:|url\(|@import|javascript:", page)
    assert page.count("<img") == page.count(' alt="') == 4
    # In true relation: what the style makes widths of are millimetres.
    assert re.findall(r"--w:([\d.]+)", page) == ["60.0", "90.0", "120.0", "210.0"]


HOSTILE = "<script>alert(1)</script> {{ 7*7 }} {% raw %} \"x\" 'y' & </title>"


@pytest.mark.long
def test_what_was_typed_stays_text(studio: Studio, photo: Path, tmp_path: Path) -> None:
    settings.save(studio, Settings(name=f"S {HOSTILE}", address=HOSTILE, pay_to=HOSTILE))
    wishes = Wishes(title=HOSTILE, client=f"C {HOSTILE}", size="8x6cm")
    code = commissions.add(studio, wishes).code
    references.add(studio, code, photo)
    wanted = QuoteRequest(discount="5", discount_reason=HOSTILE[:90])
    proposals.issue(studio, code, wanted)
    page, _ = written(studio, code, tmp_path)
    assert said(page).count(HOSTILE) >= 4
    assert "49" not in said(page).replace("0.49", "")
    assert not re.search(r"<script|onerror=", page)


@pytest.mark.long
def test_in_the_language_of_the_client(studio: Studio, job: str, tmp_path: Path) -> None:
    clients.edit(studio, "Mara", ClientDetails(language="de-AT"), None)
    view = proposals.issue(studio, job, QuoteRequest(), sizes=["12.5x16.5cm"])
    page, pdf = written(studio, job, tmp_path)
    text = said(page).replace("\N{NO-BREAK SPACE}", " ")
    assert '<html lang="de" dir="ltr">' in page
    assert "12,5 × 16,5 cm" in text
    assert "Preise und Termine" in text
    assert format_money(view.choices[0].total, "EUR", "de_AT").replace("\xa0", " ") in text
    assert "So sagen Sie zu" in pdf
    assert not re.search(r"\b(the|and|with|for)\b", text)
    clients.edit(studio, "Mara", ClientDetails(language=""), None)
    assert '<html lang="en"' in written(studio, job, tmp_path / "en")[0]
    assert Reader("he", Spelling("ILS", "he_IL"), UnitSystem.METRIC).direction == "rtl"


@pytest.mark.long
@pytest.mark.parametrize("language", [one for one in languages() if one != SOURCE_LANGUAGE])
def test_a_catalogue_has_all_words_with_their_fields(language: str) -> None:
    catalogue = words.read(shipped(f"words/languages/{language}.po"), language)
    for message in words.said():
        if not message.id:
            continue
        found = catalogue.get(message.id)
        assert found is not None, f"python -m tests.sheets.words: {message.id!r} is missing"
        said_in = (message.id,) if isinstance(message.id, str) else message.id
        strings = (found.string,) if isinstance(found.string, str) else found.string or ()
        assert len(strings) >= len(said_in), message.id
        for one, other in zip(said_in, strings, strict=False):
            assert other, message.id
            assert fields(one) == fields(other), message.id
    assert not {one.id for one in catalogue if one.id} - {one.id for one in words.said()}


def fields(text: str) -> set[str]:
    braces = {name for _, name, _, _ in Formatter().parse(text) if name}
    return braces | set(re.findall(r"%\((\w+)\)s", text))


def test_a_live_edge_is_told_as_about_that_large_and_days_as_the_words_about_them() -> None:
    slab = Outline(OutlineKind.LIVE_EDGE, 318.5, 343.3, ((0, 0), (318.5, 0), (300, 343.3)))
    here = Reader("en", Spelling("EUR", "en_GB"), UnitSystem.METRIC)
    assert here.size(slab).replace("\xa0", " ") == "live edge, about 32 × 34.5 cm"
    inches = Reader("en", Spelling("USD", "en_US"), UnitSystem.IMPERIAL)
    assert inches.size(slab).replace("\xa0", " ") == "live edge, about 12 1/2 × 13 1/2 in"
    # English words, for want of Japanese ones: CLDR 44's long date of en_001 among them.
    there = Reader("en", Spelling("JPY", "ja_JP"), UnitSystem.METRIC)
    assert there.day(date(2027, 3, 17)) == "17 March 2027"
    assert Reader("de", Spelling("EUR", "de_AT"), UnitSystem.METRIC).day(date(2027, 3, 17)) == (
        "17. März 2027"
    )


@pytest.mark.whole
def test_it_is_burned_into_the_photo_of_its_own_board(
    studio: Studio, photo: Path, tmp_path: Path
) -> None:
    """What the page shows in its own size is what the wood's own face gives; others are not."""
    seen = scene(255, photo=(1200, 900), kind="live-edge", wood="cherry", bench="light")
    slab = tmp_path / "slab.jpg"
    cv2.imwrite(str(slab), seen.rgb[..., ::-1])
    board = blanks.add(studio, blanks.NewBlank(species="cherry", size="live-edge 33x33cm")).code
    outlines.find(studio, board, slab, ByPhoto(sheet="a5"))
    code = commissions.add(studio, Wishes(title="Fox")).code
    holding.hold(studio, board, code)
    view = proposals.issue(studio, code, QuoteRequest(hours=9), sizes=["rectangle 20x15cm"])
    bare = wood_pictures.of_proposal(studio, view)
    own = [one.own for one in view.choices].index(True)
    grain = [float(np.asarray(one.convert("L"))[one.height // 2].std()) for one in bare.sizes]
    assert bare.on_own_wood
    assert grain[1 - own] == 0 < grain[own]  # the other size is of no board yet
    references.add(studio, code, photo)
    view = proposals.issue(studio, code, QuoteRequest(), sizes=["rectangle 20x15cm"])
    page, _ = written(studio, code, tmp_path / "out")
    assert "the very board" in said(page)
    burned = wood_pictures.of_proposal(studio, view)
    found = proposals.placed_on(studio, code, [(view.choices[own].outline, 700)])
    assert found is not None
    placed = found[0]
    true = faces.burned_on_own_wood(studio, code, placed)
    assert true is not None
    shown = burned.large.convert("RGB").resize(true.shape[1::-1], Image.Resampling.LANCZOS)
    inside = placed.inside & (np.asarray(burned.large.resize(shown.size))[..., 3] == 255)
    assert np.abs(np.asarray(shown, float) - true)[inside].mean() < 6


def test_a_price_in_mind_is_of_one_size(studio: Studio, job: str) -> None:
    with pytest.raises(BadInput, match="one size"):
        proposals.issue(studio, job, QuoteRequest(price="400"), sizes=SIZES)
    alone = proposals.issue(studio, job, QuoteRequest(price="400"))
    assert [one.total for one in alone.choices] == [400]


@pytest.mark.long
def test_written_anew_a_proposal_is_of_the_wood_that_was_priced(
    studio: Studio, job: str, tmp_path: Path
) -> None:
    view = proposals.issue(studio, job, QuoteRequest())
    before, _ = written(studio, job, tmp_path / "before")
    large = wood_pictures.of_proposal(studio, view).large
    commissions.edit(studio, job, Wishes(species="cherry"))
    assert proposals.show(studio, job).quote.outdated
    page, _ = written(studio, job, tmp_path / "after")
    assert "cherry" not in page.lower()
    assert said(page) == said(before)
    again = wood_pictures.of_proposal(studio, proposals.show(studio, job)).large
    ground = np.asarray(large.convert("RGB"), float) - np.asarray(again.convert("RGB"), float)
    assert np.abs(ground).mean() < 2  # the wood is as light as it was


def test_days_are_kept_as_they_were_said(studio: Studio, job: str, clock: FixedClock) -> None:
    view = proposals.issue(studio, job, QuoteRequest(), sizes=SIZES)
    clock.forward(days=5)
    again = proposals.show(studio, job)
    assert again.choices == view.choices
    assert again.certainty == 0.9
    assert isinstance(again.choices[0].ready_on, date)
