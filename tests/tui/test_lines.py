"""Lines of text: what is drawn again is what stands there, and rows are counted as they are drawn."""

from __future__ import annotations

import random

import pytest
from textual.app import App, ComposeResult
from textual.geometry import Size
from textual.widget import Widget

from showday.tui.lines import LOOKS, Line
from showday.tui.themes import STAGE, THEMES
from showday.tui.widgets.lines import Columns, Lines

WORDS = (
    "a",
    "kick",
    "漢字",
    "🎤",
    "é",
    "[/]",
    "x" * 40,
    "  ",
    "-",
    "…",
    "",
    "tab\tx",
    "long word here",
    "\u200b",
    "e\u0301",
)
IDS = ("#folded", "#cut", "#columns")


class Holder(App[None]):
    """Lines that wrap, lines that are cut, and a table."""

    CSS_PATH = "../../showday/tui/app.tcss"
    CSS = "#cut { text-wrap: nowrap; text-overflow: ellipsis; }"

    def __init__(self) -> None:
        super().__init__()
        self.register_theme(THEMES[STAGE])
        self.theme = STAGE

    def compose(self) -> ComposeResult:
        yield Lines(id="folded")
        yield Lines(id="cut")
        yield Columns(id="columns")

    def drawn(self) -> list[list[tuple[str, object]]]:
        """Every row of the screen in its styles."""
        return [[(s.text, s.style) for s in strip.simplify()] for strip in self.screen._compositor.render_strips()]


def some_lines(random: random.Random, held: tuple[Line, ...]) -> list[Line]:
    """Lines of odd words; often as many as before, some of them as they were."""
    count = len(held) if random.random() < 0.6 else random.randint(0, 4)
    kinds = list(LOOKS)
    new = [Line(random.choice(kinds), " ".join(random.choices(WORDS, k=random.randint(0, 5)))) for _ in range(count)]
    return [held[n] if n < len(held) and random.random() < 0.5 else line for n, line in enumerate(new)]


@pytest.mark.parametrize("seed", range(4))
async def test_what_was_drawn_in_part_is_what_is_drawn_whole(seed: int) -> None:
    app, chance = Holder(), random.Random(seed)
    async with app.run_test(size=(40, 30)) as pilot:
        for _ in range(12):
            for id in IDS:
                place = app.query_one(id, Lines)
                place.show(some_lines(chance, place.lines))
            await pilot.pause()
            in_part = app.drawn()
            for id in IDS:
                app.query_one(id).refresh(layout=True)
            await pilot.pause()
            assert in_part == app.drawn()


async def test_rows_are_counted_as_they_are_drawn() -> None:
    app, chance = Holder(), random.Random(5)
    async with app.run_test(size=(40, 30)):
        for _ in range(300):
            place = app.query_one(chance.choice(IDS), Lines)
            place.show(some_lines(chance, place.lines))
            place.refresh()
            width = chance.randint(1, 60)
            counted = place.get_content_height(Size(40, 30), Size(40, 30), width)
            place.refresh()
            assert counted == Widget.get_content_height(place, Size(40, 30), Size(40, 30), width), place.lines
