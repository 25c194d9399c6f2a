"""A list draws only what is in view, and its cursor passes headings over."""

import asyncio
from collections.abc import Awaitable, Callable

from textual.app import App, ComposeResult
from textual.content import Content
from textual.pilot import Pilot

from burnplan.workbench.listing import Lines, Listing, Rows


class OneList(App[None]):
    def compose(self) -> ComposeResult:
        yield Listing("Many", "None.", id="many")


def looked_at(look: Callable[[Listing, Pilot[None]], Awaitable[None]]) -> None:
    async def run() -> None:
        app = OneList()
        async with app.run_test(size=(40, 20)) as pilot:
            await look(app.query_one(Listing), pilot)

    asyncio.run(run())


def test_of_ten_thousand_rows_only_those_in_view_are_drawn() -> None:
    drawn: list[int] = []

    def draw(row: int) -> Content:
        drawn.append(row)
        return Content(f"row {row}\nits second line")

    async def look(listing: Listing, pilot: Pilot[None]) -> None:
        listing.give(lambda _: Rows([str(n) for n in range(10_000)], draw, tall=2))
        listing.lines.focus()
        await pilot.press("end")
        await pilot.pause()
        assert listing.key == "9999"
        assert listing.lines.max_scroll_y == 20_000 - listing.lines.size.height
        await pilot.press("home", "pagedown")
        await pilot.pause()

    looked_at(look)
    assert {0, 9999} <= set(drawn)
    assert len(drawn) < 100


def test_the_cursor_passes_headings_over_and_stays_on_its_row() -> None:
    def rows(*keys: str | None) -> Callable[[int], Rows]:
        return lambda _: Rows(keys, lambda row: Content(str(keys[row])))

    async def look(listing: Listing, pilot: Pilot[None]) -> None:
        lines = listing.query_one(Lines)
        lines.focus()
        listing.give(rows(None, "a", None, "b", "c"))
        await pilot.pause()
        seen = []
        for key in ("home", "down", "down", "down", "up", "up", "up"):
            await pilot.press(key)
            seen.append(lines.key)
        assert seen == ["a", "b", "c", "c", "b", "a", "a"]
        lines.go_to("b")
        kept = []
        for keys in (("x", "y", "b", None), ("x", None), ()):
            listing.give(rows(*keys))
            kept.append(lines.key)
        assert kept == ["b", "x", None]
        await pilot.press("down", "end", "enter")

    looked_at(look)
