"""A list of plain rows, beside the step on wide screens and over it on small ones."""

from __future__ import annotations

from collections.abc import Sequence

from textual.widgets import OptionList
from textual.widgets.option_list import Option

from showday.text.safe import one_line
from showday.tui.messages import RowPicked

WIDEST = 200
"""Characters of a row that are kept; rows are cut at the edge of the list."""


class RowList(OptionList):
    """Rows to pick from. Only rows that changed are drawn again."""

    def __init__(self, *, id: str | None = None, classes: str | None = None, focusable: bool = True) -> None:
        super().__init__(id=id, classes=classes, markup=False)
        self.can_focus = focusable
        self._rows: list[str] = []

    def show(self, rows: Sequence[str], at: int | None) -> None:
        """Show these rows, with the one at `at` marked; None marks none."""
        new = [one_line(row, WIDEST) for row in rows]
        if len(new) != len(self._rows):
            self.set_options([Option(row) for row in new])
        else:
            for index, (old, row) in enumerate(zip(self._rows, new, strict=True)):
                if old != row:
                    self.replace_option_prompt_at_index(index, row)
        self._rows = new
        if self.highlighted != at:
            self.highlighted = at

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Tell the screen which row was picked."""
        event.stop()
        self.post_message(RowPicked(event.option_index))
