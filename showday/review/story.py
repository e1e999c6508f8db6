"""A past run, told entry by entry: what happened when, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

from showday.review.recurring import Words
from showday.run import events as ev
from showday.run.plan import Plan, PlannedStep
from showday.run.state import WalkState
from showday.text.values import duration


@dataclass(frozen=True, slots=True)
class Told:
    """One entry in words. Texts are foreign: show them as plain text."""

    at: str
    """UTC as it stands in the log."""
    text: str
    step: str = ""
    """Key of the step it belongs to; empty for the run as a whole."""
    walk: str = ""
    """Id of the fault walk it belongs to."""
    taken_back: bool = False
    """True when an undo took it back later."""


def story(entries: Sequence[ev.Entry], plan: Plan | None, words: Words) -> list[Told]:
    """Every entry of a run in its order, undone ones too; without a plan the steps go by their keys."""
    teller = _Teller(plan, words, entries)
    return [teller.tell(entry) for entry in entries]


def of_step(told: Iterable[Told], key: str) -> list[Told]:
    """What was told of one step."""
    return [line for line in told if line.step == key]


def of_walk(told: Iterable[Told], walk: str) -> list[Told]:
    """What was told of one fault walk."""
    return [line for line in told if line.walk == walk]


def time_of_day(at: str, zone: tzinfo | None = None) -> str:
    """`21:04:30` of a log time, in a time zone (None: this computer's); the text itself when it is no time."""
    try:
        return datetime.fromisoformat(at.replace("Z", "+00:00")).astimezone(zone).strftime("%H:%M:%S")
    except (ValueError, OverflowError):
        return at


class _Teller:
    def __init__(self, plan: Plan | None, words: Words, entries: Sequence[ev.Entry]) -> None:
        self._steps: dict[str, PlannedStep] = {step.key: step for step in plan.steps} if plan else {}
        self._words = words
        self._entries = {entry.id: entry for entry in entries}
        self._undone = _taken_back(entries)
        self._walks: dict[str, WalkState] = {}

    def tell(self, entry: ev.Entry) -> Told:
        """One entry; a fault walk must have been told from its beginning."""
        event: Any = entry.event
        if isinstance(event, ev.WalkOpened):
            self._walks[event.walk] = WalkState.opened(event)
        say = _SAYINGS.get(type(event))
        text = say(self, event) if say else "something that only a newer program can read"
        walk = str(getattr(event, "walk", "") or "")
        step = str(getattr(event, "step", "") or "")
        if walk in self._walks:
            step = self._walks[walk].step
        return Told(entry.at, text, step, walk, entry.id in self._undone)

    def step(self, key: str) -> str:
        """A step's sentence, with what it is about where the sentence does not name it."""
        step = self._steps.get(key)
        if step is None:
            return key
        return f"{step.do} ({step.about})" if step.about and step.about not in step.do else step.do

    def node(self, walk: str, name: str) -> str:
        """The sentence of a node or cause of a walk's tree."""
        known = self._walks.get(walk)
        return self._words(known, name) if known and name else name

    def title(self, walk: str) -> str:
        """A walk's title."""
        known = self._walks.get(walk)
        return known.title if known else "a fault"

    def undone(self, event: ev.Undone) -> str:
        """What an undo took back."""
        target = self._entries.get(event.target)
        if target is None or isinstance(target.event, ev.Undone):
            return "an answer is taken back"
        say = _SAYINGS.get(type(target.event))
        return f"taken back: {say(self, target.event)}" if say else "an answer is taken back"


def _taken_back(entries: Sequence[ev.Entry]) -> set[str]:
    return {entry.event.target for entry in entries if isinstance(entry.event, ev.Undone)}


def _behind(text: str) -> str:
    return f": {text}" if text else ""


def _begun(_: _Teller, event: ev.RunStarted) -> str:
    away = f", without {', '.join(event.away)}" if event.away else ""
    return f"begun: {event.title}{away}"


def _answered(teller: _Teller, event: ev.StepAnswered) -> str:
    by = f" (by {event.source})" if event.source != "hand" else ""
    sure = ", confirmed" if event.confirmed else ""
    return f"{event.result}{sure}{_behind(event.reason)}{by}: {teller.step(event.step)}"


def _together(teller: _Teller, keys: Sequence[str]) -> str:
    return "; ".join(teller.step(key) for key in keys)


def _read(teller: _Teller, event: ev.ReadingTaken) -> str:
    where = {True: ", inside", False: ", OUTSIDE"}.get(event.inside, "") if event.inside is not None else ""
    return f"read {event.value:g} {event.unit}{where}: {teller.step(event.step)}"


def _restored(teller: _Teller, event: ev.SoundRestored) -> str:
    how = f": {teller.node(event.walk, event.node)}" if event.node else " by itself"
    around = ", a workaround" if event.workaround else ""
    used = f", used up: {event.uses}" if event.uses else ""
    return f"sound is back{how}{around}{used}"


def _opened(_: _Teller, event: ev.WalkOpened) -> str:
    about = f" ({event.about})" if event.about else ""
    return f"fault walk: {event.title}{about}" + (", for the cause of a to-fix item" if event.item else "")


def _walk_answered(teller: _Teller, event: ev.WalkAnswered) -> str:
    then = {ev.CARRIED: " (answered in the walk before)", ev.HEARD: " (heard)"}.get(event.source, "")
    return f"{teller.node(event.walk, event.node)}: {event.answer}{then}"


_ENDS = {
    ev.RESTORED: "the walk ended with sound",
    ev.UNSOLVED: "the walk ended unsolved, help was called",
    ev.LEFT: "the walk was left without an end",
    ev.MOVED_ON: "the walk went on in another tree",
}

_SAYINGS: dict[type[ev.Event], Callable[[_Teller, Any], str]] = {
    ev.RunStarted: _begun,
    ev.StepBegun: lambda teller, e: f"shown: {teller.step(e.step)}",
    ev.StepAnswered: _answered,
    ev.StepsLeftOut: lambda teller, e: f"left out together{_behind(e.reason)}: {_together(teller, e.steps)}",
    ev.StepsTakenBack: lambda teller, e: f"asked again after all: {_together(teller, e.steps)}",
    ev.ReadingTaken: _read,
    ev.NoteAdded: lambda _, e: f"note: {e.text}",
    ev.Undone: _Teller.undone,
    ev.AwayChanged: lambda _, e: f"away: {', '.join(e.away) or 'nobody'}",
    ev.RunInterrupted: lambda _, e: f"left{_behind(e.cue)}",
    ev.RunResumed: lambda _, e: f"back after {duration(e.gap)}",
    ev.WalkOpened: _opened,
    ev.WalkAnswered: _walk_answered,
    ev.SoundRestored: _restored,
    ev.CauseConfirmed: lambda teller, e: f"cause confirmed: {teller.node(e.walk, e.cause)}",
    ev.WalkEnded: lambda _, e: _ENDS.get(e.outcome, f"the walk ended: {e.outcome}"),
    ev.CameBack: lambda teller, e: f"it came back: {teller.title(e.walk)}",
    ev.RunFinished: lambda _, e: f"the run is {e.outcome}",
}

__all__ = ["Told", "of_step", "of_walk", "story", "time_of_day"]
