"""What goes wrong at a venue again and again, and what helped against it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from showday.fault.walk import NO_CHANGE
from showday.review.wrong import walks_of, wrong_steps
from showday.run import events as ev
from showday.run.state import RunState, WalkState

Words = Callable[[WalkState, str], str]
"""Gives the words of a node or cause id of a walk's tree."""


@dataclass(frozen=True, slots=True)
class Recurring:
    """A step, or a fault outside of any step, that was wrong here at more than one visit."""

    what: str
    wrong: int
    """Runs in which it was wrong."""
    looked: int
    """Runs in which it was looked at; as many as `wrong` for a fault outside of any step."""
    last: str
    """The day of the last time."""
    helped: tuple[tuple[str, int], ...] = ()
    """What brought sound back, and how often."""

    @property
    def text(self) -> str:
        """`Make a sound into Kick (input 3, Kick): wrong 3 of 5 times, last 2026-05-01; helped: swap the cable (2)`."""
        of = f"{self.wrong} of {self.looked} times" if self.looked > self.wrong else f"{self.wrong} times"
        helped = ", ".join(f"{what} ({times})" if times > 1 else what for what, times in self.helped)
        return f"{self.what}: wrong {of}, last {self.last}" + (f"; helped: {helped}" if helped else "")


@dataclass(frozen=True, slots=True)
class Helped:
    """A fix that was tried here."""

    fix: str
    against: str
    """The fault tree's title."""
    worked: int
    tried: int

    @property
    def text(self) -> str:
        """`No signal: swap the cable: helped 2 of 3 times`."""
        often = f" {self.worked} of {self.tried} times" if self.tried > 1 and self.worked else ""
        return f"{self.against}: {self.fix}: {'helped' if self.worked else 'did not help'}{often}"


@dataclass
class _Seen:
    what: str
    wrong: set[str] = field(default_factory=set)
    looked: set[str] = field(default_factory=set)
    last: str = ""
    helped: Counter[str] = field(default_factory=Counter)


def recurring(runs: Iterable[tuple[str, RunState]], words: Words) -> tuple[Recurring, ...]:
    """What was wrong in two runs or more; `runs` with their days, in any order. The most frequent comes first."""
    seen: dict[tuple[str, str], _Seen] = {}
    for day, state in runs:
        wrong = wrong_steps(state)
        for step in state.plan.steps:
            result = state.result_of(step)
            if step.key in wrong or result == ev.GOOD:
                about = f" ({step.about})" if step.about and step.about not in step.do else ""
                found = seen.setdefault((state.plan.playbook, step.key), _Seen(f"{step.do}{about}"))
                found.looked.add(state.run)
                if step.key in wrong:
                    found.wrong.add(state.run)
                    found.last = max(found.last, day)
        for walk in walks_of(state):
            key = (state.plan.playbook, walk.step) if walk.step else (walk.fault, walk.about)
            about = f" ({walk.about})" if walk.about else ""
            found = seen.setdefault(key, _Seen(f"{walk.title}{about}"))
            found.wrong.add(state.run)
            found.last = max(found.last, day)
            if walk.restored and walk.by:
                found.helped[words(walk, walk.by)] += 1
    often = [s for s in seen.values() if len(s.wrong) > 1]
    often.sort(key=lambda s: (-len(s.wrong), s.what))
    return tuple(
        Recurring(s.what, len(s.wrong), len(s.looked | s.wrong), s.last, tuple(s.helped.most_common(3)))
        for s in often
    )


def helped(runs: Iterable[RunState], words: Words) -> tuple[Helped, ...]:
    """Every fix that was tried, the most successful first."""
    tried: Counter[tuple[str, str]] = Counter()
    worked: Counter[tuple[str, str]] = Counter()
    for state in runs:
        for walk in walks_of(state):
            for node in {node for node, answer in walk.answers if answer == NO_CHANGE} | ({walk.by} - {""}):
                key = (words(walk, node), walk.title)
                tried[key] += 1
                worked[key] += walk.restored and node == walk.by
    made = [Helped(fix, against, worked[fix, against], times) for (fix, against), times in tried.items()]
    return tuple(sorted(made, key=lambda h: (-h.worked, h.tried, h.against, h.fix)))
