"""Letters to the client in words: chosen, written, and shown to be copied into a mail."""

from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text
from textual.content import Content

from burnplan.desk.money import letter_facts
from burnplan.desk.studio import settings, typed_dates
from burnplan.letter_kinds import ABOUT, LetterKind
from burnplan.sheets.writing import Written
from burnplan.workbench.actions.action import Action, on_job
from burnplan.workbench.actions.jobs.sheets import write
from burnplan.workbench.forms import Answers, Choice, Field

if TYPE_CHECKING:
    from burnplan.workbench.actions.jobs.sheets import Writes
    from burnplan.workbench.app import Workbench
    from burnplan.workbench.threads import Stopper

_BECAUSE = Field("because", "In your own words", "what is wrong, or why it is late")
_NEW_DATE = Field("until", "The new date", "when it is ready at 9 in 10")
# What is asked of some kinds, beside the folder.
_ASKED = {
    LetterKind.PHOTOS: [_BECAUSE], LetterKind.PROGRESS: [_BECAUSE],
    LetterKind.DELAY: [_BECAUSE, _NEW_DATE],
}  # fmt: skip


def client_letter(bench: "Workbench") -> None:
    """Choose what a letter is for and write it."""
    choices = [
        (kind.value, Content.assemble(f"{kind.capitalize():10}", (about, "$foreground-muted")))
        for kind, about in ABOUT.items()
    ]
    code = bench.job_page.code
    question = Choice(f"What is the letter for, {code}?", choices)
    bench.choose(question, lambda key: _write(bench, code, LetterKind(key)))


def _write(bench: "Workbench", code: str, kind: LetterKind) -> None:
    def prepare(answers: Answers) -> "Writes":
        from burnplan.sheets.money import client_letters  # brings jinja

        studio, until = bench.studio, answers.get("until")
        letter = client_letters.letter_of(
            studio, kind, letter_facts.gather(studio, code, kind), settings.current(studio),
            because=answers.get("because", ""),
            new_date=typed_dates.day(studio, until) if until else None,
        )  # fmt: skip

        def writes(into: Path, _stopper: "Stopper") -> list[Written]:
            return client_letters.write(letter, into, f"{code}-{kind}")

        return writes

    def then(made: list[Written]) -> None:
        page, text = (one.path.absolute() for one in made)
        title = f"Wrote {text} and {page.name}"
        bench.read(title, lambda: Text(text.read_text("utf-8")))

    write(bench, f"Letter about {code}: {kind}", prepare, then, _ASKED.get(kind, []))


ACTIONS = (
    Action("client_letter", "Letter to the client",
           "In words, to send: photos wanted, order, deposit, progress, delay, ready, thanks",
           client_letter, on_job),
)  # fmt: skip
