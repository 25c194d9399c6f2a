"""What stands above and beside the checklist of a job: zones, money, sessions."""

from typing import TYPE_CHECKING

from rich.cells import cell_len
from textual.content import Content

from burnplan.desk.derived import drop_terms
from burnplan.desk.studio.studio import Studio
from burnplan.show.jobs.portfolio import consent_words
from burnplan.unbroken import wrapped
from burnplan.units import (
    UnitSystem,
    format_area,
    format_hours,
    format_hours_range,
    format_length,
    format_runs,
    format_setting,
    format_size,
)
from burnplan.wood.species import species_on_record
from burnplan.workbench import drawing, gather
from burnplan.workbench.drawing import BAD, EMBER, GOOD, SOFT, STRONG, WARN, Cell, money
from burnplan.zone_names import zone_mark

if TYPE_CHECKING:
    from decimal import Decimal

    from burnplan.desk.jobs.commissions import CommissionView
    from burnplan.desk.jobs.estimates import ZoneView
    from burnplan.desk.jobs.review import JobView
    from burnplan.desk.wood.zone_settings import LadderSettingsView

# More do not help at a glance; the command line lists them all.
_SESSIONS = 8
# The cells of a line beside the checklist where the terminal has 80.
_NARROWEST = 28


def head(now: gather.Now, job: gather.JobDetail, *, code: bool = True) -> Content:
    """Return what the job is: its name and stage, for whom, of what, what speaks against it.

    ``code`` False where its code stands above it, in little room: then each has its line.
    """
    one = job.commission
    shape = one.shape()
    state = "dropped" if one.dropped else "set aside" if one.paused else one.stage.value
    state = now.own.wording.own(state)
    known = [
        one.client or "",
        format_size(shape, now.own.units) if shape else "no size yet",
        species_on_record(one.species).name.lower() if one.species else "no wood yet",
        one.blank or "",
        one.dropped or one.paused or "",
        f"begun again: {one.spoiled[-1].reason}" if one.spoiled else "",
    ]
    parts: list[Cell | str] = [
        (f"{one.code}  " if code else "", SOFT), (one.title, STRONG),
        "   ", (f" {state} ", f"{EMBER} reverse"),
    ]  # fmt: skip
    apart = "   " if code else "\n"
    if one.delivered_on:
        day, _ = drawing.due(one.delivered_on, now.today)
        parts += [(f"{apart}handed over ", SOFT), day]
    elif one.due:
        day, style = drawing.due(one.due, now.today)
        parts += [
            (apart, ""),
            ("due\N{NO-BREAK SPACE}", SOFT),
            (day.replace(" ", "\N{NO-BREAK SPACE}"), style),
        ]
    parts.append(("\n" + " · ".join(part for part in known if part), SOFT))
    if one.consent is not None and (one.delivered_on or one.consent.said_on):
        parts.append((f"\nMay be shown: {consent_words(one.consent, now.today)}", SOFT))
    if one.note:
        parts.append((f"\n{one.note}", ""))
    for hazard in job.hazards:
        if hazard.said_first:
            parts.append((f"\n{hazard.in_words()}", BAD if hazard.blocks else WARN))
    return Content.assemble(*parts)


def in_short(now: gather.Now, one: "CommissionView | JobView", width: int) -> Content:
    """Return what a job is in two lines: its title, and whose it is, how far and until when."""
    state = "set aside" if one.paused else now.own.wording.own(one.stage.value)
    day, style = drawing.due(one.due, now.today)
    until: list[Cell] = [("   due ", SOFT), (day, style)] if one.due else []
    taken = 2 + cell_len(state) + sum(cell_len(text) for text, _ in until)
    whose = drawing.fitted(one.client or "", max(8, width - taken - 3)).rstrip()
    return Content.assemble(
        (drawing.fitted(one.title, width).rstrip(), STRONG),
        (f"\n{whose}{'   ' if whose else ''}", ""), (f" {state} ", f"{EMBER} reverse"), *until,
    )  # fmt: skip


def zones(
    now: gather.Now,
    job: gather.JobDetail,
    settings: "LadderSettingsView | str",
    drawn: gather.Pictures | None = None,
) -> Content:
    """Return the zones with their settings, the hours in all and what is to be traced.

    Above them stands what is wrong with the plan, below what was seen in the photo as its
    picture was ``drawn``; that knows the tones, too.
    """
    reference = job.reference
    if reference is None:
        return Content.styled("No reference yet. Press r to add its photo.", SOFT)
    done = {step.zone for step in job.steps if step.zone and step.state != "open"}
    tones = drawn.shapes.tones if drawn else {}
    known = {} if isinstance(settings, str) else {one.zone: one for one in settings.zones}
    lines = [Content.styled(f"! {now.own.wording.own(note)}", WARN) for note in reference.notes]
    lines.append(Content.styled(f"{'':8}dark{'area':>10}{'set':>6}" if known else
                                f"{'':8}dark{'area':>10}", SOFT))  # fmt: skip
    for zone in reference.zones:
        parts = _zone(zone, tones.get(zone.zone, ""), now.own.units, done=zone.zone in done)
        if (setting := known.get(zone.zone)) is not None:
            reached = setting.reach == "reached"
            parts.append((drawing.fitted(format_setting(setting.setting), 6, right=True), STRONG))
            parts.append(("" if reached else f" {setting.reach}", WARN))
        lines.append(Content.assemble(*parts))
    lines.append(_ladder(settings))
    total = reference.hours.total
    enough = format_hours_range(total.p50, total.p80).replace(" to ", f" to\n{'':10}")
    traced = reference.lines.firm_cm + reference.lines.light_cm
    lines.append(Content.assemble(("in all    ", SOFT), enough))
    strokes = reference.lines.strokes
    counted = "" if strokes is None else f" in {strokes} stroke{'' if strokes == 1 else 's'}"
    lines.append(Content.assemble(("to trace  ", SOFT), _long(now, traced), counted))
    seen = drawn.notes if drawn else ()
    own = now.own.wording.own
    lines += [Content.styled(own(note), SOFT) for note in seen if note not in reference.notes]
    return Content("\n").join(line for line in lines if line)


def _zone(zone: "ZoneView", tone: str, units: UnitSystem, *, done: bool) -> list[Cell]:
    dark = f"{100 * zone.darkness:.0f} %"
    return [
        ("█" if tone else " ", tone),
        (" ✓", GOOD) if done else (" ·", SOFT),
        (f" {drawing.fitted(zone_mark(zone.zone), 2)} ", STRONG),
        (drawing.fitted(dark, 5, right=True), ""),
        (drawing.fitted(format_area(zone.area_cm2, units), 10, right=True), ""),
    ]


def _ladder(settings: "LadderSettingsView | str") -> Content:
    """Return what the settings beside the zones are, and from which ladder."""
    if isinstance(settings, str):
        return Content.styled(settings, SOFT)
    parts = (settings.scale, settings.held, settings.tip, settings.ladder)
    return Content.styled(f"settings: {', '.join(part for part in parts if part)}", SOFT)


def _long(now: gather.Now, cm: float) -> str:
    """Return a long length in the studio's units."""
    units = now.own.units
    return format_length(cm * 10, units) if cm < 100 else format_runs([cm], units)[0]


def account(now: gather.Now, job: gather.JobDetail) -> Content:
    """Return what was quoted, paid and is owed."""
    one = job.commission
    none = "No quote yet. Press i to reckon one." if job.open else "It had no quote."
    if one.quoted is None and not job.payments:
        return Content.styled(none, SOFT)

    totals = [quote.total for quote in job.quotes]
    amounts = (*totals, one.to_pay, one.balance, *(paid.amount for paid in job.payments))
    widest = max(10, *(cell_len(money(now, abs(value), one.currency)) for value in amounts))

    def line(name: str, value: "Decimal", more: str = "", style: str = "") -> Content:
        amount = drawing.fitted(money(now, value, one.currency), widest, right=True)
        return Content.assemble(
            (drawing.fitted(name, 8), SOFT), (amount, style), (f" {more}", SOFT)
        )

    newest = job.quotes[-1] if job.quotes else None
    # That which holds, as the balance is reckoned from it.
    held = next((quote for quote in reversed(job.quotes) if quote.state == "accepted"), newest)
    lines = [] if held else [Content.styled(none, SOFT)]
    for quote in (held, newest if newest is not held else None):
        if quote is not None:
            lines.append(line("quote", quote.total, quote.state))
            if quote.state == "open":
                until = drawing.due(quote.valid_until, now.today)[0]
                lines.append(Content.styled(f"{'':8}until {until}", SOFT))
    if one.deposit and one.received < one.deposit:
        lines.append(line("deposit", one.deposit, "asked"))
    lines += [
        line(paid.kind, paid.amount, drawing.due(paid.paid_on, now.today)[0])
        for paid in job.payments
    ]
    if one.drop_terms is not None:
        lines.append(line("agreed", one.to_pay, drop_terms.IN_WORDS[one.drop_terms]))
    what = "too much" if one.balance < 0 else "to pay"
    more = "the rest is written off" if one.written_off else ""
    if held or one.balance:
        lines.append(line(what, abs(one.balance), more, WARN if one.balance else GOOD))
    if held is not None and held.chance is not None:
        said = f"{100 * held.chance:.0f} % chance of {drawing.target(now)}"
        lines.append(Content.styled(said, SOFT))
        if held.by_guess:
            lines.append(Content.styled("by the starting guess", SOFT))
    return Content("\n").join(lines)


def _left(one: "CommissionView") -> str:
    left = one.hours_left
    if left is None or not left.p80:
        return ""
    return f"{format_hours_range(left.p50, left.p80)} left"


def spent(job: gather.JobDetail, width: int = _NARROWEST) -> Content:
    """Return the hours on record, and those left."""
    one = job.commission
    by_work = ", ".join(
        f"{work} {format_hours(h)}".replace(" ", "\N{NO-BREAK SPACE}")
        for work, h in one.hours_by_work.items()
    )
    lost = sum(piece.hours for piece in one.spoiled)
    lines = [
        Content.assemble(
            (format_hours(one.hours_done), STRONG) if one.hours_done else ("none yet", SOFT),
            (f" and {format_hours(lost)} spoiled (✗)" if lost else "", SOFT),
        ),
        *(Content.styled(line, SOFT) for line in wrapped(by_work, width)),
        *(Content.styled(line, SOFT) for line in wrapped(_left(one), width)),
    ]
    return Content("\n").join(lines)


def hours(job: gather.JobDetail, studio: Studio) -> Content:
    """Return the hours on record and the last sessions."""
    if not job.sessions:
        return Content.styled("No sessions yet. Press c to start the clock.", SOFT)
    lines = [spent(job)]
    for session in job.sessions[:_SESSIONS]:
        zone = "✗" if session.spoiled else zone_mark(session.zone) if session.zone else ""
        heat = session.heat and f"heat {session.heat}"
        lines.append(
            Content.assemble(
                (f"{drawing.day_words(studio.local(session.started_at).date())[4:]} ", SOFT),
                drawing.fitted(session.work, 9),
                drawing.fitted(zone, 3),
                (drawing.fitted(format_hours(session.hours), 8, right=True),
                 EMBER if session.state != "done" else ""),
            )
        )  # fmt: skip
        with_what = " · ".join(part for part in (session.tip, heat, session.note) if part)
        if with_what:
            lines.append(Content.styled(f"  {' '.join(with_what.split())}", SOFT))
    if len(job.sessions) > _SESSIONS:
        lines.append(Content.styled(f"and {len(job.sessions) - _SESSIONS} earlier ones", SOFT))
    return Content("\n").join(lines)
