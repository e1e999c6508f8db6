"""The to-fix list across all shows: what is owed, by whom and when; what was cured, and how."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from showday.opening import place, show_day
from showday.run.to_fix import ToFix
from showday.run.touring import Book
from showday.tui import commands as cmd
from showday.tui.lines import Line
from showday.tui.screens import fixing
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.listing import PAGE_UP, Listing, choice
from showday.tui.tonight_view import To, item_row
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList, Row, heading

MOST_CLOSED = 100
"""Closed items that are listed, the last closed first (a choice of this program)."""


class ToFixScreen(Listing, ShowdayScreen[None]):
    """The open items, what is due first on top; with `t` the closed ones too."""

    WHERE = cmd.TO_FIX
    AUTO_FOCUS = "PickList"
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.TO_FIX), PAGE_UP]

    def __init__(self) -> None:
        super().__init__()
        self._closed_too = False
        self._cured: list[str] = []
        """Ids of items that were closed here, for undo."""

    def compose(self) -> ComposeResult:
        """How many, the list, keys."""
        yield Lines(id="standing")
        yield PickList(id="list")
        yield Lines(id="said")
        yield KeyBar(rows=2, id="keys")

    def on_screen_resume(self) -> None:
        """On the screen, for the first time or again: read the list anew."""
        self.show_all()

    def show_all(self) -> None:
        """Read the list and show it."""
        with self.saying_why():
            book = self.desk.book()
            today = show_day(self.desk.world.clock.now()).isoformat()
            opened, closed = book.open_items(), book.closed_items()
            rows = rows_of(opened, book, today) or [Row("Nothing is to be fixed. n enters something.", "dim")]
            if self._closed_too and closed:
                rows += heading("Closed, the last one first")
                rows += [item_row(item, book, today) for item in closed[:MOST_CLOSED]]
            self.list.show(rows)
            late = sum(item.overdue(today) for item in opened)
            counts = f"{len(opened)} open" + (f", {late} OVERDUE" if late else "") + f" | {len(closed)} closed"
            self.query_one("#standing", Lines).show([Line("title", "To fix, of all shows"), Line("count", counts)])
        self._show_keys()

    def _show_keys(self) -> None:
        keys = [choice("go-on", "take it"), choice("note", "new item")]
        keys += [choice("show-list", "open only" if self._closed_too else "closed too")]
        keys += [choice("undo")] if self._cured else []
        keys += [choice("more", "page"), choice("notes"), choice("find"), choice("light"), choice("help")]
        self.query_one(KeyBar).show([*keys, choice("back")])

    def take(self, value: object) -> None:
        """An item was taken."""
        item = self.desk.book().items.get(value.id) if isinstance(value, To) else None
        if item is not None:
            fixing.ask_about_item(self.showday, item, self._changed)

    def _changed(self, closed: str) -> None:
        if closed:
            self._cured.append(closed)
        self.show_all()

    def action_note(self) -> None:
        """Enter something that is to be fixed."""
        fixing.ask_new_item(self.showday, self.show_all)

    def action_show_list(self) -> None:
        """Closed items too, or only the open ones."""
        self._closed_too = not self._closed_too
        self.show_all()

    def action_undo(self) -> None:
        """Open again what was closed here."""
        if fixing.reopen(self.showday, self._cured):
            self.show_all()


def rows_of(items: list[ToFix], book: Book, today: str) -> list[Row]:
    """Open items under the place they come from; places in the order of their most urgent item."""
    under: dict[str, list[Row]] = {}
    for item in items:
        venue = book.venue(book.venue_of(item))
        name = f"From {place(venue)}" if venue else "From no venue"
        under.setdefault(name, []).append(item_row(item, book, today))
    return [row for name, rows in under.items() for row in (*heading(name), *rows)]
