"""A sitting that listens for its step, and ticks it when that was asked for and the line is good."""

from __future__ import annotations

from showday.run.phases import FAULT_WALK
from showday.ticking import awaited, tick
from showday.tui.lines import Line
from showday.tui.listen_view import heard_words
from showday.tui.screens.sitting import Sitting
from showday.tui.widgets.lines import Lines

EAR_EVERY = 0.3
"""Seconds between two looks at what is heard; a choice: a verdict changes with every half second of sound at most."""


class Hearing(Sitting):
    """Its screen has a place `#ear` for what is heard."""

    def holds_back(self) -> bool:
        """Whether nothing may be listened for now."""
        raise NotImplementedError

    def ticked(self) -> None:
        """A step was answered by ear."""
        raise NotImplementedError

    def on_mount(self) -> None:
        """Listen for as long as something is listened to."""
        self.query_one("#ear", Lines).display = False
        self.set_interval(EAR_EVERY, self.hear_step)

    def hear_step(self) -> None:
        """Show what is heard of the step's input; tick the step when that was asked for and the line is good."""
        if not self.whole or not self.query("#ear"):
            return
        ear, listening = self.query_one("#ear", Lines), self.showday.listening()
        ear.display = listening
        if not listening or self.state.phase == FAULT_WALK:
            return
        ears = self.showday.ears
        ears.await_input("" if self.holds_back() else awaited(self.state, self.desk.rig))
        heard = ears.heard()
        ear.show([Line("reason", heard_words(heard, ears.hands_free))])
        if heard is not None and ears.hands_free and self.is_current:
            with self.saying_why():
                told = tick(self.session, self.desk.rig, heard)
                if told:
                    self.ticked()
                    self.showday.say(told)
