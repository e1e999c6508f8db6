"""What a run leaves on the to-fix list: everything restored but not cured, and every open fault."""

from __future__ import annotations

import uuid
from dataclasses import replace

from showday.run import events as ev
from showday.run.state import RunState, WalkState, replay
from showday.run.to_fix import ToFixOpened, ToFixWithdrawn

_SPACE = uuid.UUID("6f1d4a3e-52a0-4c7e-9d0f-7d3f1b5a9c11")
"""Name space of the item ids below: the same fault of the same run is always the same item."""

_OPENING = (ev.WalkEnded, ev.CameBack, ev.RunFinished)


def item_id(run: str, what: str) -> str:
    """The id of a to-fix item, made from what it is about, so that it can never be opened twice."""
    return str(uuid.uuid5(_SPACE, f"{run}/{what}"))


def followups(before: RunState, after: RunState, event: ev.Event) -> list[tuple[str, ev.Event]]:
    """To-fix items (stream id, event) that this event opens, or takes off the list with what had opened them."""
    if isinstance(event, ev.Undone):
        at = next((at for at, entry in enumerate(before.history) if entry.id == event.target), None)
        if at is None or not isinstance(before.history[at].event, _OPENING):
            return []
        # What is known since, such as a cause, must not hide what was opened then.
        then = replay(before.run, before.plan, before.history[: at + 1])
        return [(item, ToFixWithdrawn()) for item, _ in _opens(then, before.history[at].event)]
    return list(_opens(after, event))


def _opens(after: RunState, event: ev.Event) -> list[tuple[str, ToFixOpened]]:
    """What an event opens, from the state behind it."""
    if isinstance(event, ev.WalkEnded):
        walk = next(w for w in reversed(after.walks) if w.walk == event.walk)
        # A walk that seeks the cause of an item leaves that item as it is.
        text = "" if walk.item else _walk_text(walk)
        return [(item_id(after.run, walk.walk), _opened(after, text, walk, event.odds))] if text else []
    if isinstance(event, ev.CameBack):
        walk = next(w for w in after.walks if w.walk == event.walk)
        text = f"{walk.title}: fixed, but it came back"
        return [(item_id(after.run, f"{walk.walk}/back"), _opened(after, text, walk))]
    if isinstance(event, ev.RunFinished):
        return _open_faults(after)
    return []


def _walk_text(walk: WalkState) -> str:
    if walk.restored and walk.workaround:
        return f"{walk.title}: restored by a workaround, cause not cured"
    if walk.restored and not walk.by and not walk.cause:
        return f"{walk.title}: sound came back by itself, cause not known"
    if walk.outcome == ev.UNSOLVED or (walk.outcome == ev.LEFT and walk.answers and not walk.restored):
        return f"{walk.title}: not solved"
    return ""


def _open_faults(state: RunState) -> list[tuple[str, ToFixOpened]]:
    """Steps that ended as a fault and have no walk whose item says so already."""
    walked = {walk.step for walk in state.walks if _walk_text(walk)}
    made = []
    for step in state.plan.steps:
        said = state.step(step.key)
        if said.result == ev.FAULT and step.key not in walked:
            reason = f" ({said.reason})" if said.reason else ""
            made.append((item_id(state.run, step.key), _item(state, f"{step.do}: fault{reason}", step.about)))
    return made


def _opened(state: RunState, text: str, walk: WalkState, odds: tuple[tuple[str, float], ...] = ()) -> ToFixOpened:
    item = _item(state, text, walk.about, walk.walk, walk.uses)
    return replace(item, fault=walk.fault, odds=odds)


def _item(state: RunState, text: str, about: str, walk: str = "", uses: str = "") -> ToFixOpened:
    started = state.started
    venue, show = (started.venue, started.show) if started else ("", "")
    return ToFixOpened(text, venue=venue, show=show, run=state.run, walk=walk, about=about, uses=uses)
