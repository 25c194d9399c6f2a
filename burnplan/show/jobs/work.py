"""Commissions, checklists, sessions and blanks on the terminal."""

from datetime import date
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.money import format_balance, format_money
from burnplan.reckon.checklist import Phase
from burnplan.show.console import facts, table
from burnplan.show.jobs.review import due_text
from burnplan.units import format_hours, format_length, format_size
from burnplan.wood.species import species_on_record

if TYPE_CHECKING:  # only their shapes are needed, not the rooms they come from
    from burnplan.desk.derived.studio_settings import Settings
    from burnplan.desk.jobs.checklists import ChecklistView
    from burnplan.desk.jobs.commissions import CommissionView
    from burnplan.desk.jobs.sessions import SessionView
    from burnplan.desk.studio.studio import Studio
    from burnplan.desk.wood.blanks import BlankView

PHASE_NAMES = {
    Phase.PREPARE: "Prepare the wood",
    Phase.TRANSFER: "Transfer the picture",
    Phase.BURN: "Burn",
    Phase.FINISH: "Finish",
    Phase.HANDOVER: "Hand over",
}


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
            due_text(one.due, today),
            f"{one.steps_settled}/{one.steps}",
            format_hours(one.hours_done) if one.hours_done else "–",
        )
    return rows


def commission_card(one: "CommissionView", settings: "Settings", today: date) -> RenderableType:
    """Return all that is known of a commission."""
    size = one.shape()

    def money(amount: object) -> str:
        return format_money(amount, one.currency or settings.currency, settings.locale)  # type: ignore[arg-type]

    owed = None
    if one.quoted is not None:
        owed = format_balance(one.balance, one.currency or settings.currency, settings.locale)
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
        ("due", due_text(one.due, today) if one.due else None),
        ("progress", Text(one.progress)),
        ("delivered", str(one.delivered_on) if one.delivered_on else None),
        ("checklist", f"{one.steps_settled} of {one.steps} steps"),
        ("hours", f"{format_hours(one.hours_done)} ({works})" if works else None),
        ("quote", quoted),
        ("deposit", money(one.deposit) if one.deposit else None),
        ("received", money(one.received) if one.received else None),
        ("owed", owed),
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
