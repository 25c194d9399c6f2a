"""The portfolio as others see it: what may be told and no more, on a page and on paper."""

import base64
import io
import re
from pathlib import Path

import html5lib
import pytest
from PIL import Image
from pypdf import PdfReader

from burnplan.cli.app import run
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import commissions, consents, endings, photos, portfolio, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.consents import ConsentGiven
from burnplan.desk.money import accepting, quotes
from burnplan.desk.money.quotes import QuoteRequest
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.files import replacing
from burnplan.money import format_money
from burnplan.sheets.jobs import portfolio_files
from burnplan.sheets.jobs.portfolio import PortfolioWanted
from burnplan.sheets.money.proposal_html import MOST_BYTES
from burnplan.units import parse_duration
from tests.conftest import draw_photo

HOSTILE = "<script>alert(1)</script> {{ 7*7 }} {% raw %} \"x\" 'y' & </title>"
GPS, MAKER = 0x8825, 0x010F  # tags of Exif 2.32: GPS information, and who made the camera


@pytest.fixture
def pieces(studio: Studio, photo: Path, tmp_path: Path) -> tuple[str, str]:
    """Two pieces: one whose client is not to be named, and one whose client may be."""
    settings.save(studio, Settings(name="Hollow Oak Studio", address="Mill Lane 2\nUpton"))
    codes = []
    for number, (title, client) in enumerate((("Two cats", "Mara Berg"), ("Fox", "Ida Sand"))):
        wishes = Wishes(
            title=title, client=client, size="9x11cm", species="basswood", note="PRIVATE"
        )
        code = commissions.add(studio, wishes).code
        quotes.issue(studio, code, QuoteRequest(hours=7, price="320"))
        accepting.accept(studio, code)
        sessions.log(studio, code, parse_duration("6h30"), sessions.Doing(work="burn"))
        taken = tmp_path / f"Mara {number}.jpg"
        exif = Image.Exif()
        exif[MAKER] = "SECRETCAM"
        exif.get_ifd(GPS)[1] = "N"
        Image.open(photo).convert("RGB").save(taken, exif=exif, comment=str(number))
        photos.add(studio, code, taken, note="PRIVATE")
        endings.deliver(studio, code)
        said = ConsentGiven(answer="yes", how="PRIVATELY", with_name=title == "Fox")
        consents.note(studio, code, said)
        codes.append(code)
    return codes[0], codes[1]


def written(studio: Studio, into: Path, **wanted: str | bool) -> tuple[str, str]:
    """The page and the text of the PDF."""
    into.mkdir(exist_ok=True)
    with replacing(lambda _: True):
        page, pdf = portfolio_files.write(
            studio, portfolio.shown(studio), settings.current(studio),
            PortfolioWanted(**wanted), into,  # type: ignore[arg-type]
        )  # fmt: skip
    text = "\n".join(one.extract_text() for one in PdfReader(pdf.path).pages)
    return page.path.read_text(encoding="utf-8"), " ".join(text.split())


def said(page: str) -> str:
    """What a page shows, as one line; it must be valid."""
    document = html5lib.HTMLParser(strict=True).parse(page)
    body = document.find("{http://www.w3.org/1999/xhtml}body")
    return " ".join(" ".join(body.itertext()).split())


@pytest.mark.long
def test_no_more_is_told_than_may_be(
    studio: Studio, pieces: tuple[str, str], tmp_path: Path
) -> None:
    page, pdf = written(studio, tmp_path / "out")
    price = format_money(quotes.agreed(studio, pieces[0]).total, "EUR", "en_GB")
    for text in (said(page), pdf):
        plain = text.replace("\N{NO-BREAK SPACE}", " ")
        for wanted in ("Two cats", "Fox", "basswood", "9 × 11 cm", "Hollow Oak Studio", "Ida Sand"):
            assert wanted in plain
        for kept in ("Mara", "Berg", "PRIVATE", "PRIVATELY", "6 h 30", price, "hour"):
            assert kept not in plain
    assert not re.search(r"Mara|PRIVATE|<script|https?:|url\(|@import", page)
    assert page.count("<img") == page.count(' alt="“') == 2
    assert len(page.encode()) < MOST_BYTES


@pytest.mark.long
def test_hours_and_prices_where_they_are_asked_for(
    studio: Studio, pieces: tuple[str, str], tmp_path: Path
) -> None:
    page, pdf = written(studio, tmp_path / "out", hours=True, price=True, heading="Cats & co")
    price = format_money(quotes.agreed(studio, pieces[0]).total, "EUR", "en_GB")
    for text in (said(page), pdf):
        plain = text.replace("\N{NO-BREAK SPACE}", " ")
        assert plain.count("6 h 30 of work") == plain.count(price) == 2
        assert "Cats & co" in plain


@pytest.mark.long
@pytest.mark.usefixtures("pieces")
def test_photos_leave_behind_where_they_were_taken(studio: Studio, tmp_path: Path) -> None:
    page, _ = written(studio, tmp_path / "out")
    for data in re.findall(r"base64,([^\"]+)", page):
        raw = base64.b64decode(data)
        assert b"SECRETCAM" not in raw
        assert not Image.open(io.BytesIO(raw)).getexif()
    assert b"SECRETCAM" not in (tmp_path / "out" / "portfolio.pdf").read_bytes()


@pytest.mark.usefixtures("pieces")
def test_in_another_language(studio: Studio, tmp_path: Path) -> None:
    page, pdf = written(studio, tmp_path / "out", language="de", hours=True)
    assert '<html lang="de" dir="ltr">' in page
    for text in (said(page).replace("\N{NO-BREAK SPACE}", " "), pdf):
        assert "Von Hand gebrannt" in text
        assert "Linde (amerikanisch)" in text
        assert "Für Ida Sand" in text
        assert "6 h 30 Arbeit" in text.replace("\N{NO-BREAK SPACE}", " ")


def test_what_was_typed_stays_text(studio: Studio, pieces: tuple[str, str], tmp_path: Path) -> None:
    settings.save(studio, Settings(name=f"S {HOSTILE}", address=HOSTILE))
    consents.note(studio, pieces[0], ConsentGiven(answer="yes", shown_as=HOSTILE))
    page, _ = written(studio, tmp_path / "out", heading=HOSTILE, remark=HOSTILE)
    assert said(page).count(HOSTILE) >= 4
    assert "49" not in said(page)
    assert not re.search(r"<script|onerror=", page)


@pytest.mark.whole
def test_many_pieces_stay_one_small_file(studio: Studio, tmp_path: Path) -> None:
    drawn = Image.open(draw_photo(tmp_path / "drawn.png")).convert("RGB")
    for number in range(30):
        code = commissions.add(studio, Wishes(title=f"Piece {number}")).code
        taken = tmp_path / f"{number}.jpg"
        drawn.rotate(number, expand=True).save(taken)
        photos.add(studio, code, taken)
        endings.deliver(studio, code)
        consents.note(studio, code, ConsentGiven(answer="yes", how="-", said_by="myself"))
    page, pdf = written(studio, tmp_path / "out")
    assert len(page.encode()) < MOST_BYTES
    for number in range(30):
        assert f"Piece {number}" in pdf
        assert f"Piece {number}" in said(page)


@pytest.mark.long
def test_from_the_command_line(
    studio: Studio, pieces: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    into = str(tmp_path / "out")
    assert run(["portfolio", "write", pieces[1], "--into", into], studio) == 0
    assert "Two cats" not in (tmp_path / "out" / "portfolio.html").read_text(encoding="utf-8")
    # Its own earlier file is written over without asking.
    assert run(["portfolio", "write", "--into", into], studio) == 0
    assert run(["portfolio", "consent", pieces[0], "no"], studio) == 0
    assert "May be shown: no, said Mara Berg today" in capsys.readouterr().out
    assert run(["portfolio", "write", *pieces, "--into", into], studio) != 0
    assert f"{pieces[0]} may not be shown" in capsys.readouterr().err
    assert run(["commission", "show", pieces[0]], studio) == 0
    assert "no, said Mara Berg today" in " ".join(capsys.readouterr().out.split())
    assert run(["commission", "show", pieces[0], "--json"], studio) == 0
    assert '"answer": "no"' in capsys.readouterr().out
    assert run(["portfolio", "list", "--json"], studio) == 0
    assert '"withheld": "refused"' in capsys.readouterr().out
