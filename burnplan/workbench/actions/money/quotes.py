"""Quotes with live numbers, and payments."""

from decimal import Decimal
from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.money.payments import Kind, PaymentView
from burnplan.desk.money.quotes import QuoteRequest, QuoteView
from burnplan.money import format_balance, parse_number
from burnplan.reckon.stages import Stage
from burnplan.units import format_hours, format_hours_range, parse_hours
from burnplan.workbench import drawing, gather
from burnplan.workbench.actions.action import Action, of_job, unless_closed
from burnplan.workbench.drawing import EMBER, SOFT, STRONG, money
from burnplan.workbench.forms import Answers, Field, Form, chosen_of

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench

_KINDS: tuple[Kind, ...] = ("deposit", "payment", "refund")


def quote(bench: "Workbench") -> None:
    """Try what a quote would come to, the numbers live, and issue it."""
    now, code = bench.now, bench.job_page.code
    if now is None:
        return
    fields = [
        Field("hours", "Hours", "as reckoned from the reference"),
        Field("sure", "Sure of hours, %", "80", "80"),
        Field("packing", "Packing", "an amount"),
        Field("rush_percent", "Rush, %", "0"),
        Field("margin_percent", "Margin, %", "0"),
        Field("discount", "Discount", "an amount, or 20%"),
        Field("discount_reason", "Discount for", "second order, …"),
        Field("round_to", "Round up to", "5"),
        Field("price", "Or this price", "in mind, before tax"),
    ]
    form = Form(
        f"Quote for {code}: what if?", fields,
        lambda answers: quotes.issue(bench.studio, code, _wanted(answers)),
        send="Issue it",
        preview=lambda answers: _drawn(quotes.draft(bench.studio, code, _wanted(answers)), now),
    )  # fmt: skip

    def issued(view: QuoteView) -> None:
        total = money(now, view.total, view.currency)
        bench.say(f"Quote {view.version} is issued: {total}. When the client says yes, press a")

    bench.ask(form, issued)


def _drawn(view: QuoteView, now: gather.Now) -> Content:
    """Return the lines of a quote, what it comes to, and what it would earn."""

    def line(name: str, amount: Decimal, style: str, more: str = "") -> Content:
        shown = drawing.fitted(money(now, amount, view.currency), 12, right=True)
        return Content.assemble((drawing.fitted(name, 34), style), shown, (more, SOFT))

    deposit = f"  deposit {money(now, view.deposit, view.currency)}"
    if view.chance is not None:
        hours = format_hours_range(view.hours_p50, view.hours_p80)
        guessed = " by the starting guess" if view.by_guess else ""
        chance = f" chance{guessed} to earn {drawing.target(now)}"
        odds = Content.assemble(
            (f"{hours} of work; ", SOFT), (f"{100 * view.chance:.0f} %", EMBER), (chance, SOFT)
        )
    else:  # judged, not measured: nothing is known of how wide that is
        odds = Content.styled(f"{format_hours(view.hours_p50)} of work, as you judge it", SOFT)
    return Content("\n").join(
        [
            *(line(one.label, one.amount, SOFT) for one in view.lines),
            line("total", view.total, STRONG, deposit),
            odds,
        ]
    )  # fmt: skip


def _wanted(answers: Answers) -> QuoteRequest:
    """Return how a quote is wanted; the bounds are said in words."""
    given = {name: text for name, text in answers.items() if text}
    bounds: dict[str, tuple[str, int, int]] = {
        "sure": ("how sure, in %", 1, 99),
        "rush_percent": ("rush, in %", 0, 500),
        "margin_percent": ("margin, in %", 0, 500),
    }
    numbers = {
        name: parse_number(given[name], what, least=least, most=most)
        for name, (what, least, most) in bounds.items()
        if name in given
    }
    if "sure" in numbers:
        numbers["sure"] /= 100
    hours = {"hours": parse_hours(given["hours"])} if "hours" in given else {}
    return QuoteRequest.model_validate({**given, **numbers, **hours})


def accept(bench: "Workbench") -> None:
    """Put on record that the client accepted the quote."""
    code = bench.job_page.code

    received = bench.job.commission.received if bench.job is not None else Decimal(0)

    def then(view: QuoteView) -> None:
        waits = view.deposit > received
        deposit = "; it is booked once the deposit is in: press p" if waits else ""
        other = "; it is of another size or wood: ctrl+p, Quote anew" if view.outdated else ""
        bench.say(f"Quote {view.version} is accepted{deposit}{other}")

    bench.do(lambda: accepting.accept(bench.studio, code), then)


def payment(bench: "Workbench") -> None:
    """Take a payment."""
    job, now = bench.job, bench.now
    if job is None or now is None:
        return
    one = job.commission
    deposit = one.stage in (Stage.ENQUIRY, Stage.PRICED)
    owed = (one.deposit or Decimal(0)) - one.received if deposit else one.balance
    fields = [
        Field("amount", "Amount", "", money(now, owed, one.currency) if owed > 0 else ""),
        Field("kind", "Kind", ", ".join(_KINDS), "deposit" if deposit else "payment", _KINDS),
        Field("method", "How", "cash, transfer, …"),
    ]

    def take(answers: Answers) -> PaymentView:
        kind = chosen_of(_KINDS, answers["kind"], "kind of payment")
        return payments.take(
            bench.studio, one.code, answers["amount"], kind, method=answers["method"]
        )

    def taken(view: PaymentView) -> None:
        amount = money(now, view.amount, view.currency)
        rest = format_balance(view.balance, view.currency, now.own.locale)
        left = f"{rest} {'is owed' if view.balance > 0 else 'was paid'}" if view.balance else ""
        bench.say(f"{amount} is on record; {left or 'nothing is owed now'}")

    bench.ask(Form(f"Payment for {one.code}", fields, take, send="Take it"), taken)


def write_off(bench: "Workbench") -> None:
    """Give up what is still owed of a job that is closed."""
    code = bench.job_page.code
    form = Form(
        f"Write off what is owed for {code}",
        [Field("reason", "Reason", "moved away without a word, …")],
        lambda answers: payments.write_off(bench.studio, code, answers["reason"]),
        send="Write it off",
    )
    bench.ask(form, lambda view: bench.say(f"Nothing is owed for '{view.title}'; u takes it back"))


_unpriced = of_job(lambda job: job.open and not job.agreed)
_accepted = of_job(lambda job: job.open and job.agreed)
_quoted = of_job(lambda job: job.open and not job.agreed and job.commission.quoted is not None)
_payable = of_job(
    lambda job: (
        job.commission.quoted is not None
        and (job.commission.balance != 0 or job.commission.received > 0)
    )
)

ACTIONS = (
    Action("quote", "Quote: what if?", "Try its numbers, live, and issue it", quote, _unpriced,
           key="i", short="Quote", page="job",
           why=unless_closed("A quote is accepted; ctrl+p, Quote anew")),
    Action("new_quote", "Quote anew", "A new version, though one is accepted", quote, _accepted),
    Action("accept", "Quote accepted", "The client said yes", accept, _quoted,
           key="a", short="Agreed", page="job",
           why=unless_closed("No quote waits for a yes: i makes one")),
    Action("payment", "Take payment", "A deposit, a payment or a refund", payment, _payable,
           key="p", short="Pay", page="job", why="Nothing is owed"),
    Action("write_off", "Write off what is owed", "It will not be paid; with the reason", write_off,
           of_job(lambda job: not job.open and job.commission.balance > 0)),
)  # fmt: skip
