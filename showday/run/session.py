"""A run with a clock and a place to write: every event is applied, written, and only then shown."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Protocol

from showday.errors import NotAllowed
from showday.fault.walk import HELP, WORKED, Ask
from showday.run import events as ev
from showday.run.followups import followups
from showday.run.phases import FAULT_WALK, FINISHED, WALKING
from showday.run.plan import Plan
from showday.run.progress import current
from showday.run.state import RunState, apply, begin, replay, undo_target


class Clock(Protocol):
    """The outside world's time."""

    def now(self) -> datetime:
        """The time of day, in UTC."""

    def ticks(self) -> float:
        """Seconds that never jump; only differences count."""


class Sink(Protocol):
    """Where entries go; `append` returns only when they are safe, all or none."""

    def append(self, entries: Sequence[ev.Entry]) -> None:
        """Write the entries."""


@dataclass(frozen=True, slots=True)
class World:
    """Everything a session needs from outside."""

    sink: Sink
    clock: Clock
    new_id: Callable[[], str]


Beside = Callable[[RunState, RunState, ev.Event], Iterable[tuple[str, ev.Event]]]
"""What an event does outside of its run: from the states before and after, entries (stream, event) written with it."""


def nothing_beside(before: RunState, after: RunState, event: ev.Event) -> Iterable[tuple[str, ev.Event]]:
    """Nothing happens outside of the run."""
    return ()


def stamp(when: datetime) -> str:
    """UTC as ISO 8601 with milliseconds and Z."""
    return when.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def touring_entry(world: World, stream: str, event: ev.Event, seq: int = 0, *, after: int = 0) -> ev.Entry:
    """An entry outside of a run: of a venue, a show or a to-fix item.

    Its `seq` is the time in milliseconds unless given, so that entries of one stream sort in the order entered. With
    `after`, it is at least one more than that: a clock that was set back, or another laptop's, must not change the order.
    """
    now = world.clock.now()
    return ev.Entry(world.new_id(), stream, seq or max(after + 1, _milliseconds(now)), stamp(now), 0.0, event)


def _milliseconds(when: datetime) -> int:
    return round(when.timestamp() * 1000)


def _moment(at: str) -> datetime:
    return datetime.fromisoformat(at.replace("Z", "+00:00"))


class Session:
    """One run being walked. `state` is always what has been written."""

    def __init__(
        self,
        state: RunState,
        world: World,
        elapsed: float = 0.0,
        seq: int = 0,
        *,
        beside: Beside = nothing_beside,
    ) -> None:
        self.state = state
        self.world = world
        self._beside = beside
        self._seq = seq
        self._outside = 0
        """The highest `seq` that an entry beside the run may have."""
        self._base = elapsed - world.clock.ticks()

    @classmethod
    def start(
        cls, run: str, plan: Plan, started: ev.RunStarted, world: World, *, beside: Beside = nothing_beside
    ) -> Session:
        """A new run."""
        session = cls(begin(run, plan), world, beside=beside)
        session.record(started)
        return session

    @classmethod
    def resume(
        cls,
        run: str,
        plan: Plan,
        entries: Sequence[ev.Entry],
        world: World,
        *,
        beside: Beside = nothing_beside,
    ) -> Session:
        """A run read back from the log; says so in the log unless it is finished.

        The seconds between the last entry and now are noted as the gap and count for no step.
        """
        state = replay(run, plan, entries)
        elapsed = entries[-1].elapsed if entries else 0.0
        seq = max((entry.seq for entry in entries), default=-1) + 1
        session = cls(state, world, elapsed, seq, beside=beside)
        # At most one item for each step is opened at once, each one behind the other.
        session._outside = max((_milliseconds(_moment(entry.at)) for entry in entries), default=0) + len(plan.steps)
        if state.phase != FINISHED:
            session.record(ev.RunResumed(gap=gap_seconds(entries, world.clock.now())))
        return session

    @property
    def elapsed(self) -> float:
        """Seconds worked on this run, without the gaps between sittings."""
        return self._base + self.world.clock.ticks()

    def record(self, *events: ev.Event, show_next: bool = False) -> RunState:
        """Apply and write events, all or none; the new state. NotAllowed or the sink's error leave all as it was.

        `show_next` notes in the same stroke which step is before the person now, as `show_current` does in one of its
        own: a key then waits for the disk once.
        """
        state = self.state
        now = stamp(self.world.clock.now())
        entries: list[ev.Entry] = []
        opened: list[ev.Entry] = []
        waiting = deque(events)
        while waiting:
            event = waiting.popleft()
            entry = ev.Entry(self.world.new_id(), state.run, self._seq + len(entries), now, self.elapsed, event)
            after = apply(state, entry)
            for stream, made in (*followups(state, after, event), *self._beside(state, after, event)):
                opened.append(touring_entry(self.world, stream, made, after=self._outside))
                self._outside = opened[-1].seq
            entries.append(entry)
            state = after
            if show_next and not waiting:
                waiting += _unseen(state)
                show_next = False
        self.world.sink.append([*entries, *opened])
        self._seq += len(entries)
        self.state = state
        return state

    def show_current(self) -> RunState:
        """Note that the current step is before the person now, unless it already is, or a fault walk is."""
        unseen = _unseen(self.state)
        return self.record(*unseen) if unseen else self.state

    def answer(
        self,
        result: str,
        *,
        reason: str = "",
        confirmed: bool = False,
        source: str = "hand",
        show_next: bool = False,
    ) -> RunState:
        """Answer the current step; `show_next` puts the one behind it before the person in the same stroke."""
        step = current(self.state)
        if step is None:
            raise NotAllowed("No step is open.", "End the run, or go to a step to answer it again.")
        answered = ev.StepAnswered(step.key, result, reason, confirmed, source)
        return self.record(answered, show_next=show_next)

    def read(self, value: float) -> RunState:
        """Note the current step's reading."""
        step = current(self.state)
        if step is None or step.reading is None:
            raise NotAllowed("This step takes no reading.", "Note it as a note instead.")
        wanted = step.reading.wanted
        bounded = wanted.low is not None or wanted.high is not None
        inside = wanted.holds(value) if bounded else None
        return self.record(ev.ReadingTaken(step.key, value, step.reading.unit, inside))

    def go_to(self, key: str) -> RunState:
        """Put another step before the person, to answer it now or again."""
        return self.record(ev.StepBegun(key))

    def undo(self) -> RunState:
        """Take back the last answer, reading, note or end; a fix and the sound it restored go in one stroke, and so do the
        end of a fault walk and its cause."""
        target = undo_target(self.state)
        if target is None:
            raise NotAllowed("There is nothing to undo here.")
        undone = [ev.Undone(target.id)]
        before = self.state.history[: self.state.history.index(target)]
        if isinstance(target.event, ev.SoundRestored) and before and target.event.node:
            answered = before[-1]
            if isinstance(answered.event, ev.WalkAnswered) and answered.event.node == target.event.node:
                undone.append(ev.Undone(answered.id))
        if isinstance(target.event, ev.WalkEnded) and before:
            named = before[-1]
            if isinstance(named.event, ev.CauseConfirmed) and named.event.walk == target.event.walk:
                undone.append(ev.Undone(named.id))
        return self.record(*undone)

    def answer_walk(self, ask: Ask, answer: str, source: str = "hand") -> RunState:
        """Answer a check or a fix of the open fault walk; a fix that worked restores sound in the same stroke."""
        walk = self.state.walk
        if walk is None:
            raise NotAllowed("No fault walk is open.")
        events: list[ev.Event] = [ev.WalkAnswered(walk.walk, ask.id, answer, source)]
        if answer == WORKED and ask.kind in ("fix", "help"):
            events.append(ev.SoundRestored(walk.walk, ask.id, ask.workaround, ask.uses))
        return self.record(*events)

    def restored_by_itself(self) -> RunState:
        """Sound came back without a step of the tree."""
        walk = self.state.walk
        if walk is None:
            raise NotAllowed("No fault walk is open.")
        return self.record(ev.SoundRestored(walk.walk, ""))

    def end_walk(
        self, cause: str = "", *, moved_on: bool = False, odds: tuple[tuple[str, float], ...] = ()
    ) -> RunState:
        """End the open fault walk; `cause` is its confirmed cause, empty when that is not known.

        `moved_on` when the fault is looked for in another tree from here: this walk then leaves nothing to fix.
        `odds` are the causes still likely, in words, kept with what is left to fix.
        """
        return self.record(*self._walk_end(cause, moved_on, odds))

    def _walk_end(
        self, cause: str = "", moved_on: bool = False, odds: tuple[tuple[str, float], ...] = ()
    ) -> list[ev.Event]:
        walk = self.state.walk
        if walk is None:
            raise NotAllowed("No fault walk is open.")
        events: list[ev.Event] = []
        if cause:
            events.append(ev.CauseConfirmed(walk.walk, cause))
        asked_help = any(node == HELP for node, _ in walk.answers)
        outcome = ev.UNSOLVED if asked_help else ev.MOVED_ON if moved_on else ev.LEFT
        outcome = ev.RESTORED if walk.restored else outcome
        events.append(ev.WalkEnded(walk.walk, outcome, odds))
        return events

    def interrupt(self, cue: str = "") -> RunState:
        """Leave at once; the place is kept."""
        return self.record(ev.RunInterrupted(cue))

    def resume_here(self) -> RunState:
        """Go on after an interruption in this sitting."""
        now = self.world.clock.now()
        return self.record(ev.RunResumed(gap=gap_seconds(self.state.history, now)))

    def finish(self, outcome: str = ev.COMPLETE) -> RunState:
        """End the run, and the open fault walk before it; both or neither."""
        ends = self._walk_end() if self.state.phase == FAULT_WALK else []
        return self.record(*ends, ev.RunFinished(outcome))


_PLACES = (ev.StepBegun, ev.StepAnswered, ev.WalkEnded)


def _unseen(state: RunState) -> tuple[ev.StepBegun, ...]:
    """That the current step is before the person, when that is so and was not noted yet."""
    step = current(state)
    if step is None or state.phase != WALKING:
        return ()
    last = next((e.event for e in reversed(state.history) if isinstance(e.event, _PLACES)), None)
    seen = isinstance(last, ev.StepBegun) and last.step == step.key
    return () if seen else (ev.StepBegun(step.key),)


def gap_seconds(entries: Sequence[ev.Entry], now: datetime) -> float:
    """Wall-clock seconds since the last entry; 0 when the clock went backwards or nothing was written."""
    if not entries:
        return 0.0
    return max(0.0, round((now - _moment(entries[-1].at)).total_seconds(), 1))


__all__ = ["Beside", "Clock", "Session", "Sink", "World", "gap_seconds", "nothing_beside", "stamp", "touring_entry"]
