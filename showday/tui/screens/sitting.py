"""What the run and the fault walk share: standing lines, the clock, notes, interruptions, who is away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widget import Widget

from showday.run import events as ev
from showday.run.phases import FINISHED, INTERRUPTED
from showday.run.session import Session
from showday.run.state import RunState
from showday.run.touring import Show
from showday.tui.lines import Line
from showday.tui.screens.away import ask_who_is_away
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.interrupted import LEAVE, InterruptedScreen
from showday.tui.screens.modals import TextModal
from showday.tui.screens.pace import PaceScreen
from showday.tui.standing import standing_lines
from showday.tui.tools import PAINTED, PAUSE
from showday.tui.widgets.lines import Lines

if TYPE_CHECKING:
    from showday.pacing import Outlook
    from showday.timekeeping import Timekeeper


NARROW = 80
"""Columns under which the bar of the forecast is short."""
PARTS = ("#standing", "#warning", "#banner", "#card", "#pane", "#keys")
"""Widgets that every such screen has."""


class Sitting(ShowdayScreen[None]):
    """A screen over an open session. It holds no facts of its own: `session.state` is always what is written."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._show: Show | None = None
        self._time: Timekeeper | None = None
        self._outlook: Outlook | None = None
        self._parts: list[Widget] = []

    @property
    def state(self) -> RunState:
        """The run as it is written."""
        return self.session.state

    # -- what each of the two says for itself ------------------------------------------------------------------

    def place(self) -> str:
        """Where the person stands, in words."""
        raise NotImplementedError

    def doing(self) -> str:
        """What is to be done now."""
        raise NotImplementedError

    def noted_at(self) -> str:
        """Key of the step that a note belongs to; empty for the whole run."""
        raise NotImplementedError

    def count(self) -> str:
        """What stands instead of owed and open; empty for those."""
        return ""

    def show_all(self) -> None:
        """Show the state as it is now."""
        raise NotImplementedError

    # -- standing lines ----------------------------------------------------------------------------------------

    def on_mount(self) -> None:
        """Look up the show once, and keep the clock going."""
        self._show = self.desk.tonight()
        self.set_interval(1.0, self.tick)
        if self.state.plan.steps:
            if self.showday.timekeeper(self.session).ready:
                self._keep_time()
            else:
                self.set_timer(PAINTED, self._keep_time)

    def _keep_time(self) -> None:
        """Begin to forecast once the screen stands: the log is read between the keys, the computing goes on beside them."""
        self._time = self.showday.timekeeper(self.session)
        if self._time.ready:
            self.tick()
        elif self._time.learn_some():
            self.set_timer(PAUSE, self._keep_time)
        else:
            self.run_worker(self._forecast, thread=True)

    def _forecast(self) -> None:
        if self._time is not None:
            self._time.draw()
            self.showday.call_from_thread(self.tick)

    @property
    def whole(self) -> bool:
        """Whether all widgets are there; they go one by one while the program ends."""
        if len(self._parts) < len(PARTS):  # asked for every second and at every key: looked up once
            self._parts = [part for id in PARTS for part in self.query(id)]
        return len(self._parts) == len(PARTS) and all(part.is_attached for part in self._parts)

    def tick(self) -> None:
        """A second has gone."""
        self.look_ahead()

    def look_ahead(self) -> None:
        """Forecast anew and show it; after a key only once its answer stands, for that must not wait for it."""
        if self.whole:
            self._outlook = self._time.outlook() if self._time else None
            self.show_standing()

    def show_standing(self) -> None:
        """Place, what is owed, what time it is, the forecast as it was made last, and what is wrong with the log."""
        outlook = self._outlook if self.state.phase != FINISHED else None
        lines = standing_lines(
            self.session, self.place(), self._show, self.count(), outlook, small=self.size.width < NARROW
        )
        self.query_one("#standing", Lines).show(lines)
        warning = self.desk.keeper.warning
        place = self.query_one("#warning", Lines)
        place.show([Line("warning", f"! {warning}")] if warning else [])
        place.display = bool(warning)

    def on_resize(self) -> None:
        """The standing lines are as wide as the screen."""
        if self.whole:
            self.show_standing()

    def to_top(self) -> None:
        """Show the beginning of the card."""
        stage = self.query_one("#stage", VerticalScroll)
        if stage.scroll_y:
            stage.scroll_home(animate=False)

    def on_screen_resume(self) -> None:
        """On the screen, for the first time or again; unless it is about to be left while interrupted."""
        if self.state.phase != INTERRUPTED and self.whole:
            self.show_all()

    # -- the same keys on both ---------------------------------------------------------------------------------

    def action_note(self) -> None:
        """A few words, kept with the step when there is one."""
        key = self.noted_at()

        def written(words: str | None) -> None:
            if words:
                with self.saying_why():
                    self.session.record(ev.NoteAdded(words, key))
                    self.show_all()
                    self.showday.say("Noted.")

        self.showday.push_screen(TextModal("Note", self.doing()), written)

    def action_interrupt(self) -> None:
        """Leave at once; nothing is asked."""
        with self.saying_why():
            place, do = self.place(), self.doing()
            self.session.interrupt()

            def back(how: str | None) -> None:
                if how == LEAVE:
                    self.showday.leave_run()

            self.showday.push_screen(InterruptedScreen(self.session, place, do), back)

    def action_away(self) -> None:
        """Say who is not here."""
        ask_who_is_away(self.showday, self.session, self.show_all)

    def action_time(self) -> None:
        """The forecast, and what to leave out."""
        if self._time is None:
            self.showday.say("There is no list here to forecast.")
            return

        def said(text: str) -> None:
            self.show_all()
            self.showday.say(text)

        self.showday.push_screen(PaceScreen(self._time, said))

    def action_more(self) -> None:
        """One page on in whatever is longer than its place; from its end back to its beginning."""
        for box in self.query(VerticalScroll):
            if box.scroll_y >= box.max_scroll_y:
                box.scroll_home(animate=False)
            else:
                box.scroll_page_down(animate=False)
