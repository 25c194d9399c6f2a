"""What past jobs teach, on the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_day
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.time.pace import BacktestView, PaceView, TriedView, UnsettledView
from burnplan.reckon.work import Work
from burnplan.show.console import table
from burnplan.units import format_hours, format_hours_range

DOING = dict(zip(Work, ("preparing", "tracing", "burning", "finishing"), strict=True))
"""What is done in each stage."""

_STRIP = 28
# Of fewer jobs a share says nothing.
FEW = 5
# Jobs with open steps named one by one, the newest.
SAID = 3


def _strip(job: TriedView, longest: float) -> Text:
    """Draw a forecast from P10 to P90 with its median, and the hours it took."""
    cells = [" "] * (_STRIP + 1)

    def at(hours: float) -> int:
        return min(_STRIP, round(hours / longest * _STRIP))

    for cell in range(at(job.p10), at(job.p90) + 1):
        cells[cell] = "─"
    cells[at(job.p50)] = "┼"
    drawn = Text("".join(cells), "soft")
    inside = job.p10 <= job.actual_h <= job.p90
    spot = at(job.actual_h)
    return drawn[:spot] + Text("●", "good" if inside else "bad") + drawn[spot + 1 :]


def backtest_report(view: BacktestView) -> RenderableType:
    """Return each past job against its forecast, and how good the forecasts were."""
    if not view.jobs or view.coverage_p10_p90 is None:
        return Text(
            "No finished jobs with a date yet. Bring some in with: burnplan past import FILE",
            "soft",
        )
    longest = max(max(job.p90, job.actual_h) for job in view.jobs)
    rows = table("finished", "+job", ">took", ">forecast", "10 ─┼─ 90 %  ● took")
    for job in view.jobs:
        rows.add_row(
            format_day(job.finished_on) if job.finished_on else "–",
            Text(job.title),
            format_hours(job.actual_h),
            format_hours_range(job.p50, job.p80),
            _strip(job, longest),
        )
    count = len(view.jobs)
    if count < FEW:
        jobs = "1 job is" if count == 1 else f"{count} jobs are"
        return Group(rows, Text(f"\n{jobs} too few to judge the forecasts by", "soft"))
    inside, off = view.coverage_p10_p90 * 100, (view.median_ape or 0.0) * 100
    return Group(
        rows,
        Text(f"\n{inside:.0f} % of {count} jobs lay between 10 and 90 % (80 % is meant)"),
        Text(f"Half of the medians were within {off:.0f} % of the hours it took"),
    )


def hours_lost(one: UnsettledView) -> str:
    """Return which hours of a job teach nothing."""
    return f"{format_hours(one.hours)} of {' and '.join(DOING[work] for work in one.stages)}"


def asked(one: UnsettledView) -> str:
    """Return the question whether what is open of a job was done."""
    return (
        "Were they done, and their hours all logged? Then they are ticked, and"
        f" {hours_lost(one)} teach your pace"
    )


def teaches_nothing(one: UnsettledView) -> str:
    """Return that hours of a job teach nothing, and the command that changes it."""
    steps = "a step is" if len(one.steps) == 1 else f"{len(one.steps)} steps are"
    return (
        f"{hours_lost(one)} of '{one.title}' teach nothing of your pace while {steps} open."
        " If they were done, and their hours are all logged:"
        f" burnplan step tick {one.code} {numbers(one.steps)}"
    )


def numbers(steps: list[int]) -> str:
    """Return the numbers of steps as they are typed.

    Examples
    --------
    >>> numbers([4, 7, 8, 9])
    '4 7-9'
    """
    runs: list[list[int]] = []
    for number in steps:
        if runs and runs[-1][-1] == number - 1:
            runs[-1][1:] = [number]
        else:
            runs.append([number])
    return " ".join("-".join(map(str, run)) for run in runs)


def pace_report(view: PaceView, settings: Settings, *, priors: bool) -> RenderableType:
    """Return what is known of an artist's pace, and on what guess it rests."""
    count = {0: "no jobs", 1: "1 job"}.get(view.jobs, f"{view.jobs} jobs")
    parts: list[RenderableType] = [Text(f"Your pace, from {count} with hours on record", "title")]
    if not view.jobs:
        parts.append(Text("Until then the starting guess holds, and is wide", "soft"))
    rows = table("+what", ">against the guess", ">sure within")
    # Brings numpy: only where pace is shown.
    from burnplan.reckon.pace_factors import is_clear, spread

    for one in view.learned:
        style = "ember" if is_clear(one.factor, one.within) else ""
        rows.add_row(
            Text(one.about),
            Text(f"× {one.factor:.2f}", style),
            Text(spread(one.within), "soft"),
        )
    clear = [one for one in view.learned if is_clear(one.factor, one.within)]
    parts += [rows, *(Text(f"{one.words[0].upper()}{one.words[1:]}") for one in clear)]
    for suspect in view.suspects:
        work, number = suspect.work or "its hours", suspect.past_number
        mend = (
            "If a clock was left running, find the session (burnplan session list) and keep it"
            " from teaching: burnplan session set-aside NUMBER --because WHY"
            if number is None
            else f"If they are not what it took: burnplan past correct {number} --hours HOURS; to"
            f" keep it from teaching: burnplan past set-aside {number} --because WHY"
        )
        parts.append(
            Text(
                f"Looks wrong: '{suspect.title}', {work} {format_hours(suspect.hours)} where about"
                f" {format_hours(suspect.expected_h)} are expected; it counts less. {mend}",
                "warn",
            )
        )
    parts += [Text(teaches_nothing(one), "warn") for one in view.unsettled[:SAID]]
    if len(view.unsettled) > SAID:
        more = len(view.unsettled) - SAID
        parts.append(Text(f"So do hours of {more} jobs delivered before them: see --json", "warn"))
    parts += [Text(), backtest_report(view.tried)]
    if priors:
        guess = table("+starting guess", "value", "from")
        for prior in view.priors:
            value = f"{prior.value:g} {prior.unit}"
            # Of a nib, which is sold by millimetres in inch countries too.
            value = value if prior.unit == "mm" else settings.wording.own(value)
            about = settings.wording.own(prior.about)
            guess.add_row(Text(about), value, Text(prior.provenance, "soft"))
        parts += [Text(), guess]
    else:
        parts.append(Text("The starting guess, one by one: burnplan pace --guess", "soft"))
    return Group(*parts)
