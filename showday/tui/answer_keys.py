"""Which keys answer a step at this moment, and why another one is refused."""

from __future__ import annotations

from dataclasses import dataclass

from showday.errors import NotAllowed
from showday.run.phases import FINISHED
from showday.run.plan import PlannedStep
from showday.run.progress import current, progress
from showday.run.state import RunState
from showday.tui import commands as cmd
from showday.tui.lines import Choice

REST = ("fault", "later", "leave-out", "not-here")


@dataclass(frozen=True, slots=True)
class Offer:
    """What a step takes now.

    `reading_cautions`: a caution is on the screen. `ready`: the second key was pressed for this step. `must_key`
    confirms a must; it is never the key that was pressed last, so that nobody taps through two musts blindly.
    """

    state: RunState
    reading_cautions: bool = False
    ready: bool = False
    must_key: str = "m"

    @property
    def step(self) -> PlannedStep | None:
        """The step on the screen; None when nothing is left or the run is over."""
        return None if self.state.phase == FINISHED else current(self.state)

    def waits(self, step: PlannedStep) -> bool:
        """Whether `good` wants the second key first: everyone notices the step, or its reading is outside."""
        outside = self.state.step(step.key).inside is False
        return (bool(step.irreversible) or outside) and not self.ready

    def asked(self) -> PlannedStep:
        """The step that an answer is for; NotAllowed when no step is being asked."""
        if self.state.phase == FINISHED:
            raise NotAllowed("The run is over.", "u takes the end back.")
        step = self.step
        if step is None:
            raise NotAllowed("Every step has its answer.", "Enter or e ends the run, k goes back.")
        if self.reading_cautions:
            raise NotAllowed("Read the caution first.", "Enter goes on.")
        return step

    def confirms(self, key: str) -> PlannedStep:
        """The step that this key may call good; NotAllowed with the right key when it may not."""
        step = self.asked()
        if self.waits(step) and step.irreversible:
            raise NotAllowed("Everyone notices this one.", "y first, when the moment is right.")
        if self.waits(step):
            raise NotAllowed("The reading is outside.", "f keeps a fault, y says good all the same.")
        if not step.must and key != "g":
            raise NotAllowed("This step is not a must.", "g says it is good.")
        if step.must and key == "g":
            raise NotAllowed("This step is a must.", f"Look, then {self.must_key} confirms it.")
        if step.must and key != self.must_key:
            raise NotAllowed("Another must.", f"Look, then {self.must_key} confirms this one.")
        return step

    def choices(self) -> list[Choice]:
        """The keys that answer now, the first one first."""
        step = self.step
        if step is None:
            return self._end_keys()
        if self.reading_cautions:
            return [_key("go-on", "I have read it")]
        rest = [_key(id) for id in REST]
        if self.waits(step) and step.irreversible:
            return [_key("yes", "go ahead"), *rest]
        if self.waits(step):
            return [rest[0], _key("yes", "good all the same"), *rest[1:]]
        if step.must:
            return [_key("must" if self.must_key == "m" else "yes", "confirm"), *rest]
        return [_key("good"), *rest]

    def _end_keys(self) -> list[Choice]:
        if self.state.phase == FINISHED:
            return [_key("undo")]
        return [_key("go-on", "complete") if progress(self.state).can_complete else _key("end")]


def _key(id: str, words: str = "") -> Choice:
    command = cmd.command(id)
    return Choice(command.key, words or command.label, command.action, "strong" if words else "text")
