"""The reference photo of the job shown: planned from, looked at."""

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from burnplan.desk.jobs import references
from burnplan.errors import NotFound
from burnplan.files import given_path
from burnplan.passes import Detail
from burnplan.workbench.actions.action import Action, of_job, unless_closed
from burnplan.workbench.forms import Answers, Field, Files, Form, chosen_of, whole_number
from burnplan.zoning import FEWEST

if TYPE_CHECKING:
    from burnplan.desk.jobs.layouts import LayoutChange
    from burnplan.workbench.app import Workbench
    from burnplan.workbench.threads import Stopper


def photo(bench: "Workbench") -> None:
    """Add the reference photo and plan the work from it."""
    code = bench.job_page.code
    fields = [
        Field("photo", "Photo", "the file's path; paste or drop it here", known=Files()),
        Field("zones", "Zones", "3 to 9", "6"),
        Field("line", "Lines", "calm, usual or fine; empty: as in settings"),
        Field("subject", "Subject", "round it, like ellipse 20,5 80,95; empty: all"),
    ]
    bench.ask(
        Form(f"Reference photo for {code}", fields, _checked, send="Plan from it"),
        lambda given: _plan(bench, code, *given),
    )


def _checked(answers: Answers) -> tuple[Path, "_Plan"]:
    plan = _plan_of(answers)
    return photo_at(answers["photo"]), plan


def photo_at(text: str) -> Path:
    """Return the path of a photo that was typed, pasted or dropped.

    Raises
    ------
    NotFound
        If no file is there.
    """
    # Terminals put quotes around the path of a dropped file, or escape its spaces.
    plain = text.strip("'\" ").replace("\\ ", " ").removeprefix("file://")
    path = given_path(plain)
    if not plain or not path.is_file():
        raise NotFound(f"There is no photo '{plain}'", "Give the file's path")
    return path


class _Plan(NamedTuple):
    """What a form says of a plan; None and nothing leave a thing as it is."""

    zones: int
    line: Detail | None
    subject: list[str]

    def change(self) -> "LayoutChange":
        from burnplan.desk.jobs.layouts import LayoutChange  # brings numpy: only while planning

        return LayoutChange(line=self.line, subject=self.subject or None)


def _plan_of(answers: Answers) -> _Plan:
    marks = [mark.strip() for mark in answers["subject"].split(";") if mark.strip()]
    zones = whole_number(answers["zones"] or "6", "zones", 3, 9)
    typed = answers["line"]
    line = chosen_of(tuple(Detail), typed, "way to draw lines") if typed else None
    return _Plan(zones, line, marks)


def _plan(bench: "Workbench", code: str, path: Path, plan: _Plan) -> None:
    bench.long(
        lambda stopper: references.add(
            bench.studio, code, path, zones=plan.zones, wanted=plan.change(), on_progress=stopper
        ),
        lambda _: bench.say("The work is planned from the photo"),
        writes=True,
    )  # fmt: skip


def several(bench: "Workbench") -> None:
    """Put several photos on the piece and plan the work from them as one."""
    code, reference = bench.job_page.code, bench.job.reference if bench.job else None
    shared = None if reference is None else reference.together
    kept = "; empty: those it has" if shared else ""
    shares = ",".join(f"{one:g}" for one in (shared and shared.shares) or ())
    own_tones = shared is not None and shared.middles is None
    fields = [
        Field("photos", "Photos", f"their paths, with ; between{kept}", known=Files()),
        Field("way", "They lie", "beside or stacked", _WAYS[bool(shared and shared.stacked)]),
        Field("shares", "Shares", "of the piece, like 60,40; empty: alike", shares),
        Field("seam", "Seam", "soft or hard", shared.seam if shared else _SEAMS[0]),
        Field("tones", "Tones", "matched, or own: as photographed", _TONES[own_tones]),
    ]

    def checked(answers: Answers) -> tuple[list[Path], dict[str, Any]]:
        paths = [photo_at(one) for one in answers["photos"].split(";") if one.strip()]
        own = chosen_of(_TONES, answers["tones"] or _TONES[0], "way with tones") == _TONES[1]
        return paths, {
            "stacked": chosen_of(_WAYS, answers["way"] or _WAYS[0], "way to lie") == _WAYS[1],
            "shares": answers["shares"] or "alike",
            "seam": chosen_of(_SEAMS, answers["seam"] or _SEAMS[0], "seam"),
            "own_tones": own,
        }

    bench.ask(
        Form(f"Several photos for {code}", fields, checked, send="Plan from them"),
        lambda given: bench.long(
            lambda stopper: _together(bench, code, given, stopper),
            lambda _: bench.say("The work is planned from the photos together"),
            writes=True,
        ),
    )


def _together(
    bench: "Workbench", code: str, given: tuple[list[Path], dict[str, Any]], stopper: "Stopper"
) -> object:
    from burnplan.desk.jobs import together  # brings numpy: only while planning

    paths, wishes = given
    return together.put(
        bench.studio, code, paths, together.TogetherWishes(**wishes), on_progress=stopper
    )


def replan(bench: "Workbench") -> None:
    """Plan again from the photo kept: the size, the blank, the zones or the lines changed."""
    code, reference = bench.job_page.code, bench.job.reference if bench.job else None
    if reference is None:
        return
    # Of the picture, without its lettering; it may have held fewer than were asked for.
    zones = max(len(reference.thresholds) + 1, FEWEST)
    fields = [
        Field("zones", "Zones", "3 to 9", str(zones)),
        Field(
            "line", "Lines", "calm, usual or fine", (reference.layout or {}).get("line", "usual")
        ),
        Field("subject", "Subject", "like ellipse 20,5 80,95; none: all of it"),
    ]
    bench.ask(
        Form(
            f"Plan {code} again from its photo", fields, _plan_of, send="Plan again",
        ),
        lambda plan: bench.long(
            lambda stopper: references.replan(
                bench.studio, code, zones=plan.zones, wanted=plan.change(), on_progress=stopper
            ),
            lambda _: bench.say("The work is planned again"),
            writes=True,
        ),
    )  # fmt: skip


def rights(bench: "Workbench") -> None:
    """Note who took the photo of the job shown, and how they allowed its use."""
    reference = bench.job.reference if bench.job else None
    if reference is None:
        return
    code = bench.job_page.code
    fields = [
        Field("taken_by", "Taken by", "who took it", reference.taken_by),
        Field("allowed", "How allowed", "in a mail of 3 March, …", reference.allowed),
    ]

    def send(answers: Answers) -> object:
        by, how = answers["taken_by"], answers["allowed"]
        return references.note_rights(
            bench.studio,
            code,
            taken_by=None if by == reference.taken_by else by,
            allowed=None if how == reference.allowed else how,
        )

    bench.ask(
        Form(f"Whose photo {code} is burned from", fields, send, send="Note it"),
        lambda _: bench.say("It is noted whose photo it is; u takes it back"),
    )


_WAYS, _SEAMS, _TONES = ("beside", "stacked"), ("soft", "hard"), ("matched", "own")

_without = of_job(lambda job: job.open and job.reference is None)
_with = of_job(lambda job: job.reference is not None)
_again = of_job(lambda job: job.open and job.reference is not None)

ACTIONS = (
    Action("photo", "Reference photo", "Plan the work from a photo", photo, _without,
           key="r", short="Photo", page="job",
           why=unless_closed("It has a photo; ctrl+p, Another reference")),
    Action("another_photo", "Another reference photo", "Plan the work from it", photo, _again),
    Action("several_photos", "Several photos on the piece", "Two pets, a couple: side by side or"
           " stacked, tones matched, one plan", several, of_job(lambda job: job.open)),
    Action("replan", "Plan again", "From the photo kept: other zones, lines or subject, or the size"
           " or wood changed", replan, _again),
    Action("rights", "The photo's use", "Who took the photo, and how they allowed its use",
           rights, _again),
    Action("picture", "Picture or zones", "Show the reference or its value zones",
           lambda bench: bench.job_page.turn_picture(), _with, key="v", page="job"),
)  # fmt: skip
