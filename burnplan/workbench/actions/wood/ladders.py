"""Tone ladders: a test strip put on record, and looked at."""

from typing import TYPE_CHECKING, Literal

from textual.content import Content

from burnplan.desk.studio import settings
from burnplan.desk.wood import ladders, own_species, zone_settings
from burnplan.desk.wood.ladders import LadderView, NewLadder
from burnplan.show.wood import ladder as shown
from burnplan.units import typed_numbers, typed_speeds
from burnplan.workbench.actions.action import Action, of_job
from burnplan.workbench.actions.jobs.reference import photo_at
from burnplan.workbench.drawing import SOFT, STRONG
from burnplan.workbench.forms import Answers, Field, Files, Form, chosen_of

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench

_ENDS: tuple[Literal["first", "last"], ...] = ("first", "last")
_UNITS = ("dial", "C", "F")


def new(bench: "Workbench") -> None:
    """Put a test strip on record: by eye, or from a photo of it beside a white card."""
    wood = bench.job.commission.species if bench.job is not None else ""
    fields = [
        Field("species", "Wood", "basswood, cherry, …", wood or ""),
        Field("tip", "Tip", "shader 4 mm"),
        Field("heat", "Heat", "of each patch: 2,3,4,5; or one for all"),
        Field("unit", "Heat is", ", ".join(_UNITS), "dial", _UNITS),
        Field("strokes", "Strokes", "of each patch, or of all", "1"),
        Field("speed", "Speed", bench.wording.own("mm/s, of each patch or of all")),
        Field("lightness", "L* by eye", "from the value key: 78,66,52; or a photo below"),
        Field("photo", "Photo", "cropped to the strip and its card", known=Files()),
        Field("card", "White card", "at its first or last end", known=_ENDS),
        Field("note", "Note", "anything worth remembering"),
    ]

    def send(answers: Answers) -> tuple[LadderView, str]:
        units = settings.current(bench.studio).units
        speed, lightness = answers["speed"], answers["lightness"]
        wanted = NewLadder(
            species=answers["species"],
            tip=answers["tip"],
            heat=typed_numbers(answers["heat"], "list of heats"),
            strokes=typed_numbers(answers["strokes"] or "1", "list of strokes"),
            speed=typed_speeds(speed, units) if speed else None,
            unit=answers["unit"] or "dial",
            lightness=typed_numbers(lightness, "list of lightness") if lightness else None,
            photo=photo_at(answers["photo"]) if answers["photo"] else None,
            card=chosen_of(_ENDS, answers["card"], "end") if answers["card"] else None,
            note=answers["note"],
        )
        doubt = own_species.doubt(bench.studio, answers["species"])
        return ladders.add(bench.studio, wanted), doubt

    def then(done: tuple[LadderView, str]) -> None:
        made, doubt = done
        if doubt:
            bench.say(doubt, mind=True)
        _read(bench, made.code)

    bench.ask(Form("A test strip", fields, send, send="Put on record"), then)


def look(bench: "Workbench") -> None:
    """Choose a ladder and show its curve."""

    def line(one: LadderView) -> tuple[str, Content]:
        cells = (f"{one.code}  ", SOFT), (f"{one.species_name}  ", STRONG), (one.tip, SOFT)
        return one.code, Content.assemble(*cells)

    bench.choose_of(
        lambda: ladders.everything(bench.studio, None), "Which ladder?", line,
        lambda code: _read(bench, code),
        nothing="There is no ladder yet. ctrl+p, New tone ladder puts a strip on record",
    )  # fmt: skip


def _read(bench: "Workbench", code: str) -> None:
    bench.read(
        f"Tone ladder {code}",
        lambda: shown.ladder_card(ladders.show(bench.studio, code), settings.current(bench.studio)),
    )


def for_job(bench: "Workbench") -> None:
    """Show which setting burns each zone of the job shown."""
    code = bench.job_page.code
    bench.read(
        f"Settings for {code}",
        lambda: shown.settings_card(
            zone_settings.settings_for(bench.studio, code), settings.current(bench.studio)
        ),
    )


ACTIONS = (
    Action("new_ladder", "New tone ladder", "A test strip, by eye or from a photo", new),
    Action("ladders", "Tone ladders", "Which setting burns which tone on which wood", look),
    Action("zone_settings", "Settings for each zone", "Of the job shown, by its wood's ladder",
           for_job, of_job(lambda job: job.reference is not None)),
)  # fmt: skip
