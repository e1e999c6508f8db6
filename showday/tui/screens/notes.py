"""Everything that was ever noted, found while typing: of runs, venues and the to-fix list."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input

from showday.note_search import NoteSearch
from showday.notes import Note
from showday.tui import commands as cmd
from showday.tui.lines import Choice, Line
from showday.tui.screens import choosing, fixing
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.listing import WHILE_TYPING, Listing
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList, Row

MOST = 60
"""Finds listed; what is further down is found by typing on (a choice of this program)."""
PAUSE = 0.02
"""Seconds between two pieces of a long reading, in which a key is taken and the screen is drawn (our choice)."""
LONGEST_QUERY = 120
"""Characters that can be typed (a choice of this program)."""


class NotesScreen(Listing, ShowdayScreen[None]):
    """Letters and digits are typed; arrows choose, Enter goes to where it was written. `asked` is typed already."""

    WHERE = cmd.SEARCH
    AUTO_FOCUS = "Input"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", show=False), *WHILE_TYPING]

    def __init__(self, asked: str = "") -> None:
        super().__init__()
        self._asked = asked
        self._search: NoteSearch | None = None

    def compose(self) -> ComposeResult:
        """What it is, what is typed, what it finds, keys."""
        yield Lines([Line("title", "Everything that was noted")], id="standing")
        hint = "type a few words of it, or a venue"
        yield Input(self._asked, select_on_focus=False, max_length=LONGEST_QUERY, placeholder=hint, id="asked")
        yield PickList(id="found", focusable=False)
        yield Lines(id="said")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Say what the keys do."""
        keys = [
            ("Enter", "go there", "go_on"),
            ("Down", "next", "next"),
            ("Up", "before", "previous"),
            ("Esc", "back", "leave"),
        ]
        self.query_one(KeyBar).show([Choice(*key) for key in keys])

    def on_screen_resume(self) -> None:
        """On the screen, for the first time or again: say so first, for to read many years takes a moment."""
        self._search = None
        self.list.show([Row("Reading the log …", "dim")])
        self.call_after_refresh(self._read)

    def _read(self) -> None:
        """Go through what was written since the last time. Where that is years it takes seconds; keys may come between."""
        if left := self.desk.keeper.make_words_ready():
            self.list.show([Row(f"Reading the log, this once: {left:,} notes to go …", "dim")])
            self.set_timer(PAUSE, self._read)
            return
        with self.saying_why():
            self._search = NoteSearch(self.desk.keeper, self.desk.book())
        self._find(self.query_one(Input).value)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Every letter narrows the list."""
        event.stop()
        self._find(event.value)

    def _find(self, typed: str) -> None:
        if self._search is None:
            return
        rows = [_row(note) for note in self._search.find(typed, MOST)]
        if not rows:
            none = "Nothing that was noted is like that. Try another word, or fewer letters."
            rows = [Row("Nothing was noted yet." if self._search.empty else none, "dim")]
        self.list.show(rows, rows[0].value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter takes the marked row."""
        event.stop()
        self.action_go_on()

    def take(self, value: object) -> None:
        """Go to where it was written: the to-fix item, the run, the venue."""
        if not isinstance(value, Note):
            return
        item = self.desk.book().items.get(value.item)
        if item is not None:
            fixing.ask_about_item(self.showday, item, lambda _: self.on_screen_resume())
        elif value.run:
            choosing.look_at(self.showday, value.run)
        elif value.place:
            self.showday.open_brief(value.place)

    def action_leave(self) -> None:
        """Back."""
        self.showday.go_back()


def _row(note: Note) -> Row:
    where = " | ".join(part for part in (note.venue, note.about) if part)
    return Row(f"{note.text}  ({where})" if where else note.text, lead=note.at[:10], value=note)
