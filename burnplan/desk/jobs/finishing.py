"""The finish of a piece: what its use asks for, its coats, when the next may go on."""

from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned
from burnplan.codes import commission_code
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed
from burnplan.ledger.models import Commission, FinishCoat
from burnplan.sentences import Do
from burnplan.view import View
from burnplan.wood import finishes

_LONGEST = timedelta(hours=1000)  # a limit by definition


class CoatView(View):
    """A coat, its label's times in hours, and what follows from when it was laid."""

    number: int
    product: str
    dry_hours: float
    next_coat_hours: float
    laid_at: datetime | None
    dry_at: datetime | None
    next_coat_from: datetime | None


class FinishView(View):
    """The finish of a commission."""

    code: str
    title: str
    use: Literal["indoor", "outdoor", "food"]
    advice: str
    reason: str
    source: str
    cautions: list[str]
    coats: list[CoatView]


def _coat(commission: Commission, coat: FinishCoat) -> CoatView:
    step = next((one for one in commission.steps if one.key == f"coat-{coat.position}"), None)
    laid = step.ticked_at if step else None
    last = coat.position == len(commission.coats)
    return CoatView(
        number=coat.position,
        product=coat.product,
        dry_hours=coat.dry_hours,
        next_coat_hours=coat.next_coat_hours,
        laid_at=laid,
        dry_at=finishes.next_coat_at(laid, coat.dry_hours) if laid else None,
        next_coat_from=(
            finishes.next_coat_at(laid, coat.next_coat_hours) if laid and not last else None
        ),
    )


def _view(commission: Commission) -> FinishView:
    advice = finishes.finish_for(commission.use)
    return FinishView(
        code=commission_code(commission.id),
        title=commission.title,
        use=commission.use,
        advice=advice.finish,
        reason=advice.reason,
        source=advice.source,
        cautions=list(advice.cautions),
        coats=[_coat(commission, coat) for coat in commission.coats],
    )


def show(studio: Studio, which: str) -> FinishView:
    """Return what finish a commission asks for, and its coats."""
    with studio.reading() as book:
        return _view(find_commission(book, which))


def plan(
    studio: Studio,
    which: str,
    product: str,
    *,
    coats: int,
    dry: timedelta,
    next_coat: timedelta | None = None,
) -> FinishView:
    """Plan the coats of a piece, which become steps of its checklist.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission.
    product : str
        As on the tin.
    coats : int
    dry, next_coat : timedelta
        Until it is dry, and until the next coat may go on, as the maker's label
        says; the second as the first if not given.

    Raises
    ------
    BadInput
        If there are no coats or too many, or the times cannot be.
    NotAllowed
        If a coat is laid already.
    """
    if not 1 <= coats <= finishes.MOST_COATS:
        raise BadInput(
            f"A finish has 1 to {finishes.MOST_COATS} coats",
            "Say how many: ",
            Do("finish.coats", coats=3),
        )
    again = next_coat or dry
    if not (timedelta(0) < dry <= _LONGEST and timedelta(0) < again <= _LONGEST):
        raise BadInput("Those are no drying times", "Copy them from the maker's label")
    if again < dry:
        raise BadInput(
            "The next coat is not laid before this one is dry", "Copy both from the maker's label"
        )
    with studio.writing("finish.plan") as (book, entry):
        commission = find_commission(book, which)
        _replace(book, commission)
        name = cleaned(product, "product", longest=120)
        for position in range(1, coats + 1):
            commission.coats.append(
                FinishCoat(
                    position=position,
                    product=name,
                    dry_hours=dry / timedelta(hours=1),
                    next_coat_hours=again / timedelta(hours=1),
                )
            )
        book.flush()
        entry.says(f"Planned {coats} × {name} for '{commission.title}'", commission.id)
        return _view(commission)


def _replace(book: Session, commission: Commission) -> None:
    """Take away the coats planned before, if none is laid."""
    laid = [one for one in commission.steps if one.key.startswith("coat-") and one.ticked_at]
    if laid:
        raise NotAllowed(
            f"{commission_code(commission.id)} has coats laid already",
            "Untick them first if they were not",
        )
    for coat in list(commission.coats):
        commission.coats.remove(coat)
        book.delete(coat)
    book.flush()
