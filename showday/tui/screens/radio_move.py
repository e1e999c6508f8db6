"""Moving one carrier: step by step or by its number, while every clearance follows at once."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input

from showday.errors import RadioTrouble
from showday.radio.units import frequency, khz, mhz
from showday.radio.what_if import Table
from showday.tui import radio_view as view
from showday.tui.lines import Choice, Line
from showday.tui.radio_state import Frequencies
from showday.tui.screens.base import ShowdayModal
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines

LONGEST = 20
"""Characters of a frequency (a choice of this program)."""


class MoveModal(ShowdayModal[Table | None]):
    """One row of the table and where it goes; ends with the table as it then is, or with None."""

    AUTO_FOCUS = "Input"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "cancel", "back", show=False),
        Binding("up", "step(1)", "higher", show=False),
        Binding("down", "step(-1)", "lower", show=False),
    ]

    def __init__(self, held: Frequencies, index: int) -> None:
        super().__init__()
        self._held = held
        self._index = index
        self._table = held.table

    def compose(self) -> ComposeResult:
        """Which one, where to, what follows for everything, keys."""
        row = self._held.table.rows[self._index]
        name = row.name or ("Spare" if row.spare else "Carrier")
        step = khz(self._held.table.step_of(self._index))
        with Vertical(classes="question"):
            yield Lines([Line("title", f"{name}: MHz, such as 606.125, or Up and Down by {step} kHz")])
            yield Input("" if row.hz is None else mhz(row.hz), max_length=LONGEST, id="field")
            yield Lines(id="trouble")
            yield Lines(id="follows")
            yield KeyBar(id="modal-keys")

    def on_mount(self) -> None:
        """Begin where it stands."""
        keys = [("Up", "higher", "step(1)"), ("Down", "lower", "step(-1)"), ("Enter", "keep", "keep")]
        self.query_one(KeyBar).show([Choice(*key) for key in [*keys, ("Esc", "cancel", "cancel")]])
        self._show()

    def _show(self, trouble: str = "") -> None:
        self.query_one("#trouble", Lines).show([Line("warning", f"! {trouble}")] if trouble else [])
        self.query_one("#follows", Lines).show(view.follow_lines(self._held.with_table(self._table), self._index))

    def on_input_changed(self, event: Input.Changed) -> None:
        """A whole number of MHz is tried at once; half of one waits."""
        event.stop()
        try:
            self._table = self._held.table.put(self._index, frequency(event.value))
        except RadioTrouble:
            return
        self._show()

    def action_step(self, steps: int) -> None:
        """So many steps higher."""
        if self._table.rows[self._index].hz is None:
            self._show("It stands nowhere yet: type its frequency.")
            return
        at = self._table.move(self._index, steps).rows[self._index].hz or 0
        field = self.query_one(Input)
        field.value = mhz(at)
        field.cursor_position = len(field.value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter keeps it."""
        event.stop()
        self.action_keep()

    def action_keep(self) -> None:
        """End with the table, when there is a frequency in the field."""
        try:
            at = frequency(self.query_one(Input).value)
        except RadioTrouble as trouble:
            self._show(str(trouble))
            return
        self.dismiss(self._held.table.put(self._index, at))

    def action_cancel(self) -> None:
        """Leave it where it was."""
        self.dismiss(None)
