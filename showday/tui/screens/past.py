"""The runs of the past, of every venue or of one."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from showday.memory import runs_at
from showday.opening import place
from showday.tui import commands as cmd
from showday.tui import past_view as view
from showday.tui.lines import Line
from showday.tui.screens import choosing
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.listing import PAGE_UP, Listing, choice
from showday.tui.tonight_view import To
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList

PAGE = 200
"""Runs listed at once; more on request (a choice of this program)."""


class PastScreen(Listing, ShowdayScreen[None]):
    """Past runs, newest first; an unfinished one can be gone on with."""

    WHERE = cmd.PAST
    AUTO_FOCUS = "PickList"
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.PAST), PAGE_UP]

    def __init__(self, venue: str = "") -> None:
        super().__init__()
        self._venue = venue
        self._shown = PAGE

    def compose(self) -> ComposeResult:
        """Whose runs, the list, keys."""
        yield Lines(id="standing")
        yield PickList(id="list")
        yield Lines(id="said")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Show the keys."""
        keys = [
            choice("go-on", "look at it"),
            choice("next"),
            choice("previous"),
            choice("more", "page"),
            choice("notes"),
        ]
        self.query_one(KeyBar).show([*keys, choice("light"), choice("help"), choice("back")])

    def on_screen_resume(self) -> None:
        """On the screen, for the first time or again."""
        self._show()

    def _show(self) -> None:
        with self.saying_why():
            book = self.desk.book()
            venue = book.venue(self._venue) if self._venue else None
            keeper = self.desk.keeper
            records = runs_at(keeper, book, venue) if venue else keeper.runs(limit=self._shown + 1)
            more = len(records) > self._shown
            self.list.show(view.run_rows(records[: self._shown], book, more))
            where = place(venue) if venue else "every venue"
            self.query_one("#standing", Lines).show([Line("title", f"Runs of the past | {where}")])

    def take(self, value: object) -> None:
        """A run is looked at."""
        if not isinstance(value, To):
            return
        if value.kind == view.OLDER:
            self._shown += PAGE
            self._show()
        else:
            choosing.look_at(self.showday, value.id)
