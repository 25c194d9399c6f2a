"""Burn sessions on the terminal."""

from rich.console import RenderableType
from rich.text import Text

from burnplan.dates import format_moment
from burnplan.desk.jobs.sessions import SessionView
from burnplan.desk.studio.studio import Studio
from burnplan.show.console import table
from burnplan.units import format_hours
from burnplan.zone_names import zone_mark, zone_name


def session_table(sessions: list[SessionView], studio: Studio) -> RenderableType:
    """Return sessions, or what to do when there are none."""
    if not sessions:
        return Text("No sessions yet. Start the clock with: burnplan session begin JOB", "soft")
    rows = table("#", "job", "+title", "when", "work", "zone", "tip", "heat", ">time", "+note")
    for one in sessions:
        rows.add_row(
            str(one.number),
            Text(one.code, "code"),
            Text(one.title),
            format_moment(studio.local(one.started_at), studio.today()),
            one.work,
            zone_mark(one.zone) if one.zone else "",
            Text(one.tip),
            Text(one.heat),
            Text(format_hours(one.hours), "ember" if one.state != "done" else ""),
            _session_note(one),
        )
    return rows


def _session_note(one: SessionView) -> Text:
    if one.replaced_by is not None:
        return Text(f"replaced by {one.replaced_by}: {one.replace_reason}", "soft")
    if one.set_aside is not None:
        return Text(f"teaches nothing: {one.set_aside}  {one.note}".strip(), "soft")
    if one.spoiled is not None:
        return Text(f"on a spoiled piece: {one.spoiled}  {one.note}".strip(), "soft")
    return Text(one.note if one.state == "done" else f"{one.state}  {one.note}".strip())


def session_line(one: SessionView) -> RenderableType:
    """Return a session in a line."""
    words = {"running": "clock running", "paused": "clock paused", "done": "done"}[one.state]
    zone = f", zone {zone_name(one.zone)}" if one.zone else ""
    return Text.assemble(
        (one.code, "code"), f"  {one.title}: {one.work}{zone}, {words}, ",
        (format_hours(one.hours), "ember"),
    )  # fmt: skip
