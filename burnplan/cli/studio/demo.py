"""burnplan demo: from a photo to a plan, a quote and the open jobs."""

import tempfile
from datetime import timedelta
from pathlib import Path
from typing import Annotated, Literal

import typer
from rich.constrain import Constrain
from rich.rule import Rule
from rich.text import Text

from burnplan.cli.common import progress_bar
from burnplan.desk import demo
from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import checklists, commissions, holding, references, review, sessions
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import settings
from burnplan.errors import BadInput
from burnplan.show import console
from burnplan.show.jobs import checklists as steps_shown
from burnplan.show.jobs import commissions as jobs_shown
from burnplan.show.jobs import pictures
from burnplan.show.jobs import references as references_shown
from burnplan.show.jobs import review as review_shown
from burnplan.show.jobs import sessions as sessions_shown
from burnplan.show.money import quotes as quotes_shown
from burnplan.units import UnitSystem


def _chapter(number: int, title: str, command: str) -> None:
    rule = Rule(Text(f" {number}  {title} ", "ember"), align="left", style="soft")
    console.show(Text(), Constrain(rule, 100))  # in a pipe there is no end to a line
    console.show(Text(f"$ burnplan {command}\n", "soft"))


def command(
    keep: Annotated[
        Path | None,
        typer.Option(help="Keep the invented studio in this new folder, to try things on."),
    ] = None,
    units: Annotated[
        Literal["metric", "imperial"] | None,
        typer.Option(help="Its units, if not those of your system's country."),
    ] = None,
) -> None:
    """Walk through an invented studio: photo, zones, estimate, quote, checklist, open jobs.

    It has a temporary home of its own and never touches your book.

    Examples:
      burnplan demo
      burnplan demo --units imperial
      burnplan demo --keep try-out
    """
    shown_in = UnitSystem(units) if units else studio_settings.first_guess().units
    if keep is None:
        with tempfile.TemporaryDirectory(prefix="burnplan-demo-") as folder:
            _walk(Path(folder), shown_in)
        console.notice("That was an invented studio. Yours begins with: burnplan commission add")
        return
    if keep.exists():
        raise BadInput(f"'{keep}' is there already", "Name a new folder")
    _walk(keep, shown_in)
    console.notice(f"Try things on it with: BURNPLAN_HOME={keep} burnplan jobs")


def _walk(home: Path, units: UnitSystem) -> None:
    studio, clock = demo.open_demo(home)
    with progress_bar() as progress:
        progress(0.0, "inventing a studio and its jobs")
        demo.fill(studio, clock, units)
    own, today = settings.current(studio), studio.today()
    console.notice(f"'{own.name}', an invented studio: its jobs, its blanks and one photo (CC0).")

    _chapter(1, "A commission comes in", "commission add 'Biscuit, a portrait' --client 'Ines …'")
    made = commissions.add(
        studio,
        commissions.Wishes(
            title="Biscuit, a portrait", client="Ines Okafor", due=today + timedelta(days=60)
        ),
    )
    holding.hold(studio, "B-0006", made.code)
    console.show(jobs_shown.commission_card(commissions.show(studio, made.code), own, today))

    _chapter(2, "The photo becomes a plan", f"reference add {made.code} cat.png")
    with progress_bar() as progress:
        reference, reading = references.add(
            studio, made.code, demo.sample(demo.PHOTO), on_progress=progress
        )
    console.show(
        pictures.side_by_side(pictures.seen_first(reading), pictures.in_words(reading, own.units))
    )
    console.show(references_shown.reference_card(reference, own))

    _chapter(3, "A price that pays for the hours", f"quote issue {made.code} --round-to 5")
    quote = quotes.issue(studio, made.code, quotes.QuoteRequest(round_to="5"))
    console.show(quotes_shown.quote_card(quote, own, today))
    accepting.accept(studio, made.code)
    payments.take(studio, made.code, str(quote.deposit), "deposit", method="transfer")

    _chapter(4, "The checklist made for this job", f"step list {made.code}")
    checklists.tick(studio, made.code, ["1", "2"])
    console.show(steps_shown.checklist(checklists.of(studio, made.code)))

    _chapter(5, "Sessions on the clock", "session begin 'Old tomcat' --zone 3")
    sessions.start(studio, "Old tomcat", sessions.Doing(zone=3, tip="shader 4 mm", heat="6"))
    clock.now += timedelta(minutes=95)
    sessions.stop(studio, note="cheek and whisker pads")
    console.show(sessions_shown.session_table(sessions.all_of(studio, "Old tomcat"), studio))

    _chapter(6, "The open jobs", "jobs")
    console.show(review_shown.job_table(review.review(studio), own, today))
    studio.close()
