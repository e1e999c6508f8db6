"""What the parts of the frequencies screen share: what it holds, work that runs beside, and showing it all."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from textual.message import Message

from showday.errors import NotAllowed, ShowdayError
from showday.run.phases import FINISHED
from showday.run.session import Session
from showday.tui.radio_state import Frequencies
from showday.tui.screens.base import ShowdayScreen

T = TypeVar("T")


class Finished(Message):
    """Work that ran beside is done; `then` says what follows, on the screen's own thread."""

    def __init__(self, then: Callable[[], None]) -> None:
        super().__init__()
        self.then = then


class RadioBase(ShowdayScreen[None]):
    """A screen over `held`. `session` is the run that is open, if any."""

    def __init__(self, session: Session | None = None) -> None:
        super().__init__()
        self.session = session
        self.held = Frequencies()
        self.row = 0
        """Index of the marked row."""
        self.cursor = 0
        """Hz."""
        self.mine_on = False
        """Whether the act's own transmitters are said to have been on during the sweep."""
        self.closed = False
        """Whether the screen has been left: what is still running then counts for nothing."""

    @property
    def run_to_note(self) -> Session | None:
        """The run that what is kept here is noted in."""
        open_run = self.session is not None and self.session.state.phase != FINISHED
        return self.session if open_run else None

    @property
    def proving(self) -> bool:
        """Whether a plan is being looked for."""
        return False

    def show_all(self) -> None:
        """Show everything as it is now."""
        raise NotImplementedError

    def look_at_row(self, index: int) -> None:
        """Mark a row, and put the cursor where it stands."""
        raise NotImplementedError

    def action_plan(self) -> None:
        """Look for the best plan."""
        raise NotImplementedError

    def mine_on_or_off(self) -> None:
        """Our transmitters were on during the sweep, or off: look again."""
        raise NotImplementedError

    def must_rest(self) -> None:
        """NotAllowed while the table belongs to the proof."""
        if self.proving:
            raise NotAllowed("A plan is being looked for.", "i stops it and takes the best.")

    def beside(self, work: Callable[[], T], then: Callable[[T], None]) -> None:
        """Do work in a thread, then go on with what it gave; a trouble is said."""

        def run() -> None:
            try:
                value = work()
            except ShowdayError as trouble:
                said = str(trouble)
                self.post_message(Finished(lambda: self.failed(said)))
            else:
                self.post_message(Finished(lambda: then(value)))

        self.run_worker(run, thread=True)

    def failed(self, said: str) -> None:
        """Work that ran beside came to nothing."""
        self.showday.say(said, warning=True)

    def on_finished(self, message: Finished) -> None:
        """Go on after work that ran beside."""
        message.stop()
        if not self.closed:
            with self.saying_why():
                message.then()

    def on_unmount(self) -> None:
        """What is still running counts for nothing now."""
        self.closed = True
