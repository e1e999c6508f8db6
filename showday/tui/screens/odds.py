"""What is still likely, over the fault walk: bars that are read without colour, and why it is not the author's order."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical

from showday.fault.advise import Advice
from showday.tui import walk_view as view
from showday.tui.lines import Choice
from showday.tui.messages import RowPicked
from showday.tui.screens.base import ShowdayModal
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList


class OddsScreen(ShowdayModal[None]):
    """The causes of an advice as bars. Nothing is answered here."""

    AUTO_FOCUS = "PickList"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,z", "cancel", "back", show=False),
        Binding("j", "down", "down", show=False),
        Binding("k", "up", "up", show=False),
    ]

    def __init__(self, advice: Advice) -> None:
        super().__init__()
        self._advice = advice

    def compose(self) -> ComposeResult:
        """Title, bars, keys."""
        with Vertical(classes="question -tall"):
            yield Lines(view.odds_lines(self._advice))
            yield PickList()
            yield KeyBar(id="modal-keys")

    def on_mount(self) -> None:
        """Show the bars and name the keys."""
        self.query_one(PickList).show(view.odds_rows(self._advice))
        keys = [("j", "down", "down"), ("k", "up", "up"), ("Esc", "back", "cancel")]
        self.query_one(KeyBar).show([Choice(*key) for key in keys])

    def on_row_picked(self, message: RowPicked) -> None:
        """Enter or a tap has seen enough."""
        message.stop()
        self.dismiss(None)

    def action_down(self) -> None:
        """One row down."""
        self.query_one(PickList).action_cursor_down()

    def action_up(self) -> None:
        """One row up."""
        self.query_one(PickList).action_cursor_up()

    def action_cancel(self) -> None:
        """Back to the walk."""
        self.dismiss(None)
