"""Short questions over a screen: words, a number, one of a few answers, a row of a list, who is away."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Input

from showday.run.plan import PlannedReading
from showday.text.values import number
from showday.tui.lines import Choice, Line
from showday.tui.messages import RowPicked
from showday.tui.run_view import reading_words
from showday.tui.screens.base import ShowdayModal
from showday.tui.widgets.choices import Choices, KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.row_list import RowList

LONGEST_NOTE = 2000
"""Characters of a note; more is a document, not a note (a choice of this program)."""

_CANCEL = Binding("escape", "cancel", "back", show=False)


class TextModal(ShowdayModal[str | None]):
    """A few words; ends with them, or with None. `needed` refuses none at all."""

    AUTO_FOCUS = "Input"
    BINDINGS: ClassVar[list[BindingType]] = [_CANCEL]

    def __init__(self, title: str, about: str = "", *, needed: bool = False) -> None:
        super().__init__()
        self._lines = [Line("title", title), *([Line("about", about)] if about else [])]
        self._needed = needed

    def compose(self) -> ComposeResult:
        """Title, field, keys."""
        with Vertical(classes="question"):
            yield Lines(self._lines)
            yield Input(max_length=LONGEST_NOTE, id="words")
            yield Lines(id="trouble")
            yield KeyBar(id="modal-keys")

    def on_mount(self) -> None:
        """Say what Enter does."""
        self.query_one(KeyBar).show([Choice("Enter", "keep", "keep"), Choice("Esc", "cancel", "cancel")])

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter keeps the words."""
        event.stop()
        self.action_keep()

    def action_keep(self) -> None:
        """End with the words."""
        words = self.query_one(Input).value.strip()
        if not words and self._needed:
            self.query_one("#trouble", Lines).show([Line("warning", "A few words are needed here.")])
            return
        self.dismiss(words)

    def action_cancel(self) -> None:
        """End without."""
        self.dismiss(None)


class ReadingModal(ShowdayModal[float | None]):
    """A number with its unit and wanted range; `begun` is what was typed already."""

    AUTO_FOCUS = "Input"
    BINDINGS: ClassVar[list[BindingType]] = [_CANCEL]

    def __init__(self, reading: PlannedReading, about: str, begun: str = "") -> None:
        super().__init__()
        self._reading = reading
        self._about = about
        self._begun = begun

    def compose(self) -> ComposeResult:
        """What is wanted, field, keys."""
        with Vertical(classes="question"):
            yield Lines([Line("title", reading_words(self._reading)), Line("about", self._about)])
            yield Input(self._begun, restrict=r"[-+]?[0-9]*[.,]?[0-9]*", max_length=12, select_on_focus=False)
            yield Lines(id="trouble")
            yield KeyBar(id="modal-keys")

    def on_mount(self) -> None:
        """Go on typing behind what was begun."""
        field = self.query_one(Input)
        field.cursor_position = len(field.value)
        self.query_one(KeyBar).show([Choice("Enter", "keep", "keep"), Choice("Esc", "cancel", "cancel")])

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter keeps the number."""
        event.stop()
        self.action_keep()

    def action_keep(self) -> None:
        """End with the number; a comma is as good as a point."""
        try:
            self.dismiss(number(self.query_one(Input).value))
        except ValueError:
            said = f"That is not a number of {self._reading.unit}: digits, a point or a comma, perhaps a minus."
            self.query_one("#trouble", Lines).show([Line("warning", said)])

    def action_cancel(self) -> None:
        """End without."""
        self.dismiss(None)


class ChoiceModal(ShowdayModal[str | None]):
    """A few answers, each with its key; ends with the key, or with None."""

    def __init__(self, lines: Sequence[Line], choices: Sequence[tuple[str, str]], leave: str = "back") -> None:
        super().__init__()
        self._lines = lines
        self._rows = [Choice(key, text, f"answer('{key}')") for key, text in choices]
        self._rows.append(Choice("Esc", leave, "cancel", "dim"))

    def compose(self) -> ComposeResult:
        """Lines above, answers below."""
        with VerticalScroll(classes="question", can_focus=False):
            yield Lines(self._lines)
            yield Choices()

    def on_mount(self) -> None:
        """Offer the answers."""
        self.query_one(Choices).show(self._rows)

    def on_key(self, event: events.Key) -> None:
        """One key answers; every other does nothing."""
        event.stop()
        if event.key in ("escape", "q"):
            self.dismiss(None)
        elif any(event.key == row.key for row in self._rows):
            self.dismiss(event.key)

    def action_answer(self, key: str) -> None:
        """An answer was clicked."""
        self.dismiss(key)

    def action_cancel(self) -> None:
        """No answer."""
        self.dismiss(None)


class ListModal(ShowdayModal[int | None]):
    """A whole list over the screen; ends with the index of the row picked, or with None."""

    AUTO_FOCUS = "RowList"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,t", "cancel", "back", show=False),
        Binding("j", "down", "down", show=False),
        Binding("k", "up", "up", show=False),
    ]

    def __init__(self, title: str, rows: Sequence[str], at: int | None) -> None:
        super().__init__()
        self._title = title
        self._rows = rows
        self._at = at

    def compose(self) -> ComposeResult:
        """Title, rows, keys."""
        with Vertical(classes="question -tall"):
            yield Lines([Line("title", self._title)])
            yield RowList()
            yield KeyBar(id="modal-keys")

    def on_mount(self) -> None:
        """Stand at the current row."""
        self.query_one(RowList).show(self._rows, self._at if self._at is not None else 0)
        keys = [("j", "down", "down"), ("k", "up", "up"), ("Enter", "take it", "take"), ("Esc", "back", "cancel")]
        self.query_one(KeyBar).show([Choice(*key) for key in keys])

    def on_row_picked(self, message: RowPicked) -> None:
        """A row was chosen by Enter or a click."""
        message.stop()
        self.dismiss(message.index)

    def action_take(self) -> None:
        """Take the marked row."""
        self.query_one(RowList).action_select()

    def action_down(self) -> None:
        """One row down."""
        self.query_one(RowList).action_cursor_down()

    def action_up(self) -> None:
        """One row up."""
        self.query_one(RowList).action_cursor_up()

    def action_cancel(self) -> None:
        """Nothing was picked."""
        self.dismiss(None)
