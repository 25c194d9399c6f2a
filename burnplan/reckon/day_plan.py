"""The day plan: what is left of the jobs, laid into the hours free of the days to come.

A sitting is work on one stage of one job, with breaks; days are given with their
hours, so that time zones and clock changes have nowhere to enter.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from math import ceil
from typing import NamedTuple

from burnplan.reckon.work import Work

STRETCH, BREAK = timedelta(minutes=50), timedelta(minutes=10)
"""Hands, eyes and air (common practice, no source): after so long at a stretch, so long a break."""

STEP = timedelta(minutes=5)
"""Sittings begin and last by this (by definition)."""

SHORTEST = timedelta(minutes=30)
"""Shorter is not worth sitting down for, unless it is all there is to do (a guess: setting out and
cooling take a third of it)."""

_WORK_OF_SITTING = 5 / 6  # at least: breaks take the rest; by definition of STRETCH and BREAK


def breaks_for(minutes: int) -> list[timedelta]:
    """Return when breaks are due in some minutes of work, counted from its beginning.

    A last stretch of up to half as long again is finished without one.

    Examples
    --------
    >>> [int(at.total_seconds() // 60) for at in breaks_for(150)]
    [50, 110]
    >>> breaks_for(75)
    []
    """
    length = timedelta(minutes=minutes)
    found: list[timedelta] = []
    worked = STRETCH
    while length - worked > STRETCH / 2:
        found.append(worked + len(found) * BREAK)
        worked += STRETCH
    return found


def stretch_began(spans: Iterable[tuple[datetime, datetime]]) -> datetime:
    """Return when the last work of some began that no break has come into since.

    Parameters
    ----------
    spans : iterable of tuple
        When each piece of work began and ended, at least one; in any order.

    Examples
    --------
    >>> nine, ten = datetime(2027, 3, 17, 9), datetime(2027, 3, 17, 10)
    >>> minute = timedelta(minutes=1)
    >>> stretch_began([(nine, ten), (ten + 4 * minute, ten + 9 * minute)]).hour
    9
    >>> stretch_began([(nine, ten), (ten + 10 * minute, ten + 15 * minute)]).minute
    10
    """
    latest, *earlier = sorted(spans, reverse=True)
    began = latest[0]
    for start, end in earlier:
        if began - end >= BREAK:
            break
        began = min(began, start)
    return began


class Piece(NamedTuple):
    """Work on one stage of a job that is still to be laid.

    Parameters
    ----------
    job : int
        Names it.
    work : Work
    length : timedelta
    """

    job: int
    work: Work
    length: timedelta


class Sitting(NamedTuple):
    """Work laid into a day.

    Parameters
    ----------
    job : int
    work : Work
    starts_at : datetime
    length, breaks : timedelta
        Of the work, and of the breaks that come on top.
    """

    job: int
    work: Work
    starts_at: datetime
    length: timedelta
    breaks: timedelta

    @property
    def ends_at(self) -> datetime:
        """When work and breaks are over."""
        return self.starts_at + self.length + self.breaks


class Day(NamedTuple):
    """A day to lay work into.

    Parameters
    ----------
    begins, ends : datetime
        When its first sitting may begin, and when the last must be over.
    free, burning : timedelta
        Free for work, and for burning.
    busy : sequence of Sitting
        What is planned already, which counts.
    """

    begins: datetime
    ends: datetime
    free: timedelta
    burning: timedelta
    busy: Sequence[Sitting] = ()


def sitting(job: int, work: Work, starts_at: datetime, length: timedelta) -> Sitting:
    """Return work on a job with the breaks that are due in it."""
    breaks = len(breaks_for(round(length / timedelta(minutes=1)))) * BREAK
    return Sitting(job, work, starts_at, length, breaks)


def begins(first: datetime, now: datetime) -> datetime:
    """Return when a day's work can begin: as is usual, or if that is past on the next full step.

    Examples
    --------
    >>> begins(datetime(2027, 3, 17, 9), datetime(2027, 3, 17, 9, 31)).isoformat(" ", "minutes")
    '2027-03-17 09:35'
    """
    past = max(timedelta(), now - first)
    return first + ceil(past / STEP) * STEP


def still_to_lay(
    jobs: Iterable[tuple[int, float, Mapping[Work, float]]], planned: Iterable[Sitting]
) -> list[Piece]:
    """Return what is left to lay of each stage of the jobs, in the order worked.

    Parameters
    ----------
    jobs : iterable of (int, float, mapping)
        Each job in order, its hours left, and how they are shared among its stages,
        in any unit.
    planned : iterable of Sitting
        What is laid already.
    """
    laid: dict[tuple[int, Work], timedelta] = {}
    for one in planned:
        key = one.job, one.work
        laid[key] = laid.get(key, timedelta()) + one.length
    pieces = []
    for job, hours, parts in jobs:
        whole = sum(parts.values())
        for work in Work:
            share = parts[work] / whole if whole else 0.0
            length = timedelta(hours=hours * share) - laid.get((job, work), timedelta())
            if length >= STEP:
                pieces.append(Piece(job, work, length))
    return pieces


def lay_out(days: Iterable[Day], pieces: Sequence[Piece]) -> list[Sitting]:
    """Lay work into days, in order: within a job nothing before what comes first.

    Parameters
    ----------
    days : iterable of Day
    pieces : sequence of Piece
        In the order worked.

    Returns
    -------
    list of Sitting
        Those added.

    Examples
    --------
    >>> nine = datetime(2027, 3, 17, 9)
    >>> day = Day(nine, datetime(2027, 3, 18), timedelta(hours=2), timedelta(hours=24))
    >>> (made,) = lay_out([day], [Piece(1, Work.BURN, timedelta(hours=3))])
    >>> made.length, made.ends_at.isoformat(" ", "minutes")
    (datetime.timedelta(seconds=7200), '2027-03-17 11:10')
    """
    left, made = list(pieces), []
    for day in days:
        made += _lay_day(day, left)
    return made


def _lay_day(day: Day, left: list[Piece]) -> list[Sitting]:
    """Return sittings for one day, around those planned; what they do is taken off ``left``."""
    free = day.free - sum((one.length for one in day.busy), timedelta())
    burned = (one.length for one in day.busy if one.work is Work.BURN)
    burning = day.burning - sum(burned, timedelta())
    made: list[Sitting] = []
    for at, until in _gaps(day):
        while free >= STEP and until - at >= SHORTEST:
            piece = _take(left, min(free, (until - at) * _WORK_OF_SITTING), burning)
            if piece is None:
                break
            one = sitting(piece.job, piece.work, at, piece.length)
            made.append(one)
            free -= one.length
            burning -= one.length if one.work is Work.BURN else timedelta()
            at = one.ends_at + (BREAK if one.length >= STRETCH else STEP)
    return made


def _gaps(day: Day) -> list[tuple[datetime, datetime]]:
    """Return the stretches between what is planned."""
    found, at = [], day.begins
    for one in sorted(day.busy, key=lambda one: one.starts_at):
        if one.starts_at > at:
            found.append((at, one.starts_at))
        at = max(at, one.ends_at)
    return [*found, (at, day.ends)] if at < day.ends else found


def _take(left: list[Piece], most: timedelta, burning: timedelta) -> Piece | None:
    """Take the next piece of work that fits; burning only as long as that may be.

    Of a job whose next piece does not fit nothing is taken.
    """
    held: set[int] = set()
    for n, piece in enumerate(left):
        room = min(most, burning) if piece.work is Work.BURN else most
        if piece.job in held:
            continue
        if room < max(STEP, min(SHORTEST, piece.length)):
            held.add(piece.job)
            continue
        taken = ceil(min(piece.length, room) / STEP) * STEP
        if taken > room:
            taken -= STEP
        if piece.length - taken >= STEP:
            left[n] = piece._replace(length=piece.length - taken)
        else:
            del left[n]
        return piece._replace(length=taken)
    return None
