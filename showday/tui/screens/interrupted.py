"""The screen while the person is away: where the run stands, in letters that can be read from the stage's edge."""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll

from showday.run import events as ev
from showday.run.session import Session
from showday.tui import commands as cmd
from showday.tui.lines import GAP, Choice, Line
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.modals import TextModal
from showday.tui.standing import TimeLeft, clock_words
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines

LEAVE, ON = "leave", "on"


class InterruptedScreen(ShowdayScreen[str]):
    """Holds the place of an interrupted run; ends with `on`, or with `leave` to go back and stay interrupted."""

    WHERE = cmd.INTERRUPTED
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.INTERRUPTED)]

    def __init__(self, session: Session, place: str, do: str) -> None:
        super().__init__()
        self.session = session
        self._place = place
        self._do = do
        self._times = TimeLeft()

    def compose(self) -> ComposeResult:
        """The time, which goes on, the place, and the keys."""
        yield Lines(id="standing")
        with VerticalScroll(id="stage", can_focus=False):
            yield Lines(id="card")
        yield KeyBar(rows=2, id="keys")

    def on_mount(self) -> None:
        """Show where to go on, and keep the clock going."""
        self._times = TimeLeft.of(self.desk.tonight())
        self.set_interval(1.0, self._tick)
        self._tick()
        self._show()
        on, note = cmd.command("go-on"), cmd.command("note")
        self.query_one(KeyBar).show(
            [
                Choice(on.key, "go on here", on.action, "strong"),
                Choice(note.key, "a word for yourself", note.action),
                *(Choice(c.key, c.label, c.action) for c in map(cmd.command, ("help", "back"))),
            ]
        )

    def _tick(self) -> None:
        """How long one is away, and how long it is to the show."""
        history = self.session.state.history
        left = next((e.elapsed for e in reversed(history) if isinstance(e.event, ev.RunInterrupted)), 0.0)
        began = datetime.fromisoformat(history[0].at.replace("Z", "+00:00"))
        away = f"away {clock_words(self.session.elapsed - left)}"
        parts = [away, *self._times.parts(began, self.session.world.clock.now())]
        self.query_one("#standing", Lines).show([Line("time", " | ".join(parts))])

    def _show(self, *notes: str) -> None:
        lines = [Line("banner", "INTERRUPTED: the place is kept"), GAP, Line("title", self._place), GAP]
        lines += [Line("do", self._do), GAP, Line("big", "Enter goes on here")]
        self.query_one("#card", Lines).show([*lines, *(Line("note", f"you noted: {note}") for note in notes)])

    def action_go_on(self) -> None:
        """Back to the same step."""
        with self.saying_why():
            self.session.resume_here()
            self.dismiss(ON)

    def action_note(self) -> None:
        """A word to find back by."""
        self.showday.push_screen(TextModal("A word for yourself", self._do), self._noted)

    def _noted(self, words: str | None) -> None:
        if not words:
            return
        with self.saying_why():
            self.session.record(ev.NoteAdded(words))
            self._show(words)

    def action_wrong(self) -> None:
        """Something is wrong: go on, with the list of faults."""
        self.action_go_on()
        self.showday.open_search(faults=True)

    def action_back(self) -> None:
        """Leave it interrupted; the next start offers to go on."""
        self.dismiss(LEAVE)
