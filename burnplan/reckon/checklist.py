"""The checklist: the steps this job needs, in order, with why and what to mind.

Made for the job: the grits its blank still needs, the cautions of its wood,
the artist's hand, the zones of its reference. Steps are common practice, no
source, unless one is named.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from itertools import zip_longest

from burnplan.passes import Pass
from burnplan.reckon.standard_hours import PRIORS
from burnplan.units import format_area
from burnplan.wood import cautions
from burnplan.wood.finishes import MOST_COATS, USUAL_COATS
from burnplan.wood.grits import Sanding, still_to_do
from burnplan.wording import AS_WRITTEN, Wording
from burnplan.zone_names import LETTERING, zone_name


class Phase(StrEnum):
    """The parts of a checklist, in order."""

    PREPARE = "prepare"
    TRANSFER = "transfer"
    BURN = "burn"
    FINISH = "finish"
    HANDOVER = "handover"


class Use(StrEnum):
    """Where the piece will live."""

    INDOOR = "indoor"
    OUTDOOR = "outdoor"
    FOOD = "food"


@dataclass(frozen=True, slots=True)
class StepPlan:
    """One step.

    Parameters
    ----------
    phase : Phase
    key : str
        Names the step for good: a ticked one is found again by it.
    text : str
        What to do.
    caution : str
        Why, or what to mind.
    zone : int or None
        The value zone to burn, 1 darkest.
    """

    phase: Phase
    key: str
    text: str
    caution: str = ""
    zone: int | None = None


@dataclass(frozen=True, slots=True)
class ZoneToBurn:
    """A zone of the reference, for its step."""

    zone: int
    area_cm2: float
    darkness: float


@dataclass(frozen=True, slots=True)
class ChecklistJob:
    """What is known of a job when its checklist is made.

    Parameters
    ----------
    size : str
        In the user's units; empty if not known.
    blank : str
        Its code; empty if none is chosen.
    wood : str
        Name of the species; empty if not known.
    wood_cautions : tuple of str
    sanding : tuple of Sanding
        Left to do on the face.
    left_handed : bool
    pen : str
        Colour of the one to trace with: it shows on the lines.
    zones : tuple of ZoneToBurn
        Empty before a reference is planned.
    strokes : tuple of int
        Lines to trace in each pass; empty before a reference is planned.
    lost_edges : bool
        Whether the reference has any.
    words : str
        What is lettered; empty if nothing is.
    photo_allowed : bool
        Whether it is noted that whoever took the photo allows its use; true without one.
    use : Use
    coats : int
    finish : str
        What the coats are of; empty if not chosen.
    next_coat_hours : float or None
        Between coats, as the maker's label says; None if not known.
    wording : Wording
        Of who reads it.
    """

    size: str = ""
    blank: str = ""
    wood: str = ""
    wood_cautions: tuple[str, ...] = ()
    sanding: tuple[Sanding, ...] = ()
    left_handed: bool = False
    pen: str = "red"
    zones: tuple[ZoneToBurn, ...] = ()
    strokes: tuple[int, ...] = ()
    lost_edges: bool = True
    words: str = ""
    photo_allowed: bool = True
    use: Use = Use.INDOOR
    coats: int = USUAL_COATS
    finish: str = ""
    next_coat_hours: float | None = None
    wording: Wording = AS_WRITTEN


def steps_for(job: ChecklistJob) -> tuple[StepPlan, ...]:
    """Return the steps a job needs, in order."""
    steps = (*_prepare(job), *_transfer(job), *_burn(job), *_finish(job), *_handover(job))
    return tuple(_as_read(step, job.wording) for step in steps)


def _as_read(step: StepPlan, wording: Wording) -> StepPlan:
    """Return a step in a studio's wording, but for what was typed."""
    return replace(
        step,
        text=step.text if names_typed(step.key) else wording.own(step.text),
        caution=step.caution if step.key == "sound-wood" else wording.own(step.caution),
    )


def _prepare(job: ChecklistJob) -> Iterable[StepPlan]:
    piece = f"blank {job.blank}" if job.blank else "a blank"
    wood = f" of {job.wood.lower()}" if job.wood else ""
    size = f", {job.size}" if job.size else ""
    yield StepPlan(
        Phase.PREPARE, "choose", f"Set aside {piece}{wood}{size}: dry, flat, no knots under a face"
    )
    yield StepPlan(
        Phase.PREPARE,
        "sound-wood",
        "Make sure that the wood is bare and known",
        ". ".join((cautions.NEVER_BURN, *job.wood_cautions)),
    )
    first_grit = next((sanding for sanding in job.sanding if sanding.grit), None)
    for sanding in job.sanding:
        key = sanding_key(sanding.grit)
        notes = [cautions.DUST] if sanding is first_grit else []
        if sanding is job.sanding[-1]:
            notes.append("A smooth face burns cleaner: no scratch may catch the light")
        yield StepPlan(Phase.PREPARE, key, sanding.label.capitalize(), ". ".join(notes))
    yield StepPlan(Phase.PREPARE, "dust-off", "Brush and wipe off all dust")
    yield StepPlan(
        Phase.PREPARE,
        "try-tones",
        "Burn a strip of tones on an offcut of the same wood",
        f"{cautions.SMOKE}. {cautions.HOT_TIP}",
    )


def _transfer(job: ChecklistJob) -> Iterable[StepPlan]:
    hand, free = ("left", "right") if job.left_handed else ("right", "left")
    size = f" at {job.size}" if job.size else " at the wood's size"
    spelling = [
        (
            SPELLING,
            f"Have the client confirm the spelling in writing, letter by letter: {job.words}",
            "Names and dates above all: what is burned cannot be put right",
        )
    ]
    steps: list[tuple[str, str, str]] = [
        *(spelling if job.words else []),
        (
            "print",
            f"Print the trace sheet{size}, and the reference, grey or sepia",
            (
                "Measure the check bar on paper. The trace sheet goes on the wood and is traced; "
                "the reference stays beside it"
            )
            + ("" if job.photo_allowed else f". {_RIGHTS}"),
        ),
        ("cut", "Cut the trace sheet to the outline of the wood", ""),
        (
            "hinge",
            "Tape it along the top edge so that it lifts like a flap",
            "Weak tape: strong tape pulls fibres up",
        ),
        ("hold", f"One more tape, low on the {hand} side, so that it cannot shift", ""),
        (
            "graphite",
            f"Slide graphite paper under, dull side down, its loose end to the {free}",
            f"Graphite, never carbon paper; away from your drawing hand ({hand})",
        ),
    ]
    steps += _passes(job)
    if job.lost_edges:
        steps.append(
            (
                "lost-edges",
                "Leave lost edges open: no outline where one value melts into the next",
                "A hard line there shows through the shading",
            )
        )
    steps += [
        (
            "check",
            "Lift the flap and check every line before the trace sheet comes off",
            "It never goes back to quite the same place",
        ),
        ("take-off", "Take the trace sheet and the tapes off, slowly and flat", ""),
        (
            "sand-back",
            "Sand the lines back until they are barely visible",
            "Before burning: graphite that is burned over is hard to remove",
        ),
    ]
    return (StepPlan(Phase.TRANSFER, key, text, note) for key, text, note in steps)


_RIGHTS = "First ask whoever took the photo to allow its use, in writing: that is not noted yet"
SPELLING = "spelling"
"""Key of the step that has the client confirm what is lettered."""

_PASS_KEYS = {Pass.SHAPES: "features", Pass.DARKEST: "darkest", Pass.CONTOURS: "contours"}


def _passes(job: ChecklistJob) -> Iterable[tuple[str, str, str]]:
    """Return a step for the first pass, and for each other one that has lines."""
    for one, strokes in zip_longest(Pass, job.strokes):
        if strokes == 0 and one is not Pass.SHAPES:
            continue
        pen = f" with a {job.pen} pen, firmly" if one is Pass.SHAPES else ""
        lines = f" ({strokes} stroke{'s' if strokes > 1 else ''})" if strokes else ""
        note = f"{job.pen.capitalize()} shows what has been traced" if one is Pass.SHAPES else ""
        yield _PASS_KEYS[one], f"Trace pass {one}{pen}: {one.called}{lines}", note


def _burn(job: ChecklistJob) -> Iterable[StepPlan]:
    # Of thresholds that were given, some may part nothing.
    zones = [zone for zone in job.zones if zone.area_cm2 or zone.zone == LETTERING]
    for place, zone in enumerate(sorted(zones, key=lambda zone: zone.zone)):
        note = _zone_note(zone, first=place == 0)
        yield StepPlan(Phase.BURN, f"zone-{zone.zone}", _zone_words(zone), note, zone.zone)
    if not job.zones:
        yield StepPlan(
            Phase.BURN,
            "burn",
            "Burn the picture: features and the darkest values first",
            f"{cautions.SMOKE}. {cautions.FIRE}",
        )


def _zone_words(zone: ZoneToBurn) -> str:
    name, area = zone_name(zone.zone), format_area(zone.area_cm2)
    if zone.zone == LETTERING:
        if not zone.area_cm2:
            return "Burn the lettering along its outlines"
        return f"Burn the lettering: outlines first, then the fill, {area}"
    if round(100 * zone.darkness) == 0:  # as it is shown
        return f"Leave {name} bare, {area}: its tone is that of the wood"
    if zone.darkness < PRIORS["bare_below"].value:
        return f"Burn {name} faintly, {area}: bare wood where the reference is lightest"
    first = "features first, then the fill, " if zone.zone == 1 else ""
    return f"Burn {name}: {first}{area}, darkness {100 * zone.darkness:.0f} %"


def _zone_note(zone: ZoneToBurn, *, first: bool) -> str:
    notes = {
        2: "Tone comes from heat and time, not from pressure",
        LETTERING: "Check the spelling once more; a fine tip, the same heat for every letter",
    }
    of_burning = (cautions.SMOKE, cautions.FIRE) if first else ()
    return ". ".join((*of_burning, *filter(None, [notes.get(zone.zone)])))


def _finish(job: ChecklistJob) -> Iterable[StepPlan]:
    yield StepPlan(
        Phase.FINISH,
        "compare",
        "Check every zone against the reference, at arm's length and from across the room",
        "Under a finish a tone can no longer be burned: it would give off fumes",
    )
    yield StepPlan(Phase.FINISH, "sign", "Sign it, rub out what is left of the graphite")
    yield StepPlan(Phase.FINISH, "clean", "Brush off all loose char and dust")
    notes = {
        Use.INDOOR: "Drying time as the maker's label says",
        Use.OUTDOOR: "UV-resistant: it slows fading, it does not stop it; drying as labelled",
        Use.FOOD: cautions.FOOD,
    }
    for coat in range(1, job.coats + 1):
        note = f"{notes[job.use]}. {cautions.FINISH_RAGS}" if coat == 1 else ""
        words = f"Lay coat {coat} of {job.finish or 'the finish'}{_after(job, coat)}"
        yield StepPlan(Phase.FINISH, f"coat-{coat}", words, note)
    if job.use is not Use.FOOD:
        yield StepPlan(Phase.FINISH, "hang", "Fit what it hangs or stands by")
    yield StepPlan(Phase.FINISH, "photograph", "Photograph it in daylight")


def _after(job: ChecklistJob, coat: int) -> str:
    """Say when a coat may follow the one before it."""
    if coat == 1:
        return ""
    if job.next_coat_hours is None:
        return f", once coat {coat - 1} has dried as its label says"
    return f", {job.next_coat_hours:g} h after coat {coat - 1} at the earliest, as its label says"


_CARE = {
    Use.INDOOR: "no direct sun, no damp",
    Use.OUTDOOR: "when its finish is to be renewed",
    Use.FOOD: "what may touch food, how it is washed",
}


def _handover(job: ChecklistJob) -> Iterable[StepPlan]:
    yield StepPlan(Phase.HANDOVER, "balance", "Collect the balance")
    yield StepPlan(Phase.HANDOVER, "pack", f"Pack it with its care card: {_CARE[job.use]}")
    yield StepPlan(Phase.HANDOVER, "hand-over", "Hand it over")


# What any job can ask for at most; see tone.zones (by definition).
_MOST_ZONES = 9


@cache
def _order_of_work() -> dict[str, int]:
    """Return the place of every step that some job needs."""
    zones = tuple(ZoneToBurn(zone, 1, 1) for zone in (*range(1, _MOST_ZONES + 1), LETTERING))
    most = ChecklistJob(sanding=still_to_do(None), zones=zones, coats=MOST_COATS, words="?")
    places = {step.key: place for place, step in enumerate(steps_for(most))}
    # What stands for the zones until they are known.
    return {**places, "burn": places["zone-1"]}


def names_typed(key: str) -> bool:
    """Return whether a step names what was typed: a wood, a finish, words to letter."""
    return key in ("choose", SPELLING) or is_coat(key)


def sanding_key(grit: int | None) -> str:
    """Return the key of the step of a grit; None is water, which raises the grain."""
    return f"sand-{grit}" if grit else "raise-grain"


def is_sanding(key: str) -> bool:
    """Return whether a step sands the face, or raises its grain, before the transfer.

    Examples
    --------
    >>> [is_sanding(key) for key in ("sand-220", "raise-grain", "sand-back")]
    [True, True, False]
    """
    return key == "raise-grain" or key.removeprefix("sand-").isdigit()


def is_tracing(key: str) -> bool:
    """Return whether a step traces a pass of the lines.

    Examples
    --------
    >>> is_tracing("features"), is_tracing("lost-edges")
    (True, False)
    """
    return key in _PASS_KEYS.values()


def is_of_the_blank(key: str) -> bool:
    """Return whether a step is done to the blank itself, or looks at it, before the transfer.

    Examples
    --------
    >>> [is_of_the_blank(key) for key in ("sound-wood", "sand-220", "try-tones", "sand-back")]
    [True, True, False, False]
    """
    return key in ("choose", "sound-wood", "dust-off") or is_sanding(key)


def is_coat(key: str) -> bool:
    """Return whether a step lays a coat of the finish.

    Examples
    --------
    >>> is_coat("coat-2"), is_coat("cure")
    (True, False)
    """
    return key.removeprefix("coat-").isdigit()


def place_of(key: str) -> int:
    """Return where a step comes in the order of work; last if no job needs it.

    A step settled long ago, which the job would not ask for today, keeps its
    place among the others by it.

    Examples
    --------
    >>> sorted(["raise-grain", "sand-220", "choose", "sand-320"], key=place_of)
    ['choose', 'sand-220', 'raise-grain', 'sand-320']
    """
    places = _order_of_work()
    return places.get(key, len(places))


@dataclass(frozen=True, slots=True)
class KeptStep:
    """A step on record, as far as merging needs to know it.

    Parameters
    ----------
    key : str
    touched : bool
        Ticked, skipped, or the artist's own.
    """

    key: str
    touched: bool


@dataclass(frozen=True, slots=True)
class Merge:
    """How to bring a checklist on record up to date.

    Parameters
    ----------
    drop : tuple of str
        Keys of untouched steps that the job no longer needs.
    update : tuple of StepPlan
        Untouched steps whose words may have changed.
    add : tuple of StepPlan
    """

    drop: tuple[str, ...]
    update: tuple[StepPlan, ...]
    add: tuple[StepPlan, ...]


_WAS_PART_OF = {"darkest": "features"}


def merge(on_record: Sequence[KeptStep], wanted: Sequence[StepPlan]) -> Merge:
    """Return what changes when a job's facts change.

    What the artist has ticked, skipped or added stays as it is, words and all;
    untouched steps are replaced by what the job needs now. Merging again
    changes nothing more.

    Parameters
    ----------
    on_record : sequence of KeptStep
        Each key once.
    wanted : sequence of StepPlan
        As :func:`steps_for` gives them.

    Returns
    -------
    Merge

    Examples
    --------
    >>> change = merge([KeptStep("cut", True), KeptStep("sand-120", False)], [])
    >>> change.drop
    ('sand-120',)
    """
    touched = {step.key for step in on_record if step.touched}
    untouched = {step.key for step in on_record if not step.touched}
    keys = {step.key for step in wanted}
    # What was one step when it was done is not asked for again as a step of its own.
    touched |= {part for part, whole in _WAS_PART_OF.items() if whole in touched}
    return Merge(
        drop=tuple(sorted(untouched - keys)),
        update=tuple(step for step in wanted if step.key in untouched),
        add=tuple(step for step in wanted if step.key not in untouched | touched),
    )
