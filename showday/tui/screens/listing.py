"""Moving the mark of a screen's list by key: the same keys on every screen that has one."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual.binding import Binding
from textual.message_pump import MessagePump

from showday.tui import commands as cmd
from showday.tui.lines import Choice
from showday.tui.messages import RowPicked
from showday.tui.widgets.pick_list import PickList

if TYPE_CHECKING:
    from textual.screen import Screen

WHILE_TYPING = [
    Binding("down", "next", show=False),
    Binding("up", "previous", show=False),
    Binding("pagedown", "more", show=False),
    Binding("pageup", "page_up", show=False),
]
"""Keys of a list under a field that letters are typed into."""

PAGE_UP = Binding("pageup", "page_up", show=False)


def choice(id: str, words: str = "") -> Choice:
    """A command of the table as a key of the key bar."""
    command = cmd.command(id)
    return Choice(command.key, words or command.label, command.action)


class Listing(MessagePump):
    """Mixed into a screen with one `PickList`; `take` is called with the value of the row that was taken."""

    @property
    def list(self) -> PickList:
        """The screen's list."""
        return cast("Screen[object]", self).query_one(PickList)

    def take(self, value: object) -> None:
        """A row with a value was taken by Enter or a tap."""

    def on_row_picked(self, message: RowPicked) -> None:
        """Rows that stand for nothing do nothing."""
        message.stop()
        value = self.list.rows[message.index].value
        if value is not None:
            self.take(value)

    def action_go_on(self) -> None:
        """Take the marked row."""
        self.list.action_select()

    def action_next(self) -> None:
        """One row down."""
        self.list.action_cursor_down()

    def action_previous(self) -> None:
        """One row up."""
        self.list.action_cursor_up()

    def action_more(self) -> None:
        """One page down, with the row that was reached on top, so that nothing is read twice."""
        self.list.action_page_down()  # type: ignore[no-untyped-call]
        self.list.scroll_to_highlight(top=True)

    def action_page_up(self) -> None:
        """One page up."""
        self.list.action_page_up()  # type: ignore[no-untyped-call]
