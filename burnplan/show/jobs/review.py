"""The open jobs on the terminal."""

from datetime import date
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from burnplan.dates import format_date
from burnplan.money import format_balance
from burnplan.reckon.lateness import Course, course_of
from burnplan.show.console import table
from burnplan.units import format_chance, format_hours, format_hours_range

if TYPE_CHECKING:  # only their shapes are needed, not the rooms they come from
    from burnplan.desk.derived.studio_settings import Settings
    from burnplan.desk.jobs.review import JobView

_STYLES = {Course.ON_COURSE: "good", Course.AT_RISK: "warn", Course.LIKELY_LATE: "bad"}


def due_text(due: date | None, today: date) -> Text:
    """Return a due date as people say it; a dash for none."""
    return Text(format_date(due, today) if due else "–", "" if due else "soft")


def chance_text(chance: float | None) -> Text:
    """Return a chance in per cent, coloured by how much is at risk."""
    if chance is None:
        return Text("–", "soft")
    return Text(format_chance(chance), _STYLES[course_of(chance)])


def _left(job: "JobView") -> str:
    return format_hours_range(job.hours_left.p50, job.hours_left.p80)


def job_table(jobs: "list[JobView]", settings: "Settings", today: date) -> RenderableType:
    """Return the open jobs, or what to do when there are none."""
    if not jobs:
        return Text("No open jobs. Log one with: burnplan commission add", "soft")
    rows = table("job", "+title", "stage", "due", ">done", ">left", ">on time", ">to pay", "++next")
    for job in jobs:
        name = Text(job.title)
        if job.client:
            name.append(f"\n{job.client}", "soft")
        following = Text(settings.wording.own(job.attention), _urgency(job))
        following.append(f"\n{job.next_step}" if job.attention else job.next_step, "soft")
        rows.add_row(
            Text(job.code, "code"),
            name,
            settings.wording.own(job.stage.value),
            due_text(job.due, today),
            format_hours(job.hours_done) if job.hours_done else "–",
            _left(job).replace(" to ", " to\n"),
            chance_text(job.on_time),
            format_balance(job.balance, job.currency, settings.locale) if job.balance else "–",
            following,
        )
    rows.caption = "left: hours that are enough in 50 % and in 80 % of cases"
    cards = (_job_card(job, settings, today) for job in jobs)
    rows.instead = Group(*cards, Text(rows.caption, "soft"))
    return rows


def _urgency(job: "JobView") -> str:
    if "late" in job.attention or job.blocked:
        return "bad"
    return "warn" if job.attention and not job.paused else "soft"


def _job_card(job: "JobView", settings: "Settings", today: date) -> RenderableType:
    head = Text.assemble((job.code, "code"), "  ", (job.title, "title"))
    head.append(f"  {settings.wording.own(job.stage.value)}")
    if job.attention:
        head.append(f"  {settings.wording.own(job.attention)}", _urgency(job))
    owed = format_balance(job.balance, job.currency, settings.locale) if job.balance else "–"
    line = Text.assemble(
        f"{job.client}  " if job.client else "",
        "due ", due_text(job.due, today), "  left ", _left(job), "  on time ",
        chance_text(job.on_time), f"  to pay {owed}",
    )  # fmt: skip
    if job.hours_done:
        line.append(f"  done {format_hours(job.hours_done)}")
    following = Text(f"next: {job.next_step}", "soft")
    return Group(head, Padding(Group(line, following), (0, 0, 0, 2), expand=False))
