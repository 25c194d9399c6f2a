"""The finish of a piece on the terminal."""

from datetime import datetime

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_moment
from burnplan.desk.jobs.finishing import FinishView
from burnplan.desk.studio.studio import Studio
from burnplan.sentences import Do, Sentence
from burnplan.show.commands import in_words
from burnplan.show.console import facts, table


def finish_card(view: FinishView, studio: Studio) -> RenderableType:
    """Return the finish that a piece's use asks for, and its coats."""

    def when(moment: datetime | None) -> str:
        return format_moment(studio.local(moment), studio.today()) if moment else ""

    head = facts(
        (view.code, Text(view.title, "title")),
        ("use", view.use),
        ("finish", Text(view.advice)),
        ("why", Text(view.reason)),
        ("source", Text(view.source, "soft")),
        ("caution", Text("\n".join(view.cautions), "warn")),
    )
    if not view.coats:
        hint = Sentence("No coats planned. Plan them: ", Do("finish.plan", job=view.code))
        return Group(head, Text(in_words(hint), "soft"))
    rows = table("coat", "+of", ">dry", ">next coat", "laid", "dry from", "next coat from")
    for coat in view.coats:
        rows.add_row(
            str(coat.number),
            Text(coat.product),
            f"{coat.dry_hours:g} h",
            f"{coat.next_coat_hours:g} h",
            when(coat.laid_at),
            when(coat.dry_at),
            Text(when(coat.next_coat_from), "ember"),
        )
    return Group(head, Text(""), rows)
