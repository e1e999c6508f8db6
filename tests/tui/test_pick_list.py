"""The list under headings: wrapping, cutting, and where the mark stays."""

from __future__ import annotations

from textual.app import App, ComposeResult

from showday.tui.themes import STAGE, THEMES
from showday.tui.widgets.pick_list import PickList, Row, heading

LONG = "one two three four five six seven eight nine ten"


class Holder(App[None]):
    """A list and nothing else."""

    CSS_PATH = "../../showday/tui/app.tcss"

    def __init__(self, wraps: bool = True) -> None:
        super().__init__()
        self._wraps = wraps
        self.register_theme(THEMES[STAGE])
        self.theme = STAGE

    def compose(self) -> ComposeResult:
        yield PickList(wraps=self._wraps)

    @property
    def pick(self) -> PickList:
        return self.query_one(PickList)

    def drawn(self) -> list[str]:
        """The list's lines as they are drawn, without blanks at their ends."""
        return ["".join(s.text for s in self.pick.render_line(y)).rstrip() for y in range(self.pick.size.height)]


async def test_long_rows_are_wrapped_beside_their_lead() -> None:
    app = Holder()
    async with app.run_test(size=(33, 10)) as pilot:
        app.pick.show([Row(LONG, lead="12:30")])
        await pilot.pause()
        lines = [line for line in app.drawn() if line]
        assert len(lines) == 2
        assert lines[0].startswith("12:30 one two")
        assert lines[1].startswith("      ") and lines[1].strip().endswith("ten")


async def test_rows_are_cut_where_they_do_not_wrap() -> None:
    app = Holder(wraps=False)
    async with app.run_test(size=(33, 10)) as pilot:
        app.pick.show([Row(LONG)])
        await pilot.pause()
        lines = [line for line in app.drawn() if line]
        assert len(lines) == 1 and lines[0].endswith("…")


async def test_rows_are_wrapped_anew_when_the_width_changes() -> None:
    app = Holder()
    async with app.run_test(size=(33, 10)) as pilot:
        app.pick.show([Row(LONG)])
        await pilot.pause()
        await pilot.resize_terminal(80, 10)
        await pilot.pause()
        assert [line for line in app.drawn() if line] == [f"   {LONG}"]


async def test_the_mark_never_stands_on_a_heading() -> None:
    app = Holder()
    async with app.run_test(size=(40, 10)) as pilot:
        app.pick.show([*heading("First"), Row("a"), *heading("Second"), Row("b")])
        app.pick.focus()
        seen = []
        for _ in range(3):
            await pilot.pause()
            seen.append(app.pick.marked.text if app.pick.marked else "")
            await pilot.press("down")
        assert seen == ["a", "b", "a"]


async def test_the_mark_stays_with_what_its_row_stands_for() -> None:
    app = Holder()
    async with app.run_test(size=(40, 10)) as pilot:
        app.pick.show([Row("a", value="a"), Row("b", value="b")], "b")
        app.pick.show([Row("new", value="new"), Row("a", value="a"), Row("b, changed", value="b")])
        await pilot.pause()
        assert app.pick.marked == Row("b, changed", value="b")
        app.pick.show([Row("a", value="a")])
        assert app.pick.marked == Row("a", value="a")


async def test_an_empty_list_has_no_mark() -> None:
    app = Holder()
    async with app.run_test(size=(40, 10)) as pilot:
        app.pick.show([Row("a")])
        app.pick.show([])
        await pilot.pause()
        assert app.pick.marked is None


async def test_spaces_of_columns_stay_and_lines_do_not_break_rows() -> None:
    app = Holder()
    async with app.run_test(size=(40, 10)) as pilot:
        app.pick.show([Row("a   b\nc\x1b[31m")])
        await pilot.pause()
        assert [line for line in app.drawn() if line] == ["   a   b c␛[31m"]
