"""Which step of an open fault walk comes next, and why: computed, or in the author's order when that is wanted.

Made once for a walk: the tree as it was when the walk began, what the log has taught about it until then, the spares that
are in use. From then on only the answers count, so that advice that was shown does not change.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from showday.desk import Desk
from showday.errors import FileTrouble
from showday.fault.advise import Advice, Adviser
from showday.fault.learn import Learned, learn
from showday.fault.model import Tree
from showday.fault.walk import WORKED, Ask
from showday.rig.model import Rig
from showday.run import events as ev
from showday.run.past_walks import WALK_EVENTS, LoggedWalk, lessons, logged_walks
from showday.run.session import Session
from showday.run.state import RunState
from showday.run.touring import ToFix

IN_THE_SET = "during-the-set"
"""The playbook in which sound comes before cause."""


CARRIED = "carried"
"""Source of an answer that was given in an earlier walk."""
KEPT = 5
"""Causes that are kept with an item of the to-fix list."""
SHORT = (20.0, 1200.0)
"""Seconds left between which the other goal, sound back in time, is looked at (a choice of this program)."""


class Counsel:
    """The advice of one open fault walk."""

    def __init__(self, desk: Desk, state: RunState, tree: Tree, *, by_author: bool = False) -> None:
        self.desk = desk
        self.tree = tree
        self.by_author = by_author
        self._walks = logged_walks(desk.keeper.events_of(WALK_EVENTS))
        self.used = spares_in_use(desk, state, self._walks)
        self.restore_first = restores_first(state)
        """Whether workarounds are offered beside cures: in the set, and for a fault outside of any playbook."""
        self._adviser: Adviser | None = None

    def next(self, state: RunState) -> tuple[Ask, Advice | None]:
        """The step to show now, with its advice; in the author's order there is none."""
        answers = state.walk.answers if state.walk else ()
        if self.by_author:
            return self.desk.ask(state, self.tree), None
        advice = self._advises(state).advise(answers)
        ask = self.desk.ask_again(state, self.tree, advice.step)
        return (ask, advice) if ask is not None else (self.desk.ask(state, self.tree), advice)

    def odds(self, state: RunState) -> tuple[tuple[str, float], ...]:
        """The likeliest causes in words with their chances, to be kept with what is left to fix."""
        answers = state.walk.answers if state.walk else ()
        return tuple((c.what, round(c.chance, 3)) for c in self._advises(state).advise(answers).likely[:KEPT])

    def likely(self, state: RunState) -> Advice:
        """The causes that are still likely, whichever order is followed."""
        return self._advises(state).advise(state.walk.answers if state.walk else ())

    def in_time(self, state: RunState, seconds: float | None) -> tuple[str, str] | None:
        """(node, line) of the step that is clearly likelier to help in the seconds that are left; None when none is.

        Asked only when time is short: between 20 seconds and 20 minutes.
        """
        if seconds is None or self.by_author or not SHORT[0] <= seconds <= SHORT[1]:
            return None
        answers = state.walk.answers if state.walk else ()
        # Rounded, so that what was shown does not change with every second.
        found = self._advises(state).in_time(answers, max(SHORT[0], seconds // 30 * 30))
        ask = self.desk.ask_again(state, self.tree, found.step) if found else None
        if found is None or ask is None:
            return None
        chances = f"{round(100 * found.chance)}% against {round(100 * found.instead_of)}%"
        return found.step, f"in the time left this is likelier to bring sound back ({chances}): {ask.do}"

    def spares_left(self, spare: str) -> int:
        """How many of a spare are left, as far as rig and log say; what needs one of which none is left is not offered."""
        return max(0, spares_carried(self.desk.rig, spare) - self.used[spare.casefold()])

    def switch_order(self) -> None:
        """From the computed order to the author's, or back."""
        self.by_author = not self.by_author

    def switch_goal(self) -> None:
        """From restoring first to looking for the cause, or back."""
        self.restore_first = not self.restore_first
        self._adviser = None

    def _advises(self, state: RunState) -> Adviser:
        if self._adviser is None:
            self._adviser = Adviser(
                self.tree,
                facts=self.desk.conditions(),
                known=self.desk.walk_fields(state),
                learned=self._learned(state),
                used=[spare for spare in self.used if not self.spares_left(spare)],
                workarounds=self.restore_first,
            )
        return self._adviser

    def _learned(self, state: RunState) -> Learned:
        show = self.desk.tonight()
        venues = self.desk.book().same_place(show.venue) if show else set()
        fault = state.walk.fault if state.walk else str(self.tree.fault)
        now = self.desk.world.clock.now()
        return learn(self.tree, lessons(self._walks, fault, venues=venues, rig=str(self.desk.rig.rig), now=now))


def open_hunt(desk: Desk, item: ToFix) -> Session:
    """A run that looks for the cause of a to-fix item: its tree again, with the answers that were given then.

    What had only restored sound is not carried over, nor what could not be done. The walk says that it seeks the cause.
    FileTrouble when the item came from no walk or its tree is gone.
    """
    walks = logged_walks(desk.keeper.events_of(WALK_EVENTS))
    held = next((w.walk for w in walks if w.walk.walk == item.walk), None)
    if held is None:
        raise FileTrouble("This item did not come from a fault walk.", "Look for it with w, by what you hear.")
    if held.fault not in desk.library.trees:
        raise FileTrouble(f"The fault tree '{held.fault}' is not here any more.", "Look for it with w.")
    session = desk.start_bare()
    state = desk.open_walk(session, held.fault)
    if state.walk is not None:
        possible = dict(state.walk.outline)
        kept = [(n, a) for n, a in held.answers if a in possible.get(n, ()) and a != WORKED]
        if kept:
            session.record(*(ev.WalkAnswered(state.walk.walk, n, a, CARRIED) for n, a in kept))
    return session


def is_hunt(state: RunState) -> bool:
    """Whether the open walk carries answers of an earlier one: then the cause is sought."""
    last = next((e.event for e in state.history if isinstance(e.event, ev.WalkAnswered)), None)
    return last is not None and last.source == CARRIED and not state.plan.steps


def restores_first(state: RunState) -> bool:
    """Whether sound comes before cause: during the set, and in a fault walk outside of any playbook."""
    return state.plan.playbook in ("", IN_THE_SET) and not is_hunt(state)


def spares_in_use(desk: Desk, state: RunState, walks: Iterable[LoggedWalk]) -> Counter[str]:
    """How often each spare is in use: it restored sound tonight, or is held by an open item of the to-fix list."""
    tonight = {record.id for record in desk.keeper.runs(limit=50) if desk.show and record.show == desk.show}
    mine = [*state.walks, *(w.walk for w in walks if w.run in tonight and w.run != state.run)]
    used = Counter(walk.uses.casefold() for walk in mine if walk.restored and walk.uses)
    counted = {walk.walk for walk in mine}
    used.update(i.uses.casefold() for i in desk.book().open_items() if i.uses and i.walk not in counted)
    return used


def spares_carried(rig: Rig, spare: str) -> int:
    """How many of a spare the rig has: spare packs and lines, or the count of its `spares`; 1 when it does not say."""
    words = set(spare.casefold().split()) - {"spare", "spares"}
    if "pack" in words:
        return max(1, sum(pack.spare for pack in rig.packs))
    if words & {"channel", "line", "input"}:
        return max(1, sum(line.spare for line in rig.inputs))
    for held in rig.spares:
        if held.have is not None and words and words <= set(held.name.casefold().replace("-", " ").split()):
            return held.have
    return 1
