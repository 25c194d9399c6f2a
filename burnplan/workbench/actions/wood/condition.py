"""What is done to a blank before it is burned: sanded, measured, written off."""

from typing import TYPE_CHECKING

from burnplan.desk.studio import settings
from burnplan.desk.wood import blanks, conditioning
from burnplan.desk.wood.blanks import BlankView
from burnplan.show.wood.conditioning import air_words, moisture_card
from burnplan.units import UnitSystem
from burnplan.workbench.actions.action import Action
from burnplan.workbench.forms import Answers, Field, Form, whole_number

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench


_AIR = Field("air", "The shop's air", "21C 45%; as noted last if empty")


def meant(bench: "Workbench") -> str | None:
    """Return the blank that is meant: the one the cursor is on, or that of the job shown."""
    if bench.blank is not None:
        return bench.blank.code
    return bench.job.commission.blank if bench.job is not None and bench.job.open else None


def sand(bench: "Workbench") -> None:
    """Put a grit done on record, or the grain raised with water."""
    code = meant(bench)
    if code is None:
        return

    def send(answers: Answers) -> BlankView:
        text = answers["grit"]
        grit = None if text.lower() == "water" else whole_number(text, "the grit", 20, 5000)
        return blanks.sand(bench.studio, code, grit)

    def then(made: BlankView) -> None:
        bench.say(f"{made.code}: on record; u takes it back")
        bench.mind([
            f"{one.in_words()}. Its dust can harm as well"
            for one in made.hazards if one.said_first
        ])  # fmt: skip

    fields = [Field("grit", "Grit done", "220; or water, where the grain was raised")]
    bench.ask(Form(f"{code} was sanded", fields, send, send="Put on record"), then)


def moisture(bench: "Workbench") -> None:
    """Log a moisture reading, and say whether to wait for the wood or go."""
    code = meant(bench)
    if code is None:
        return
    fields = [
        Field("reading", "Reading, %", "9.5; empty only looks"),
        Field("note", "Note", "meter, place, depth"),
        _AIR,
    ]

    def send(answers: Answers) -> str:
        air, units = answers["air"], settings.current(bench.studio).units
        conditioning.check_airs(air or None, None, units)
        if answers["reading"]:
            conditioning.log_moisture(bench.studio, code, answers["reading"], note=answers["note"])
        if air:
            conditioning.note_air(bench.studio, air)
        return code

    def then(blank: str) -> None:
        bench.read(
            f"The moisture of {blank}",
            lambda: moisture_card(
                conditioning.moisture_of(bench.studio, blank),
                settings.current(bench.studio),
                bench.studio,
            ),
        )

    bench.ask(Form(f"The moisture of {code}", fields, send, send="Wait or go?"), then)


def shop_air(bench: "Workbench") -> None:
    """Note the air in the shop: what wood settles at there."""
    units = bench.now.own.units if bench.now else UnitSystem.METRIC
    bench.ask(
        Form(
            "The shop's air", [Field("air", "Air", "21C 45%")],
            lambda answers: conditioning.note_air(bench.studio, answers["air"]), send="Note it",
        ),
        lambda made: bench.say(air_words(made, units)),
    )  # fmt: skip


def scrap(bench: "Workbench") -> None:
    """Write off the blank the cursor is on."""
    blank = bench.blank
    if blank is None:
        return
    bench.ask(
        Form(
            f"Scrap {blank.code}, {blank.species_name.lower()}",
            [Field("reason", "Why", "checked at the end grain, …")],
            lambda answers: blanks.scrap(bench.studio, blank.code, answers["reason"]),
            send="Scrap it",
        ),
        lambda gone: bench.say(f"{gone.code} is scrapped; u takes it back"),
    )


def _known(bench: "Workbench") -> bool:
    return meant(bench) is not None


ACTIONS = (
    Action("sand", "Sanded", "A grit done, or the grain raised, of the blank meant", sand, _known),
    Action("moisture", "Moisture", "A reading of the blank meant, and whether to wait or go",
           moisture, _known, key="d", short="Moisture", page="blanks"),
    Action("shop_air", "The shop's air", "Its warmth and humidity: what wood settles at there",
           shop_air),
    Action("scrap", "Scrap a blank", "Write off the one the cursor is on", scrap,
           lambda bench: bench.blank is not None and bench.blank.state == "in stock"),
)  # fmt: skip
