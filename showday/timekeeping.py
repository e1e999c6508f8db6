"""The time of one run, put together: the log's past, the plan, the slot, and what was left out for want of time."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from zlib import crc32

from showday.desk import Desk
from showday.log.records import RunRecord
from showday.memory import past_run
from showday.run import events as ev
from showday.run.phases import FINISHED
from showday.run.session import Session
from showday.run.slot import seconds_left
from showday.run.state import RunState

if TYPE_CHECKING:
    from showday.pacing import Outlook, Pace, Proposal

MOST_RUNS = 30
"""Past runs of a playbook that are read, newest first: more change a forecast by less than a run does, and must not be
waited for. A choice of this program."""
REASON = "no time"


class Timekeeper:
    """Forecasts of one session. `learn` reads the log, then `draw` computes; until both are done there is no forecast."""

    def __init__(self, desk: Desk, session: Session) -> None:
        self._desk = desk
        self.session = session
        self._past: list[RunState] = []
        self._unread: list[RunRecord] | None = None
        """Past runs still to be read; None before anything was asked of the log."""
        self._pace: Pace | None = None

    @property
    def ready(self) -> bool:
        """Whether there is a forecast."""
        return self._pace is not None

    def learn(self) -> None:
        """Read the last runs of this playbook."""
        while self.learn_some():
            pass

    def learn_some(self) -> bool:
        """Read one more of them, so that a key may come between; whether there is more to read."""
        keeper, state = self._desk.keeper, self.session.state
        if self._unread is None:
            records = keeper.runs(playbook=state.plan.playbook, limit=MOST_RUNS + 1)
            self._unread = [record for record in records if record.id != state.run][:MOST_RUNS]
        elif self._unread:
            read = past_run(keeper, self._unread.pop(), self._desk.plan_of)
            if read is not None:
                self._past.append(read.state)
        return bool(self._unread)

    def draw(self) -> None:
        """Compute what the forecast rests on; touches neither log nor session's state and may run beside."""
        from showday.pacing import Pace
        from showday.past_times import past_of

        state = self.session.state
        past = past_of(state.plan.playbook, self._past)
        self._pace = Pace(state.plan, past, seed=crc32(state.run.encode()))

    def left(self) -> float | None:
        """Seconds until the run must be over, below 0 when that is past; None when nothing says so."""
        state = self.session.state
        if not state.history:
            return None
        began = datetime.fromisoformat(state.history[0].at.replace("Z", "+00:00"))
        return seconds_left(self._desk.tonight(), state.plan.by, began, self.session.world.clock.now())

    def outlook(self) -> Outlook | None:
        """The forecast at this moment; None while there is none, or when the run is over."""
        if self._pace is None or self.session.state.phase == FINISHED:
            return None
        return self._pace.outlook(self.session.state, self.session.elapsed, self.left())

    def proposal(self) -> Proposal | None:
        """What to leave out so that the rest fits; None when nothing says by when, or all that is open waits."""
        left, outlook = self.left(), self.outlook()
        if self._pace is None or left is None or outlook is None or not outlook.open:
            return None
        return self._pace.proposal(self.session.state, self.session.elapsed, left)

    def take(self, proposal: Proposal) -> None:
        """Leave out what is proposed, in one event."""
        if proposal.dropped:
            self.session.record(ev.StepsLeftOut(tuple(step.key for step in proposal.dropped), REASON))

    def taken(self) -> tuple[str, ...]:
        """Keys of the steps that stand left out together."""
        return together(self.session.state)

    def give_back(self) -> int:
        """Ask all of them again after all; how many."""
        keys = self.taken()
        if keys:
            self.session.record(ev.StepsTakenBack(keys))
        return len(keys)


def together(state: RunState) -> tuple[str, ...]:
    """Keys of the steps that were left out together and stand so, in the order of the plan."""
    said = ((step.key, state.step(step.key)) for step in state.plan.steps)
    return tuple(key for key, s in said if s.result == ev.LEFT_OUT and s.source == ev.TOGETHER)
