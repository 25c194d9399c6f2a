"""Today on the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.review import PHOTO_OPEN, JobView
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time.today import TodayView
from burnplan.money import format_balance
from burnplan.show.console import table
from burnplan.show.jobs.review import due_text
from burnplan.show.jobs.sessions import session_line
from burnplan.show.time.planned_sessions import planned_table
from burnplan.units import format_hours_range


def day(view: TodayView, studio: Studio, settings: Settings) -> RenderableType:
    """Return the day: the clock first, then what to do, then what to see to."""
    parts: list[RenderableType] = [
        session_line(view.clock) if view.clock else Text("The clock stands still", "soft")
    ]

    def under(heading: str, shown: RenderableType) -> None:
        parts.extend([Text(f"\n{heading}", "ember"), shown])

    if view.blocked:
        lines = (Text(f"! {job.code}  {job.title}: {job.attention}", "bad") for job in view.blocked)
        parts.insert(0, Text("\n").join(lines))
    if view.planned:
        under("Planned", planned_table(view.planned, studio))
    under("In order of work", _next(view.next, studio))
    if view.enquiries:
        under("Not booked yet", _next(view.enquiries, studio))
    if view.coats:
        under("Coats", Text("\n").join(Text(one.summary) for one in view.coats))
    if view.money:
        under("Money", _money(view.money, settings))
    if view.risk:
        own = settings.wording.own
        lines = (
            Text.assemble((job.code, "code"), f"  {job.title}: ", (own(job.attention), "warn"))
            for job in view.risk
        )
        under("To look after", Text("\n").join(lines))
    if view.photos:
        asked = (
            Text.assemble((job.code, "code"), f"  {job.title}: ", (PHOTO_OPEN, "warn"))
            for job in view.photos
        )
        under("To ask for", Text("\n").join(asked))
    return Group(*parts)


def _next(jobs: list[JobView], studio: Studio) -> RenderableType:
    if not jobs:
        return Text("Nothing is booked. See all jobs with: burnplan jobs", "soft")
    rows = table("job", "+title", "due", ">left", "++next step")
    for job in jobs:
        left = format_hours_range(job.hours_left.p50, job.hours_left.p80)
        rows.add_row(
            Text(job.code, "code"),
            Text(job.title),
            due_text(job.due, studio.today()),
            left.replace(" to ", " to\n"),
            Text(job.next_step),
        )
    return rows


def _money(jobs: list[JobView], settings: Settings) -> RenderableType:
    rows = table("job", "+title", ">owed", "++why")
    for job in jobs:
        owed = format_balance(job.balance, job.currency, settings.locale)
        rows.add_row(
            Text(job.code, "code"), Text(job.title), owed, Text(settings.wording.own(job.money_why))
        )
    return rows
