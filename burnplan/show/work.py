"""Commissions, open jobs, checklists, sessions and blanks on the terminal."""

from datetime import date
from textwrap import shorten
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.queue import AT_RISK, LIKELY_LATE
from burnplan.money import format_money
from burnplan.reckon.checklist import Phase
from burnplan.show.console import facts, table
from burnplan.units import format_hours, format_length, format_size
from burnplan.wood.species import species_on_record

if TYPE_CHECKING:  # only their shapes are needed, not the rooms they come from
    from burnplan.desk.blanks import BlankView
    from burnplan.desk.checklists import ChecklistView
    from burnplan.desk.commissions import CommissionView
    from burnplan.desk.jobs import JobView
    from burnplan.desk.sessions import SessionView
    from burnplan.desk.settings import Settings
    from burnplan.desk.studio import Studio

PHASE_NAMES = {
    Phase.PREPARE: "Prepare the wood",
    Phase.TRANSFER: "Transfer the picture",
    Phase.BURN: "Burn",
    Phase.FINISH: "Finish",
    Phase.HANDOVER: "Hand over",
}
# Below this width the list of jobs is laid out as cards.
_NARROW = 96
# What fits beside a job of its next step; the checklist has it in full.
_STEP_LETTERS = 56


def _due(due: date | None, today: date, style: str = "") -> Text:
    return Text(format_date(due, today) if due else "–", style if due else "soft")


def chance_text(chance: float | None) -> Text:
    """Return a chance in per cent, coloured by how much is at risk."""
    if chance is None:
        return Text("–", "soft")
    style = "bad" if chance < LIKELY_LATE else "warn" if chance < AT_RISK else "good"
    shown = ">99 %" if chance > 0.99 else "<1 %" if chance < 0.01 else f"{chance:.0%}"
    return Text(shown.replace("%", " %").replace("  ", " "), style)


def _left(job: "JobView") -> str:
    if job.hours_left.p50 is None or job.hours_left.p80 is None:
        return "?"
    if job.hours_left.p80 < 0.02:
        return "–"
    if job.hours_left.p80 < 1:
        return f"{job.hours_left.p80 * 60:.0f} min"
    decimals = 0 if job.hours_left.p80 >= 10 else 1
    half, most = f"{job.hours_left.p50:.{decimals}f}", f"{job.hours_left.p80:.{decimals}f}"
    return f"{half} … {most} h" if half != most else f"{most} h"


def job_table(
    jobs: "list[JobView]", settings: "Settings", today: date, width: int
) -> RenderableType:
    """Return the open jobs, or what to do when there are none."""
    if not jobs:
        return Text("No open jobs. Log one with: burnplan commission add", "soft")
    if width < _NARROW:
        return Group(*(_job_card(job, settings, today) for job in jobs))
    rows = table("job", "+title", "stage", "due", ">done", ">left", ">on time", ">owed", "++next")
    for job in jobs:
        name = Text(job.title)
        if job.client:
            name.append(f"\n{job.client}", "soft")
        following = Text(job.attention, _urgency(job))
        step = shorten(job.next_step, _STEP_LETTERS, placeholder=" …")
        following.append(f"\n{step}" if job.attention else step, "soft")
        rows.add_row(
            Text(job.code, "code"),
            name,
            job.stage.value,
            _due(job.due, today),
            format_hours(job.hours_done) if job.hours_done else "–",
            _left(job),
            chance_text(job.on_time),
            format_money(job.balance, job.currency, settings.locale) if job.balance else "–",
            following,
        )
    rows.caption = "left: hours that are enough in 50 … 80 % of cases"
    rows.caption_justify, rows.caption_style = "left", "soft"
    return rows


def _urgency(job: "JobView") -> str:
    if "late" in job.attention:
        return "bad"
    return "warn" if job.attention and not job.paused else "soft"


def _job_card(job: "JobView", settings: "Settings", today: date) -> RenderableType:
    head = Text.assemble((job.code, "code"), "  ", (job.title, "title"), f"  {job.stage.value}")
    if job.attention:
        head.append(f"  {job.attention}", _urgency(job))
    owed = format_money(job.balance, job.currency, settings.locale) if job.balance else "–"
    line = Text.assemble(
        "  due ", _due(job.due, today), "  left ", _left(job), "  on time ",
        chance_text(job.on_time),
        f"  owed {owed}",
    )  # fmt: skip
    return Group(head, line, Text(f"  next: {job.next_step}", "soft"))


def commission_table(found: "list[CommissionView]", today: date) -> RenderableType:
    """Return a list of commissions, or what to do when there are none."""
    if not found:
        return Text("No commissions yet. Log one with: burnplan commission add", "soft")
    rows = table("job", "+title", "client", "stage", "due", ">steps", ">hours")
    for one in found:
        rows.add_row(
            Text(one.code, "code"),
            Text(one.title),
            Text(one.client or "–"),
            "set aside" if one.paused else one.stage.value,
            _due(one.due, today),
            f"{one.steps_settled}/{one.steps}",
            format_hours(one.hours_done) if one.hours_done else "–",
        )
    return rows


def commission_card(one: "CommissionView", settings: "Settings", today: date) -> RenderableType:
    """Return all that is known of a commission."""
    size = one.shape()

    def money(amount: object) -> str:
        return format_money(amount, one.currency or settings.currency, settings.locale)  # type: ignore[arg-type]

    works = ", ".join(f"{work} {format_hours(h)}" for work, h in one.hours_by_work.items())
    quoted = money(one.quoted) if one.quoted is not None else ""
    if quoted:
        quoted += f", accepted {one.accepted_on}" if one.accepted_on else ", not accepted yet"
    return facts(
        (one.code, Text(one.title, "title")),
        ("client", Text(one.client or "")),
        ("stage", Text(f"{one.stage.value}" + (", set aside" if one.paused else ""))),
        ("set aside", Text(one.paused or "")),
        ("dropped", Text(one.dropped or "")),
        ("size", format_size(size, settings.units) if size else None),
        ("wood", Text(species_on_record(one.species).name) if one.species else None),
        ("blank", one.blank),
        ("use", one.use),
        ("due", _due(one.due, today) if one.due else None),
        ("progress", Text(one.progress)),
        ("delivered", str(one.delivered_on) if one.delivered_on else None),
        ("checklist", f"{one.steps_settled} of {one.steps} steps"),
        ("hours", f"{format_hours(one.hours_done)} ({works})" if works else None),
        ("quote", quoted),
        ("deposit", money(one.deposit) if one.deposit else None),
        ("received", money(one.received) if one.received else None),
        ("owed", money(one.balance) if one.quoted is not None else None),
        ("note", Text(one.note)),
    )


_BOXES = {"open": ("☐", ""), "ticked": ("☑", "good"), "skipped": ("☒", "soft")}


def checklist(view: "ChecklistView", *, cautions: bool = True) -> RenderableType:
    """Return a checklist, numbered, by phase."""
    parts: list[RenderableType] = [Text.assemble((view.code, "code"), "  ", (view.title, "title"))]
    for phase in Phase:
        steps = [step for step in view.steps if step.phase is phase]
        if not steps:
            continue
        settled = sum(step.state != "open" for step in steps)
        parts.append(
            Text.assemble("\n", (PHASE_NAMES[phase], "ember"), f"  {settled}/{len(steps)}")
        )
        rows = table("", "", "+")
        rows.show_header = False
        for step in steps:
            box, style = _BOXES[step.state]
            words = Text(step.text, "soft" if step.state != "open" else "")
            if step.skip_reason:
                words.append(f"  skipped: {step.skip_reason}", "soft")
            if step.caution and cautions and step.state == "open":
                words.append(f"\n{step.caution}", "soft italic")
            rows.add_row(Text(f"{step.number:>2}", "soft"), Text(box, style), words)
        parts.append(rows)
    return Group(*parts)


def session_table(sessions: "list[SessionView]", studio: "Studio") -> RenderableType:
    """Return sessions, or what to do when there are none."""
    if not sessions:
        return Text("No sessions yet. Start the clock with: burnplan session start JOB", "soft")
    rows = table("#", "job", "+title", "when", "work", "zone", "tip", "heat", ">time", "+note")
    for one in sessions:
        rows.add_row(
            str(one.number),
            Text(one.code, "code"),
            Text(one.title),
            f"{studio.local(one.started_at):%d %b %H:%M}",
            one.work,
            f"Z{one.zone}" if one.zone else "",
            Text(one.tip),
            Text(one.heat),
            Text(format_hours(one.hours), "ember" if one.state != "done" else ""),
            _session_note(one),
        )
    return rows


def _session_note(one: "SessionView") -> Text:
    if one.replaced_by is not None:
        return Text(f"replaced by {one.replaced_by}: {one.replace_reason}", "soft")
    return Text(one.note if one.state == "done" else f"{one.state}  {one.note}".strip())


def session_line(one: "SessionView") -> RenderableType:
    """Return a session in a line."""
    words = {"running": "clock running", "paused": "clock paused", "done": "done"}[one.state]
    zone = f", zone Z{one.zone}" if one.zone else ""
    return Text.assemble(
        (one.code, "code"), f"  {one.title}: {one.work}{zone}, {words}, ",
        (format_hours(one.hours), "ember"),
    )  # fmt: skip


def blank_table(blanks: "list[BlankView]", settings: "Settings") -> RenderableType:
    """Return the blanks, or what to do when there are none."""
    if not blanks:
        return Text("No blanks in stock. Add one with: burnplan blank add basswood 30x40cm", "soft")
    rows = table("blank", "wood", "size", ">thick", ">grit", "state", ">cost", "+place")
    for one in blanks:
        rows.add_row(
            Text(one.code, "code"),
            Text(one.species_name),
            format_size(one.shape(), settings.units),
            format_length(one.thickness_mm, settings.units) if one.thickness_mm else "",
            str(one.grit or "–"),
            _blank_state(one),
            format_money(one.cost, settings.currency, settings.locale) if one.cost else "",
            Text(one.location),
        )
    return rows


def _blank_state(one: "BlankView") -> Text:
    """Say where a blank is, and if it must not be burned."""
    said = Text(f"{one.state} {one.held_for or ''}".strip())
    if any(hazard.blocks for hazard in one.hazards):
        said.append(", blocked", "bad")
    return said


def blank_card(one: "BlankView", settings: "Settings") -> RenderableType:
    """Return all that is known of a blank, with the sanding left to do."""
    return facts(
        (one.code, Text(one.species_name, "title")),
        ("size", format_size(one.shape(), settings.units)),
        ("thickness", format_length(one.thickness_mm, settings.units) if one.thickness_mm else ""),
        ("state", _blank_state(one)),
        ("scrapped", Text(one.scrap_reason or "")),
        ("cost", format_money(one.cost, settings.currency, settings.locale) if one.cost else None),
        ("supplier", Text(one.supplier)),
        ("place", Text(one.location)),
        ("grit", str(one.grit) if one.grit else "rough"),
        ("to do", Text("\n".join(one.sanding_left) or "ready to transfer")),
        ("grain", one.grain),
        ("moisture", f"{one.moisture:g} %" if one.moisture is not None else None),
        ("photos", str(one.photos) if one.photos else None),
        ("condition", Text(", ".join(found.kind for found in one.conditions))),
        ("blocked", Text("\n".join(h.in_words() for h in one.hazards if h.blocks), "bad")),
        ("caution", Text("\n".join(h.in_words() for h in one.hazards if not h.blocks), "warn")),
        ("checking", Text(one.checking, "warn")),
        ("note", Text(one.note)),
    )
