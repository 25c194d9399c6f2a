"""The piece otherwise: other sizes, zones and woods side by side; nothing is changed."""

from typing import TYPE_CHECKING

from burnplan.desk.money import what_ifs
from burnplan.desk.money.what_ifs import VariantView
from burnplan.desk.studio import settings
from burnplan.show.money.what_ifs import variant_table
from burnplan.workbench.actions.action import Action, of_job
from burnplan.workbench.forms import Field, Form, whole_number

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench
    from burnplan.workbench.threads import Stopper


def compare(bench: "Workbench") -> None:
    """Ask for other sizes, zones and woods, and show hours and prices side by side."""
    code = bench.job_page.code
    fields = [
        Field("sizes", "Sizes", bench.wording.own("20x30cm; 40x50cm")),
        Field("zones", "Zones", "4; 5"),
        Field("species", "Woods", "cherry; basswood"),
    ]

    def asked(answers: dict[str, str]) -> tuple[list[str], list[int], list[str]]:
        sizes, zones, woods = (
            [one.strip() for one in answers[name].split(";") if one.strip()]
            for name in ("sizes", "zones", "species")
        )
        return sizes, [whole_number(one, "zones", 3, 9) for one in zones], woods

    def look(wanted: tuple[list[str], list[int], list[str]]) -> None:
        sizes, zones, woods = wanted

        def find(stopper: "Stopper") -> list[VariantView]:
            return what_ifs.compare(
                bench.studio, code, sizes=sizes, zones=zones, species=woods, on_progress=stopper
            )

        def then(found: list[VariantView]) -> None:
            bench.read(
                f"{code} otherwise",
                lambda: variant_table(found, settings.current(bench.studio)),
            )

        bench.long(find, then)

    bench.ask(
        Form(f"{code} otherwise: several with ; between", fields, asked, send="Compare"), look
    )


ACTIONS = (
    Action("otherwise", "Other sizes, zones, woods", "Hours and prices side by side", compare,
           of_job(lambda job: job.reference is not None)),
)  # fmt: skip
