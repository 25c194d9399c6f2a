"""Every action of the desk with arguments drawn at random, for sequences that are undone.

An action is drawn once, by the name of its desk function, and can then be done
again and again with the same arguments.
"""

import ast
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, time, timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any, TypeVar

import numpy as np
import pytest
from PIL import Image
from sqlalchemy import Enum, Integer, String, text, update

import burnplan.desk
from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import (
    checklists,
    clients,
    commissions,
    compared,
    comparisons,
    consents,
    corrections,
    endings,
    finishing,
    holding,
    layouts,
    lettering,
    photos,
    portfolio,
    references,
    sessions,
    teaching,
    together,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, payments, proposals, quotes
from burnplan.desk.studio import days_off, settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import pace, past, past_import, planned_sessions
from burnplan.desk.wood import blanks, conditioning, hazards, ladders, outlines, own_species
from burnplan.errors import BurnplanError, NotAllowed
from burnplan.ledger import engines, history
from burnplan.ledger.models import History, Record
from burnplan.wood.hazards import Condition
from tests.conftest import FixedClock

T = TypeVar("T")
Action = Callable[[], object]
Look = Callable[[Studio, list[str]], None]
Contents = tuple[int, dict[str, str]]

SPECIES = ("basswood", "cherry", "sugar-maple", "paper-birch", "oleander", "plum", "quince")
SIZES = ("12x9cm", "round 10cm", "oval 9x12cm", "6x4in", "15x10cm")
WORDS = ("Fox", "Owl in ivy", "Étude №3", "=SUM(A1)", "O'Brien; drop", "狐", "a" * 190)


def _past_job(bench: "Bench") -> past.NewPastJob:
    return past.NewPastJob(
        title=bench.words(),
        size="20x15cm",
        hours=bench.one_of(2.5, 19),
        covers=bench.one_of("whole", "burning", "tracing and burning"),
        species=bench.perhaps("basswood"),
        detail=bench.perhaps(6),
        covered=bench.one_of("", "60%"),
        price=bench.perhaps("90"),
    )


@dataclass
class Bench:
    """A studio to act in, and the dice that choose."""

    studio: Studio
    clock: FixedClock
    dice: random.Random
    folder: Path
    photos: list[Path] = field(default_factory=list)
    past_jobs: list[Path] = field(default_factory=list)
    board: Path = field(init=False)
    drawn_outline: Path = field(init=False)

    def __post_init__(self) -> None:
        """Draw the photos and write the past jobs that actions take."""
        for number in range(3):
            path = self.folder / f"photo{number}.png"
            if not path.exists():
                y, x = np.mgrid[:96, :128]
                grey = np.where((x - 64) ** 2 + (y - 48) ** 2 < 900 + 300 * number, 40, 220)
                Image.fromarray(np.dstack([grey.astype(np.uint8)] * 3)).save(path)
            self.photos.append(path)
            path = self.folder / f"past{number}.csv"
            path.write_text(
                "title,width_mm,height_mm,finished_on,darkness,burn_h,price\n"
                f"Hare,200,{150 + number},2026-05-0{number + 1},eye:3,{2 + number}.5,150\n"
                "Wren,120,90,,,1.25,\n"
            )
            self.past_jobs.append(path)

        self.board, self.drawn_outline = self.folder / "board.png", self.folder / "board.svg"
        if not self.board.exists():
            bench = np.full((480, 640, 3), (205, 205, 200), np.uint8)
            bench[80:400, 60:580] = (120, 72, 40)
            Image.fromarray(bench).save(self.board)
            self.drawn_outline.write_text(
                '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="90mm"'
                ' viewBox="0 0 120 90"><path d="M 0 0 L 120 5 L 115 90 L 4 85 Z"/></svg>'
            )

    def one_of(self, *choices: T) -> T:
        """Choose one."""
        return self.dice.choice(choices)

    def some(self, choices: list[T]) -> list[T]:
        """Choose one to three of them, or what there is."""
        return self.dice.sample(choices, min(len(choices), self.dice.randint(1, 3)))

    def perhaps(self, value: T) -> T | None:
        """Return the value or nothing."""
        return value if self.dice.random() < 0.5 else None

    def number(self, table: str, where: str = "1 = 1") -> int:
        """Return the number of a row of a table, now and then of one that is not there."""
        with self.studio.reading() as book:
            found = book.execute(
                text(f"SELECT id FROM {table} WHERE {where} ORDER BY id")  # noqa: S608
            ).scalars()
            numbers = list(found) or [99]
        return 99 if self.dice.random() < 0.03 else self.dice.choice(numbers)

    def commission(self, where: str = "") -> str:
        """Return the code of a commission: such a one, or mostly an open one."""
        is_open = "delivered_on IS NULL AND dropped_on IS NULL"
        if not where and self.dice.random() < 0.9:
            where = is_open
        return f"C-{self.number('commission', where or '1 = 1'):04d}"

    def blank(self, where: str = "1 = 1") -> str:
        """Return the code of a blank."""
        return f"B-{self.number('blank', where):04d}"

    def steps(self, where: str) -> tuple[str, list[str]]:
        """Return a commission's code and the keys of some of its steps."""
        number = self.number("step", where)
        with self.studio.reading() as book:
            found = book.execute(
                text("SELECT commission_id FROM step WHERE id = :id"), {"id": number}
            ).scalar()
            keys = book.execute(
                text(f"SELECT key FROM step WHERE commission_id = :of AND {where} ORDER BY id"),  # noqa: S608
                {"of": found},
            ).scalars()
            return f"C-{found or 99:04d}", self.some(list(keys)) or ["none"]

    def client(self) -> str:
        """Return the name of a client who may be there."""
        return self.one_of("Ada Berg", "Bo Lind", "Cy Marsh", "Dee Novak")

    def one_without_jobs(self) -> str:
        """Return the code of a client who has ordered nothing, if there is one."""
        ordered = "SELECT client_id FROM commission WHERE client_id IS NOT NULL"
        return f"P-{self.number('client', f'id NOT IN ({ordered})'):04d}"

    def words(self) -> str:
        """Return a name, a reason, a note."""
        return self.one_of(*WORDS)

    def doing(self) -> sessions.Doing:
        """Return what a session is about."""
        zone = self.perhaps(self.dice.randint(1, 7))
        return sessions.Doing(
            work=self.one_of("prepare", "transfer", "burn", "finish"), zone=zone, note=self.words()
        )

    def wishes(self, title: str | None) -> Wishes:
        """Return what is asked of a commission."""
        return Wishes(
            title=title,
            client=self.perhaps(self.client()),
            size=self.perhaps(self.one_of(*SIZES)),
            species=self.perhaps(self.one_of(*SPECIES)),
            due=self.perhaps(self.studio.today() + timedelta(days=self.dice.randint(0, 90))),
            use=self.perhaps(self.one_of("indoor", "outdoor", "food")),
            note=self.perhaps(self.words()),
        )


def _edited_settings(bench: Bench) -> studio_settings.Settings:
    own = settings.current(bench.studio)
    name, value = bench.one_of(
        ("name", "Hollow Oak"), ("drawing_hand", "left"), ("drawing_hand", "right"),
        ("units", "imperial"), ("currency", "JPY"), ("hourly_target", "41"),
        ("hours", "1 2 3 4 5 6 7"), ("address", "A; B"), ("holidays", "DE-BY"),
        ("tax_percent", "7.5"), ("burning_hours", "3"),
    )  # fmt: skip
    return settings.parsed(own, name, value)


def _correction(bench: Bench) -> corrections.Correction:
    return corrections.Correction(
        length=bench.perhaps(timedelta(minutes=bench.dice.randint(5, 200))),
        work=bench.perhaps(bench.one_of("prepare", "transfer", "burn", "finish")),
        note=bench.words(),
    )


def _strip(bench: Bench) -> ladders.NewLadder:
    return ladders.NewLadder(
        species=bench.one_of(*SPECIES),
        tip="shader",
        heat=[2, 4, 6],
        lightness=[80, 55 + bench.dice.random(), 30],
        bare=bench.perhaps(84.5),
    )


# By module and name of the desk function; each draws its arguments and returns what to do.
def _chosen(bench: Bench) -> Action:
    number = bench.number("progress_photo")
    whose = f"id = (SELECT commission_id FROM progress_photo WHERE id = {number})"  # noqa: S608 ours
    chosen = bench.one_of([number], [])
    return partial(portfolio.choose, bench.studio, bench.commission(whose), chosen)


ACTIONS: dict[str, Callable[[Bench], Action]] = {
    "blanks.add": lambda b: partial(
        blanks.add, b.studio,
        blanks.NewBlank(
            species=b.one_of(*SPECIES), size=b.one_of(*SIZES), thickness=b.perhaps("18mm"),
            cost=b.perhaps("12"), grit=b.perhaps(b.one_of(120, 220)), note=b.words(),
        ),
    ),
    "blanks.sand": lambda b: partial(
        blanks.sand, b.studio, b.blank(), b.one_of(120, 150, 220, 320, None),
        not_done=b.one_of(False, False, True),
    ),
    "outlines.find": lambda b: partial(
        outlines.find, b.studio, b.blank("NOT EXISTS (SELECT 1 FROM commission WHERE"
        " commission.blank_id = blank.id)"), b.board,
        outlines.ByPhoto(points="100,240 500,240", apart="200mm"),
    ),
    "outlines.give": lambda b: partial(
        outlines.give, b.studio, b.blank(),
        b.one_of("0,0 12,1 11,9 1,8 cm", "0,0 150,0 140,100 0,90 mm"),
    ),
    "outlines.draw": lambda b: partial(outlines.draw, b.studio, b.blank(), b.drawn_outline),
    "outlines.move": lambda b: partial(
        outlines.move, b.studio, b.blank(), "0mm,0mm", b.one_of("3mm,2mm", "5mm,4mm")
    ),
    "outlines.correct": lambda b: partial(
        outlines.correct, b.studio, b.blank(),
        b.one_of([(0, 0), (118, 2), (112, 86), (3, 80)], [(0, 0), (150, 0), (140, 100)]),
    ),
    "holding.hold": lambda b: partial(
        holding.hold, b.studio, b.blank("scrapped_on IS NULL"), b.commission(),
        override=b.perhaps("known history"),
    ),
    "holding.release": lambda b: partial(
        holding.release, b.studio,
        b.blank("id IN (SELECT blank_id FROM commission)"),
    ),
    "blanks.scrap": lambda b: partial(blanks.scrap, b.studio, b.blank(), b.words()),
    "checklists.tick": lambda b: partial(
        checklists.tick, b.studio, *b.steps("ticked_at IS NULL")
    ),
    "checklists.untick": lambda b: partial(
        checklists.untick, b.studio, *b.steps("ticked_at IS NOT NULL OR skipped_at IS NOT NULL")
    ),
    "checklists.skip": lambda b: _skip(b, *b.steps("ticked_at IS NULL")),
    "checklists.add": lambda b: partial(
        checklists.add, b.studio, b.commission(), b.words(), b.one_of("prepare", "burn", "finish")
    ),
    "clients.add": lambda b: partial(
        clients.add, b.studio, b.client(), clients.ClientDetails(email=b.perhaps("x@example.org"))
    ),
    "clients.edit": lambda b: partial(
        clients.edit, b.studio, b.client(),
        clients.ClientDetails(phone=b.perhaps("+49 1"), note=b.perhaps(b.words())),
        b.perhaps(b.client()),
    ),
    "commissions.add": lambda b: partial(commissions.add, b.studio, b.wishes(b.words())),
    "commissions.edit": lambda b: partial(
        commissions.edit, b.studio, b.commission(), b.wishes(b.perhaps(b.words()))
    ),
    "clients.merge": lambda b: partial(clients.merge, b.studio, b.client(), b.client()),
    "clients.remove": lambda b: partial(clients.remove, b.studio, b.one_without_jobs()),
    "blanks.edit": lambda b: partial(
        blanks.edit, b.studio, b.blank(),
        blanks.BlankChange(cost=b.perhaps("9"), note=b.words(), size=b.perhaps(b.one_of(*SIZES))),
    ),
    "commissions.pause": lambda b: partial(
        commissions.pause, b.studio, b.commission(), b.words()
    ),
    "commissions.resume": lambda b: partial(
        commissions.resume, b.studio, b.commission("paused_on IS NOT NULL")
    ),
    "endings.drop": lambda b: partial(
        endings.drop, b.studio, b.commission(), b.words(),
        b.one_of(None, "nothing", "deposit", "work"),
    ),
    "endings.deliver": lambda b: partial(
        endings.deliver, b.studio, b.commission(), b.perhaps(b.studio.today()),
        all_done=b.one_of(False, True),
    ),
    "endings.correct_day": lambda b: partial(
        endings.correct_day, b.studio, b.commission("delivered_on IS NOT NULL"),
        b.studio.today() - timedelta(days=b.dice.randint(1, 9)),
    ),
    "days_off.add": lambda b: partial(
        days_off.add, b.studio, b.studio.today() + timedelta(days=b.dice.randint(0, 9)),
        b.perhaps(b.studio.today() + timedelta(days=b.dice.randint(5, 20))), b.words(),
    ),
    "days_off.remove": lambda b: partial(days_off.remove, b.studio, b.number("day_off")),
    "finishing.plan": lambda b: partial(
        finishing.plan, b.studio, b.commission(), b.words()[:100], coats=b.dice.randint(1, 3),
        dry=timedelta(hours=b.one_of(2, 8.5)), next_coat=b.perhaps(timedelta(hours=12)),
    ),
    "hazards.override": lambda b: partial(
        hazards.override, b.studio,
        b.blank("id IN (SELECT blank_id FROM commission)"), b.words(),
    ),
    "hazards.note": lambda b: partial(
        hazards.note, b.studio, b.blank(), [str(c) for c in b.some(list(Condition))], b.words()
    ),
    "hazards.clear": lambda b: partial(_clear, b.studio, b.number("blank_condition")),
    "holding.restart": lambda b: partial(
        holding.restart, b.studio, b.commission(), b.blank(), b.words()
    ),
    "ladders.add": lambda b: partial(ladders.add, b.studio, _strip(b)),
    "own_species.add": lambda b: partial(
        own_species.add, b.studio,
        own_species.NewSpecies(
            name=b.one_of("Plum", "Quince", "Medlar"), bare=b.perhaps(70.5), radial=b.perhaps(4)
        ),
    ),
    "pace.set_aside": lambda b: partial(
        pace.set_aside, b.studio, b.number("burn_session"), b.words()
    ),
    "pace.teach_again": lambda b: partial(
        pace.teach_again, b.studio, b.number("burn_session", "set_aside IS NOT NULL")
    ),
    "past.add": lambda b: partial(past.add, b.studio, _past_job(b)),
    "past.correct": lambda b: partial(
        past.correct, b.studio, b.number("past_job"),
        past.PastJobChange(hours=b.perhaps(b.one_of(3, 21)), price=b.one_of("", "80"),
                           title=b.perhaps(b.words())),
    ),
    "past.remove": lambda b: partial(past.remove, b.studio, b.number("past_job")),
    "past.set_aside": lambda b: partial(
        past.set_aside, b.studio, b.number("past_job"), b.words()
    ),
    "past.teach_again": lambda b: partial(
        past.teach_again, b.studio, b.number("past_job", "set_aside IS NOT NULL")
    ),
    "past_import.bring_in": lambda b: partial(
        past_import.bring_in, b.studio, b.one_of(*b.past_jobs)
    ),
    "payments.take": lambda b: partial(
        payments.take, b.studio, b.commission(), b.one_of("10", "33"),
        b.one_of("deposit", "payment", "refund"), note=b.words(),
    ),
    "payments.correct": lambda b: partial(
        payments.correct, b.studio, b.number("payment"), method="card", note=b.perhaps(b.words())
    ),
    "payments.write_off": lambda b: partial(
        payments.write_off, b.studio, b.commission("unsettled"), b.words()
    ),
    "photos.add": lambda b: partial(
        photos.add, b.studio, b.commission(), b.one_of(*b.photos), note=b.words()
    ),
    "compared.keep": lambda b: partial(
        compared.keep, b.studio, against_plan(b.commission()), b.one_of(*b.photos)
    ),
    "teaching.teach": lambda b: partial(
        teaching.teach, b.studio, b.number("progress_photo", "comparison IS NOT NULL")
    ),
    "consents.note": lambda b: partial(
        consents.note, b.studio, b.commission(),
        consents.ConsentGiven(
            answer=b.one_of("yes", "no", "not asked"), said_by=b.words(), how="in a mail",
            with_name=b.perhaps(True),
        ),
    ),
    "portfolio.choose": _chosen,
    "photos.remove": lambda b: partial(photos.remove, b.studio, b.number("progress_photo")),
    "planned_sessions.add": lambda b: partial(
        planned_sessions.add, b.studio, b.commission(),
        b.studio.now() + timedelta(hours=b.dice.randint(1, 200)), timedelta(minutes=90),
        b.one_of("prepare", "burn"), b.words(),
    ),
    "planned_sessions.remove": lambda b: partial(
        planned_sessions.remove, b.studio, b.number("planned_session")
    ),
    "planned_sessions.lay_out": lambda b: partial(
        planned_sessions.lay_out, b.studio, b.one_of(2, 7, 0), b.one_of(time(9), time(13, 30))
    ),
    "quotes.issue": lambda b: partial(
        quotes.issue, b.studio, b.commission(),
        quotes.QuoteRequest(
            hours=b.perhaps(7.5), round_to=b.perhaps("5"), note=b.words(),
            margin_percent=b.one_of(Decimal(0), Decimal("12.5")),
        ),
        valid_days=b.one_of(1, 30),
    ),
    "proposals.issue": lambda b: partial(
        proposals.issue, b.studio, b.commission(),
        quotes.QuoteRequest(hours=b.perhaps(7.5), note=b.words()),
        sizes=b.perhaps(["15x12cm"]) or (),
    ),
    "accepting.accept": lambda b: partial(
        accepting.accept, b.studio,
        b.commission("id IN (SELECT commission_id FROM quote)"),
    ),
    "lettering.put": lambda b: partial(
        lettering.put, b.studio, b.commission(),
        lettering.LetteringWishes(
            [b.one_of("Fox", "2014")], font=b.one_of("sans", "script"),
            height=b.one_of("5mm", "7mm"), at=b.one_of("top", "bottom"), filled=b.perhaps(False),
        ),
    ),
    "lettering.remove": lambda b: partial(
        lettering.remove, b.studio,
        b.commission("id IN (SELECT commission_id FROM lettering)"), 1,
    ),
    "references.add": lambda b: partial(
        references.add, b.studio, b.commission(), b.one_of(*b.photos), zones=b.one_of(3, 5)
    ),
    "references.note_rights": lambda b: partial(
        references.note_rights, b.studio,
        b.commission("id IN (SELECT commission_id FROM reference)"),
        taken_by=b.perhaps("Mara"), allowed=b.words()[:80],
    ),
    "references.replan": lambda b: partial(
        references.replan, b.studio,
        b.commission("id IN (SELECT commission_id FROM reference)"),
        zones=b.perhaps(b.one_of(3, 5)), wanted=layouts.LayoutChange(turn=b.one_of(0, 90)),
    ),
    "together.put": lambda b: partial(
        together.put, b.studio, b.commission(), b.photos[:2],
        together.TogetherWishes(stacked=b.perhaps(True), seam=b.perhaps("hard")), zones=3,
    ),
    "sessions.start": lambda b: partial(sessions.start, b.studio, b.commission(), b.doing()),
    "sessions.pause": lambda b: partial(sessions.pause, b.studio),
    "sessions.resume": lambda b: partial(sessions.resume, b.studio),
    "sessions.stop": lambda b: partial(
        sessions.stop, b.studio, note=b.words(), done=b.dice.random() < 0.3
    ),
    "sessions.add_note": lambda b: partial(sessions.add_note, b.studio, b.words()),
    "sessions.log": lambda b: partial(
        sessions.log, b.studio, b.commission(), timedelta(minutes=b.dice.randint(1, 300)),
        b.doing(),
    ),
    "corrections.remove": lambda b: partial(
        corrections.remove, b.studio, b.number("burn_session", "replaced_by_id IS NULL"), b.words()
    ),
    "corrections.correct": lambda b: partial(
        corrections.correct, b.studio,
        b.number("burn_session", "closed AND replaced_by_id IS NULL"), _correction(b), b.words(),
    ),
    "settings.save": lambda b: partial(settings.save, b.studio, _edited_settings(b)),
    "conditioning.note_air": lambda b: partial(
        conditioning.note_air, b.studio, b.one_of("19C 48%", "70F 35%"), b.perhaps(b.client())
    ),
    "conditioning.log_moisture": lambda b: partial(
        conditioning.log_moisture, b.studio, b.blank(), b.one_of("9.5", "14"),
        at=b.perhaps(b.studio.now() - timedelta(days=b.dice.randint(0, 9))),
        instead=b.one_of(False, True),
    ),
    "conditioning.set_grain": lambda b: partial(
        conditioning.set_grain, b.studio, b.blank(), b.one_of("along-width", "end-grain")
    ),
    "conditioning.add_photo": lambda b: partial(
        conditioning.add_photo, b.studio, b.blank(), b.one_of(*b.photos)
    ),
}  # fmt: skip


def _skip(bench: Bench, code: str, steps: list[str]) -> Action:
    return partial(checklists.skip, bench.studio, code, steps[0], bench.words())


def against_plan(code: str) -> Any:
    """Return what a comparison came to, as if one had been made."""
    zone = comparisons.ZoneAgainstPlan(zone=1, wanted=0.9, measured=0.8, within=0.6, doubt=0.01)
    burning = comparisons.BurningSeen(by_photo=0.4, by_ticks=0.2, hours_left=None)
    view = comparisons.ComparisonView(
        code=code, title="", photo="bench.jpg", taken_on=date(2026, 3, 2), tolerance=0.1,
        bare_lightness=82, burn_lightness=18, corners_mm_error=None, burning=burning,
        zones=[zone], too_light=[], too_dark=[],
    )  # fmt: skip
    return SimpleNamespace(view=view, picture=lambda: np.full((32, 48, 3), 200, np.uint8))


def _clear(studio: Studio, number: int) -> object:
    with studio.reading() as book:
        found = book.execute(
            text("SELECT blank_id, kind FROM blank_condition WHERE id = :id"), {"id": number}
        ).first()
    blank, kind = found or (1, "painted")
    return hazards.clear(studio, f"B-{blank:04d}", kind, "planed off")


def writing_functions() -> set[str]:
    """Return every public desk function that writes, itself or by a private one of its module."""
    found = set()
    for path in Path(burnplan.desk.__path__[0]).rglob("*.py"):
        functions = {
            node.name: node
            for node in ast.parse(path.read_text(encoding="utf-8")).body
            if isinstance(node, ast.FunctionDef)
        }
        calls = {name: _called(node) for name, node in functions.items()}
        writes = {name for name in functions if ".writing" in calls[name]}
        while more := {name for name in functions if calls[name] & writes} - writes:
            writes |= more
        found |= {f"{path.stem}.{name}" for name in writes if not name.startswith("_")}
    return found


def _called(function: ast.FunctionDef) -> set[str]:
    """Return the names a function calls, with a dot before those of methods."""
    calls = [node.func for node in ast.walk(function) if isinstance(node, ast.Call)]
    return {call.id for call in calls if isinstance(call, ast.Name)} | {
        f".{call.attr}" for call in calls if isinstance(call, ast.Attribute)
    }


def furnish(bench: Bench) -> None:
    """Put a little of everything into an empty book."""
    studio, clock = bench.studio, bench.clock
    settings.save(studio, studio_settings.Settings(name="Bench"))
    for number, title in enumerate(("Fox", "Owl in ivy", "Stoat", "Wren", "Hare")):
        blanks.add(studio, blanks.NewBlank(species=SPECIES[number], size=SIZES[number], cost="8"))
        wishes = Wishes(title=title, client=bench.client(), size="12x9cm", species="basswood")
        commissions.add(studio, wishes)
    for title in ("Fox", "Owl in ivy", "Stoat"):
        references.add(studio, title, bench.photos[0], zones=3)
        lettering.put(studio, title, lettering.LetteringWishes(["Fox"], height="5mm"))
        quotes.issue(studio, title, quotes.QuoteRequest(hours=5))
        clock.forward(hours=3)
    for title in ("Fox", "Owl in ivy"):
        deposit = accepting.accept(studio, title).deposit
        payments.take(studio, title, str(deposit), "deposit")
        sessions.log(studio, title, timedelta(hours=1), sessions.Doing())
    holding.hold(studio, "B-1", "Fox")
    hazards.note(studio, "B-1", ["painted"])
    hazards.note(studio, "B-2", ["spalted"])
    past_import.bring_in(studio, bench.past_jobs[0])
    photos.add(studio, "Fox", bench.photos[1])
    _furnish_with_a_comparison(bench)
    clock.forward(days=1)
    days_off.add(studio, studio.today() + timedelta(days=30), None, "Fair")
    planned_sessions.add(
        studio, "Owl in ivy", studio.now() + timedelta(days=20), timedelta(hours=2)
    )
    commissions.pause(studio, "Wren", "no wood")
    checklists.tick(studio, "Fox", ["1"])
    sessions.start(studio, "Owl in ivy", sessions.Doing())
    clock.forward(hours=1)


def _furnish_with_a_comparison(bench: Bench) -> None:
    """Burn a zone by a ladder's setting, tick it, and compare the piece with its plan."""
    studio = bench.studio
    strip = ladders.NewLadder(
        species="basswood", tip="shader", heat=[2, 4, 6], lightness=[80, 60, 30]
    )
    ladders.add(studio, strip)
    doing = sessions.Doing(work="burn", zone=1, tip="shader", heat="5")
    sessions.log(studio, "Stoat", timedelta(hours=1), doing)
    steps = checklists.of(studio, "Stoat").steps
    checklists.tick(studio, "Stoat", [str(step.number) for step in steps if step.zone == 1])
    compared.keep(studio, against_plan("C-0003"), bench.photos[2])


def contents(studio: Studio) -> Contents:
    """Return the number of the newest entry of the history, and every row of all other tables.

    Rows are as the database keeps them, not as our types read them.
    """
    with studio.reading() as book:
        cursor = book.connection().connection.cursor()
        cursor.execute("SELECT max(id) FROM history")
        ((entry,),) = cursor.fetchall()
        tables = {}
        for name, query in _EVERYTHING.items():
            cursor.execute(query)
            tables[name] = repr(cursor.fetchall())
        return entry, tables


_EVERYTHING = {
    table.name: f"SELECT * FROM {table.name} ORDER BY {next(iter(table.primary_key)).name}"  # noqa: S608
    for table in Record.metadata.sorted_tables
    if table.name != "history"
}


@dataclass
class Tally:
    """What became of the actions tried."""

    done: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    undone: int = 0
    # Undos that were refused, of what had been changed since.
    kept: int = 0


def _looks_at_nothing(_studio: Studio, _story: list[str]) -> None: ...


def undo_sequence(
    bench: Bench,
    names: list[str],
    tally: Tally,
    after_each: Look = _looks_at_nothing,
    after_undo: Look = _looks_at_nothing,
) -> None:
    """Do the actions named, then take them back, the last first; do them again, and back.

    After each undo the book is the one before that action, row by row, and after each redo
    the one after it. ``after_each`` is called after every action and ``after_undo`` after
    every undo, with what was done so far.
    """
    studio, before = bench.studio, [contents(bench.studio)]
    done: list[str] = []
    for name in names:
        bench.clock.forward(minutes=bench.dice.randint(0, 200))
        act = ACTIONS[name](bench)
        try:
            act()
        except BurnplanError:
            tally.refused[name] += 1
        now = contents(studio)
        if now[0] == before[-1][0]:
            _same(now, before[-1], [*done, f"{name}, refused or for nothing"])
        else:
            tally.done[name] += 1
            done.append(name)
            before.append(now)
            after_each(studio, done)
    after, story = before[1:], [*done]
    while done:
        if bench.dice.random() < 0.5:
            tally.kept += _refuses_what_changed_since(bench)
            _same(contents(studio), before[-1], [*done, "an undo that was refused"])
        undo.undo_last(studio)
        tally.undone += 1
        before.pop()
        _same(contents(studio), before[-1], [*done, "undo"])
        after_undo(studio, [*done, "undo"])
        done.pop()
    for then in after:
        undo.redo_last(studio)
        _same(contents(studio), then, [*story, "undone", "redo"])
    for then in [*before, *after][-2::-1]:
        undo.undo_last(studio)
        _same(contents(studio), then, [*story, "undone", "redone", "undo"])


def _refuses_what_changed_since(bench: Bench) -> bool:
    """Check that an undo is refused where a row is not as its action left it.

    Rather than the row, the history is changed: rows have rules. Returns whether the
    action left a row with words or a count in it.
    """
    with engines.transaction(bench.studio.engine, writing=True) as book:
        entry = history.last_undoable(book)
        assert entry is not None
        number, changes = entry.id, entry.changes
        places = [
            (n, name)
            for n, change in enumerate(changes)
            for name, value in (change["after"] or {}).items()
            if _is_plain(column := Record.metadata.tables[change["table"]].c[name])
            and value is not None
            and not history.follows(column, change["after"])
        ]
        if not places:
            return False
        at, name = bench.dice.choice(places)
        value = changes[at]["after"][name]
        after = changes[at]["after"] | {name: value + ("?" if isinstance(value, str) else 1)}
        other = [*changes[:at], changes[at] | {"after": after}, *changes[at + 1 :]]
        book.execute(update(History).where(History.id == number).values(changes=other))
    with pytest.raises(NotAllowed, match="changed again since"):
        undo.undo_last(bench.studio)
    with engines.transaction(bench.studio.engine, writing=True) as book:
        book.execute(update(History).where(History.id == number).values(changes=changes))
    return True


def _is_plain(column: Any) -> bool:
    plain = isinstance(column.type, String | Integer) and not isinstance(column.type, Enum)
    return plain and not column.primary_key


def _same(now: Contents, then: Contents, story: list[str]) -> None:
    differing = [name for name in then[1] if now[1][name] != then[1][name]]
    assert not differing, f"{differing} differ after {', '.join(story)}"
