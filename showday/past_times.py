"""What the log says of times: the seconds of each step of a run, what came between, and how often something was wrong.

Made anew from the log each time and kept nowhere. It brings arrays along: import it where a forecast is shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import fsum
from statistics import median

from showday.clock.breaks import LONGEST, Breaks, learn_breaks
from showday.clock.times import NO_GUESS, USUAL_DAY, day_spread, learn_time
from showday.review.wrong import answered_as_fault
from showday.run import events as ev
from showday.run.plan import Plan
from showday.run.state import RunState, WalkState

FAR_OUT, FAR_OUT_SECONDS = 10.0, 180.0
"""A step that took over ten times its usual time and over three minutes was an interruption that nobody noted: a choice
of this program."""
BREATH = 2.0
"""Seconds in which nobody reads a step and does it: what was answered by hand within them was done before it was shown,
and several of them one after the other were done together. A choice of this program."""
LEAST_PACE = 0.2
"""Steps answered in a breath that took under this part of their usual time altogether were done some other time: a
choice of this program."""
DONE = (ev.GOOD, ev.FAULT)
"""Results of steps that were done; the others teach no time."""


@dataclass(frozen=True, slots=True)
class Lived:
    """The seconds of one run: each step's own, and what came between."""

    steps: Mapping[str, float]
    """Seconds worked at each step that was done, by key; interruptions and fault walks are not in it."""
    at: str = ""
    """The step under way, and the seconds it has had."""
    spent: float = 0.0
    interruptions: tuple[float, ...] = ()
    walks: tuple[float, ...] = ()
    worked: float = 0.0
    """Seconds of work in all."""
    quick: frozenset[str] = frozenset()
    """Keys of the steps that were answered by hand in a breath."""
    walking: float | None = None
    """Seconds that the open fault walk has taken; None when there is none."""


def lived(entries: Iterable[ev.Entry], now: float | None = None) -> Lived:
    """The seconds of a run from the entries that count (a state's history), in order.

    `now` is the run's elapsed seconds at this moment; without it nothing is counted after the last entry.
    """
    meter = _Meter()
    for entry in entries:
        meter.take(entry.event, entry.elapsed)
    if now is not None:
        meter.pass_to(now)
    return Lived(
        meter.steps,
        meter.at,
        meter.spent,
        tuple(meter.interruptions),
        tuple(meter.walks),
        round(meter.worked, 3),
        frozenset(meter.quick),
        meter.walk,
    )


class _Meter:
    """Where the seconds between two entries go: to the step, to the fault walk, or to nobody."""

    def __init__(self) -> None:
        self.steps: dict[str, float] = {}
        self.interruptions: list[float] = []
        self.walks: list[float] = []
        self.worked = 0.0
        self.quick: set[str] = set()
        self.walk: float | None = None
        self.at = ""
        self.spent = 0.0
        self._since = 0.0
        self._begun = False
        self._away = False
        self._left = 0.0
        self._spoilt = False

    def pass_to(self, elapsed: float) -> None:
        """Count the seconds up to this moment."""
        gone, self._since = max(0.0, elapsed - self._since), max(self._since, elapsed)
        if self._away or not self._begun:
            return
        if self.walk is not None:
            self.walk += gone
        else:
            self.spent += gone
            self.worked += gone

    def take(self, event: ev.Event, elapsed: float) -> None:
        """One entry."""
        if isinstance(event, ev.RunResumed):
            self._back(event, elapsed)
        self.pass_to(elapsed)
        if isinstance(event, ev.RunStarted):
            self._begun = True
        elif isinstance(event, ev.StepBegun):
            if event.step != self.at:
                self._to(event.step)
        elif isinstance(event, ev.StepAnswered):
            if event.result in DONE and self.at in ("", event.step) and not self._spoilt:
                self._done(event)
            self._to("")
        elif isinstance(event, ev.StepsLeftOut):
            if self.at in event.steps:
                self._to("")
        elif isinstance(event, ev.RunInterrupted):
            self._away, self._left = True, elapsed
        elif isinstance(event, ev.WalkOpened):
            self.walk = 0.0
        elif isinstance(event, ev.WalkEnded) and self.walk is not None:
            self.walks.append(self.walk)
            self.walk = None
        elif isinstance(event, ev.RunFinished):
            self._begun = False

    def _done(self, event: ev.StepAnswered) -> None:
        seconds = self.steps.get(event.step, 0.0) + self.spent
        self.steps[event.step] = seconds
        in_a_breath = event.source == ev.BY_HAND and seconds < BREATH
        (self.quick.add if in_a_breath else self.quick.discard)(event.step)

    def _to(self, step: str) -> None:
        self.at, self.spent, self._spoilt = step, 0.0, False

    def _back(self, event: ev.RunResumed, elapsed: float) -> None:
        """After an interruption, or after the program had ended: then nobody knows when the work stopped."""
        length = max(event.gap, elapsed - self._left) if self._away else event.gap
        if 0.0 < length <= LONGEST:
            self.interruptions.append(length)
        self._spoilt = self._spoilt or not self._away
        self._away = False
        self._since = elapsed


@dataclass(frozen=True, slots=True)
class Past:
    """What the log says of a playbook's times. Made anew from the log each time, kept nowhere."""

    times: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    """Seconds by step id, of all things it repeats for and all runs."""
    day_spread: float = USUAL_DAY
    interruptions: Breaks = field(default_factory=lambda: learn_breaks((), 0.0))
    walks: Breaks = field(default_factory=lambda: learn_breaks((), 0.0))
    faults: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    """By step id: how often something was wrong there, and how often it was looked at."""
    runs: int = 0


def past_of(playbook: str, runs: Iterable[RunState]) -> Past:
    """The past of a playbook from replayed runs, in any order; runs of other playbooks teach only what comes between."""
    ours: list[tuple[RunState, Lived]] = []
    interruptions: list[float] = []
    walks: list[float] = []
    worked: list[float] = []
    for run in runs:
        had = lived(run.history)
        interruptions += had.interruptions
        walks += had.walks
        worked.append(had.worked)
        if run.plan.playbook == playbook:
            ours.append((run, had))
    ours.sort(key=lambda pair: pair[0].run)
    usual = {step.id: step.takes for run, _ in ours for step in run.plan.steps}
    days = [paced(run.plan, had, usual) for run, had in ours]
    kept, unsaid = _without_far_out(days, usual)
    times: dict[str, list[float]] = {}
    for id, seconds in (pair for day in kept for pair in day):
        times.setdefault(id, []).append(seconds)
    learned = {id: learn_time(seconds, usual.get(id)) for id, seconds in times.items()}
    return Past(
        times={id: tuple(seconds) for id, seconds in times.items()},
        day_spread=day_spread(kept, learned),
        interruptions=learn_breaks([*interruptions, *unsaid], fsum(worked)),
        walks=learn_breaks(walks, fsum(worked)),
        faults=_faults([run for run, _ in ours]),
        runs=len(ours),
    )


Day = list[tuple[str, float]]
"""One run's steps: (id, seconds)."""


def paced(plan: Plan, had: Lived, usual: Mapping[str, float | None]) -> Day:
    """What the steps of a run teach, `usual` their seconds by id, in the order of the answers.

    Steps answered in a breath were done together with the one before them, so those share their seconds by what is
    usual; when that is hardly anything they were done before the list was opened, and teach nothing. Nor do steps that wait
    for a moment of the evening.
    """
    steps = {step.key: step for step in plan.steps if not plan.sections[step.section].waits}
    together: list[list[str]] = []
    for key in had.steps:
        if key not in steps:
            continue
        if key in had.quick and together:
            together[-1].append(key)
        else:
            together.append([key])
    made: Day = []
    for keys in together:
        seconds = fsum(had.steps[key] for key in keys)
        parts = [usual.get(steps[key].id) or NO_GUESS for key in keys]
        if keys[-1] in had.quick and seconds < LEAST_PACE * fsum(parts):
            continue
        made += [(steps[key].id, seconds * part / fsum(parts)) for key, part in zip(keys, parts, strict=True)]
    return made


def _without_far_out(days: Sequence[Day], usual: Mapping[str, float | None]) -> tuple[list[Day], list[float]]:
    """The days without steps that took far too long, and the seconds that those took."""
    all_of: dict[str, list[float]] = {}
    for id, seconds in (pair for day in days for pair in day):
        all_of.setdefault(id, []).append(seconds)
    most = {
        id: max(FAR_OUT_SECONDS, FAR_OUT * max(usual.get(id) or NO_GUESS, median(values)))
        for id, values in all_of.items()
    }
    kept = [[(id, seconds) for id, seconds in day if seconds <= most[id]] for day in days]
    return kept, [seconds for day in days for id, seconds in day if seconds > most[id]]


def _faults(runs: Sequence[RunState]) -> dict[str, tuple[int, int]]:
    counted: dict[str, tuple[int, int]] = {}
    for run in runs:
        wrong_at = {walk.step for walk in run.walks if _was_wrong(walk)} | answered_as_fault(run).keys()
        for step in run.plan.steps:
            result = run.result_of(step)
            wrong = step.key in wrong_at
            if wrong or result == ev.GOOD:
                found, times = counted.get(step.id, (0, 0))
                counted[step.id] = (found + wrong, times + 1)
    return counted


def _was_wrong(walk: WalkState) -> bool:
    return walk.restored or bool(walk.cause) or walk.outcome == ev.UNSOLVED
