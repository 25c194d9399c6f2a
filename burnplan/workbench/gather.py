"""What each page needs to know, gathered from the desk in one go, off the screen's thread."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from threading import Lock
from typing import TYPE_CHECKING, NamedTuple

from burnplan.desk.derived import hazards_found, studio_settings
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import checklists, commissions, references, review, sessions
from burnplan.desk.keeping import change_counter
from burnplan.desk.money import payments, quotes
from burnplan.desk.studio import days_off, settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import planned_sessions, today
from burnplan.desk.time.today import TodayView
from burnplan.desk.wood import blanks, hazards
from burnplan.errors import NotFound
from burnplan.zone_names import LETTERING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from burnplan.desk.money.earnings import EarningsView
    from burnplan.desk.time.calendar import CalendarEntry
    from burnplan.desk.time.pace import PaceView
    from burnplan.desk.time.promises import Week
    from burnplan.desk.wood.zone_settings import LadderSettingsView
    from burnplan.progress import Progress
    from burnplan.tone.analysis import PhotoAnalysis

# Clocks and dates move on: what was gathered is looked up again after so long.
FRESH = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Now:
    """What every page shows: the studio, its day, its clock; ``at`` is when it was looked up."""

    version: int
    own: Settings
    today: date
    at: datetime
    clock: sessions.SessionView | None

    def worked(self, at: datetime) -> timedelta:
        """Return the time of the open session at a moment."""
        if self.clock is None:
            return timedelta()
        spent = timedelta(hours=self.clock.hours)
        return spent + (at - self.at) if self.clock.state == "running" else spent


Plan = tuple[str, int, datetime]
"""A plan of a job: its number may be another's once it was undone."""


# Compared by identity: a thousand jobs are the same only where they were not looked up again.
@dataclass(frozen=True, slots=True, eq=False)
class Jobs:
    """The open jobs, and what the day has of them."""

    jobs: list[review.JobView]
    day: TodayView


@dataclass(frozen=True, slots=True)
class JobDetail:
    """One commission with all that belongs to it."""

    commission: commissions.CommissionView
    steps: list[checklists.StepView]
    reference: references.ReferenceView | None
    sessions: list[sessions.SessionView]
    quotes: list[quotes.QuoteView]
    payments: list[payments.PaymentView]
    hazards: list[hazards_found.HazardView]

    @property
    def plan(self) -> "Plan | None":
        """Which plan is shown, where there is one."""
        one = self.reference
        return None if one is None else (one.code, one.number, one.added_at)

    @property
    def open(self) -> bool:
        """Whether it is neither handed over nor dropped."""
        return not (self.commission.delivered_on or self.commission.dropped)

    @property
    def agreed(self) -> bool:
        """Whether a quote was accepted."""
        return self.commission.accepted_on is not None


@dataclass(frozen=True, slots=True)
class Pace:
    """What the hours on record say, and what they earned."""

    pace: "PaceView"
    earned: "EarningsView"


@dataclass(frozen=True, slots=True)
class Day:
    """A day to come: hours free and planned, why it is off, what falls on it."""

    day: date
    free: float
    planned: float
    off: str
    entries: list["CalendarEntry"]


@dataclass(frozen=True, slots=True)
class Calendar:
    """The days to come, and the weeks of the season."""

    days: list[Day]
    weeks: list["Week"]


class OpenJobs:
    """The open jobs, looked up again only when the book has changed or a minute has passed.

    Two pages and the palette show them, and reviewing a thousand takes its time.
    """

    def __init__(self, studio: Studio) -> None:
        self._studio, self._turn = studio, Lock()
        self._known: tuple[int, datetime, Jobs] | None = None

    def seen(self, code: str) -> review.JobView | None:
        """Return an open job as it was looked up last; the book is not asked."""
        known = self._known[2].jobs if self._known else []
        return next((one for one in known if one.code == code), None)

    def __call__(self) -> Jobs:
        """Return the open jobs, from memory where that is fresh."""
        with self._turn:
            version, at = change_counter.version(self._studio), self._studio.now()
            if self._known is None or self._known[0] != version or at - self._known[1] >= FRESH:
                self._known = version, at, open_jobs(self._studio)
            return self._known[2]


def now(studio: Studio) -> Now:
    """Gather what every page shows."""
    # The version first: what is written meanwhile is then noticed at the next look.
    version = change_counter.version(studio)
    return Now(
        version=version,
        own=settings.current(studio),
        today=studio.today(),
        at=studio.now(),
        clock=sessions.open_now(studio),
    )


def open_jobs(studio: Studio) -> Jobs:
    """Gather the open jobs and the day."""
    jobs = review.review(studio)
    return Jobs(jobs, today.look(studio, jobs))


def job(studio: Studio, code: str) -> JobDetail:
    """Gather all of one commission."""
    found = commissions.show(studio, code)
    return JobDetail(
        commission=found,
        steps=checklists.of(studio, code).steps,
        reference=references.show(studio, code) if found.references else None,
        sessions=sessions.all_of(studio, code),
        quotes=quotes.all_of(studio, code),
        payments=payments.all_of(studio, code),
        hazards=hazards.for_job(studio, code),
    )


def ladder_settings(studio: Studio, code: str) -> "LadderSettingsView | str":
    """Gather the setting for each zone of a job, or why there is none."""
    try:
        from burnplan.desk.wood import zone_settings  # brings numpy: only where there are zones

        return zone_settings.settings_for(studio, code)
    except NotFound as missing:
        from burnplan.workbench.words import in_words  # which knows the pages

        return in_words(settings.current(studio).wording.of_error(missing))


def pace(studio: Studio) -> Pace:
    """Gather what the hours on record say."""
    from burnplan.desk.money import earnings  # brings numpy, as pace does
    from burnplan.desk.time import pace as desk

    return Pace(desk.review(studio), earnings.review(studio))


def calendar(studio: Studio, days: int = 42, weeks: int = 12) -> Calendar:
    """Gather the days and weeks to come."""
    from burnplan.desk.time import calendar as desk
    from burnplan.desk.time import promises  # brings numpy

    own = settings.current(studio)
    off: dict[date, str] = {}
    for row in days_off.to_come(studio, own):
        for n in range((row.ends_on - row.starts_on).days + 1):
            off[row.starts_on + timedelta(days=n)] = row.reason
    planned: dict[date, float] = {}
    for one in planned_sessions.since(studio, studio.midnight(studio.today())):
        day = studio.local(one.starts_at).date()
        planned[day] = planned.get(day, 0.0) + one.minutes / 60
    falls: dict[date, list[CalendarEntry]] = {}
    for entry in desk.entries(studio):
        falls.setdefault(entry.day, []).append(entry)

    def one_day(day: date) -> Day:
        free = 0.0 if day in off else own.hours[studio_settings.DAYS[day.weekday()]]
        return Day(day, free, planned.get(day, 0.0), off.get(day, ""), falls.get(day, []))

    return Calendar(
        [one_day(studio.today() + timedelta(days=n)) for n in range(days)],
        promises.look_ahead(studio, weeks=weeks).weeks,
    )


def stock(studio: Studio) -> list[blanks.BlankView]:
    """Gather the blanks in stock and held."""
    return blanks.everything(studio)


BARE = 255
"""Wood that belongs to no zone: what was left out of the picture."""


class Shapes(NamedTuple):
    """The zones of a picture.

    Parameters
    ----------
    labels : ndarray of uint8, shape (H, W)
        0 outside the wood, else the zone, 1 darkest, or ``BARE``.
    tones : dict of int to str
        The colour of each when burned.
    ways : sequence of tuple of float
        Ticks along its textures: x and y of the middle, 0 to 1 from the top left, and the
        angle to the x axis, which runs right, y down, radians.
    """

    labels: "npt.NDArray[np.uint8]"
    tones: dict[int, str]
    ways: Sequence[tuple[float, float, float]] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Pictures:
    """A reference in sepia, and its zones, small: no terminal shows more.

    Parameters
    ----------
    sepia, zones : ndarray of uint8, shape (H, W, 4)
        Clear outside the wood.
    shapes : Shapes
        Which zone is where, and the tone of each when burned.
    notes : tuple of str
        What was seen as it was read: too few pixels, what is cropped.
    sepia_words, zones_words : str
        What the two pictures show, for who does not see them.
    """

    sepia: "npt.NDArray[np.uint8]"
    zones: "npt.NDArray[np.uint8]"
    shapes: Shapes
    notes: tuple[str, ...]
    sepia_words: str
    zones_words: str

    def in_ramp(self) -> "Pictures":
        """Return them with the tones of the zones as 256 colours show wood."""
        from burnplan.workbench.blocks import nearest_in_ramp

        tones = {zone: nearest_in_ramp(tone) for zone, tone in self.shapes.tones.items()}
        return replace(self, shapes=self.shapes._replace(tones=tones))


def pictures(studio: Studio, code: str, on_progress: "Progress") -> Pictures:
    """Read a reference again, and draw it."""
    import numpy as np
    from PIL import Image

    from burnplan.show.jobs.pictures import in_words
    from burnplan.tone import render  # brings numpy: only where a picture is wanted

    reading = references.pictures(studio, code, on_progress)[1]
    inside, bare = reading.placed.inside, reading.placed.bare
    labels = (
        reading.zones.labels
        if bare is None
        else np.where(bare, np.uint8(BARE), reading.zones.labels)
    )
    if reading.letters:
        lettered = np.logical_or.reduce([one.mask(reading.placed) for one in reading.letters])
        labels = np.where(inside & ~reading.placed.burned, np.uint8(BARE), labels)
        labels = np.where(lettered & inside, np.uint8(LETTERING), labels)
    zones = _small(render.zone_map(reading.zones, reading.placed), inside)
    small = np.asarray(Image.fromarray(labels).resize(zones.shape[1::-1], Image.Resampling.NEAREST))
    tones = {
        zone: f"#{bytes(np.median(zones[small == zone][:, :3], axis=0).astype(np.uint8)).hex()}"
        for zone in (*range(1, reading.zones.count + 1), LETTERING, BARE)
        if (small == zone).any()
    }
    sepia = _small(render.sepia(reading.placed), inside)
    said = in_words(reading, settings.current(studio).units)
    shapes = Shapes(small, tones, _ways(reading))
    return Pictures(sepia, zones, shapes, reading.notes, said["sepia"], said["zones"])


def _ways(reading: "PhotoAnalysis") -> list[tuple[float, float, float]]:
    outline = reading.placed.outline
    found: list[tuple[float, float, float]] = []
    for tick in reading.ticks:
        (x, y), (across, down) = tick.mean(axis=0).tolist(), (tick[-1] - tick[0]).tolist()
        found.append((x / outline.width_mm, y / outline.height_mm, math.atan2(down, across)))
    return found


def _small(
    pixels: "npt.NDArray[np.uint8]", inside: "npt.NDArray[np.bool_]"
) -> "npt.NDArray[np.uint8]":
    """Return a picture of at most 400 pixels each way, RGBA."""
    import numpy as np
    from PIL import Image

    picture = Image.fromarray(np.ascontiguousarray(pixels[..., :3]))
    picture.putalpha(Image.fromarray(inside.astype(np.uint8) * 255))
    picture.thumbnail((400, 400), Image.Resampling.BOX)
    return np.asarray(picture)


@dataclass(frozen=True, slots=True)
class AtWork:
    """The job being worked on: its clock, if it still runs, and when a break is due."""

    job: JobDetail
    clock: sessions.SessionView | None
    rest: datetime | None


def at_work(studio: Studio, code: str) -> AtWork:
    """Gather what the burning page shows: of the job of the clock, else of the one named."""
    clock = sessions.open_now(studio)
    return AtWork(job(studio, clock.code if clock else code), clock, sessions.break_due(studio))
