"""Letters in words: each kind in each language, against the book; a studio's own templates."""

import re
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path

import html5lib
import pytest
from PIL import Image, ImageFilter

from burnplan.cli.app import run
from burnplan.desk import demo
from burnplan.desk.jobs import clients, commissions, comparing, consents, endings, references
from burnplan.desk.jobs.clients import ClientDetails
from burnplan.desk.money import accepting, letter_facts, payments, quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.letter_kinds import LetterKind
from burnplan.money import format_money
from burnplan.sheets.dates import written_date
from burnplan.sheets.money import client_letters
from burnplan.sheets.money.client_letters import ClientLetter
from burnplan.sheets.reader import Reader
from burnplan.tone.choosing import Fault
from tests import books
from tests.cases import quick_first
from tests.conftest import FixedClock

# The job of the invented studio that each kind of letter is about.
ABOUT = dict.fromkeys(LetterKind, "C-0004") | {
    LetterKind.PROGRESS: "C-0005", LetterKind.THANKS: "C-0002", LetterKind.PROPOSAL: "C-0009",
}  # fmt: skip
LOCALES = {"en": "en_GB", "de": "de_DE"}


@pytest.fixture
def invented(tmp_path: Path, filled: Path) -> Iterator[Studio]:
    books.copy(filled, tmp_path / "home")
    opened = books.open_at(tmp_path / "home", demo.DemoClock(FixedClock().now))
    own = settings.parsed(settings.current(opened), "pay_to", "IBAN 12; Thistle")
    settings.save(opened, own)
    yield opened
    opened.close()


def letter(studio: Studio, kind: LetterKind, language: str, **more: str) -> ClientLetter:
    facts = letter_facts.gather(studio, ABOUT[kind], kind)
    own = settings.current(studio)
    reader = Reader.of(own, LOCALES[language], facts.quote.currency if facts.quote else "EUR")
    said = client_letters.fields(facts, own, reader, new_date=date(2027, 6, 30), **more)
    return client_letters.client_letter(kind, said, reader, studio.home)


@quick_first("language", LOCALES)
def test_each_letter_says_what_the_book_has(invented: Studio, language: str) -> None:
    locale = LOCALES[language]
    for kind in LetterKind:
        job = commissions.show(invented, ABOUT[kind])
        quote = quotes.agreed(invented, job.code)
        paid = payments.all_of(invented, job.code)
        amounts: list[Decimal] = {
            LetterKind.PROPOSAL: [quote.total, quote.deposit],
            LetterKind.ORDER: [quote.total],
            LetterKind.DEPOSIT: [paid[-1].amount, job.received, job.balance] if paid else [],
            LetterKind.READY: [job.balance],
            LetterKind.BALANCE: [quote.total, job.received, job.balance],
        }.get(kind, [])
        days_of: dict[LetterKind, list[date | None]] = {
            LetterKind.PROPOSAL: [quote.valid_until, quote.ready_on],
            LetterKind.ORDER: [job.due],
            LetterKind.DEPOSIT: [paid[-1].paid_on] if paid else [],
            LetterKind.DELAY: [job.due, date(2027, 6, 30)],
        }
        found = letter(invented, kind, language, lettering="Ines & Bo", because="It split {{ x }}")
        text = found.text()
        for amount in amounts:
            assert format_money(amount, quote.currency, locale) in text, kind
        for day in days_of.get(kind, []):
            assert day is not None
            assert written_date(day, locale) in text, kind
        assert job.title in found.subject
        assert job.client
        assert job.client in text
        assert settings.current(invented).name in text
        assert not re.search(r"%\(|\{%|None|\n\n\n", text), text
        if language == "de":
            assert not re.search(r"\b(the|and|with|you|is|for)\b", text.replace(job.title, "")), (
                text
            )
        shown = html5lib.HTMLParser(strict=True).parse(found.page())
        body = " ".join(shown.find("{http://www.w3.org/1999/xhtml}body").itertext())
        assert body.split() == found.body.split()


def test_lettering_is_spelled_and_words_of_ones_own_stay_text(invented: Studio) -> None:
    order = letter(invented, LetterKind.ORDER, "en", lettering="Ines & Bo")
    assert "    Ines & Bo\n    I-n-e-s  &  B-o\n" in order.body
    said = letter(invented, LetterKind.PROGRESS, "en", because="<b>{{ 7*7 }}</b>")
    assert "<b>{{ 7*7 }}</b>" in said.body
    assert "&lt;b&gt;{{ 7*7 }}&lt;/b&gt;" in said.page()


def test_a_template_of_ones_own_comes_first(invented: Studio) -> None:
    own = invented.home / "words" / "letters"
    own.mkdir(parents=True)
    (own / "ready.txt").write_text("Come\nOh {{ client }}, {{ title }}: {{ balance }}\n")
    (own / "ready.de.txt").write_text("Komm\n{{ client }}\n")
    assert letter(invented, LetterKind.READY, "en").body.startswith("Oh Tobias Anand, Two cats")
    assert letter(invented, LetterKind.READY, "de").subject == "Komm"


@pytest.mark.parametrize(("source", "said"), [
    ("S\n{{ clint }} {{ titel }}", "names what there is not: clint, titel"),
    ("S\n{{ title", "is not right in line 2"),
    ("S\n{{ title.__class__.__mro__ }}", "cannot be filled"),
    ("S\n{% for x in range(10**9) %}x{% endfor %}", "cannot be filled"),
    ("S\n{{ title + 1 }}", "cannot be filled"),
    ("S\n{% include 'letters/nothing.txt' %}", "cannot be filled"),
    ("S\n", "has no words"),
])  # fmt: skip
def test_a_template_that_is_wrong_is_one_clear_error(
    invented: Studio, source: str, said: str
) -> None:
    own = invented.home / "words" / "letters"
    own.mkdir(parents=True)
    (own / "ready.txt").write_text(source)
    with pytest.raises(BadInput, match=said):
        letter(invented, LetterKind.READY, "en")


def test_no_letter_about_what_is_not_on_record(invented: Studio) -> None:
    for kind, code in (
        (LetterKind.ORDER, "C-0009"), (LetterKind.DEPOSIT, "C-0009"),
        (LetterKind.PROPOSAL, "C-0010"), (LetterKind.PROGRESS, "C-0004"),
        (LetterKind.BALANCE, "C-0002"),
    ):  # fmt: skip
        with pytest.raises(NotFound):
            client_letters.check(kind, letter_facts.gather(invented, code))
    job = commissions.show(invented, "C-0007")
    assert job.due is not None
    with pytest.raises(BadInput, match="can still be ready by"):
        letter_facts.later_date(invented, job, 0.9)


def _letter(studio: Studio, kind: LetterKind, code: str) -> str:
    facts = letter_facts.gather(studio, code, kind)
    found = client_letters.letter_of(studio, kind, facts, settings.current(studio))
    return found.text().replace("\N{NO-BREAK SPACE}", " ")


def test_a_proposal_is_of_the_newest_quote_and_an_order_of_what_was_agreed(
    studio: Studio,
) -> None:
    wishes = commissions.Wishes(title="Owl", client="Mara", size="20x30cm", species="basswood")
    code = commissions.add(studio, wishes).code
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="300"))
    accepting.accept(studio, code)
    larger = commissions.Wishes(size="30x40cm", species="cherry")
    commissions.edit(studio, code, larger)
    before, was = _letter(studio, LetterKind.ORDER, code), ("20 × 30 cm", "basswood", "€300.00")
    assert [words for words in was if words not in before] == [], before
    quotes.issue(studio, code, quotes.QuoteRequest(hours=20, price="555"))
    said = _letter(studio, LetterKind.PROPOSAL, code)
    now = (f"{code}/2", "30 × 40 cm", "cherry", "€555.00")
    assert [words for words in now if words not in said] == [], said
    assert _letter(studio, LetterKind.ORDER, code) == before
    accepting.accept(studio, code)
    assert "€555.00" in _letter(studio, LetterKind.ORDER, code)


def test_what_is_left_to_pay_adds_up_after_a_drop(studio: Studio) -> None:
    code = commissions.add(studio, commissions.Wishes(title="Owl", client="Mara")).code
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="300"))
    with pytest.raises(NotFound, match="accepted"):
        _letter(studio, LetterKind.BALANCE, code)
    accepting.accept(studio, code)
    payments.take(studio, code, "40", "deposit")
    assert "the wood and your place" in _letter(studio, LetterKind.DEPOSIT, code)
    endings.drop(studio, code, "moved", "work", "95.50")
    said = _letter(studio, LetterKind.BALANCE, code)
    assert "What we agreed: €95.50\n" in said
    assert "Received so far: €40.00\n" in said
    assert "Left to pay: €55.50\n" in said
    assert "€300" not in said
    thanks = _letter(studio, LetterKind.DEPOSIT, code)
    assert "Left to pay: €55.50\n" in thanks
    assert "deposit" not in thanks
    assert "queue" not in thanks
    for kind in set(LetterKind) - {LetterKind.BALANCE, LetterKind.DEPOSIT}:
        with pytest.raises(NotAllowed, match="was dropped"):
            _letter(studio, kind, code)


def test_a_piece_that_is_ready_is_called_paid_only_if_it_is(studio: Studio) -> None:
    code = commissions.add(studio, commissions.Wishes(title="Owl", client="Mara")).code
    assert "paid" not in _letter(studio, LetterKind.READY, code)  # no price was ever named
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="300"))
    assert "Left to pay, before you take it with you: €300.00" in _letter(
        studio, LetterKind.READY, code
    )
    payments.take(studio, code, "300", "payment")
    assert "All is paid" in _letter(studio, LetterKind.READY, code)


def test_a_payment_is_thanked_for_in_the_money_it_was_in(studio: Studio) -> None:
    code = commissions.add(studio, commissions.Wishes(title="Owl", client="Mara")).code
    payments.take(studio, code, "40", "deposit")
    own = settings.current(studio)
    settings.save(studio, own.model_copy(update={"currency": "USD"}))
    said = _letter(studio, LetterKind.DEPOSIT, code)
    assert "your payment of €40.00" in said
    assert "Received so far: €40.00" in said
    assert "Left to pay" not in said  # no price was named


def test_a_last_payment_promises_no_place_in_the_queue(invented: Studio) -> None:
    job = commissions.show(invented, "C-0003")  # it is ready
    payments.take(invented, job.code, str(job.balance), "payment")
    said = _letter(invented, LetterKind.DEPOSIT, job.code)
    assert "came in on" in said
    assert "queue" not in said


@pytest.mark.long
def test_what_is_wrong_with_photos_is_what_comparing_them_says(
    invented: Studio, tmp_path: Path
) -> None:
    """One truth: reasons, their figures and what to ask for, best photo first."""
    code = ABOUT[LetterKind.PHOTOS]
    soft = tmp_path / "soft.png"
    Image.open(demo.sample(demo.PHOTO)).filter(ImageFilter.GaussianBlur(4)).save(soft)
    references.add(invented, code, soft)
    size = commissions.show(invented, code).shape()
    assert size is not None
    compared = comparing.compare([soft, demo.sample(demo.PHOTO)], size)
    # 451 × 300 px on 30 × 20 cm are 1.5 to a millimetre; 2 are needed.
    assert "only 1.5 pixels per mm at this size" in compared.photos[0].reasons
    said = letter(invented, LetterKind.PHOTOS, "en").body
    lines = [line for line in said.splitlines() if "pixels:" in line]
    assert lines == [
        f"- {one.photo}, 451 × 300 pixels: {'; '.join(one.reasons)}.".replace(" %", "\xa0%")
        for one in compared.photos
    ]
    for fault in compared.photos[0].faults:
        assert comparing.WISHES[fault] in compared.ask
        assert f"- {comparing.WISHES[fault]}" in said
    assert comparing.RIGHTS in said
    assert "nur 1,5 Pixel je mm" in letter(invented, LetterKind.PHOTOS, "de").body
    references.note_rights(invented, code, allowed="in a mail")
    assert comparing.RIGHTS not in letter(invented, LetterKind.PHOTOS, "en").body


def test_who_was_not_asked_is_asked_whether_it_may_be_shown(invented: Studio) -> None:
    code, question = ABOUT[LetterKind.THANKS], "May I show a photo of it"
    assert question not in letter(invented, LetterKind.THANKS, "en").body  # they said yes
    consents.note(invented, code, consents.ConsentGiven(answer="not asked"))
    assert question in letter(invented, LetterKind.THANKS, "en").body
    assert "in meinem Portfolio" in letter(invented, LetterKind.THANKS, "de").body


def test_every_fault_has_its_words() -> None:
    assert set(comparing.REASONS) == set(comparing.WISHES) == set(Fault)


def test_nothing_is_asked_for_where_nothing_is_wrong(
    invented: Studio, capsys: pytest.CaptureFixture[str]
) -> None:
    facts = letter_facts.gather(invented, "C-0004", LetterKind.PHOTOS)
    facts.photos[0].faults.clear()
    with pytest.raises(NotFound, match="Nothing is wrong"):
        client_letters.check(LetterKind.PHOTOS, facts)
    client_letters.check(LetterKind.PHOTOS, facts, "its eyes are shut")
    commissions.add(invented, commissions.Wishes(title="No photo yet"))
    assert run(["letter", "photos", "No photo yet"], invented) == 0
    assert "To begin I need a photo" in capsys.readouterr().out


def test_from_the_command_line_and_the_editor(
    invented: Studio, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    clients.edit(invented, "Tobias Anand", ClientDetails(language="de"), None)
    assert run(["letter", "ready", "C-0004"], invented) == 0
    assert "ist fertig und kann abgeholt werden" in capsys.readouterr().out
    editor = tmp_path / "editor.sh"
    editor.write_text('#!/bin/sh\nprintf "Mine\\n\\nAll mine\\n" > "$1"\n')
    editor.chmod(0o755)
    monkeypatch.setenv("VISUAL", str(editor))
    into = tmp_path / "out"
    assert run(["letter", "ready", "C-0004", "--edit", "--into", str(into)], invented) == 0
    assert (into / "C-0004-ready.txt").read_text() == "Mine\n\nAll mine\n"
    assert "<p>All mine</p>" in (into / "C-0004-ready.html").read_text()
    monkeypatch.setenv("VISUAL", "false")
    assert run(["letter", "ready", "C-0004", "--edit"], invented) == 1
    assert "said that it failed" in capsys.readouterr().err
