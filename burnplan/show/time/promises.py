"""Promised dates and weeks on the terminal."""

from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.time.promises import Date, Expected, Offered, Promises, Week
from burnplan.show.console import facts, table
from burnplan.show.jobs.review import chance_text
from burnplan.units import format_hours, format_hours_range


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
        ("hours left", format_hours_range(one.hours_p50, one.hours_p80)),
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
    return rows
