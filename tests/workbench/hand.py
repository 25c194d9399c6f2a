"""The artist's hand on the workbench, for its tests."""

import asyncio
from collections.abc import Awaitable, Callable
from time import monotonic
from typing import Any

from textual.events import Key
from textual.pilot import Pilot
from textual.widgets import Input, Static

from burnplan.desk.jobs import checklists, commissions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.reckon.checklist import Phase
from burnplan.workbench.app import Workbench
from burnplan.workbench.forms import Form
from burnplan.workbench.listing import Listing
from burnplan.workbench.presses import Presses

SIZES = ((80, 24), (120, 40), (200, 60))
BASSWOOD = blanks.NewBlank(species="basswood", size="20x15cm", cost="8.50", grit=150)

Desk = Callable[["Hand"], Awaitable[None]]


async def nothing_waits(*_seconds: float) -> bool:
    """Wait until the loop has nothing to do before a timer or a thread; return whether it had."""
    loop: Any = asyncio.get_running_loop()
    rounds = 0
    while rounds == 0 or loop._ready:
        await asyncio.sleep(0)
        rounds += 1
    return rounds == 1


class Hand:
    """Presses keys, and waits until the workbench has done what was asked."""

    def __init__(self, app: Workbench, pilot: Pilot[None]) -> None:
        self.app, self.pilot = app, pilot

    async def settle(self) -> None:
        """Wait until nothing is under way, all messages are seen to and all is drawn."""
        while True:
            await nothing_waits()
            self.app.screen._on_timer_update()
            if not await nothing_waits():
                continue
            if all(worker.is_finished for worker in self.app.workers):
                return
            await asyncio.sleep(0.002)

    async def press(self, *keys: str) -> None:
        """Press keys, one after the other's work is done."""
        for key in keys:
            self.app.presses = Presses()
            await self.pilot.press(key)
            await self.settle()

    async def fill(self, **answers: str) -> None:
        """Fill a form in and send it."""
        await self.settle()
        form = self.app.screen
        assert isinstance(form, Form), form
        for name, text in answers.items():
            form.query_one(f"#{name}", Input).value = text
        await self.press("ctrl+s")

    async def do(self, name: str) -> None:
        """Do an action by its name, as the palette does."""
        self.app.action_act(name)
        await self.settle()

    def text(self, selector: str) -> str:
        """Return what a part of the pages says."""
        return str(self.app.screen_stack[0].query_one(selector, Static).content)

    def question(self, selector: str) -> str:
        """Return what a part of the question over the pages says."""
        return str(self.app.screen.query_one(selector, Static).content)

    def lines(self, selector: str) -> list[str]:
        """Return the rows of a list."""
        rows = self.app.screen_stack[0].query_one(selector, Listing).lines.rows
        return [rows.draw(row).plain for row in range(len(rows.keys))]

    @property
    def said(self) -> list[str]:
        """What was said in passing."""
        return [notice.message for notice in self.app._notifications]


def at_work(studio: Studio, desk: Desk, size: tuple[int, int] = (80, 24)) -> None:
    """Open the workbench, let the hand do its work, and close it."""

    async def run() -> None:
        app = Workbench(studio)
        async with app.run_test(size=size, notifications=True) as pilot:
            hand = Hand(app, pilot)
            await hand.settle()
            await desk(hand)

    asyncio.run(run())


async def again(hand: Hand, *keys: str) -> None:
    """Press keys less than half a second after the last, in one go."""
    hand.app.presses._at = monotonic() - 0.4
    for key in keys:
        hand.app.post_message(Key(key, " " if key == "space" else key))
    await hand.settle()


async def hold(hand: Hand, key: str) -> None:
    """Press a key as a terminal tells of one held down."""
    await hand.press(key)
    await again(hand, *[key] * 8)


def barn(studio: Studio) -> str:
    """Log a commission and return its code."""
    wishes = Wishes(title="Old barn", client="Mara", size="20x15cm", species="basswood")
    return commissions.add(studio, wishes).code


def settle_phases(studio: Studio, code: str, *phases: Phase) -> None:
    """Tick every step of some phases."""
    for phase in phases:
        steps = checklists.of(studio, code).steps
        checklists.tick(studio, code, [step.key for step in steps if step.phase is phase])


def states(studio: Studio, code: str) -> list[str]:
    """Return the state of each step."""
    return [step.state for step in checklists.of(studio, code).steps]
