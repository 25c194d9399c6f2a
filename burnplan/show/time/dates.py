"""Promised dates, weeks, planned sessions, days off and photos on the terminal."""

from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.jobs.photos import PhotoView
from burnplan.desk.studio.days_off import DayOffView
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time.calendar import CalendarEntry
from burnplan.desk.time.planned_sessions import PlannedView
from burnplan.desk.time.promises import Date, Expected, Offered, Promises, Week
from burnplan.show.console import facts, table
from burnplan.show.jobs.review import chance_text
from burnplan.units import format_hours


def promises(found: Promises, today: date) -> RenderableType:
    """Return what was asked for: the new job's dates, the queue's, the weeks."""
    parts: list[RenderableType] = []
    if found.offer is not None:
        parts += [_offer(found.offer, today), Text("")]
    parts.append(_queue(found, today))
    late = found.late
    if late.usual_order:
        words = f"Likely late in this order: {', '.join(late.usual_order)}"
        if len(late.fewest) < len(late.usual_order):
            words += f"; putting off {', '.join(late.fewest)} would make the others on time"
        parts.append(Text(words, "warn"))
    if found.weeks:
        parts += [Text(""), _weeks(found.weeks, today)]
    return Group(*parts)


def _queue(found: Promises, today: date) -> RenderableType:
    if not found.queue and found.unknown:
        return Text(f"Hours unknown of all that is booked: {', '.join(found.unknown)}", "soft")
    if not found.queue and found.offer is not None and found.offer.booked:
        return Text(f"{found.offer.code} is the only job booked", "soft")
    if not found.queue and found.offer is not None:
        return Text("No other work is booked", "soft")
    if not found.queue:
        words = "No booked work waits: any day is free. Dates for a new job:"
        return Text(f"{words} burnplan promise JOB, or burnplan promise --hours 12", "soft")
    rows = table("job", "+title", "due", ">on time", ">P50", ">P80", ">P90", "+hangs on")
    for one in found.queue:
        rows.add_row(
            Text(one.code, "code"),
            Text(one.title),
            Text(format_date(one.due, today) if one.due else "–"),
            chance_text(one.on_time),
            *(format_date(day, today) for day in (one.p50, one.p80, one.p90)),
            Text(risk_words(one), "soft"),
        )
    rows.caption = "with the client by P50, P80, P90: in 50, 80, 90 % of cases"
    if found.unknown:
        rows.caption += f"\nhours unknown, not counted: {', '.join(found.unknown)}"
    rows.caption_justify, rows.caption_style = "left", "soft"
    return rows


def risk_words(one: Expected) -> str:
    """Return what a job's date hangs on, in words."""
    if one.risk == "full":
        return "more work than hours before it is due"
    share = f"{one.risk_share * 100:.0f} %"
    whose = "its own hours" if one.hangs_on == one.code else f"the hours of {one.hangs_on}"
    return f"{whose} ({share} of its spread)"


def _offer(one: Offered, today: date) -> RenderableType:
    sure = f"{one.confidence * 100:.0f} %"
    same = one.sparing.ready == one.earliest.ready
    name = Text(one.title or "A new job", "title")
    pairs: list[tuple[str, RenderableType | None]] = [
        (one.code or "", name),
        ("hours left", f"{one.hours_p50:.0f} … {one.hours_p80:.0f} h"),
        (f"earliest at {sure}", _date(one.earliest, today)),
    ]
    if not same:
        pairs.append(("harming none", _date(one.sparing, today)))
    touched = [other for other in one.earliest.others if other.before - other.after >= 0.01]
    if touched:
        words = Text("\n").join(
            Text.assemble(
                (other.code, "code"), f"  {other.title}: ",
                chance_text(other.before), " → ", chance_text(other.after),
            )
            for other in touched
        )  # fmt: skip
        pairs.append(("others on time", words))
    elif one.earliest.others:
        pairs.append(("others on time", Text("as before", "soft")))
    if one.due is not None:
        asked = format_date(one.due, today)
        fits = one.earliest.ready <= one.due
        pairs.append(("asked for", Text(asked, "good" if fits else "bad")))
    return facts(*pairs)


def _date(one: Date, today: date) -> Text:
    harmed = sum(other.harmed for other in one.others)
    words = Text(format_date(one.ready, today), "ember")
    if harmed:
        words.append(f"  harms {harmed} job{'s' if harmed > 1 else ''}", "warn")
    return words


def _weeks(weeks: list[Week], today: date) -> RenderableType:
    rows = table("week of", ">free", ">booked", "+", ">due", ">spare", "+jobs due")
    most = max((week.free for week in weeks), default=0.0) or 1.0
    for week in weeks:
        full = round(20 * week.booked / most)
        open_ = round(20 * week.free / most) - full
        rows.add_row(
            format_date(week.monday, today),
            format_hours(week.free),
            format_hours(week.booked),
            Text.assemble(("█" * full, "ember"), ("░" * max(0, open_), "soft")),
            format_hours(week.due_hours) if week.due else "–",
            Text(
                format_hours(week.spare) if week.spare >= 0 else f"−{format_hours(-week.spare)}",
                "bad" if week.spare < 0 else "",
            ),
            Text(", ".join(week.due)),
        )
    rows.caption = "spare: hours free until the week's end beyond all work due by then"
    rows.caption_justify, rows.caption_style = "left", "soft"
    return rows


def planned_table(found: list[PlannedView], studio: Studio) -> RenderableType:
    """Return planned sessions, or what to do when there are none."""
    if not found:
        return Text("Nothing is planned. Lay the queue out with: burnplan session plan", "soft")
    today = studio.today()
    rows = table("#", "day", "from", "to", "job", "+title", "work", ">time", "breaks", "+note")
    for one in found:
        start, end = studio.local(one.starts_at), studio.local(one.ends_at)
        rows.add_row(
            str(one.number),
            format_date(start.date(), today),
            f"{start:%H:%M}",
            f"{end:%H:%M}",
            Text(one.code, "code"),
            Text(one.title),
            one.work,
            format_hours(one.minutes / 60),
            Text(" ".join(f"{studio.local(at):%H:%M}" for at in one.breaks), "soft"),
            Text(one.note),
        )
    return rows


def days_off_table(found: list[DayOffView], today: date) -> RenderableType:
    """Return days off, or what to do when there are none."""
    if not found:
        return Text("No days off. Take some with: burnplan days-off add friday", "soft")
    rows = table("#", "from", "to", "+reason")
    for one in found:
        last = format_date(one.ends_on, today) if one.ends_on != one.starts_on else ""
        number = "" if one.number is None else str(one.number)
        rows.add_row(number, format_date(one.starts_on, today), last, Text(one.reason))
    return rows


def photo_table(found: list[PhotoView], today: date) -> RenderableType:
    """Return photos of progress, or what to do when there are none."""
    if not found:
        return Text("No photos yet. Keep one with: burnplan photo add JOB PHOTO", "soft")
    rows = table("#", "job", "+title", "day", "+file", ">pixels", "+note")
    for one in found:
        rows.add_row(
            str(one.number),
            Text(one.code, "code"),
            Text(one.title),
            format_date(one.taken_on, today),
            Text(one.filename),
            f"{one.size_px[0]} × {one.size_px[1]}",
            Text(one.note),
        )
    return rows


def entry_table(found: list[CalendarEntry], studio: Studio) -> RenderableType:
    """Return what a calendar file would hold, or what to do when that is nothing."""
    if not found:
        return Text("The calendar is empty. Give jobs a due date: burnplan commission edit", "soft")
    rows = table("day", "time", "job", "what", "+says")
    for one in found:
        day, hours = one.day, ""
        if one.starts_at is not None and one.ends_at is not None:
            start, end = studio.local(one.starts_at), studio.local(one.ends_at)
            day, hours = start.date(), f"{start:%H:%M}–{end:%H:%M}"
        rows.add_row(
            format_date(day, studio.today()),
            hours,
            Text(one.code, "code"),
            one.kind,
            Text(one.summary),
        )
    return rows
