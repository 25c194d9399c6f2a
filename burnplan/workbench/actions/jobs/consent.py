"""Whether the piece of the job shown may be shown to others, as its client said."""

from typing import TYPE_CHECKING

from burnplan.desk.jobs import consents
from burnplan.desk.jobs.consents import ANSWERS, ConsentGiven, ConsentView
from burnplan.desk.studio import typed_dates
from burnplan.show.jobs.portfolio import consent_words
from burnplan.workbench.actions.action import Action, on_job
from burnplan.workbench.forms import Answers, Field, Form, chosen_of

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench

_NAMED = ("yes", "no")


def consent(bench: "Workbench") -> None:
    """Put on record what a client said of showing their piece."""
    job, now = bench.job, bench.now
    if job is None or now is None:
        return
    one, kept = job.commission, job.commission.consent or ConsentView()
    fields = [
        Field("answer", "May be shown", ", ".join(ANSWERS), "", ANSWERS),
        Field("how", "How it was said", "in a mail; a yes needs it", kept.how),
        Field("said_by", "Who said it", "the client", kept.said_by or one.client or ""),
        Field("said_on", "When", "today", str(kept.said_on or "")),
        Field("named", "Named beside it", "yes or no", "yes" if kept.with_name else "no", _NAMED),
        Field("shown_as", "Called there", f"empty: {one.title}", kept.shown_as),
    ]

    def send(answers: Answers) -> ConsentView:
        typed = answers["said_on"]
        given = ConsentGiven(
            answer=chosen_of(ANSWERS, answers["answer"], "answer"),
            said_by=answers["said_by"] or None,
            said_on=typed_dates.day(bench.studio, typed) if typed else None,
            how=answers["how"],
            with_name=chosen_of(_NAMED, answers["named"] or "no", "answer") == "yes",
            shown_as=answers["shown_as"],
        )
        return consents.note(bench.studio, one.code, given)

    bench.ask(
        Form(f"May {one.code} be shown in the portfolio?", fields, send, send="Note it"),
        lambda made: bench.say(f"May be shown: {consent_words(made, now.today)}"),
    )


ACTIONS = (
    Action("consent", "Consent to show", "What the client said of showing the piece to others",
           consent, on_job),
)  # fmt: skip
