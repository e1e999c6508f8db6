"""Planning beside the screen: progress with a bound that closes, stopping with the best, keeping what was found."""

from __future__ import annotations

from threading import Event
from time import monotonic

from textual.message import Message

from showday.errors import NotAllowed
from showday.radio.plan import plan
from showday.radio.plan_ask import ADVISING, Ask, Plan, Progress
from showday.radio.plan_relax import with_advice
from showday.tui.screens.modals import TextModal
from showday.tui.screens.radio_base import RadioBase

PAUSE = 0.15
"""Seconds between two reports that reach the screen: more often nobody reads them (a choice of this program)."""


class Proving(Message):
    """How far a proof is."""

    def __init__(self, progress: Progress, stop: Event) -> None:
        super().__init__()
        self.progress = progress
        self.stopped = stop


class Planning(RadioBase):
    """The keys that have to do with plans."""

    progress: Progress | None = None
    _stop: Event | None = None
    """Set to stop the proof that runs; None when none does."""

    @property
    def proving(self) -> bool:
        """Whether a plan is being looked for."""
        return self._stop is not None

    def action_plan(self) -> None:
        """Look for the best plan, beside."""
        with self.saying_why():
            self.must_rest()
            ask = self.held.ask()
            self._stop, self.progress = Event(), None
            self._prove(ask, self._stop)
            self.show_all()

    def _prove(self, ask: Ask, stop: Event) -> None:
        told_at = 0.0

        def report(progress: Progress) -> None:
            nonlocal told_at
            if monotonic() - told_at >= PAUSE:
                told_at = monotonic()
                self.post_message(Proving(progress, stop))

        def look() -> Plan:
            found = plan(ask, lambda: not stop.is_set(), report)
            if found.fits or stop.is_set():
                return found
            self.post_message(Proving(Progress(found.clearance, found.bound, (), found.looked_at, ADVISING), stop))
            return with_advice(found, ask, lambda: not stop.is_set())

        self.beside(
            look,
            lambda found: self._found(found, ask, stop),
        )

    def on_proving(self, message: Proving) -> None:
        """Show how far it is."""
        message.stop()
        if message.stopped is self._stop and not self.closed:
            self.progress = message.progress
            self.show_state()

    def _found(self, found: Plan, ask: Ask, stop: Event) -> None:
        if stop is not self._stop:
            return
        stopped, self._stop = stop.is_set(), None
        self.progress = None
        if not found.carriers:
            self.show_all()
            hint = found.relax[0] if found.relax else "Stay out of less (x), or hold fewer."
            raise NotAllowed("Not one carrier fits." if not stopped else "Nothing was found yet.", hint)
        self.held.take_plan(found, ask)
        self.look_at_row(0)
        if found.relax:
            self.showday.say(found.relax[0])
        elif stopped:
            self.showday.say("Stopped: the best so far is in the table, g keeps it.")
        else:
            self.showday.say("Planned. Set your transmitters, then g keeps it.")

    def failed(self, said: str) -> None:
        """A plan cannot be made, or a sweep not read."""
        self._stop = self.progress = None
        self.show_all()
        super().failed(said)

    def action_interrupt(self) -> None:
        """Stop the proof; the best so far is taken."""
        if self._stop is None:
            self.showday.say("No plan is being looked for: F9 begins.")
        else:
            self._stop.set()
            self.showday.say("Stopping …")

    def on_unmount(self) -> None:
        """Nobody waits for the proof any more."""
        if self._stop is not None:
            self._stop.set()

    def show_state(self) -> None:
        """Show how far the proof is."""
        raise NotImplementedError

    # -- keeping -----------------------------------------------------------------------------------------------

    def action_good(self) -> None:
        """Write the plan into the log, with the reason."""
        with self.saying_why():
            self.must_rest()
            self.held.to_keep("")  # says at once when there is nothing to keep

            def told(reason: str | None) -> None:
                if reason is not None:
                    with self.saying_why():
                        self._keep(reason)

            self.showday.push_screen(
                TextModal("Keep this plan: why this one?", f"Enter alone writes: {self.held.reason()}"), told
            )

    def _keep(self, reason: str) -> None:
        from showday.radio_desk import keep_plan

        keep_plan(self.desk, self.held.to_keep(reason), run=self.run_to_note)
        self.held.kept = self.held.table.rows
        self.show_all()
        clean = "" if self.held.table.clean else " It is not clean: see the rows with '!'."
        self.showday.say(f"Kept.{clean}", warning=not self.held.table.clean)
