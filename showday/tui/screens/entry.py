"""Entering one thing at a time: a line with a check, a venue found while typing, facts that are so or not."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Input

from showday.memory import find_venues
from showday.opening import place
from showday.run.touring import Book, Venue
from showday.text import values
from showday.text.folded import bare
from showday.text.safe import one_line
from showday.tui.lines import Choice, Line
from showday.tui.screens.base import ShowdayModal
from showday.tui.screens.listing import WHILE_TYPING, Listing
from showday.tui.screens.modals import ChoiceModal
from showday.tui.widgets.choices import Choices, KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList, Row

if TYPE_CHECKING:
    from showday.tui.app import ShowdayApp

LONGEST_NAME = 120
"""Characters of a name that can be typed (a choice of this program)."""
SURE = 90.0
"""Likeness in percent from which a known venue is marked before the new name (a choice of this program)."""
MOST_DIGITS = 3
"""Digits up to which a number is one of days (a choice of this program)."""
ALIKE, MOST_LIKE = 75.0, 3
"""Likeness in percent from which a new name is asked about, and how many known ones are named (a choice of this program):
two letters of thirteen wrong are 85."""
MOST_FOUND = 20
"""Venues listed while typing; more are found by typing on (a choice of this program)."""

FACTS = ("festival", "club", "theatre", "indoors", "outdoors", "generator", "battery", "house-rf", "split")
"""Conditions that belong to a show; the rest follow from the rig file."""

_CANCEL = Binding("escape", "cancel", "back", show=False)


def a_date(text: str) -> str:
    """YYYY-MM-DD; ValueError with a sentence otherwise."""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise ValueError("Write the date as YYYY-MM-DD.") from None


def a_day_or_nothing(text: str, today: date) -> str:
    """YYYY-MM-DD, also of a number of days from today (`3`); empty stays empty. ValueError with a sentence otherwise."""
    typed = text.strip()
    if typed.isascii() and typed.isdecimal() and len(typed) <= MOST_DIGITS:
        return (today + timedelta(days=int(typed))).isoformat()
    try:
        return a_date(typed) if typed else ""
    except ValueError:
        raise ValueError("Write the date as YYYY-MM-DD, or in how many days.") from None


def a_slot(text: str) -> str:
    """HH:MM, from `2130` too; empty stays empty. ValueError with a sentence otherwise."""
    typed = text.strip()
    if not typed:
        return ""
    if re.fullmatch(r"\d{3,4}", typed):
        typed = f"{typed[:-2]}:{typed[-2:]}"
    try:
        return values.clock_time(typed)
    except ValueError:
        raise ValueError("Write the stage time as HH:MM, or nothing.") from None


def minutes(text: str) -> float | None:
    """Minutes of a changeover; None for nothing. ValueError with a sentence otherwise."""
    typed = text.strip().removesuffix("min").strip()
    if not typed:
        return None
    try:
        found = values.number(typed)
    except ValueError:
        found = 0.0
    if not 0 < found <= 24 * 60:
        raise ValueError("Write the changeover in minutes, such as 20, or nothing.")
    return found


def a_name(text: str) -> str:
    """A name that is not empty; ValueError with a sentence otherwise."""
    if not text.strip():
        raise ValueError("A venue needs a name.")
    return text.strip()


class FieldModal(ShowdayModal[str | None]):
    """One line of text that must pass a check; ends with it as typed, or with None."""

    AUTO_FOCUS = "Input"
    BINDINGS: ClassVar[list[BindingType]] = [_CANCEL]

    def __init__(self, title: str, about: str, value: str, check: Callable[[str], object]) -> None:
        super().__init__()
        self._lines = [Line("title", title), Line("about", about)]
        self._value = value
        self._check = check

    def compose(self) -> ComposeResult:
        """Title, field, what is wrong with it, keys."""
        with Vertical(classes="question"):
            yield Lines(self._lines)
            yield Input(self._value, max_length=LONGEST_NAME, id="field")
            yield Lines(id="trouble")
            yield KeyBar(id="modal-keys")

    def on_mount(self) -> None:
        """Say what Enter does."""
        self.query_one(KeyBar).show([Choice("Enter", "keep", "keep"), Choice("Esc", "cancel", "cancel")])

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter keeps it."""
        event.stop()
        self.action_keep()

    def action_keep(self) -> None:
        """End with the text when the check takes it."""
        typed = self.query_one(Input).value
        try:
            self._check(typed)
        except ValueError as wrong:
            self.query_one("#trouble", Lines).show([Line("warning", f"! {wrong}")])
            return
        self.dismiss(typed)

    def action_cancel(self) -> None:
        """End without."""
        self.dismiss(None)


@dataclass(frozen=True, slots=True)
class VenueMeant:
    """The venue chosen: a known one by its id, or the name of a new one."""

    id: str = ""
    name: str = ""


class VenueModal(Listing, ShowdayModal[VenueMeant | None]):
    """A venue, found while typing. A name that no venue has is a new venue, when `new` are taken."""

    AUTO_FOCUS = "Input"
    BINDINGS: ClassVar[list[BindingType]] = [
        _CANCEL,
        *WHILE_TYPING,
    ]

    def __init__(self, title: str, book: Book, *, new: bool = True, without: str = "") -> None:
        super().__init__()
        self._title = title
        self._book = book
        self._new = new
        self._without = without

    def compose(self) -> ComposeResult:
        """Title, field, venues like it, keys."""
        with Vertical(classes="question -tall"):
            yield Lines([Line("title", self._title)])
            yield Input(max_length=LONGEST_NAME, placeholder="type a few letters of its name or town", id="field")
            yield PickList(id="found", focusable=False)
            yield KeyBar(id="modal-keys")

    def on_mount(self) -> None:
        """Begin with every venue."""
        keys = [
            ("Enter", "take it", "go_on"),
            ("Down", "next", "next"),
            ("Up", "before", "previous"),
            ("Esc", "back", "cancel"),
        ]
        self.query_one(KeyBar).show([Choice(*key) for key in keys])
        self._find("")

    def on_input_changed(self, event: Input.Changed) -> None:
        """Every letter narrows the list."""
        event.stop()
        self._find(event.value)

    def _find(self, typed: str) -> None:
        found = [(v, like) for v, like in find_venues(self._book, typed) if v.id != self._without][:MOST_FOUND]
        rows = [Row(_venue_words(venue), value=VenueMeant(venue.id)) for venue, _ in found]
        name = typed.strip()
        same = any(bare(name) in map(bare, (v.name, *v.former)) for v, _ in found)
        new = (
            [Row(f"new venue: {name}", "strong", value=VenueMeant(name=name))]
            if name and self._new and not same
            else []
        )
        known_first = bool(found) and (found[0][1] >= SURE or not new)
        rows = rows + new if known_first else new + rows
        if not rows:
            said = "No venue is in the log yet; type a name." if self._new else "No other venue is like that."
            rows = [Row(said, "dim")]
        self.list.show(rows, rows[0].value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter takes the marked row."""
        event.stop()
        self.action_go_on()

    def take(self, value: object) -> None:
        """A row was chosen."""
        if isinstance(value, VenueMeant):
            self.dismiss(value)

    def action_cancel(self) -> None:
        """No venue."""
        self.dismiss(None)


def ask_venue(app: ShowdayApp, title: str, then: Callable[[VenueMeant | None], None]) -> None:
    """A venue, known or new. A new name that is like a known one is asked about: its history would be lost to tonight."""
    book = app.desk.book()

    def told(meant: VenueMeant | None) -> None:
        found = find_venues(book, meant.name) if meant is not None and not meant.id else []
        like = [pair for pair in found if pair[1] >= ALIKE][:MOST_LIKE]
        if meant is None or not like:
            then(meant)
            return
        choices = [(str(n), f"yes: {_venue_words(venue)}") for n, (venue, _) in enumerate(like, 1)]
        choices.append(("n", one_line(f"no: {meant.name} is a new place")))
        lines = [Line("title", "Is it a place you know?"), Line("about", f"you typed: {meant.name}")]

        def said(key: str | None) -> None:
            if key == "n":
                then(meant)
            elif key is not None:
                then(VenueMeant(like[int(key) - 1][0].id))

        app.push_screen(ChoiceModal(lines, choices, "neither: enter nothing"), said)

    app.push_screen(VenueModal(title, book), told)


def _venue_words(venue: Venue) -> str:
    former = f", formerly {', '.join(venue.former)}" if venue.former else ""
    return one_line(f"{place(venue)}{former}")


class FactsModal(ShowdayModal[tuple[str, ...] | None]):
    """What is so about tonight: a digit goes from not said to yes to no. Ends with all facts, or with None."""

    def __init__(self, facts: Sequence[str]) -> None:
        super().__init__()
        self._other = tuple(f for f in facts if f.removeprefix("not ").strip() not in FACTS)
        self._said = {f.removeprefix("not ").strip(): not f.startswith("not ") for f in facts}

    def compose(self) -> ComposeResult:
        """One row a fact."""
        with VerticalScroll(classes="question", can_focus=False):
            yield Lines(
                [
                    Line("title", "What is so tonight?"),
                    Line("about", "Steps for other places are then not asked. A digit changes one."),
                ]
            )
            yield Choices()

    def on_mount(self) -> None:
        """Show what was said so far."""
        self._show()

    def _show(self) -> None:
        words = {None: "not said", True: "YES", False: "NO"}
        rows = []
        for index, fact in enumerate(FACTS):
            said = self._said.get(fact)
            kind = "dim" if said is None else "strong" if said else "text"
            rows.append(Choice(str(index + 1), f"{fact}: {words[said]}", f"change({index})", kind))
        rows += [Choice("Enter", "keep", "keep", "dim"), Choice("Esc", "cancel", "cancel", "dim")]
        self.query_one(Choices).show(rows)

    def on_key(self, event: events.Key) -> None:
        """Digits change, Enter keeps."""
        event.stop()
        if event.key in ("escape", "q"):
            self.dismiss(None)
        elif event.key == "enter":
            self.action_keep()
        elif event.key.isdecimal() and 1 <= int(event.key) <= len(FACTS):
            self.action_change(int(event.key) - 1)

    def action_change(self, index: int) -> None:
        """Not said, yes, no, and round again."""
        fact = FACTS[index]
        said = self._said.pop(fact, None)
        if said is None:
            self._said[fact] = True
        elif said:
            self._said[fact] = False
        self._show()

    def action_keep(self) -> None:
        """End with what was said."""
        made = [fact if self._said[fact] else f"not {fact}" for fact in FACTS if fact in self._said]
        self.dismiss((*made, *self._other))

    def action_cancel(self) -> None:
        """Leave it as it was."""
        self.dismiss(None)
