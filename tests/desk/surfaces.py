"""Every surface gives the same hours, and they are what the facts on record give.

What is kept of what follows from the facts is what would be reckoned from them anew. The
review, a job's own page (which the job sheet and the workbench show), the week, the draft of
a quote and the promise say what the rows of the book give when nothing of the desk is asked.
"""

from contextlib import suppress
from decimal import Decimal

import pytest

from burnplan.codes import commission_code
from burnplan.desk.derived import renewal
from burnplan.desk.jobs import commissions, job_sheets, references, review
from burnplan.desk.money import quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import promises, today, week
from burnplan.ledger import engines, history
from burnplan.ledger.models import Commission
from burnplan.workbench import gather
from tests.desk import recomputed

CLOSED = ("delivered", "dropped")


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
    """Every surface gives the hours that the rows of the book give when reckoned anew."""
    told = ", ".join(story)
    promised = {one.code: one for one in promises.look_ahead(studio).queue}
    reviewed = {one.code: one for one in review.review(studio)}
    on_week = {one.code: one for one in week.page(studio).jobs}
    anew = recomputed.open_jobs(studio)
    assert {code for code, job in reviewed.items() if job.stage not in CLOSED} == set(anew), told
    for code, job in reviewed.items():
        shown, left = commissions.show(studio, code), job.hours_left
        assert job.balance == shown.balance, told
        assert left == shown.hours_left == on_week[code].hours_left, told
        assert job.hours_done == shown.hours_done, told
        if job.stage in CLOSED:
            assert code not in promised, told
            assert job.balance != 0, told
            continue
        if code in promised:
            on = promised[code]
            assert (on.hours_left_p50, on.hours_left_p80) == (left.p50 or 0, left.p80 or 0), told
        expected = anew[code].left
        if job.stage == "ready":
            assert left.p50 == 0, told
        elif expected is None:
            assert left.p50 is None, told
        else:
            said = (left.p50, left.p80)
            assert said == pytest.approx((expected.p50, expected.p80)), f"{code}: {told}"
        _whole_agrees(studio, code, anew[code], told)


def _whole_agrees(studio: Studio, code: str, anew: recomputed.Recomputed, told: str) -> None:
    whole = anew.whole
    if whole is None:
        return
    expected = pytest.approx((whole.quantile(0.5), whole.quantile(0.8)))
    total = references.show(studio, code).hours.total
    assert (total.p50, total.p80) == expected, f"{code}: {told}"
    if settings.current(studio).hourly_target is None:
        return  # there is no price then
    draft = quotes.draft(studio, code, quotes.QuoteRequest())
    assert (draft.hours_p50, draft.hours_p80) == expected, f"{code}: {told}"
    assert draft.by_guess is (anew.taught_by == 0), f"{code}: {told}"


def views_agree(studio: Studio, story: list[str]) -> None:
    """The day, the job sheets and the workbench's pages say what the review says."""
    told = ", ".join(story)
    reviewed = {one.code: one for one in review.review(studio)}
    day, bench = today.look(studio), gather.open_jobs(studio)
    assert [one.code for one in bench.jobs] == [*reviewed], told
    seen = [*day.blocked, *day.next, *day.money, *day.risk, *bench.jobs]
    for code, job in reviewed.items():
        seen_so = [(one.hours_left, one.balance) for one in seen if one.code == code]
        assert all(one == (job.hours_left, job.balance) for one in seen_so), f"{code}: {told}"
        for whole in (job_sheets.gather(studio, code), gather.job(studio, code)):
            shown = whole.commission
            found = (shown.hours_left, shown.hours_done, shown.balance)
            assert found == (job.hours_left, job.hours_done, job.balance), f"{code}: {told}"


def agree(studio: Studio, story: list[str]) -> None:
    """Hold every surface to the facts on record, and to each other."""
    nothing_is_stale(studio, story)
    surfaces_agree(studio, story)
    views_agree(studio, story)
