"""The hours of every open job, reckoned anew from the rows of the book and nothing else.

Independent of what the desk derives and keeps: rows are read as they are, the work plan is
put together from them, and the pace is learned from all jobs but the one that is forecast.
"""

from collections import defaultdict
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import text
from sqlalchemy.orm import Session

from burnplan.desk.derived import woods
from burnplan.desk.studio.studio import Studio
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon import pace
from burnplan.reckon.forecast import HoursForecast
from burnplan.reckon.pace_rows import PastJob
from burnplan.reckon.remaining import RemainingHours, left_as_judged, left_of_job, share_burned
from burnplan.reckon.standard_hours import coarse_plan
from burnplan.reckon.work import (
    UNKNOWN_DARKNESS,
    UNKNOWN_TEXTURE,
    Work,
    WorkPlan,
    detail_by_eye,
    read_covered,
    read_grade,
)

FOLDS = 8  # of the jobs under way every eighth is left out with the one that is forecast


class Recomputed(NamedTuple):
    """An open job: its whole forecast (None where it has no photo), and what is left of it."""

    whole: HoursForecast | None
    left: RemainingHours | None
    taught_by: int = 0  # jobs with hours that its pace is known from


def open_jobs(studio: Studio) -> dict[str, Recomputed]:
    """Reckon every open job anew, by code."""
    with studio.reading() as book:
        rows = _Rows(book, studio.now())
        return {f"C-{job.id:04d}": rows.job(job) for job in rows.commissions if rows.is_open(job)}


def history(studio: Studio) -> list[PastJob]:
    """Return all jobs that can teach, with those under way."""
    with studio.reading() as book:
        rows = _Rows(book, studio.now())
        return [*rows.finished(), *rows.under_way().values()]


class _Rows:
    """The rows that forecasts hang on."""

    def __init__(self, book: Session, now: datetime) -> None:
        self.book, self.now = book, now
        self.commissions = self._all("commission")
        self.blanks = {row.id: row for row in self._all("blank")}
        self.steps = self._by("step", "position, id")
        self.references = self._by("reference")
        self.quotes = self._by("quote", "version")
        intervals: dict[int, float] = defaultdict(float)
        for row in self._all("session_interval"):
            ended = _moment(row.ended_at) if row.ended_at else now.replace(tzinfo=None)
            length = (ended - _moment(row.started_at)).total_seconds()
            intervals[row.session_id] += max(0.0, length)
        self.sessions = defaultdict(list)
        for row in self._all("burn_session"):
            if row.replaced_by_id is None:
                whose = (
                    ("spoiled", row.spoiled_id) if row.spoiled_id else ("job", row.commission_id)
                )
                self.sessions[whose].append((row, intervals[row.id] / 3600))

    def _all(self, table: str, order: str = "id") -> list[Any]:
        query = f"SELECT * FROM {table} ORDER BY {order}"  # noqa: S608
        return list(self.book.execute(text(query)))

    def _by(self, table: str, order: str = "id") -> dict[int, list[Any]]:
        found = defaultdict(list)
        for row in self._all(table, order):
            found[row.commission_id].append(row)
        return found

    def is_open(self, job: Any) -> bool:
        return job.delivered_on is None and job.dropped_on is None

    def plan(self, job: Any) -> WorkPlan:
        """Return the measured plan with the wood, the sandings and the coats of today."""
        measured = WorkPlan.from_dict(_json(self.references[job.id][-1].plan))
        blank = self.blanks.get(job.blank_id)
        wood = woods.on_record(self.book, (blank or job).species or measured.species)
        keys = [step.key for step in self.steps[job.id]]
        return measured._replace(
            hardness_lbf=wood.hardness_lbf,
            sandings=sum(
                key == "raise-grain" or (key[:5] == "sand-" and key[5:].isdigit()) for key in keys
            ),
            coats=sum(key[:5] == "coat-" and key[5:].isdigit() for key in keys),
        )

    def done(self, job: Any, plan: WorkPlan | None) -> dict[Work, float]:
        """Return the share of each stage that is ticked or skipped."""
        shares = {}
        for work in (Work.PREPARE, Work.TRANSFER, Work.FINISH):
            steps = [step for step in self.steps[job.id] if step.phase == work.value]
            shares[work] = sum(map(_settled, steps)) / len(steps) if steps else 0.0
        zones = {s.zone: _settled(s) for s in self.steps[job.id] if s.zone is not None}
        burned = {zone for zone, settled in zones.items() if settled}
        shares[Work.BURN] = share_burned(plan, burned) if plan else 0.0
        return shares

    def zones(self, job: Any) -> set[int]:
        """Return the zones that are ticked or skipped."""
        return {step.zone for step in self.steps[job.id] if step.zone and _settled(step)}

    def taught(self, whose: tuple[str, int], zones: Any = None) -> dict[Work, float]:
        """Return the hours that teach; of burning those on some zones only, if they are given."""
        hours: dict[Work, float] = {}
        for row, length in self.sessions[whose]:
            asked = zones is None or row.work != "burn" or row.zone in zones
            if row.closed and row.set_aside is None and asked:
                hours[Work(row.work)] = hours.get(Work(row.work), 0.0) + length
        return hours

    def finished_part(
        self, whose: tuple[str, int], done: dict[Work, float], zones: Any
    ) -> tuple[dict[Work, float], dict[Work, float]]:
        """Return the hours of what is finished of a piece, and the share of burning they are."""
        partly = 0 < done[Work.BURN] < 1
        if partly and any(
            row.work == "burn" and row.zone is None for row, _ in self.sessions[whose]
        ):
            partly = False
        hours = {
            work: length
            for work, length in self.taught(whose, zones if partly else None).items()
            if done[work] == 1 or (partly and work is Work.BURN)
        }
        return hours, {Work.BURN: done[Work.BURN]} if partly and Work.BURN in hours else {}

    def finished(self) -> list[PastJob]:
        """Return what is over: brought in, delivered, spoiled; each kind the newest first."""
        newest_first = "finished_on DESC NULLS LAST, id DESC"
        rows = self._all("past_job", newest_first)
        past = [self._brought_in(row) for row in rows if row.set_aside is None]
        own = []
        for job in self.commissions:
            if job.delivered_on is not None and self.references[job.id]:
                plan = self.plan(job)
                hours, share = self.finished_part(
                    ("job", job.id), self.done(job, plan), self.zones(job)
                )
                if hours:
                    own.append((_day(job.delivered_on), job.id, PastJob(
                        job.title, plan, hours, _day(job.delivered_on), share=share
                    )))  # fmt: skip
        spoiled = []
        titles = {job.id: job.title for job in self.commissions}
        for row in self._all("spoiled_piece"):
            plan, done = _json(row.plan), _json(row.done)
            zones = done.pop("zones")
            hours, share = self.finished_part(
                ("spoiled", row.id), {Work(name): done[name] for name in done}, zones
            )
            if plan and hours:
                spoiled.append((_day(row.spoiled_on), row.id, PastJob(
                    titles[row.commission_id], WorkPlan.from_dict(plan), hours,
                    _day(row.spoiled_on), share=share,
                )))  # fmt: skip
        ended = [job for kind in (own, spoiled) for *_, job in sorted(kind, key=_when)[::-1]]
        return [*past, *ended]

    def _brought_in(self, row: Any) -> PastJob:
        plan = coarse_plan(
            row.width_mm, row.height_mm,
            Outline(
                OutlineKind.RECTANGLE if row.outline == "live-edge" else OutlineKind(row.outline),
                row.width_mm, row.height_mm,
            ).area_cm2,
            species=row.species,
            hardness_lbf=woods.on_record(self.book, row.species).hardness_lbf
            if row.species else None,
            darkness=read_grade(row.darkness, UNKNOWN_DARKNESS),
            texture=read_grade(row.texture, UNKNOWN_TEXTURE, detail_by_eye),
            covered=read_covered(row.covered),
            line_cm=row.line_cm,
        )  # fmt: skip
        known = {work: getattr(row, f"{work.value}_h") for work in Work}
        hours = {work: value for work, value in known.items() if value is not None}
        when = _day(row.finished_on) if row.finished_on else None
        if row.total_h is None:
            return PastJob(row.title, plan, hours, when)
        covered = [Work(word) for word in row.covers.split()] or list(Work)
        others = [work for work in covered if work not in hours]
        rest = row.total_h - sum(hours[work] for work in covered if work in hours)
        if len(others) == 1:
            return PastJob(row.title, plan, hours | {others[0]: rest}, when)
        return PastJob(row.title, plan, hours, when, rest, tuple(others))

    def under_way(self) -> dict[int, PastJob]:
        found = {}
        for job in self.commissions:
            if self.is_open(job) and self.references[job.id]:
                plan = self.plan(job)
                hours, share = self.finished_part(
                    ("job", job.id), self.done(job, plan), self.zones(job)
                )
                if hours:
                    found[job.id] = PastJob(job.title, plan, hours, share=share, under_way=True)
        return found

    def job(self, job: Any) -> Recomputed:
        own = self.sessions[("job", job.id)]
        if not self.references[job.id]:
            accepted = [quote for quote in self.quotes[job.id] if quote.accepted_on]
            quote = (accepted or self.quotes[job.id] or [None])[-1]
            if quote is None or quote.hours_p50 <= 0:
                return Recomputed(None, None)
            return Recomputed(
                None, left_as_judged(quote.hours_p50, sum(length for _, length in own))
            )
        plan, others = self.plan(job), self.under_way()
        fold = [*others].index(job.id) % FOLDS if job.id in others else None
        kept = [one for place, one in enumerate(others.values()) if place % FOLDS != fold]
        taught = [*self.finished(), *kept]
        whole, taught_by = pace.learn(taught).forecast(plan), sum(one.total_h > 0 for one in taught)
        spent: dict[Work, float] = defaultdict(float)
        begun: dict[Work, float] = defaultdict(float)
        open_zones = {s.zone for s in self.steps[job.id] if s.zone and not _settled(s)}
        for row, length in own:
            if row.set_aside is None:
                (begun if row.zone in open_zones else spent)[Work(row.work)] += length
        done = self.done(job, plan)
        return Recomputed(whole, left_of_job(whole.to_dict(), done, spent, begun), taught_by)


def _settled(step: Any) -> bool:
    return step.ticked_at is not None or step.skipped_at is not None


def _when(one: tuple[Any, ...]) -> tuple[Any, ...]:
    return one[:2]


def _json(value: Any) -> Any:
    import json

    return json.loads(value) if isinstance(value, str) else value


def _moment(value: Any) -> datetime:
    return datetime.fromisoformat(value) if isinstance(value, str) else value


def _day(value: Any) -> Any:
    from datetime import date

    return date.fromisoformat(value) if isinstance(value, str) else value
