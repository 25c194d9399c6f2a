"""burnplan demo: from a photo to a plan, a quote and the open jobs."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from burnplan.cli.common import progress_bar
from burnplan.cli.jobs.reference import seen_first, show_pictures

if TYPE_CHECKING:
    from burnplan.desk.demo import DemoClock
    from burnplan.desk.studio.studio import Studio


def _chapter(number: int, title: str, command: str = "") -> None:
    from rich.rule import Rule
    from rich.text import Text

    from burnplan.show.console import show

    show(Text(), Rule(Text(f" {number}  {title} ", "ember"), align="left", style="soft"))
    if command:
        show(Text(f"$ burnplan {command}\n", "soft"))


def command(
    keep: Annotated[
        Path | None,
        typer.Option(help="Keep the invented studio in this new folder, to try things on."),
    ] = None,
) -> None:
    """Walk through an invented studio: photo, zones, estimate, quote, checklist, open jobs.

    It has a temporary home of its own and never touches your book.

    Examples:

      burnplan demo

      burnplan demo --keep try-out
    """
    import tempfile

    from burnplan.desk import demo
    from burnplan.errors import BadInput
    from burnplan.show.console import notice

    if keep is None:
        with tempfile.TemporaryDirectory(prefix="burnplan-demo-") as folder:
            studio, clock = demo.open_demo(Path(folder))
            _walk(studio, clock)
            studio.close()
        notice("That was an invented studio. Yours begins with: burnplan commission add")
        return
    if keep.exists():
        raise BadInput(f"'{keep}' is there already", "Name a new folder")
    studio, clock = demo.open_demo(keep)
    _walk(studio, clock)
    studio.close()
    notice(f"Try things on it with: BURNPLAN_HOME={keep} burnplan jobs")


def _walk(studio: "Studio", clock: "DemoClock") -> None:
    from datetime import timedelta

    from burnplan.desk import demo
    from burnplan.desk.jobs import checklists, commissions, references, review, sessions
    from burnplan.desk.money import payments, quotes
    from burnplan.desk.studio import settings
    from burnplan.desk.wood import blanks
    from burnplan.show.console import notice, show
    from burnplan.show.jobs import work
    from burnplan.show.jobs.review import job_table
    from burnplan.show.money import reckoned

    with progress_bar() as progress:
        progress(0.0, "inventing a studio with ten jobs")
        demo.fill(studio, clock)
    own, today = settings.current(studio), studio.today()
    notice(f"'{own.name}', an invented studio: ten jobs, six blanks, one photo (CC0).")

    _chapter(1, "A commission comes in", "commission add 'Biscuit, a portrait' --client 'Ines …'")
    made = commissions.add(
        studio,
        commissions.Wishes(
            title="Biscuit, a portrait", client="Ines Okafor", due=today + timedelta(days=60)
        ),
    )
    blanks.hold(studio, "B-0006", made.code)
    show(work.commission_card(commissions.show(studio, made.code), own, today))

    _chapter(2, "The photo becomes a plan", f"reference add {made.code} cat.png")
    with progress_bar() as progress:
        reference, reading = references.add(
            studio, made.code, demo.sample(demo.PHOTO), on_progress=progress
        )
    show_pictures(seen_first(reading))
    show(reckoned.reference_card(reference, own))

    _chapter(3, "A price that pays for the hours", f"quote issue {made.code} --round-to 5")
    quote = quotes.issue(studio, made.code, quotes.QuoteRequest(round_to="5"))
    show(reckoned.quote_card(quote, own, today))
    quotes.accept(studio, made.code)
    payments.take(studio, made.code, str(quote.deposit), "deposit", method="transfer")

    _chapter(4, "The checklist made for this job", f"step list {made.code}")
    checklists.tick(studio, made.code, ["1", "2"])
    show(work.checklist(checklists.of(studio, made.code)))

    _chapter(5, "Sessions on the clock", "session start 'Old tomcat' --zone 3")
    sessions.start(studio, "Old tomcat", sessions.Doing(zone=3, tip="shader 4 mm", heat="6"))
    clock.now += timedelta(minutes=95)
    sessions.stop(studio, note="cheek and whisker pads")
    show(work.session_table(sessions.all_of(studio, "Old tomcat"), studio))

    _chapter(6, "The open jobs", "jobs")
    show(job_table(review.review(studio), own, today))
