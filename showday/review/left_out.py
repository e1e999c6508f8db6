"""What was left out at a venue, and what it cost: whatever went wrong with the same thing later that night."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from showday.run import events as ev
from showday.run.plan import PlannedStep
from showday.run.state import RunState, WalkState
from showday.text.values import duration


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A step that was left out."""

    date: str
    what: str
    reason: str
    then: tuple[str, ...] = ()
    """What went wrong with the same thing later that night; it need not have been the cause."""

    @property
    def text(self) -> str:
        """`2026-05-01  Check the spare pack: no time; later that night: Drop-outs (Pack 2), restored, 4 min`."""
        reason = f": {self.reason}" if self.reason else ""
        later = f"; later that night: {'; '.join(self.then)}" if self.then else "; nothing came of it that night"
        return f"{self.date}  {self.what}{reason}{later}"


@dataclass(frozen=True, slots=True)
class Evening:
    """One run with its night, for looking across the runs of a night."""

    night: str
    date: str
    state: RunState
    entries: Sequence[ev.Entry]


def left_out(runs: Sequence[Evening], ended: Callable[[WalkState], str]) -> tuple[LeftOut, ...]:
    """What was left out in these runs, in their order. `ended` says how a walk ended."""
    walks: dict[str, list[tuple[str, WalkState, float]]] = {}
    for run in runs:
        walks.setdefault(run.night, []).extend(_walks(run))
    made = []
    for run in runs:
        for step in run.state.plan.steps:
            said = run.state.step(step.key)
            if said.result == ev.LEFT_OUT:
                since = _left_at(run.entries, step.key)
                then = [
                    f"{walk.title}{f' ({walk.about})' if walk.about else ''}, {ended(walk)}, {duration(took)}"
                    for at, walk, took in walks[run.night]
                    if at > since and _same_thing(step, walk)
                ]
                made.append(LeftOut(run.date, _what(step), said.reason, tuple(then)))
    return tuple(made)


def _what(step: PlannedStep) -> str:
    return f"{step.do} ({step.about})" if step.about and step.about not in step.do else step.do


def _walks(run: Evening) -> list[tuple[str, WalkState, float]]:
    """Walks with when they began (UTC) and how many seconds they took."""
    begun: dict[str, ev.Entry] = {}
    took: dict[str, float] = {}
    for entry in run.entries:
        if isinstance(entry.event, ev.WalkOpened):
            begun[entry.event.walk] = entry
        elif isinstance(entry.event, ev.WalkEnded) and entry.event.walk in begun:
            took[entry.event.walk] = max(0.0, entry.elapsed - begun[entry.event.walk].elapsed)
    return [
        (begun[walk.walk].at, walk, took.get(walk.walk, 0.0))
        for walk in run.state.walks
        if walk.walk in begun and not walk.item and (walk.answers or walk.restored)
    ]


def _left_at(entries: Sequence[ev.Entry], key: str) -> str:
    """When the step was left out last (UTC)."""
    found = ""
    for entry in entries:
        event = entry.event
        if (isinstance(event, ev.StepAnswered) and event.step == key) or (
            isinstance(event, ev.StepsLeftOut) and key in event.steps
        ):
            found = entry.at
    return found


def _same_thing(step: PlannedStep, walk: WalkState) -> bool:
    """Whether a walk is about what the step looks at: the same input or pack; for a step about nothing in particular,
    a fault that it leads to."""
    if step.kind:
        return walk.thing == (step.kind, step.thing) or (bool(step.about) and walk.about == step.about)
    return walk.fault in step.if_wrong
