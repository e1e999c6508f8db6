"""What do you hear? Typing finds the fault tree; everything else is found on the same screen with another key."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input

from showday.opening import place
from showday.playbook.search import Entry as Findable
from showday.playbook.search import Hit, search
from showday.run.phases import FINISHED
from showday.run.plan import PlannedStep
from showday.run.progress import current
from showday.text.safe import one_line
from showday.tui import commands as cmd
from showday.tui.lines import Choice, Line
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.listing import WHILE_TYPING, Listing
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList, Row

MOST = 40
"""Finds listed; what is further down is found by typing on (a choice of this program)."""
NAMED = 20.0
"""Points for playbooks and venues on the screen that finds everything: there a name is typed (our choice)."""
LONGEST_QUERY = 120
"""Characters that can be typed (a choice of this program)."""


class SearchScreen(Listing, ShowdayScreen[Findable | None]):
    """Ends with what was chosen, or with None.

    Letters and digits are typed; arrows and Enter choose. With `faults` only fault trees are looked through; with
    nothing typed those named by `step` (else by the step of the open run) come first.
    """

    WHERE = cmd.SEARCH
    AUTO_FOCUS = "Input"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", show=False),
        *WHILE_TYPING,
    ]

    def __init__(self, faults: bool = False, step: PlannedStep | None = None) -> None:
        super().__init__()
        self._faults = faults
        self._step = step
        self._entries: list[Findable] = []
        self._named: set[str] = set()

    def compose(self) -> ComposeResult:
        """The question, what is typed, what it finds, keys."""
        yield Lines(id="standing")
        hint = "type what you hear: hum, silent, crackle" if self._faults else "type a few letters"
        yield Input(max_length=LONGEST_QUERY, placeholder=hint, id="asked")
        yield PickList(id="found", focusable=False, wraps=False)
        yield Lines(id="said")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Gather what can be found; with nothing typed, what the step names comes first."""
        step = self._step or self._open_step()
        self._entries = self._gather(step)
        title = "What do you hear?" if self._faults else "Find"
        lines = [Line("title", title)]
        if step is not None:
            lines.append(Line("about", f"at: {step.do}" + (f" | {step.about}" if step.about else "")))
        self.query_one("#standing", Lines).show(lines)
        keys = [
            ("Enter", "walk it" if self._faults else "open it", "go_on"),
            ("Down", "next", "next"),
            ("Up", "before", "previous"),
            ("Esc", "back", "leave"),
        ]
        self.query_one(KeyBar).show([Choice(*key) for key in keys])
        self._find("")

    def _open_step(self) -> PlannedStep | None:
        """The step that stands before the person, when a run is open."""
        session = self.showday.session
        if session is None or session.state.phase == FINISHED:
            return None
        return current(session.state)

    def _gather(self, step: PlannedStep | None) -> list[Findable]:
        order = {str(tree.fault): n for n, tree in enumerate(self.desk.trees_for(step))}
        self._named = set(step.if_wrong) if step else set()
        everything = self.desk.findable()
        faults = [e for e in everything if e.kind == "fault"]
        faults.sort(key=lambda e: (e.id not in self._named, order.get(e.id, len(order))))
        if self._faults:
            return faults
        venues = [Findable("venue", v.id, place(v), (v.town, *v.former), NAMED) for v in self.desk.book().places()]
        books = [replace(e, weight=NAMED) for e in everything if e.kind == "playbook"]
        return [*faults, *books, *venues, *(e for e in everything if e.kind == "step")]

    def on_input_changed(self, event: Input.Changed) -> None:
        """Every letter narrows the list."""
        event.stop()
        self._find(event.value)

    def _find(self, typed: str) -> None:
        hits = search(self._entries, typed, MOST)
        rows = [self._row(hit, bool(typed.strip())) for hit in hits]
        if not rows:
            said = "No fault tree sounds like that." if self._faults else "Nothing is like that."
            rows = [Row(f"{said} Try another word, or fewer letters.", "dim")]
        if typed.strip() and not self._faults:
            words = one_line(typed, LONGEST_QUERY)
            rows.append(
                Row(f"look for '{words}' in all that was noted", "dim", "note ", Findable("notes", words, words, ()))
            )
        self.list.show(rows, rows[0].value)

    def _row(self, hit: Hit, typed: bool) -> Row:
        entry = hit.entry
        title = one_line(entry.title, 160)
        if entry.kind == "fault":
            named = not typed and entry.id in self._named
            heard = one_line(", ".join(entry.words[: self._heard(entry)]), 160)
            by = hit.by if typed and hit.by != entry.title else heard
            text = title + (f": {one_line(by, 160)}" if by else "")
            kind = "strong" if named else "row"
            return Row(text, kind, "" if self._faults else "fault", entry)
        if entry.kind == "step":
            book = self.desk.library.playbooks.get(entry.id.partition("/")[0])
            of = f" | {one_line(str(book.title), 60)}" if book else ""
            return Row(f"{title}{of}", lead="step ", value=entry)
        return Row(title, lead="list " if entry.kind == "playbook" else "venue", value=entry)

    def _heard(self, entry: Findable) -> int:
        """How many of a fault's words are what it is heard as."""
        tree = self.desk.library.trees.get(entry.id)
        return len(tree.heard_as) if tree else 0

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter takes the marked row."""
        event.stop()
        self.action_go_on()

    def take(self, value: object) -> None:
        """A row was chosen."""
        if isinstance(value, Findable):
            self.dismiss(value)

    def action_leave(self) -> None:
        """Back to the same step; nothing was chosen."""
        self.dismiss(None)
