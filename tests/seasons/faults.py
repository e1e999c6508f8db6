"""Fault walks to a true cause: answers and cures as the tree itself says that they fall."""

from __future__ import annotations

from random import Random

from showday.counsel import Counsel
from showday.desk import Desk
from showday.fault.compile import author_odds, compile_tree
from showday.fault.diagnosis import Action, Model
from showday.fault.model import Tree
from showday.fault.walk import NO_CHANGE, WORKED, Ask
from showday.run.plan import PlannedStep
from showday.run.session import Session
from tests.seasons.pace import Pace

HEARD = {
    "no-signal": "nothing arrives",
    "dead-mic": "dead, and its neighbours live",
    "hum": "hums",
    "crackle": "crackles when somebody moves",
    "one-ear": "one ear is silent",
    "rf-dropouts": "drops out",
}
"""The trees that the seasons know, each with the words of the person who found it."""
RATES = {"rare": 0.002, "occasional": 0.006, "common": 0.006, "": 0.004}
"""How often something is wrong at a step that names a tree, by the author's word for its risk; invented."""
NOT_DRAWN = ("shock-hazard",)
"""Nobody of an invented act is hurt to fill a log."""
KNOWN_AFTER_CURE, KNOWN_AFTER_STOPGAP, HELP_HELPS = 0.9, 0.4, 0.7
MOST_ASKS = 60
Found = tuple[str, str]
"""A fault tree and the true cause."""


def drawn(step: PlannedStep, trees: dict[str, Tree], chance: Random) -> Found | None:
    """What is wrong at a step tonight, by the usual rates; None on most nights."""
    named = [tree for tree in step.if_wrong if tree in HEARD and tree in trees]
    if not named or chance.random() >= RATES[step.risk]:
        return None
    tree = chance.choice(named)
    odds = {cause: p for cause, p in author_odds(trees[tree]).items() if cause not in NOT_DRAWN}
    return tree, chance.choices(list(odds), list(odds.values()))[0]


def walk_to(desk: Desk, session: Session, step: PlannedStep, found: Found, pace: Pace) -> bool:
    """Walk a tree in the author's order while this is what is wrong; whether sound is back."""
    name, cause = found
    state = desk.open_walk(session, name, step)
    tree = desk.tree_of(state)
    model = compile_tree(tree, facts=desk.conditions())
    counsel = Counsel(desk, state, tree, by_author=True)
    ask: Ask | None = None
    for _ in range(MOST_ASKS):
        if state.walk is None or state.walk.restored or (ask is not None and ask.kind == "help"):
            break
        ask, _ = counsel.next(state)
        pace.wait(ask.id, ask.takes)
        state = session.answer_walk(ask, _answer(ask, model, cause, pace.chance))
    pace.clock.wait(2)
    now = session.state.walk
    restored, stopgap = now is not None and now.restored, now is not None and now.workaround
    known = cause if tree.cause(cause) and restored and pace.chance.random() < _known(stopgap) else ""
    odds = counsel.odds(session.state, known) if stopgap or not restored else ()
    session.end_walk(known, odds=odds)
    return restored


def _known(stopgap: bool) -> float:
    return KNOWN_AFTER_STOPGAP if stopgap else KNOWN_AFTER_CURE


def _answer(ask: Ask, model: Model, cause: str, chance: Random) -> str:
    """What a check shows, or what a fix does, when this is the cause."""
    if ask.kind == "help":
        return WORKED if chance.random() < HELP_HELPS else NO_CHANGE
    at, step = model.causes.index(cause), model.step(model.index(ask.id))
    if isinstance(step, Action):
        return WORKED if chance.random() < step.cures[at] else NO_CHANGE
    return chance.choices(step.answers, [row[at] for row in step.likelihood])[0]


def reason_of(found: Found, step: PlannedStep) -> str:
    """What the person says was wrong."""
    return f"{step.about} {HEARD[found[0]]}" if step.about else HEARD[found[0]]
