"""Every error says what to do in the words of who meets it: a command to copy, or a key."""

import ast
import re
import shlex
from collections.abc import Awaitable, Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any, cast, get_args

import pytest
from textual.widgets import Static

import burnplan
from burnplan.cli.app import run
from burnplan.cli.commands import COMMANDS as PROGRAM
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import checklists, commissions, finishing, holding, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import quotes
from burnplan.desk.money.quotes import QuoteRequest
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, hazards
from burnplan.errors import BurnplanError
from burnplan.reckon.checklist import Phase
from burnplan.sentences import Action, Do, Sentence
from burnplan.show import commands
from burnplan.show.jobs.comparisons import comparison_card
from burnplan.show.jobs.finishing import finish_card
from burnplan.workbench import app as workbench
from burnplan.workbench import words
from burnplan.workbench.actions import ALL
from burnplan.workbench.forms import printed
from tests.cases import quick_first
from tests.conftest import FixedClock
from tests.desk.actions import against_plan
from tests.workbench.hand import BASSWOOD, Hand, at_work, barn, settle_phases

ROOT = Path(burnplan.__path__[0])
# What has no front end's words: all but the front ends.
BELOW = [
    path
    for path in sorted(ROOT.rglob("*.py"))
    if path.relative_to(ROOT).parts[0] not in ("cli", "show", "sheets", "workbench")
]
FRONT = [path for path in sorted(ROOT.rglob("*.py")) if path not in BELOW]
ACTIONS: tuple[Action, ...] = get_args(Action)


def _names(kind: type[BurnplanError]) -> set[str]:
    return {kind.__name__}.union(*map(_names, kind.__subclasses__()))


ERRORS = _names(BurnplanError)
SOMETHING = "7"  # for a value that is known only when it is said


def _is(node: ast.AST, *names: str) -> bool:
    called = node.func if isinstance(node, ast.Call) else None
    return isinstance(called, ast.Name) and called.id in names


def _part(node: ast.expr) -> str | Do | None:
    """Return a part of a sentence as the source has it; None where only running it tells."""
    match node:
        case ast.Constant(value=str(text)):
            return text
        case ast.JoinedStr(values=values):
            return "".join(map(_value, values))
        case ast.Call(args=[ast.Constant(value=str(action))]) if _is(node, "Do"):
            given = {str(key.arg): _value(key.value) for key in node.keywords}
            return Do(cast("Action", action), **given)
    return None


def _value(node: ast.expr) -> str:
    return str(node.value) if isinstance(node, ast.Constant) else SOMETHING


@dataclass
class Said:
    """A sentence in the source."""

    where: str
    parts: list[str | Do | None]

    @property
    def sentence(self) -> Sentence:
        return Sentence(*(SOMETHING if part is None else part for part in self.parts))


def _said(paths: list[Path]) -> Iterator[Said]:
    named = re.compile("|".join(("Sentence", *ERRORS)))
    for path in paths:
        text = path.read_text("utf-8")
        if not named.search(text):
            continue  # parsing takes most of the time
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.Call) and _is(node, "Sentence"):
                yield _found(path, node, node.args)
            elif isinstance(node, ast.Call) and _is(node, *ERRORS):
                yield _found(path, node, node.args[1:])
            elif isinstance(node, ast.ClassDef) and node.name in ERRORS:
                for call in ast.walk(node):
                    if isinstance(call, ast.Call) and ast.unparse(call.func) == "super().__init__":
                        yield _found(path, call, call.args[1:])


def _found(path: Path, call: ast.Call, parts: list[ast.expr]) -> Said:
    return Said(f"{path.relative_to(ROOT)}:{call.lineno}", [_part(part) for part in parts])


ALL_SAID = list(_said(BELOW))
WITH_ACTIONS = [
    said for said in [*ALL_SAID, *_said(FRONT)] if any(isinstance(part, Do) for part in said.parts)
]
DONE = [part for said in WITH_ACTIONS for part in said.parts if isinstance(part, Do)]


def _texts(path: Path) -> Iterator[tuple[int, str]]:
    """Yield every string of a module that is not a docstring."""
    tree = ast.parse(path.read_text("utf-8"))
    docs = {
        node.body[0].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in docs:
            yield node.lineno, node.value


def test_all_errors_are_found() -> None:
    assert len(ALL_SAID) > 250
    assert len(WITH_ACTIONS) > 40


def test_nothing_below_the_front_ends_names_a_command_or_an_option() -> None:
    command = re.compile(rf"burnplan ({'|'.join(PROGRAM)})\b|(?:^|[\s'(])--[a-z]")
    found = [
        f"{path.relative_to(ROOT)}:{line}: {text}"
        for path in BELOW
        for line, text in _texts(path)
        if command.search(text)
    ]
    assert found == []


def test_no_remedy_below_the_front_ends_speaks_of_the_program_as_a_command() -> None:
    for said in ALL_SAID:
        for part in said.parts:
            if isinstance(part, str):
                named = re.sub(r"(newest|Install|a) burnplan ", "", part)
                assert "burnplan " not in named, said.where


def test_every_action_is_worded_once_for_who_types() -> None:
    assert set(commands.COMMANDS) | set(commands.OPTIONS) == set(ACTIONS)
    assert not set(commands.COMMANDS) & set(commands.OPTIONS)


def test_every_action_is_named_somewhere() -> None:
    assert {do.action for do in DONE} == set(ACTIONS)


@pytest.mark.parametrize("do", DONE, ids=str)
def test_values_have_their_place_in_the_command(do: Do) -> None:
    if do.action in commands.COMMANDS:
        assert set(do.values) <= set(re.findall(r"\{(\w+)\}", commands.COMMANDS[do.action]))
    else:
        assert len(do.values) <= 1


def _parse(typed: str) -> None:
    """Let the program read a command; what is missing in it may be, nothing else."""
    name, *rest = shlex.split(typed)[1:]
    command: Any = PROGRAM[name].command(name)
    while children := getattr(command, "commands", None):
        command = children[rest.pop(0)]
    for one in command.params:
        one.prompt = None  # nobody is there to answer
    try:
        command.make_context("burnplan", rest)
    except Exception as error:
        if type(error).__name__ != "MissingParameter":
            raise


@pytest.mark.parametrize("said", WITH_ACTIONS, ids=lambda said: said.where)
def test_the_command_line_takes_every_command_that_it_names(said: Said) -> None:
    shown = commands.in_words(said.sentence)
    for do in (part for part in said.parts if isinstance(part, Do)):
        typed = commands.typed(do)
        assert typed in shown
        if do.action in commands.OPTIONS:
            typed = f"burnplan {commands.OPTIONS[do.action][0]} {typed}"
            if not do.values and not typed.endswith(("--replace", "--anybody")):
                typed += f" {SOMETHING}"
        _parse(typed)


def test_a_command_that_is_not_there_would_be_found() -> None:
    with pytest.raises(KeyError):
        _parse("burnplan blank burn 7")
    with pytest.raises(Exception, match="No such option"):
        _parse("burnplan blank list --no-such-option")
    with pytest.raises(Exception, match="unexpected extra argument"):
        _parse("burnplan blank release B-0001 C-0001")


@pytest.mark.parametrize("said", WITH_ACTIONS, ids=lambda said: said.where)
def test_the_workbench_names_keys_pages_or_the_command_line(said: Said) -> None:
    for do in (part for part in said.parts if isinstance(part, Do)):
        shown = words.in_words(Sentence(do))
        assert shown in words.in_words(said.sentence)
        if do.action in words.HERE:
            assert "burnplan" not in shown
            assert "--" not in shown
        else:
            assert commands.typed(do) in shown
            assert shown.endswith(" on the command line")


def test_keys_named_at_the_workbench_are_those_of_its_actions() -> None:
    keys = [here.name for here in words.HERE.values() if isinstance(here, words.Key)]
    assert set(keys) <= set(ALL)
    assert words.in_words(Sentence(Do("session.stop"))) == f"key {ALL['stop'].key}"


def test_what_is_read_at_the_workbench_names_its_keys(studio: Studio) -> None:
    code = barn(studio)
    compared = against_plan(code).view
    compared.burning.steps_offered = [3, 5]
    own = Settings()

    def cards() -> list[str]:
        finish = finish_card(finishing.show(studio, code), studio)
        offer = comparison_card(compared, own, studio.today())
        return [printed(card, 100).plain for card in (finish, offer)]

    finish, offer = cards()
    assert f"Plan them: burnplan finish plan {code} PRODUCT --dry 8h" in finish
    assert f"not ticked: burnplan step tick {code} 3 5" in offer
    with commands.otherwise(words.in_words):
        finish, offer = cards()
    assert "Plan them: ctrl+p, Plan the coats" in finish
    assert "not ticked: key space on its page" in offer
    assert "burnplan " not in finish + offer


def test_commands_that_the_front_ends_name_by_themselves_are_there() -> None:
    named = re.compile(r"(?:^|: |'|\()burnplan ([a-z][a-z-]*)(?: ([a-z][a-z-]*))?")
    found = 0
    for path in FRONT:
        for line, text in _texts(path):
            for first, second in named.findall(text):
                command: Any = PROGRAM[first].command(first)
                children = getattr(command, "commands", None)
                assert not children or second in children, f"{path.name}:{line}: {text}"
                found += 1
    assert found > 20


@dataclass(frozen=True)
class Met:
    """An error met at both front ends: what leads to it, and what each says of it.

    ``behind`` is what another program does once the ``open`` keys are pressed, and so many
    days pass; ``at`` is what is then done at the workbench.
    """

    before: Callable[[Studio], object]
    typed: str
    at: Callable[[Hand, Path], Awaitable[None]]
    says: str
    shows: str
    behind: Callable[[Studio], object] = lambda _: None
    days: int = 0
    open: tuple[str, ...] = ("2", "enter")


def _keys(*keys: str, **answers: str) -> Callable[[Hand, Path], Awaitable[None]]:
    async def at(hand: Hand, photo: Path) -> None:
        await hand.press(*keys)
        if answers:
            await hand.fill(**{name: text.format(photo=photo) for name, text in answers.items()})

    return at


def _held(studio: Studio) -> None:
    holding.hold(studio, blanks.add(studio, BASSWOOD).code, barn(studio))


def _quoted(studio: Studio) -> None:
    quotes.issue(studio, barn(studio), QuoteRequest(hours=8))


def _ready(studio: Studio) -> None:
    code = barn(studio)
    settle_phases(studio, code, *(phase for phase in Phase))


def _ticked(studio: Studio) -> None:
    checklists.tick(studio, barn(studio), ["1"])


MET = {
    "no clock": Met(
        lambda studio: sessions.start(studio, barn(studio), sessions.Doing()),
        "session end", _keys("s"),
        "No session is open. Start one with: burnplan session begin.",
        "No session is open. Start one with: key c.",
        behind=lambda studio: sessions.stop(studio),
    ),
    "a clock": Met(
        barn, "session begin C-0001", _keys("c"),
        "for C-0001 'Old barn'. Stop or pause it first: burnplan session end.",
        "for C-0001 'Old barn'. Stop or pause it first: key s.",
        behind=lambda studio: sessions.start(studio, "1", sessions.Doing()),
    ),
    "no reference": Met(
        barn, "quote draft C-0001", _keys("i"),
        "C-0001 has no reference to reckon its hours from."
        " Add one (burnplan reference add C-0001 PHOTO) or say --hours.",
        "C-0001 has no reference to reckon its hours from."
        " Add one (key r on its page) or say the hours.",
    ),
    "no size": Met(
        lambda studio: commissions.add(studio, Wishes(title="Mill")),
        "reference add C-0001 {photo}", _keys("r", photo="{photo}"),
        "C-0001 has no size yet."
        " Give it (burnplan commission edit C-0001 --size 30x40cm) or hold a blank for it.",
        "C-0001 has no size yet. Give it (key e on its page) or hold a blank for it.",
    ),
    "a hazard found": Met(
        _held, "session begin C-0001 --work burn", _keys("t", work="burn"),
        "Release it, or say why it is safe: burnplan blank override B-0001 REASON.",
        "Release it, or say why it is safe: ctrl+p, Set a hazard aside.",
        behind=lambda studio: hazards.note(studio, "1", ["treated"]),
    ),
    "a hazard": Met(
        lambda studio: (barn(studio), blanks.add(studio, BASSWOOD)),
        "blank hold B-0001 C-0001", _keys("enter"),
        "Choose another blank and follow local rules; if you know it is safe, say why with"
        " --override.",
        "Choose another blank and follow local rules; if you know it is safe, say why with"
        " key h on 3 Blanks.",
        behind=lambda studio: hazards.note(studio, "1", ["treated"]),
        open=("2", "enter", "h"),
    ),
    "another blank": Met(
        lambda studio: (barn(studio), blanks.add(studio, BASSWOOD), blanks.add(studio, BASSWOOD)),
        "blank hold B-0001 C-0001", _keys("h", "enter"),
        "C-0001 has B-0002 already. Release that one first: burnplan blank release B-0002.",
        "C-0001 has B-0002 already. Release that one first: key r on 3 Blanks.",
        behind=lambda studio: holding.hold(studio, "2", "1"),
    ),
    "handed over at work": Met(
        _ready, "commission deliver C-0001 --yes", _keys("d"),
        "Its clock is running. Stop it first: burnplan session end.",
        "Its clock is running. Stop it first: key s.",
        behind=lambda studio: sessions.start(studio, "1", sessions.Doing()),
    ),
    "no quote": Met(
        _quoted, "quote accept C-0001", _keys("a"),
        "C-0001 has no quote yet. Issue one: burnplan quote issue C-0001.",
        "C-0001 has no quote yet. Issue one: key i on its page.",
        behind=undo.undo_last,
    ),
    "an old quote": Met(
        _quoted, "quote accept C-0001", _keys("a"),
        "Quote 1 expired Fri 16 Apr 2027. Issue it again: burnplan quote issue C-0001.",
        "Quote 1 expired Fri 16 Apr 2027. Issue it again: key i on its page.",
        days=40,
    ),
    "a ticked step": Met(
        _ticked, "step skip C-0001 1 --because unneeded", _keys("home", "x", reason="unneeded"),
        "is ticked. Untick it first: burnplan step untick C-0001 1.",
        "is ticked. Untick it first: key space on its page.",
    ),
    "a lost step": Met(
        lambda studio: checklists.add(studio, barn(studio), "varnish the frame", list(Phase)[-1]),
        "step tick C-0001 'varnish the frame'", _keys("end", "space"),
        "C-0001 has no step 'varnish the frame'. See: burnplan step list C-0001.",
        "See: its page.",
        behind=undo.undo_last,
    ),
    "a lost job": Met(
        barn, "session enter C-0001 2h", _keys("g", length="2h"),
        "No commission is called 'C-0001'. See 'burnplan commission list'.",
        "No commission is called 'C-0001'. See 2 Jobs.",
        behind=undo.undo_last,
    ),
}  # fmt: skip


@pytest.mark.parametrize("met", MET.values(), ids=MET)
def test_an_error_is_one_line_with_the_command(
    met: Met, studio: Studio, clock: FixedClock, photo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    met.before(studio)
    met.behind(studio)
    clock.now += timedelta(days=met.days)
    assert run(shlex.split(met.typed.format(photo=photo)), studio) == 2
    assert capsys.readouterr().err.endswith(f"{met.says}\n")


@quick_first("met", MET.values(), ids=MET, quick=2)
def test_an_error_is_one_line_with_the_key(
    met: Met, studio: Studio, clock: FixedClock, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workbench, "LOOK_SECONDS", 3600.0)  # what is done behind is met unseen
    met.before(studio)

    async def desk(hand: Hand) -> None:
        await hand.press(*met.open)
        met.behind(studio)
        clock.now += timedelta(days=met.days)
        await met.at(hand, photo)
        shown = hand.said + [
            str(one.content) for one in hand.app.screen.query("#wrong, #preview").results(Static)
        ]
        assert any(line.endswith(met.shows) for line in shown), shown

    at_work(studio, desk)
