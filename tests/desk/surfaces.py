"""Every surface gives the same hours, and they are what the facts on record give.

What is kept of what follows from the facts is what would be reckoned from them anew, and
the review, a job's own page, the draft of a quote and the promise say the same of it.
"""

from contextlib import suppress
from decimal import Decimal

import pytest

from burnplan.codes import commission_code
from burnplan.desk.derived import renewal
from burnplan.desk.jobs import checklists, commissions, references, review
from burnplan.desk.money import quotes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import promises
from burnplan.ledger import engines, history
from burnplan.ledger.models import Commission


class RolledBackError(Exception):
    """Ends a transaction without a trace."""


def nothing_is_stale(studio: Studio, story: list[str]) -> None:
    """What is kept is what the facts on record give."""
    told = ", ".join(story)
    with suppress(RolledBackError), engines.transaction(studio.engine, writing=True) as book:
        open_jobs = [one for one in book.query(Commission).all() if one.is_open]
        closed = [one for one in book.query(Commission).all() if not one.is_open]
        open_money = {one.id: one.unsettled for one in closed}
        kept = {one.id: one.references[-1].hours for one in open_jobs if one.references}
        changes = history.Recorder(book).changes
        renewal.renew_all(book, studio.now())
        book.flush()
        assert not changes, f"checklists were stale after {told}"
        owed = {one.id: _is_owed(one) for one in closed}
        assert open_money == owed, f"what is owed of a closed job was stale after {told}"
        anew = {one.id: one.references[-1].hours for one in open_jobs if one.references}
        for number, hours in anew.items():
            for stage, quantiles in hours.items():
                assert kept[number][stage] == pytest.approx(quantiles), (
                    f"{commission_code(number)}'s {stage} was stale after {told}"
                )
        raise RolledBackError


def _is_owed(one: Commission) -> bool:
    """Reckon from the rows alone whether money is open of a closed job."""
    came_in = sum((payment.amount for payment in one.payments), Decimal(0))
    accepted = [quote.total for quote in one.quotes if quote.accepted_on]
    total = (accepted or [quote.total for quote in one.quotes] or [Decimal(0)])[-1]
    if one.dropped_on is not None:
        total = came_in if one.drop_amount is None else one.drop_amount
    if total > came_in:
        return one.written_off_on is None
    return total < came_in and one.dropped_on is not None


def surfaces_agree(studio: Studio, story: list[str]) -> None:
    """The review, the reference's page, the quote's draft and the promise give the same hours."""
    told = ", ".join(story)
    promised = {one.code: one for one in promises.look_ahead(studio).queue}
    for job in review.review(studio):
        assert job.balance == commissions.show(studio, job.code).balance, told
        if job.stage in ("delivered", "dropped"):
            assert job.code not in promised, told
            assert job.balance != 0, told
            continue
        expected = promised.get(job.code)
        if expected is not None:
            left = (job.hours_left.p50, job.hours_left.p80)
            assert left == (expected.hours_left_p50, expected.hours_left_p80), told
        if job.hours_left.p50 is None or job.stage == "ready":
            continue
        total = references.show(studio, job.code).hours.total
        draft = quotes.draft(studio, job.code, quotes.QuoteRequest())
        assert (draft.hours_p50, draft.hours_p80) == pytest.approx((total.p50, total.p80)), told
        settled = any(step.state != "open" for step in _steps(studio, job.code))
        if job.hours_done == 0 and not settled:
            assert job.hours_left.p50 == pytest.approx(total.p50), told
            assert job.hours_left.p80 == pytest.approx(total.p80), told


def _steps(studio: Studio, code: str) -> list[checklists.StepView]:
    return checklists.of(studio, code).steps


def agree(studio: Studio, story: list[str]) -> None:
    """Hold every surface to the facts on record, and to each other."""
    nothing_is_stale(studio, story)
    surfaces_agree(studio, story)
