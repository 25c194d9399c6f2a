"""Commissions: logged with a title alone, filled in later."""

from datetime import date, datetime
from decimal import Decimal
from typing import Literal, NoReturn

from pydantic import Field
from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from burnplan.cleaned import cleaned, cleaned_note
from burnplan.codes import blank_code, commission_code
from burnplan.dates import format_day
from burnplan.desk.derived import (
    balances,
    checklist,
    checklist_progress,
    hazards_found,
    job_status,
    piece,
    studio_settings,
    woods,
)
from burnplan.desk.derived.checklist_progress import ChecklistProgress
from burnplan.desk.derived.drop_terms import DropTerms
from burnplan.desk.derived.job_status import HoursLeft
from burnplan.desk.jobs import clients, consents, photos, replanning
from burnplan.desk.jobs.consents import ConsentView
from burnplan.desk.jobs.photos import PhotoView
from burnplan.desk.studio.lookup import NotOne, find_client, find_commission, refuse_closed
from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import own_species
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import Blank, Client, Commission
from burnplan.outline import Outline, OutlineKind
from burnplan.progress import Progress
from burnplan.reckon.stages import Stage
from burnplan.sentences import Do
from burnplan.units import parse_size
from burnplan.view import View

UseName = Literal["indoor", "outdoor", "food"]


class Wishes(View):
    """What is asked for, as typed; None leaves it as it is or unknown."""

    title: str | None = None
    client: str | None = None
    size: str | None = None
    species: str | None = None
    due: date | None = None
    no_due: bool = False
    use: UseName | None = None
    note: str | None = None


class SpoiledView(View):
    """A piece of a commission that was ruined, and the hours spent on it."""

    blank: str | None
    reason: str
    spoiled_on: date
    hours: float


class CommissionView(View):
    """A commission, as shown; lengths in mm."""

    code: str
    title: str
    client: str | None
    stage: Stage
    paused: str | None
    dropped: str | None
    outline: OutlineKind | None
    size_mm: tuple[float, float] | None
    species: str | None
    blank: str | None
    due: date | None
    use: UseName
    note: str
    added_at: datetime
    delivered_on: date | None
    steps_settled: int
    steps: int
    hours_done: float
    hours_by_work: dict[str, float]
    references: int
    quoted: Decimal | None
    accepted_on: date | None
    deposit: Decimal | None
    received: Decimal
    balance: Decimal
    currency: str | None
    # In all: as quoted, or as was agreed when it was dropped.
    to_pay: Decimal = Decimal(0)
    dropped_on: date | None = None
    drop_terms: DropTerms | None = None
    written_off: str | None = None
    # Their hours are not among those done.
    spoiled: list[SpoiledView] = Field(default_factory=list)
    # Only where one commission is looked at: the sentence needs the whole queue.
    hours_left: HoursLeft | None = None
    progress: str = ""
    # The newest photo of it that was compared with the plan: what it showed on its day.
    by_photo: PhotoView | None = None
    # What was said of showing it to others; only where one commission is looked at.
    consent: ConsentView | None = None

    def shape(self) -> Outline | None:
        """Return the size as an outline; a live edge by its bounding box."""
        if self.size_mm is None or self.outline is None:
            return None
        plain = OutlineKind.RECTANGLE
        kind = plain if self.outline is OutlineKind.LIVE_EDGE else self.outline
        return Outline(kind, *self.size_mm)


def view(commission: Commission, now: datetime) -> CommissionView:
    """Return a commission as shown."""
    return _view(commission, checklist_progress.of(commission), now)


def _view(commission: Commission, stands: ChecklistProgress, now: datetime) -> CommissionView:
    size = piece.size_of(commission)
    quote = balances.agreed_quote(commission)
    hours: dict[str, float] = {}
    for session in commission.sessions:
        hours[session.work] = hours.get(session.work, 0.0) + session.hours(now)
    return CommissionView(
        code=commission_code(commission.id),
        title=commission.title,
        client=commission.client.name if commission.client else None,
        stage=checklist_progress.stage(commission, stands),
        paused=commission.pause_reason,
        dropped=commission.drop_reason,
        outline=size.kind if size else None,
        size_mm=(size.width_mm, size.height_mm) if size else None,
        species=piece.species_of(commission) or None,
        blank=blank_code(commission.blank.id) if commission.blank else None,
        due=commission.due_on,
        use=commission.use,
        note=commission.note,
        added_at=commission.added_at,
        delivered_on=commission.delivered_on,
        steps_settled=stands.settled,
        steps=stands.steps,
        hours_done=sum(hours.values()),
        hours_by_work=hours,
        references=len(commission.references),
        quoted=quote.total if quote else None,
        accepted_on=quote.accepted_on if quote else None,
        deposit=quote.deposit if quote else None,
        received=balances.received(commission),
        balance=balances.balance(commission),
        currency=balances.currency_of(commission, "") or None,
        to_pay=balances.to_pay(commission),
        dropped_on=commission.dropped_on,
        drop_terms=commission.drop_terms,
        written_off=commission.write_off_reason,
        spoiled=[
            SpoiledView.of(
                one,
                blank=blank_code(one.blank_id) if one.blank_id else None,
                hours=sum(session.hours(now) for session in one.sessions),
            )
            for one in commission.spoiled
        ],
    )


def _size(book: Session, text: str) -> Outline:
    """Return a size as typed, in the studio's own unit where it has none."""
    return parse_size(text, default_unit=studio_settings.of_book(book).size_unit)


def _client_for(book: Session, studio: Studio, name: str) -> Client:
    """Return the client of that name, added if nobody has it."""
    try:
        return find_client(book, name)
    except NotOne:
        raise
    except NotFound:
        return clients.add_to(book, studio, name)


def _refuse_other_than_held(what: str, blank: Blank) -> NoReturn:
    raise NotAllowed(
        f"Its {what} is that of the blank held for it",
        "Release that one first: ",
        Do("blank.release", blank=blank_code(blank.id)),
    )


def _fill_in(book: Session, studio: Studio, commission: Commission, wishes: Wishes) -> None:
    if wishes.title is not None:
        commission.title = cleaned(wishes.title, "title")
    if wishes.client is not None:
        commission.client = _client_for(book, studio, cleaned(wishes.client, "client's name"))
    if wishes.size is not None:
        if commission.blank is not None:
            _refuse_other_than_held("size", commission.blank)
        size = _size(book, wishes.size)
        commission.outline, commission.width_mm = size.kind, size.width_mm
        commission.height_mm = size.height_mm
    if wishes.species is not None:
        species = woods.meant(book, wishes.species).key
        if commission.blank is not None and species != commission.blank.species:
            _refuse_other_than_held("wood", commission.blank)
        commission.species = species
    if wishes.due is not None:
        if wishes.due < studio.today():
            raise BadInput(f"{format_day(wishes.due)} is past", "Give a due date from today on")
        commission.due_on = wishes.due
    if wishes.no_due:
        commission.due_on = None
    if wishes.use is not None:
        commission.use = wishes.use
    if wishes.note is not None:
        commission.note = cleaned_note(wishes.note)


def doubts(studio: Studio, wishes: Wishes) -> list[str]:
    """Return what may not be meant as typed: a wood misspelt, a client who is new."""
    asked = [
        own_species.doubt(studio, wishes.species) if wishes.species else "",
        clients.doubt(studio, wishes.client) if wishes.client else "",
    ]
    return [words for words in asked if words]


def cautions(studio: Studio, wishes: Wishes) -> list[str]:
    """Return what the wood, the words and the use asked for mean for what is made, if anything."""
    wood = own_species.meant(studio, wishes.species) if wishes.species else None
    words = f"{wishes.title or ''}\n{wishes.note or ''}"
    found = hazards_found.of_wishes(wood, words, wishes.use or "indoor")
    return [one.in_words() for one in found if one.said_first]


def add(studio: Studio, wishes: Wishes) -> CommissionView:
    """Log a new commission, with the checklist made for it.

    Raises
    ------
    BadInput
        If it has no title, or something given cannot be.
    """
    with studio.writing("commission.add") as (book, entry):
        commission = Commission(
            title=cleaned(wishes.title or "", "title"),
            added_at=studio.now(),
            use="indoor",
            note="",
            steps=[],
            references=[],
            sessions=[],
            quotes=[],
            payments=[],
        )
        _fill_in(book, studio, commission, wishes)
        book.add(commission)
        book.flush()
        entry.says(f"Logged '{commission.title}'", commission.id)
    return show(studio, commission_code(commission.id))


def undone_by(studio: Studio, which: str, wishes: Wishes) -> list[str]:
    """Return the steps done that a new size or wood would undo, in words: see the checklist's."""
    if wishes.size is None and wishes.species is None:
        return []
    species = _species_meant(studio, wishes)
    with studio.reading() as book:
        commission = find_commission(book, which)
        size = None if wishes.size is None else _size(book, wishes.size)
        other_wood = _is_other_wood(commission, species)
        if not other_wood and (size is None or piece.size_of(commission) in (None, size)):
            return []
        return checklist.undone_words(book, commission, other_blank=other_wood)


def _species_meant(studio: Studio, wishes: Wishes) -> str | None:
    return None if wishes.species is None else own_species.meant(studio, wishes.species).key


def _is_other_wood(commission: Commission, species: str | None) -> bool:
    """Return whether a job will be of another wood than it is; a blank that is held stays."""
    return (
        commission.blank is None
        and commission.species is not None
        and (species not in (None, commission.species))
    )


def edit(
    studio: Studio,
    which: str,
    wishes: Wishes,
    *,
    reopen: bool = False,
    on_progress: Progress | None = None,
) -> CommissionView:
    """Change or fill in what is asked for.

    Of another size or wood, the plan is made again from the photo kept.

    Parameters
    ----------
    studio : Studio
    which : str
    wishes : Wishes
    reopen : bool
        Open the steps again that a new size or wood undoes: see :func:`undone_by`.
    on_progress : callable, optional
        Told of the plan that is made again.
    """
    with studio.reading() as book:
        code = commission_code(find_commission(book, which).id)
        size = None if wishes.size is None else _size(book, wishes.size)
    species = _species_meant(studio, wishes)
    plan = None
    if size is not None or species is not None:
        plan = replanning.plan_for(studio, code, size, species, on_progress)
    with studio.writing("commission.edit") as (book, entry):
        commission = find_commission(book, code)
        before, other_wood = piece.size_of(commission), _is_other_wood(commission, species)
        _fill_in(book, studio, commission, wishes)
        if reopen and (other_wood or piece.size_of(commission) != before):
            checklist.reopen(checklist.undone_by(commission, other_blank=other_wood))
        if plan is not None and not piece.is_planned(commission):
            plan.put(studio, book, commission)
        entry.says(f"Changed '{commission.title}': {wishes.given()}", commission.id)
    return show(studio, commission_code(commission.id))


def show(studio: Studio, which: str) -> CommissionView:
    """Return one commission."""
    with studio.reading() as book:
        commission, now = find_commission(book, which), studio.now()
        found = view(commission, now)
        found.hours_left = job_status.status_of(commission, now).hours_left
        found.by_photo = photos.burned_by_photo(book, commission)
        found.consent = consents.view(commission)
        return found


def everything(studio: Studio, *, closed: bool, page: ListPage = ALL) -> list[CommissionView]:
    """Return open commissions, or closed ones too, newest first."""
    query = (
        select(Commission)
        .options(*checklist_progress.with_rows(), selectinload(Commission.blank))
        .order_by(Commission.id.desc())
    )
    if not closed:
        query = query.where(Commission.is_open)
    with studio.reading() as book:
        found = book.scalars(page.of(query)).all()
        numbers = select(Commission.id).where(Commission.id.in_([one.id for one in found]))
        stands = checklist_progress.of_all(book, numbers)
        return [_view(one, stands[one.id], studio.now()) for one in found]


def find_open(book: Session, which: str) -> Commission:
    """Return a commission that is to be ended or set aside.

    Raises
    ------
    NotAllowed
        If it is closed already.
    """
    commission = find_commission(book, which)
    refuse_closed(commission, "See its page, or undo that")
    return commission


def pause(studio: Studio, which: str, reason: str) -> CommissionView:
    """Set a commission aside for a reason; it leaves the queue."""
    with studio.writing("commission.pause") as (book, entry):
        commission = find_open(book, which)
        commission.pause_reason = cleaned(reason, "reason")
        commission.paused_on = studio.today()
        entry.says(f"Set '{commission.title}' aside", commission.id)
        return view(commission, studio.now())


def resume(studio: Studio, which: str) -> CommissionView:
    """Take a commission up again.

    Raises
    ------
    NotAllowed
        If it was not set aside.
    """
    with studio.writing("commission.resume") as (book, entry):
        commission = find_open(book, which)
        if commission.paused_on is None:
            raise NotAllowed(f"{commission_code(commission.id)} is not set aside", "Go on with it")
        commission.paused_on = commission.pause_reason = None
        entry.says(f"Took '{commission.title}' up again", commission.id)
        return view(commission, studio.now())
