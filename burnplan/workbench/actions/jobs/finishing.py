"""The finish of a piece, and photos of it on its way."""

from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.desk.jobs import compared, comparisons, finishing, photos
from burnplan.desk.jobs.comparisons import CompareRequest
from burnplan.desk.jobs.photos import PhotoView
from burnplan.desk.studio import settings, typed_dates
from burnplan.show.jobs.comparisons import comparison_card
from burnplan.show.jobs.finishing import finish_card
from burnplan.units import parse_duration
from burnplan.wood.finishes import MOST_COATS, USUAL_COATS
from burnplan.workbench.actions.action import Action, of_job, on_job, on_open_job
from burnplan.workbench.actions.jobs.reference import photo_at
from burnplan.workbench.drawing import SOFT, STRONG
from burnplan.workbench.forms import Answers, Field, Files, Form, whole_number

if TYPE_CHECKING:
    from pathlib import Path

    from rich.console import RenderableType

    from burnplan.workbench.app import Workbench
    from burnplan.workbench.threads import Stopper

_CORNERS = "412,300 3610,280 3650,2700 390,2730"
_planned = of_job(lambda job: job.reference is not None)


def coats(bench: "Workbench") -> None:
    """Plan the coats of the job shown; each becomes a step."""
    code = bench.job_page.code
    bench.find(lambda: finishing.show(bench.studio, code), lambda now: _ask_coats(bench, now))


def _ask_coats(bench: "Workbench", now: finishing.FinishView) -> None:
    """Ask for the coats, as they are planned so far."""
    code, first = now.code, now.coats[0] if now.coats else None
    dry, again = (f"{first.dry_hours:g}h", f"{first.next_coat_hours:g}h") if first else ("", "")
    fields = [
        Field("product", "What", "as on the tin: hard wax oil, …", first.product if first else ""),
        Field("coats", "Coats", "how many", str(len(now.coats) or USUAL_COATS)),
        Field("dry", "Until dry", "as the label says: 8h", dry),
        Field("next", "Until the next", "as the label says: 24h; as until dry if empty", again),
    ]

    def send(answers: Answers) -> finishing.FinishView:
        after = answers["next"]
        return finishing.plan(
            bench.studio,
            code,
            answers["product"],
            coats=whole_number(answers["coats"], "coats", 1, MOST_COATS),
            dry=parse_duration(answers["dry"]),
            next_coat=parse_duration(after) if after else None,
        )

    bench.ask(Form(f"The coats of {code}", fields, send, send="Plan them"), lambda _: look(bench))


def look(bench: "Workbench") -> None:
    """Show the finish that the piece's use asks for, and when its next coat may go on."""
    code = bench.job_page.code
    bench.read(
        f"The finish of {code}",
        lambda: finish_card(finishing.show(bench.studio, code), bench.studio),
    )


def add_photo(bench: "Workbench") -> None:
    """Keep a photo of the piece on its way."""
    code = bench.job_page.code
    fields = [
        Field("photo", "Photo", "the file's path; paste or drop it here", known=Files()),
        Field("day", "The day it shows", "as the photo says, else today"),
        Field("note", "Note", "eyes done, …"),
    ]

    def send(answers: Answers) -> PhotoView:
        day = typed_dates.day(bench.studio, answers["day"], past=True) if answers["day"] else None
        return photos.add(bench.studio, code, photo_at(answers["photo"]), day, answers["note"])

    bench.ask(
        Form(f"A photo of {code} on its way", fields, send, send="Keep it"),
        lambda made: bench.say(f"Photo {made.number} is kept, of {made.taken_on:%d %b}"),
    )


def _line(one: PhotoView) -> tuple[str, Content]:
    burned = f"  {100 * one.compared.burned:.0f} % burned" if one.compared else ""
    said = Content.assemble((f"{one.taken_on:%d %b %Y}  ", STRONG), (one.note, SOFT), burned)
    return str(one.number), said


def _kept(bench: "Workbench", number: int) -> "RenderableType":
    """Return what a photo came to when it was compared."""
    kept, _ = compared.show(bench.studio, number)
    return comparison_card(kept.comparison, settings.current(bench.studio), bench.studio.today())


def photos_of_job(bench: "Workbench") -> None:
    """List the photos of the job shown; one that was compared shows how it was then."""
    code = bench.job_page.code

    def show(number: str) -> None:
        bench.read(f"Photo {number} of {code}", lambda: _kept(bench, int(number)))

    bench.choose_of(
        lambda: photos.all_of(bench.studio, code), "Photos of its way", _line,
        show,
        nothing=f"{code} has no photo of its way yet",
    )  # fmt: skip


def compare(bench: "Workbench") -> None:
    """Compare a photo of the piece with its plan, and keep both."""
    code = bench.job_page.code
    fields = [
        Field("photo", "Photo", "the piece whole, from above; its path", known=Files()),
        Field("corners", "Corners", "in pixels: x,y x,y x,y x,y clockwise; empty: found"),
        Field("card", "White card", "a point on it: x,y; empty: none"),
    ]

    def checked(answers: Answers) -> tuple["Path", CompareRequest]:
        read, corners, card = comparisons.points, answers["corners"], answers["card"]
        asked = CompareRequest(
            corners=read(corners, what="corners", example=_CORNERS) if corners else None,
            cards=read(card, what="points", example="200,1500") if card else [],
        )
        return photo_at(answers["photo"]), asked

    def run(given: tuple["Path", CompareRequest], stopper: "Stopper") -> int:
        photo, asked = given
        found = comparisons.compare(bench.studio, code, photo, asked, stopper)
        return compared.keep(bench.studio, found, photo)

    def show(number: int) -> None:
        bench.read(f"Photo {number} of {code}", lambda: _kept(bench, number))

    bench.ask(
        Form(f"Compare {code} with its plan", fields, checked, send="Compare"),
        lambda given: bench.long(lambda stopper: run(given, stopper), show, writes=True),
    )


def remove_photo(bench: "Workbench") -> None:
    """Take one of its photos off the job shown."""
    code = bench.job_page.code

    def remove(number: str) -> None:
        bench.do(
            lambda: photos.remove(bench.studio, int(number)),
            lambda gone: bench.say(f"Photo {gone.number} is off {code}; u takes it back"),
        )

    bench.choose_of(
        lambda: photos.all_of(bench.studio, code), "Which photo goes?", _line, remove,
        nothing=f"{code} has no photo of its way yet",
    )  # fmt: skip


ACTIONS = (
    Action("coats", "Plan the coats", "What, how many, and how long each dries", coats,
           on_open_job),
    Action("finish", "The finish", "What its use asks for, and when the next coat may go on",
           look, on_job),
    Action("progress_photo", "Photo of progress", "Keep one of the piece on its way", add_photo,
           on_job),
    Action("progress_photos", "Photos of its way", "Those kept, and what each that was compared"
           " came to", photos_of_job, on_job),
    Action("compare_photo", "Compare with the plan", "A photo of the piece: darkness by zone, too"
           " light, too dark", compare, _planned),
    Action("remove_photo", "Take a photo off", "One of its progress", remove_photo, on_job),
)  # fmt: skip
