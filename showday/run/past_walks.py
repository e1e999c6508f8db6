"""Fault walks read from the log, without replaying the runs they belong to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from showday.fault.learn import PastWalk
from showday.run import events as ev
from showday.run.state import WalkState

WALK_EVENTS: tuple[type[ev.Event], ...] = (
    ev.RunStarted,
    ev.WalkOpened,
    ev.WalkAnswered,
    ev.SoundRestored,
    ev.CauseConfirmed,
    ev.WalkEnded,
    ev.CameBack,
    ev.Undone,
)
"""All that is needed to know how a walk went."""


@dataclass(frozen=True, slots=True)
class LoggedWalk:
    """One walk with where and when it was."""

    walk: WalkState
    run: str
    at: str
    venue: str = ""
    rig: str = ""
    carried: frozenset[str] = frozenset()
    """Nodes whose answers were given in the walk before."""
    heard: frozenset[str] = frozenset()
    """Checks whose last answer was given by listening."""


def logged_walks(entries: Iterable[ev.Entry]) -> list[LoggedWalk]:
    """Every ended walk, oldest first, from the walk events of any number of runs in any order of runs."""
    runs: dict[str, list[ev.Entry]] = {}
    for entry in entries:
        runs.setdefault(entry.stream, []).append(entry)
    out = [walk for run in runs.values() for walk in _of_run(run)]
    return sorted(out, key=lambda w: (w.at, w.walk.walk))


def _of_run(entries: Sequence[ev.Entry]) -> list[LoggedWalk]:
    undone = {e.event.target for e in entries if isinstance(e.event, ev.Undone)}
    started = ev.RunStarted("", "", "")
    found: dict[str, LoggedWalk] = {}
    for entry in sorted(entries, key=lambda e: e.seq):
        event = entry.event
        if entry.id in undone:
            continue
        if isinstance(event, ev.RunStarted):
            started = event
        elif isinstance(event, ev.WalkOpened):
            walk = WalkState.opened(event)
            found[event.walk] = LoggedWalk(walk, entry.stream, entry.at, started.venue, started.rig)
        elif isinstance(event, (ev.WalkAnswered, ev.SoundRestored, ev.CauseConfirmed, ev.WalkEnded, ev.CameBack)):
            held = found.get(event.walk)
            if held is not None:
                found[event.walk] = replace(_noted(held, event), walk=_after(held.walk, event))
    return [walk for walk in found.values() if walk.walk.outcome]


def _noted(held: LoggedWalk, event: ev.Event) -> LoggedWalk:
    """Who gave an answer, if it was not a hand."""
    if not isinstance(event, ev.WalkAnswered):
        return held
    node = frozenset((event.node,))
    heard = held.heard | node if event.source == ev.HEARD else held.heard - node
    return replace(held, carried=held.carried | node if event.source == ev.CARRIED else held.carried, heard=heard)


def _after(walk: WalkState, event: ev.Event) -> WalkState:
    if isinstance(event, ev.WalkAnswered):
        return replace(walk, answers=(*walk.answers, (event.node, event.answer)))
    if isinstance(event, ev.SoundRestored):
        return replace(walk, restored=True, by=event.node, workaround=event.workaround, uses=event.uses)
    if isinstance(event, ev.CauseConfirmed):
        return replace(walk, cause=event.cause)
    if isinstance(event, ev.WalkEnded):
        return replace(walk, outcome=event.outcome)
    return replace(walk, came_back=True)


def lessons(
    walks: Sequence[LoggedWalk], fault: str, *, venues: frozenset[str] | set[str], rig: str, now: datetime
) -> list[PastWalk]:
    """What the walks of one tree teach here and now.

    `venues` are the ids that mean tonight's place; without any, no walk counts as of another place.
    """
    out = []
    for logged in walks:
        walk = logged.walk
        if walk.fault != fault:
            continue
        when = datetime.fromisoformat(logged.at.replace("Z", "+00:00"))
        out.append(
            PastWalk(
                answers=walk.answers,
                cause=walk.cause,
                by=walk.by,
                carried=logged.carried,
                heard=logged.heard,
                came_back=walk.came_back,
                same_rig=not rig or logged.rig == rig,
                same_venue=not venues or logged.venue in venues,
                years=max(0.0, (now - when).days / 365.25),
            )
        )
    return out
