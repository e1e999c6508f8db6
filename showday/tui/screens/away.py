"""Who is not here: asked in one place for runs, walks and the evening's first screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll

from showday.errors import ShowdayError
from showday.run.session import Session
from showday.text.safe import one_line
from showday.tui.lines import Choice, Line
from showday.tui.screens.base import ShowdayModal
from showday.tui.widgets.choices import Choices
from showday.tui.widgets.lines import Lines

if TYPE_CHECKING:
    from showday.tui.app import ShowdayApp


def ask_who_is_away(app: ShowdayApp, session: Session | None, after: Callable[[], None]) -> None:
    """Ask who is not here, write it for tonight's show and the open run, then call `after`."""
    people = [str(person.name) for person in app.desk.rig.people]
    if not people:
        app.say("The rig file names no people: add `people` to it.", warning=True)
        return

    def told(away: tuple[str, ...] | None) -> None:
        if away is None:
            return
        try:
            app.desk.set_away(away, session)
        except ShowdayError as trouble:
            app.say(str(trouble), warning=True)
        after()

    held = sorted(session.state.away) if session else app.desk.away()
    app.push_screen(AwayModal(people, held), told)


class AwayModal(ShowdayModal[tuple[str, ...] | None]):
    """Who is not here: a digit changes one person, Enter keeps; ends with the names of those away."""

    def __init__(self, people: Sequence[str], away: Sequence[str]) -> None:
        super().__init__()
        self._people = list(people)
        self._away = set(away)

    def compose(self) -> ComposeResult:
        """One row a person."""
        with VerticalScroll(classes="question", can_focus=False):
            yield Lines([Line("title", "Who is not here?")])
            yield Choices()

    def on_mount(self) -> None:
        """Show who is here."""
        self._show()

    def _show(self) -> None:
        rows = []
        for index, name in enumerate(self._people):
            word = "AWAY" if name in self._away else "here"
            rows.append(Choice(_row_key(index), f"{word}  {one_line(name, 80)}", f"change({index})"))
        rows += [Choice("Enter", "keep", "keep", "dim"), Choice("Esc", "cancel", "cancel", "dim")]
        self.query_one(Choices).show(rows)

    def on_key(self, event: events.Key) -> None:
        """Digits and letters change, Enter keeps."""
        event.stop()
        if event.key in ("escape", "q"):
            self.dismiss(None)
        elif event.key == "enter":
            self.action_keep()
        else:
            keys = [_row_key(index) for index in range(len(self._people))]
            if event.key in keys:
                self.action_change(keys.index(event.key))

    def action_change(self, index: int) -> None:
        """Here becomes away, away becomes here."""
        self._away ^= {self._people[index]}
        self._show()

    def action_keep(self) -> None:
        """End with those who are away."""
        self.dismiss(tuple(name for name in self._people if name in self._away))

    def action_cancel(self) -> None:
        """Leave it as it was."""
        self.dismiss(None)


_ROW_KEYS = "123456789abcdefghijklmnoprstuvwxyz"


def _row_key(index: int) -> str:
    """Digits first, then letters without q; rows behind those are clicked."""
    return _ROW_KEYS[index] if index < len(_ROW_KEYS) else "·"
