"""The studio itself: how it works, what was done in it, and a copy of its book."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.desk.derived.studio_settings import ASKED, Settings
from burnplan.desk.keeping import backups, undo
from burnplan.desk.studio import settings
from burnplan.desk.studio.paging import ListPage
from burnplan.files import given_path, replacing
from burnplan.show.keeping.backups import packed
from burnplan.workbench import drawing
from burnplan.workbench.actions.action import Action
from burnplan.workbench.drawing import SOFT, STRONG
from burnplan.workbench.forms import Answers, Choice, Field, Files, Form

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench
    from burnplan.workbench.threads import Stopper


# Cells of what a setting is called, in the list of them.
_CALLED = 42


def change_settings(bench: "Workbench") -> None:
    """Choose a setting and change it."""

    def then(own: Settings) -> None:
        choices = [
            (name, Content.assemble(
                (drawing.fitted(_called(bench, name), _CALLED), STRONG),
                (" ".join(asked.said(getattr(own, name), own).split()), SOFT)))
            for name, asked in ASKED.items()
        ]  # fmt: skip
        bench.choose(
            Choice("Settings of this studio", choices, hang=_CALLED), partial(_change, bench, own)
        )

    bench.find(lambda: settings.current(bench.studio), then)


def _called(bench: "Workbench", name: str) -> str:
    """Return what a setting is called, without how it is answered."""
    return bench.wording.own(ASKED[name].question).partition(" (")[0]


def _change(bench: "Workbench", seen: Settings, name: str) -> None:
    asked = ASKED[name]

    def send(answers: Answers) -> Settings:
        return settings.save(bench.studio, settings.parsed(seen, name, answers["value"]), seen)

    bench.ask(
        Form(
            bench.wording.own(asked.question),
            [Field("value", "It is to be", "", asked.written(getattr(seen, name), seen))],
            send,
            send="Change it",
        ),
        lambda now: bench.say(
            f"{_called(bench, name)}: {asked.said(getattr(now, name), now)}; u takes it back"
        ),
    )


def back_up(bench: "Workbench") -> None:
    """Write the book and its photos to one archive."""

    def target(answers: Answers) -> Path:
        folder = given_path(answers["folder"] or ".")
        return folder / backups.default_name(bench.studio, "backup") if folder.is_dir() else folder

    def write(into: Path) -> None:
        def run(stopper: "Stopper") -> backups.Packed:
            with replacing(lambda _: False, bench.studio.keeps):
                return backups.back_up(bench.studio, into, stopper)

        def then(done: backups.Packed) -> None:
            bench.read("The backup", lambda: packed(done))

        bench.long(run, then)

    bench.ask(
        Form(
            "Back the book up: best to another disk",
            [Field("folder", "Into folder", "or a .zip of your own name", "", Files(folders=True))],
            target,
            send="Write it",
        ),
        write,
    )


# As much as a list over the page has room for; the command line has all of it.
_NEWEST = ListPage(1, 1000)


def history(bench: "Workbench") -> None:
    """Show what was done, newest first; a job's alone where one is meant."""
    code = bench.meant

    def done() -> list[undo.Happening]:
        return undo.happenings(bench.studio, code, page=_NEWEST)

    def line(one: undo.Happening) -> tuple[str, Content]:
        at = f"{bench.studio.local(one.at):%d %b %H:%M}  "
        who = f"  {one.author}" if one.author else ""
        return str(one.number), Content.assemble((at, SOFT), (one.summary, STRONG), (who, SOFT))

    bench.choose_of(
        done, f"What was done on {code}" if code else "What was done", line, lambda _: None,
        nothing="Nothing is on record yet",
    )  # fmt: skip


ACTIONS = (
    Action("history", "What was done", "Newest first; on the job meant, where one is", history),
    Action("settings", "Settings of this studio", "Units, money, paper, hours free",
           change_settings),
    Action("backup", "Back the book up", "With its photos, in one archive", back_up),
)  # fmt: skip
