"""What was left out at a venue, and what it cost: whatever went wrong with the same thing later that night."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from showday.review.wrong import walks_of
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
    step: str = ""
    """Id of the step, the same for all things that it repeats for."""
    about: str = ""
    """The thing that it is about."""


def left_out_lines(found: Iterable[LeftOut]) -> list[str]:
    """One line each, such as `2026-05-01  Check the spare pack: no time; later that night: Drop-outs (Pack 2), 4 min`; a
    step that was left out for several things, with the same end, is told once."""
    together: dict[tuple[str, str, str, tuple[str, ...]], list[LeftOut]] = {}
    for one in found:
        together.setdefault((one.date, one.step or one.what, one.reason, one.then), []).append(one)
    return [_line(those) for those in together.values()]


def _line(those: Sequence[LeftOut]) -> str:
    first, others = those[0], [one.about or one.what for one in those[1:]]
    also = f", and the same for {'; '.join(others)}" if others else ""
    reason = f": {first.reason}" if first.reason else ""
    later = f"; later that night: {'; '.join(first.then)}" if first.then else "; nothing came of it that night"
    return f"{first.date}  {first.what}{also}{reason}{later}"


@dataclass(frozen=True, slots=True)
class Evening:
    """One run with its night, for looking across the runs of a night."""

    night: str
    date: str
    state: RunState
    entries: Sequence[ev.Entry]


@dataclass(frozen=True, slots=True)
class _Trouble:
    """Something that went wrong in a night."""

    at: str
    """UTC of when it was met."""
    text: str
    thing: tuple[str, str]
    """Kind and id of what it was about, empty when of nothing in particular."""
    about: str
    fault: str = ""
    """The fault tree that was walked; empty for an answer without a walk."""

    def concerns(self, step: PlannedStep) -> bool:
        """Whether it is about what the step looks at: the same input or pack; for a step about nothing in particular, a
        fault that it leads to."""
        if step.kind:
            return self.thing == (step.kind, step.thing) or (bool(step.about) and self.about == step.about)
        return self.fault in step.if_wrong


def left_out(runs: Sequence[Evening], ended: Callable[[WalkState], str]) -> tuple[LeftOut, ...]:
    """What was left out in these runs, in their order. `ended` says how a walk ended."""
    nights: dict[str, list[_Trouble]] = {}
    for run in runs:
        nights.setdefault(run.night, []).extend([*_walks(run, ended), *_faults(run)])
    made = []
    for run in runs:
        met = sorted(nights[run.night], key=lambda trouble: trouble.at)
        for step in run.state.plan.steps:
            said = run.state.step(step.key)
            if said.result == ev.LEFT_OUT:
                since = _left_at(run.entries, step.key)
                then = tuple(trouble.text for trouble in met if trouble.at > since and trouble.concerns(step))
                made.append(LeftOut(run.date, what_is_done(step), said.reason, then, step.id, step.about))
    return tuple(made)


def what_is_done(step: PlannedStep) -> str:
    """The step in words, with the thing that it is about when the words do not name it."""
    return f"{step.do} ({step.about})" if step.about and step.about not in step.do else step.do


def _walks(run: Evening, ended: Callable[[WalkState], str]) -> Iterator[_Trouble]:
    begun: dict[str, ev.Entry] = {}
    took: dict[str, float] = {}
    for entry in run.entries:
        if isinstance(entry.event, ev.WalkOpened):
            begun[entry.event.walk] = entry
        elif isinstance(entry.event, ev.WalkEnded) and entry.event.walk in begun:
            took[entry.event.walk] = max(0.0, entry.elapsed - begun[entry.event.walk].elapsed)
    for walk in walks_of(run.state):
        if walk.walk in begun:
            about = f" ({walk.about})" if walk.about else ""
            text = f"{walk.title}{about}, {ended(walk)}, {duration(took.get(walk.walk, 0.0))}"
            yield _Trouble(begun[walk.walk].at, text, walk.thing, walk.about, walk.fault)


def _faults(run: Evening) -> Iterator[_Trouble]:
    """Answers that something was wrong, where no walk tells of it."""
    steps = {step.key: step for step in run.state.plan.steps}
    walked = {walk.step for walk in walks_of(run.state)}
    for entry in run.state.history:
        event = entry.event
        if isinstance(event, ev.StepAnswered) and event.result == ev.FAULT and event.step not in walked:
            step = steps[event.step]
            text = f"{what_is_done(step)}, {event.reason or 'a fault'}"
            yield _Trouble(entry.at, text, (step.kind, step.thing), step.about)


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
