"""Quotes, invoices, receipts and price lists: what a client reads, and what never shows."""

import re
import subprocess
import sys
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from rich.cells import cell_len

from burnplan.desk.derived.studio_settings import Paper, Settings
from burnplan.desk.jobs import clients, commissions
from burnplan.desk.jobs.clients import ClientView
from burnplan.desk.jobs.commissions import CommissionView, Wishes
from burnplan.desk.jobs.estimates import PriceLineView
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.money.payments import PaymentView
from burnplan.desk.money.quotes import QuoteRequest, QuoteView
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.errors import BadInput, NotAllowed, OperationFailed
from burnplan.files import replacing
from burnplan.money import minor_digits, parse_money
from burnplan.outline import OutlineKind
from burnplan.reckon.price import Price, Terms, price_for
from burnplan.reckon.stages import Stage
from burnplan.sheets.money.invoice_sheet import invoice_letter, receipt_letter
from burnplan.sheets.money.letter import Spelling
from burnplan.sheets.money.letter_pdf import print_spelling
from burnplan.sheets.money.price_list_sheet import PriceList, price_list_letter
from burnplan.sheets.money.quote_sheet import client_lines, quote_letter
from burnplan.sheets.writing import Written
from tests.cases import quick_first
from tests.sheets.conftest import MM, Render

OWN = Settings(name="Hollow Oak Studio")
INTERNAL = ("hour", "labour", "workshop", "overhead", "margin", "consumable", "least price")


def terms(currency: str, rate: str, **more: Any) -> Terms:
    return Terms(currency, minor_digits(currency), Decimal(rate), **more)


def quoted(price: Price, currency: str = "EUR", **more: Any) -> QuoteView:
    facts: dict[str, Any] = {
        "code": "C-0007",
        "title": "Two cats",
        "client": "Mara Lindqvist",
        "version": 2,
        "state": "open",
        "issued_on": date(2027, 3, 17),
        "valid_until": date(2027, 4, 16),
        "accepted_on": None,
        "currency": currency,
        "lines": [
            PriceLineView(kind=line.kind, label=line.label, amount=line.amount)
            for line in price.lines
        ],
        "total": price.total,
        "tax": price.tax,
        "deposit": price.deposit,
        "hours_p50": 9.0,
        "hours_p80": 11.3,
        "hours_paid": 11.3,
        "chance": 0.8,
        "note": "a private note",
    }
    return QuoteView(**(facts | more))


def full_quote(**more: Any) -> QuoteView:
    """A quote with a line of every kind."""
    price = price_for(
        11.3,
        terms(
            "EUR", "30", wood=Decimal("14.35"), packing=Decimal(10), rush_percent=Decimal(15),
            margin_percent=Decimal(10), minimum=Decimal(600), discount=Decimal(30),
            discount_reason="second order", round_to=Decimal(7), tax_percent=Decimal(19),
            deposit_percent=Decimal(40),
        ),
    )  # fmt: skip
    return quoted(price, **more)


def commission(**more: Any) -> CommissionView:
    facts: dict[str, Any] = {
        "code": "C-0007",
        "title": "Two cats, wedding gift",
        "client": "Mara Lindqvist",
        "stage": Stage.PRICED,
        "paused": None,
        "dropped": None,
        "outline": OutlineKind.RECTANGLE,
        "size_mm": (300.0, 200.0),
        "species": "basswood",
        "blank": None,
        "due": None,
        "use": "indoor",
        "note": "a private note",
        "added_at": datetime(2027, 3, 1, tzinfo=UTC),
        "delivered_on": None,
        "steps_settled": 0,
        "steps": 0,
        "hours_done": 3.25,
        "hours_by_work": {},
        "references": 1,
        "quoted": None,
        "accepted_on": None,
        "deposit": None,
        "received": Decimal(0),
        "balance": Decimal(0),
        "currency": "EUR",
    }
    return CommissionView(**(facts | more))


def client(**more: Any) -> ClientView:
    facts: dict[str, Any] = {
        "name": "Mara Lindqvist",
        "email": "mara@example.org",
        "phone": "",
        "address": "Larch Row 12\n8020 Example Town",
        "note": "a private note",
        "commissions": 1,
    }
    return ClientView(**(facts | more))


def paid(number: int, kind: Any, amount: str, on: date, **more: Any) -> PaymentView:
    facts: dict[str, Any] = {
        "number": number,
        "code": "C-0007",
        "title": "Two cats",
        "kind": kind,
        "amount": Decimal(amount),
        "currency": "EUR",
        "paid_on": on,
        "method": "cash",
        "note": "a private note",
        "balance": Decimal(0),
    }
    return PaymentView(**(facts | more))


def read(written: Written) -> str:
    """All words of a PDF, with its metadata, single-spaced."""
    reader = PdfReader(written.path)
    assert len(reader.pages) == written.pages
    words = [page.extract_text() for page in reader.pages]
    return " ".join(" ".join([*words, str(reader.metadata)]).split())


def amounts(text: str, heading: str, currency: str = "EUR") -> list[Decimal]:
    """The amounts in a block of the plain text, read back from print (locale en_GB)."""
    block = text.split(f"\n{heading}\n")[1].split("\n\n")[0]
    found = [re.split(r"\s{2,}", line)[-1] for line in block.splitlines() if "  " in line]
    plain = [amount.replace("−", "-") for amount in found if not set(amount) <= set("-= ")]
    return [
        -parse_money(amount[1:], currency, "en_GB")
        if amount.startswith("-")
        else parse_money(amount, currency, "en_GB")
        for amount in plain
    ]


# Hand-worked; minor units by ISO 4217: JPY 0, EUR 2, KWD 3. Consumables 4 % and overhead
# 10 % of labour are in the piece; tax is of all before it, rounded half up.
#   EUR 10 h × 30 = 300.00; 12.00; 30.00; wood 8.50 → 350.50; packing 12.00 → 362.50;
#       19 % = 68.875 → 68.88; total 431.38; 40 % = 172.552 → 172.55; rest 258.83
#   JPY 7.5 h × 4500 = 33750; 1350; 3375; wood 1200 → 39675; packing 1500 → 41175;
#       10 % = 4117.5 → 4118; total 45293; 40 % = 18117.2 → 18117; rest 27176
#   KWD 3.3 h × 9 = 29.700; 1.188; 2.970; wood 2.500 → 36.358; packing 1.250 → 37.608;
#       5 % = 1.8804 → 1.880; total 39.488; 40 % = 15.7952 → 15.795; rest 23.693
WORKED = [
    ("EUR", 10, "30", "8.50", "12", 19,
     ["€350.50", "€12.00", "€362.50", "€68.88", "€431.38", "€172.55", "€258.83"]),
    ("JPY", 7.5, "4500", "1200", "1500", 10,
     ["JP¥39,675", "JP¥1,500", "JP¥41,175", "JP¥4,118", "JP¥45,293", "JP¥18,117", "JP¥27,176"]),
    ("KWD", 3.3, "9", "2.5", "1.25", 5,
     ["KWD 36.358", "KWD 1.250", "KWD 37.608", "KWD 1.880", "KWD 39.488", "KWD 15.795",
      "KWD 23.693"]),
]  # fmt: skip


@pytest.mark.parametrize(("currency", "hours", "rate", "wood", "packing", "tax", "shown"), WORKED)
def test_a_quote_shows_hand_worked_amounts(
    currency: str, hours: float, rate: str, wood: str, packing: str, tax: int,
    shown: list[str], tmp_path: Path,
) -> None:  # fmt: skip
    asked = terms(
        currency, rate, wood=Decimal(wood), packing=Decimal(packing), tax_percent=Decimal(tax),
        deposit_percent=Decimal(40),
    )  # fmt: skip
    view = quoted(price_for(hours, asked), currency)
    text = quote_letter(view, commission(), client(), OWN).text()
    rows = [line for line in text.splitlines() if "  " in line and line[-1].isdigit()]
    money = [re.split(r"\s{2,}", row)[-1] for row in rows if not row.startswith(("Date", "Valid"))]
    assert money == shown
    written = quote_letter(view, commission(), client(), OWN).write(tmp_path / "quote.pdf")
    printed = read(written)
    assert all(amount in printed for amount in shown)
    assert written.pages == 1
    assert not written.notes


def test_the_client_sees_no_internal_figure(tmp_path: Path) -> None:
    view = full_quote()
    labels = " ".join(line.label.lower() for line in view.lines) + " "
    inside = {line.amount for line in view.lines if line.kind not in _PUBLIC}
    assert sum(word in labels for word in INTERNAL) >= 4, "the quote must have what may not show"
    assert len(inside) >= 6
    folder = tmp_path
    own = OWN.model_copy(update={"hourly_target": Decimal("33.33")})
    taken = [paid(3, "deposit", "200", date(2027, 3, 21))]
    args = (commission(), client(), own)
    texts = [
        quote_letter(view, *args).text(),
        read(quote_letter(view, *args).write(folder / "q.pdf")),
        invoice_letter(view, taken, *args, on=date(2027, 4, 1)).text(),
        read(invoice_letter(view, taken, *args, on=date(2027, 4, 1)).write(folder / "i.pdf")),
        receipt_letter(taken[0], taken, view, *args).text(),
        read(receipt_letter(taken[0], taken, view, *args).write(folder / "r.pdf")),
    ]
    for text in texts:
        found = text.lower()
        assert not [word for word in INTERNAL if word in found]
        assert "private" not in found
        assert "33.33" not in found
        assert not [amount for amount in inside if f"€{amount}" in text]


_PUBLIC = ("packing", "rush", "discount", "tax")


def test_twins_say_the_same(tmp_path: Path) -> None:
    view = full_quote()
    own = OWN.model_copy(update={"address": "Mill Lane 3"})
    letter = quote_letter(view, commission(), client(), own, remark="With hanger")
    text, printed = letter.text(), read(letter.write(tmp_path / "q.pdf"))
    missing = [
        word
        for word in text.split()
        if not set(word) <= set("-=_") and word.strip(":") not in printed and word != "QUOTE"
    ]
    assert not missing
    for said in ("C-0007/2", "17 March 2027", "16 April 2027", "Hollow Oak Studio", "basswood",
                 "Larch Row 12", "Two cats, wedding gift", "30 × 20 cm", "for indoors",
                 "Discount: second order", "Rush", "Deposit, on acceptance", "Net", "Tax 19 %",
                 "direct sun", "dry", "differ from board to board", "Signature"):  # fmt: skip
        assert said in printed
        assert said in " ".join(text.split())


money_parts = st.decimals(0, 5000, places=2)
percents = st.decimals(0, 60, places=1)


@settings(max_examples=60, deadline=None)
@given(
    hours=st.floats(0, 400),
    parts=st.tuples(money_parts, money_parts, money_parts, money_parts),
    shares=st.tuples(percents, percents, percents, percents),
)
def test_shown_lines_always_add_up(
    hours: float, parts: tuple[Decimal, ...], shares: tuple[Decimal, ...]
) -> None:
    wood, packing, minimum, discount = parts
    rush, margin, tax, deposit = shares
    asked = terms(
        "EUR", "31.7", wood=wood, packing=packing, minimum=minimum + discount, discount=discount,
        discount_reason="a friend", rush_percent=rush, margin_percent=margin, tax_percent=tax,
        deposit_percent=deposit,
    )  # fmt: skip
    view = quoted(price_for(hours, asked))
    text = quote_letter(view, commission(), client(), OWN).text()
    *lines, total = amounts(text, "Price")
    if view.tax:
        *before, net, shown_tax = lines
        assert sum(before) == net
        assert net + shown_tax == total
    else:
        assert sum(lines) == total
    assert total == view.total
    if total:
        assert sum(amounts(text, "When it is due")) == total


def test_lines_that_do_not_add_up_are_not_sent(tmp_path: Path) -> None:
    wrong = full_quote(total=Decimal(1))
    with pytest.raises(OperationFailed, match="do not add up"):
        quote_letter(wrong, commission(), client(), OWN).write(tmp_path / "q.pdf")
    assert not list(tmp_path.glob("*.pdf"))


def test_an_unknown_kind_of_line_is_part_of_the_piece() -> None:
    view = quoted(price_for(10, terms("EUR", "30")))
    secret = PriceLineView(kind="kiln", label="Kiln rent", amount=Decimal(5))
    more = view.model_copy(update={"lines": [*view.lines, secret], "total": view.total + 5})
    assert client_lines(more) == [("The piece", view.total + 5)]


@pytest.mark.parametrize(
    ("state", "said", "signed"),
    [("open", "", True), ("draft", "Draft, not an offer", False), ("expired", "Expired", False),
     ("replaced", "Replaced", False), ("accepted", "Accepted on 20 March 2027", False)],
)  # fmt: skip
def test_only_an_open_quote_is_there_to_sign(state: str, said: str, signed: bool) -> None:
    on = date(2027, 3, 20) if state == "accepted" else None
    text = quote_letter(full_quote(state=state, accepted_on=on), commission(), client(), OWN).text()
    assert said in text
    assert ("I accept quote" in text) is signed


@pytest.mark.parametrize(
    ("use", "said"), [("outdoor", "Expect the piece to weather"), ("food", "Local rules on food")]
)
def test_the_use_of_the_piece_has_its_caution(use: str, said: str) -> None:
    text = " ".join(quote_letter(full_quote(), commission(use=use), client(), OWN).text().split())
    assert said in text
    assert ("Keep it dry" in text) is (use != "outdoor")


def test_no_client_no_size_no_deposit() -> None:
    bare = quoted(price_for(2, terms("EUR", "30")), client=None)
    text = quote_letter(
        bare, commission(outline=None, size_mm=None, species=None), None, OWN
    ).text()
    assert "In full, before delivery" in text
    assert "Deposit" not in text
    assert "once you have accepted" in " ".join(text.split())


# Locales: CLDR forms for German and French, from CLDR's own charts.
@pytest.mark.parametrize(
    ("locale", "money", "day"),
    [("de_DE", "1.250,50 €", "17. März 2027"), ("fr_FR", "1 250,50 €", "17 mars 2027"),
     ("en_US", "€1,250.50", "March 17, 2027"), ("el_GR", "1.250,50 €", "17 Μαρτίου 2027")],
)  # fmt: skip
def test_amounts_and_dates_are_the_locales(locale: str, money: str, day: str) -> None:
    spelling = Spelling("EUR", locale)
    assert " ".join(spelling.money(Decimal("1250.5")).split()) == money
    assert spelling.day(date(2027, 3, 17)) == day


@pytest.mark.usefixtures("no_other_fonts")
def test_what_cannot_be_set_in_type_is_spelled_out() -> None:
    arabic = print_spelling("KWD", "ar_KW")
    assert " ".join(arabic.money(Decimal("-1234.5")).split()) == "−1,234.500 KWD"
    assert arabic.day(date(2027, 3, 17)) == "2027-03-17"
    assert Spelling("KWD", "ar_KW").money(Decimal(1)) != arabic.money(Decimal(1))
    assert print_spelling("JPY", "ja_JP").money(Decimal(1500)) == "¥1,500"


def test_the_same_letter_gives_the_same_bytes(tmp_path: Path) -> None:
    first = quote_letter(full_quote(), commission(), client(), OWN).write(tmp_path / "a.pdf")
    quote_letter(full_quote(), commission(), client(name="Ωμέγα"), OWN).write(
        tmp_path / "other.pdf"
    )
    again = quote_letter(full_quote(), commission(), client(), OWN).write(tmp_path / "b.pdf")
    assert first.path.read_bytes() == again.path.read_bytes()
    assert str(tmp_path).encode() not in first.path.read_bytes()


# Paper: ISO 216 A4 is 210 × 297 mm, Letter 8.5 × 11 in (ANSI/ASME Y14.1).
@pytest.mark.parametrize(
    ("paper", "millimetres"),
    [(Paper.A4, (210, 297)), (Paper.A3, (210, 297)), (Paper.LETTER, (215.9, 279.4))],
)
def test_letters_are_on_letter_paper(
    paper: Paper, millimetres: tuple[float, float], tmp_path: Path
) -> None:
    own = OWN.model_copy(update={"paper": paper})
    written = quote_letter(full_quote(), commission(), client(), own).write(tmp_path / "q.pdf")
    box = PdfReader(written.path).pages[0].mediabox
    got = float(box.width) / 72 * 25.4, float(box.height) / 72 * 25.4
    assert got == pytest.approx(millimetres, abs=0.01)
    assert written.pages == 1


HARD = [
    ({"name": "W" * 200, "address": "x" * 500}, Paper.A4),
    ({"name": "Ελένη Κωνσταντίνου " * 10, "address": "Λεωφόρος 1\n" * 30}, Paper.LETTER),
    ({"name": "Екатерина Александровна " * 8, "address": ""}, Paper.A4),
    ({"name": "田中 太郎 " * 30, "address": "東京都千代田区" * 20}, Paper.LETTER),
    ({"name": "עברית العربية", "address": "हिन्दी ไทย"}, Paper.A4),
]


@quick_first(("who", "paper"), HARD, quick=2)
def test_nothing_runs_off_the_page(
    who: dict[str, str], paper: Paper, tmp_path: Path, render: Render
) -> None:
    name = who["name"][:200]
    own = OWN.model_copy(
        update={"name": name, "address": who["address"], "paper": paper, "locale": "de_CH"}
    )
    asked = terms(
        "EUR", "900000", discount=Decimal(1), discount_reason=name, tax_percent=Decimal(19)
    )
    view = quoted(price_for(1e5, asked))
    who = who | {"name": name}
    letter = quote_letter(
        view, commission(title=name), client(**who), own, remark=(name + "\n") * 12
    )
    written = letter.write(tmp_path / "q.pdf")
    margin, width = 24.0, 210.0 if paper is Paper.A4 else 215.9
    for number in range(1, written.pages + 1):
        page = render(written.path, number)
        rows, columns = np.nonzero(page < 200)
        # To the next pixel: the ribbon begins and ends at the margins.
        assert columns.min() * MM >= margin - MM
        assert (columns.max() + 1) * MM <= width - margin + MM
        assert rows.max() < 0.97 * len(page)
    assert written.pages >= 2
    text = letter.text()
    assert max(cell_len(line) for line in text.splitlines()) <= 72


def test_a_quote_with_all_there_is_to_say_has_one_page(tmp_path: Path) -> None:
    own = OWN.model_copy(update={"address": "Mill Lane 3\n8021 Example Town\nVAT EX 123 456"})
    remark = "Thank you for the photo. The lighter of the two boards suits it: its grain is quiet."
    letter = quote_letter(full_quote(), commission(use="outdoor"), client(), own, remark=remark)
    written = letter.write(tmp_path / "q.pdf")
    assert written.pages == 1
    assert "Place and date" in read(written)


def test_a_long_word_is_broken_not_cut(tmp_path: Path) -> None:
    title = "W" * 150
    written = quote_letter(full_quote(), commission(title=title), None, OWN).write(
        tmp_path / "q.pdf"
    )
    printed = PdfReader(written.path).pages[0].extract_text()
    assert printed.count("W") >= 150
    assert "…" not in printed


def test_every_font_is_in_the_file(tmp_path: Path) -> None:
    written = quote_letter(full_quote(), commission(), client(), OWN).write(tmp_path / "q.pdf")
    fonts: Any = PdfReader(written.path).pages[0]["/Resources"]["/Font"]  # type: ignore[index]
    assert all("/FontFile2" in one.get_object()["/FontDescriptor"] for one in fonts.values())


def test_greek_and_cyrillic_are_printed(tmp_path: Path) -> None:
    who = client(name="Ελένη Петровна")
    written = quote_letter(full_quote(), commission(), who, OWN).write(tmp_path / "q.pdf")
    assert "Ελένη Петровна" in read(written)
    assert not written.notes


@pytest.mark.usefixtures("no_other_fonts")
def test_letters_no_font_has_are_told(tmp_path: Path) -> None:
    who = client(name="علي")
    written = quote_letter(full_quote(), commission(), who, OWN).write(tmp_path / "q.pdf")
    assert "No font" in written.notes[0]
    assert "علي" in quote_letter(full_quote(), commission(), who, OWN).text()


def test_a_failed_write_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "q.pdf"
    path.write_bytes(b"older")

    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with (
        replacing(lambda _path: True),
        pytest.raises(OperationFailed, match="cannot be written"),
    ):
        quote_letter(full_quote(), commission(), client(), OWN).write(path)
    assert [file.name for file in tmp_path.iterdir()] == ["q.pdf"]
    assert path.read_bytes() == b"older"


# Invoices and receipts ---------------------------------------------------------------


ACCEPTED: dict[str, Any] = {"state": "accepted", "accepted_on": date(2027, 3, 20)}
PAID = [
    paid(3, "deposit", "172.55", date(2027, 3, 21), method="bank transfer"),
    paid(5, "payment", "100", date(2027, 4, 2)),
    paid(6, "refund", "-20", date(2027, 4, 3)),
]


def worked_quote(**more: Any) -> QuoteView:
    """The hand-worked quote in euro: 431.38, of which 172.55 is the deposit."""
    asked = terms(
        "EUR", "30", wood=Decimal("8.50"), packing=Decimal(12), tax_percent=Decimal(19),
        deposit_percent=Decimal(40),
    )  # fmt: skip
    return quoted(price_for(10, asked), **(ACCEPTED | more))


def test_an_invoice_shows_payments_refunds_and_balance(tmp_path: Path) -> None:
    on = date(2027, 4, 20)
    own = OWN.model_copy(update={"pay_to": "Bank XX00"})
    letter = invoice_letter(
        worked_quote(), PAID, commission(), client(), own,
        on=on, due=date(2027, 5, 4), number="2027-014",
    )  # fmt: skip
    text = letter.text()
    # 431.38 − 172.55 − 100 + 20 = 178.83
    assert amounts(text, "Received so far") == [
        Decimal("-172.55"), Decimal("-100.00"), Decimal("20.00"), Decimal("178.83"),
    ]  # fmt: skip
    written = letter.write(tmp_path / "i.pdf")
    for said in ("Deposit, 21 Mar 2027, bank transfer", "Payment, 2 Apr 2027, cash",
                 "Refund, 3 Apr 2027, cash", "€431.38", "€178.83", "2027-014", "4 May 2027",
                 "20 April 2027", "Bank XX00", "C-0007/2"):  # fmt: skip
        assert said in text
        assert said in read(written)
    assert not written.notes


def test_an_invoice_counts_its_own_payments_up_to_its_day() -> None:
    others = [paid(9, "payment", "50", date(2027, 3, 22), code="C-0001")]
    text = invoice_letter(
        worked_quote(), [*PAID, *others], commission(), client(), OWN, on=date(2027, 4, 2)
    ).text()
    assert amounts(text, "Received so far")[-1] == Decimal("158.83")  # 431.38 − 172.55 − 100
    first = invoice_letter(
        worked_quote(), [], commission(), client(), OWN, on=date(2027, 3, 20)
    ).text()
    assert amounts(first, "To pay") == [Decimal("431.38")]


@pytest.mark.parametrize(
    ("rest", "said", "amount"),
    [("258.83", "Paid in full", "0"), ("300", "To be given back to you", "41.17")],
)
def test_an_invoice_that_is_settled_asks_for_nothing(rest: str, said: str, amount: str) -> None:
    taken = [PAID[0], paid(5, "payment", rest, date(2027, 4, 2))]
    own = OWN.model_copy(update={"pay_to": "Bank XX00"})
    letter = invoice_letter(
        worked_quote(), taken, commission(), client(), own, on=date(2027, 4, 20)
    )
    text = letter.text()
    assert said in text
    assert amounts(text, "Received so far")[-1] == Decimal(amount)
    assert "Please pay" not in text
    assert "Bank XX00" not in text


@pytest.mark.parametrize(
    ("delivered", "due", "said"),
    [
        (None, None, "before delivery"),
        (date(2027, 4, 21), None, "before delivery"),
        (date(2027, 4, 19), None, "now"),
        (date(2027, 4, 19), date(2027, 5, 4), "by 4 May 2027"),
    ],
)
def test_an_invoice_says_when_to_pay_as_things_stand(
    delivered: date | None, due: date | None, said: str
) -> None:
    piece = commission(delivered_on=delivered)
    text = invoice_letter(
        worked_quote(), [], piece, client(), OWN, on=date(2027, 4, 20), due=due
    ).text()
    assert f"Please pay the balance {said}, naming C-0007/2" in " ".join(text.split())
    assert ("Delivered" in text) is (delivered == date(2027, 4, 19))


def test_what_an_invoice_cannot_be_made_of() -> None:
    def made(view: QuoteView, taken: list[PaymentView]) -> str:
        return invoice_letter(view, taken, commission(), client(), OWN, on=date(2027, 4, 20)).text()

    with pytest.raises(NotAllowed, match="draft"):
        made(worked_quote(state="draft", accepted_on=None), [])
    with pytest.raises(BadInput, match="USD"):
        made(worked_quote(), [paid(3, "deposit", "10", date(2027, 3, 21), currency="USD")])


def test_an_invoice_without_a_number_or_a_yes_says_so(tmp_path: Path) -> None:
    view = worked_quote(state="open", accepted_on=None)
    written = invoice_letter(view, [], commission(), client(), OWN, on=date(2027, 4, 20)).write(
        tmp_path / "i.pdf"
    )
    assert len(written.notes) == 2
    assert "numbered as its quote" in written.notes[0]
    assert "not on record as accepted" in written.notes[1]


def test_a_receipt_for_each_payment_shows_the_account_after_it(tmp_path: Path) -> None:
    left = []
    for one in PAID:
        args = (one, PAID, worked_quote(), commission(), client(), OWN)
        text = receipt_letter(*args).text()
        printed = read(receipt_letter(*args).write(tmp_path / f"{one.number}.pdf"))
        assert f"R-{one.number:04d}" in text
        assert f"R-{one.number:04d}" in printed
        agreed, received, balance = amounts(text, "How the account stands")
        assert agreed + received == balance
        left.append(balance)
    assert left == [Decimal("258.83"), Decimal("158.83"), Decimal("178.83")]
    assert "REFUND R-0006" in text
    assert amounts(text, "Given back") == [Decimal(20)]


def test_a_receipt_before_there_is_a_quote() -> None:
    text = receipt_letter(PAID[1], [], None, commission(), client(), OWN).text()
    assert amounts(text, "Received with thanks") == [Decimal(100)]
    assert "account" not in text


def test_many_payments_go_over_pages_and_all_are_there(tmp_path: Path) -> None:
    taken = [paid(n, "payment", f"{n}.11", date(2027, 3, 21)) for n in range(1, 91)]
    view = worked_quote()
    written = invoice_letter(view, taken, commission(), client(), OWN, on=date(2027, 4, 20)).write(
        tmp_path / "i.pdf"
    )
    printed = read(written)
    assert written.pages >= 3
    assert f"Page 1 of {written.pages}" in printed
    assert all(f"−€{n}.11" in printed for n in range(1, 91))
    assert "To be given back" in PdfReader(written.path).pages[-1].extract_text()


def test_from_the_desk_to_the_client(studio: Studio, tmp_path: Path) -> None:
    clients.add(studio, "Ines Okafor", clients.ClientDetails(address="Elm Court 4"))
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm", cost="8.50"))
    wishes = Wishes(title="Old tomcat", client="Ines Okafor", size="20x15cm", species="basswood")
    code = commissions.add(studio, wishes).code
    quotes.issue(studio, code, QuoteRequest(hours=10, packing="12", note="cheap, for a friend"))
    quote = accepting.accept(studio, code)
    payments.take(studio, code, "100", "deposit")
    payments.take(studio, code, "30", "refund")
    job, who = commissions.show(studio, code), clients.show(studio, "Ines Okafor")
    taken = payments.all_of(studio, code)
    text = invoice_letter(quote, taken, job, who, OWN, on=studio.today()).text()
    assert amounts(text, "Received so far")[-1] == job.balance
    assert "Elm Court 4" in text
    printed = read(quote_letter(quote, job, who, OWN).write(tmp_path / "q.pdf"))
    assert "cheap" not in printed
    assert f"Accepted on {studio.today().day} March 2027" in printed


# Price lists ------------------------------------------------------------------------


def listed(currency_unit: str = "0.05", sizes: int = 4) -> PriceList:
    rows = [
        (f"{10 * n} × {15 * n} cm", [Decimal(60 * n + 35 * g) + Decimal(currency_unit)
         for g in range(5)])
        for n in range(1, sizes + 1)
    ]  # fmt: skip
    return PriceList(rows, wood="basswood", valid_until=date(2027, 12, 31))


@pytest.mark.parametrize(
    ("currency", "unit", "shown"),
    [("EUR", "0.05", "€95.05"), ("JPY", "3", "JP¥98"), ("KWD", "0.005", "KWD 95.005")],
)
def test_a_price_list_in_its_currency(currency: str, unit: str, shown: str, tmp_path: Path) -> None:
    own = OWN.model_copy(update={"currency": currency, "tax_percent": Decimal(19)})
    text = price_list_letter(listed(unit), own, on=date(2027, 3, 17)).text()
    printed = read(
        price_list_letter(listed(unit), own, on=date(2027, 3, 17)).write(tmp_path / "p.pdf")
    )
    for said in (shown, "10 × 15 cm", "Detail 5", "31 December 2027", "with 19 % tax in them"):
        assert said in text
        assert said in printed
    row = next(line for line in text.splitlines() if line.startswith("20 × 30 cm"))
    assert len(re.findall(r"[\d,.]+(?=\s|$)", row.removeprefix("20 × 30 cm"))) == 5


def test_a_price_on_request_and_before_tax() -> None:
    own = OWN.model_copy(update={"tax_percent": Decimal("7.5")})
    prices = PriceList([("round 25 cm", [Decimal(9), None, None, None, None])], taxed=False)
    text = price_list_letter(prices, own, on=date(2027, 3, 17)).text()
    assert text.count("on request") == 4
    assert "before 7.5 % tax" in text


def test_a_long_price_list_repeats_its_head_and_fits(tmp_path: Path) -> None:
    prices = PriceList([(f"{n} × {n} cm", [Decimal(10) ** 9] * 5) for n in range(1, 71)])
    own = OWN.model_copy(update={"currency": "KWD"})
    written = price_list_letter(prices, own, on=date(2027, 3, 17)).write(tmp_path / "p.pdf")
    pages = [page.extract_text() for page in PdfReader(written.path).pages]
    with_rows = [page for page in pages if "1,000,000,000.000" in page]
    assert len(with_rows) >= 2
    assert all("Detail 1" in page for page in with_rows)
    assert "".join(pages).count("1,000,000,000.000") == 350


@pytest.mark.parametrize(
    "rows",
    [[], [("a", [Decimal(1)])], [("a", [Decimal(-1)] * 5)], [("a", [Decimal("NaN")] * 5)]],
)
def test_a_price_list_that_cannot_be(rows: list[tuple[str, list[Decimal]]]) -> None:
    with pytest.raises(BadInput):
        PriceList(rows)


@pytest.mark.long
def test_text_needs_no_pdf_library() -> None:
    code = (
        "import sys;"
        "from burnplan.sheets.money import quote_sheet, invoice_sheet, price_list_sheet;"
        "sys.exit('reportlab' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
