"""The finish of a piece, and photos of it on its way."""

from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.desk.jobs import finishing, photos
from burnplan.desk.jobs.photos import PhotoView
from burnplan.desk.studio import typed_dates
from burnplan.show.jobs.finishing import finish_card
from burnplan.units import parse_duration
from burnplan.wood.finishes import USUAL_COATS
from burnplan.workbench.actions.action import Action, on_job, on_open_job
from burnplan.workbench.actions.jobs.reference import photo_at
from burnplan.workbench.drawing import SOFT, STRONG
from burnplan.workbench.forms import Answers, Field, Files, Form, whole_number

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench

_MOST_COATS = 20  # a limit by definition


def coats(bench: "Workbench") -> None:
    """Plan the coats of the job shown; each becomes a step."""
    code = bench.job_page.code
    fields = [
        Field("product", "What", "as on the tin: hard wax oil, …"),
        Field("coats", "Coats", "how many", str(USUAL_COATS)),
        Field("dry", "Until dry", "as the label says: 8h"),
        Field("next", "Until the next", "as the label says: 24h; as until dry if empty"),
    ]

    def send(answers: Answers) -> finishing.FinishView:
        after = answers["next"]
        return finishing.plan(
            bench.studio,
            code,
            answers["product"],
            coats=whole_number(answers["coats"], "coats", 1, _MOST_COATS),
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


def remove_photo(bench: "Workbench") -> None:
    """Take one of its photos off the job shown."""
    code = bench.job_page.code

    def line(one: PhotoView) -> tuple[str, Content]:
        said = Content.assemble((f"{one.taken_on:%d %b %Y}  ", STRONG), (one.note, SOFT))
        return str(one.number), said

    def remove(number: str) -> None:
        bench.do(
            lambda: photos.remove(bench.studio, int(number)),
            lambda gone: bench.say(f"Photo {gone.number} is off {code}; u takes it back"),
        )

    bench.choose_of(
        lambda: photos.all_of(bench.studio, code), "Which photo goes?", line, remove,
        nothing=f"{code} has no photo of its way yet",
    )  # fmt: skip


ACTIONS = (
    Action("coats", "Plan the coats", "What, how many, and how long each dries", coats,
           on_open_job),
    Action("finish", "The finish", "What its use asks for, and when the next coat may go on",
           look, on_job),
    Action("progress_photo", "Photo of progress", "Keep one of the piece on its way", add_photo,
           on_job),
    Action("remove_photo", "Take a photo off", "One of its progress", remove_photo, on_job),
)  # fmt: skip
