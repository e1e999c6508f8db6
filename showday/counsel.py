"""Which step of an open fault walk comes next, and why: computed, or in the author's order when that is wanted.

Made once for a walk: the tree as it was when the walk began, what the log has taught about it until then, the spares that
are in use. From then on only the answers count, so that advice that was shown does not change.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from showday.desk import Desk
from showday.errors import FileTrouble
from showday.fault.advise import Advice, Adviser, left_out
from showday.fault.heard import HEARD_SURE, Evidence, heard_answers
from showday.fault.learn import Learned, learn
from showday.fault.model import Fix, Tree
from showday.fault.walk import HELP, WORKED, Ask, next_ask
from showday.rig.model import Rig
from showday.run import events as ev
from showday.run.past_walks import WALK_EVENTS, LoggedWalk, lessons, logged_walks
from showday.run.session import Session
from showday.run.slot import slot_time
from showday.run.state import RunState, WalkState
from showday.run.touring import ToFix
from showday.spares import is_frequency, spares_left
from showday.text.values import duration

IN_THE_SET = "during-the-set"
"""The playbook in which sound comes before cause."""
KEPT = 5
"""Causes that are kept with an item of the to-fix list."""
MOST_RUNS = 100
"""Newest runs with a walk of the tree that are learned from: what is older was years ago even for an act that is on the
road all year, and weighs next to nothing (a choice of this program)."""
LEAST = 0.005
"""Causes under this chance are not kept."""
SHORT = (20.0, 1200.0)
"""Seconds left between which the other goal, sound back in time, is looked at (a choice of this program)."""
ROUNDED = 30.0
"""The seconds left are rounded down to so many, from two minutes on to minutes, so that what was said stands a while."""


@dataclass(frozen=True, slots=True)
class InTime:
    """A step that is clearly likelier to bring sound back in the time that is left."""

    step: str
    do: str
    left: float
    """Seconds."""
    chances: str
    """`62% against 48%`: with it and with the suggested step."""

    def line(self, *, short: bool = False) -> str:
        """In one line; `short` for a small screen."""
        when = "in time" if short else f"to bring sound back in the {duration(self.left)} left"
        return f"likelier {when} ({self.chances}): {self.do}"


class Counsel:
    """The advice of one open fault walk."""

    def __init__(self, desk: Desk, state: RunState, tree: Tree, *, by_author: bool = False) -> None:
        self.desk = desk
        self.tree = tree
        self.by_author = by_author
        self._walks = walks_of(desk, state.walk.fault if state.walk else str(tree.fault))
        self.used = spares_in_use(desk, state)
        self._about = (state.walk.thing, state.walk.walk) if state.walk else (("", ""), "")
        self.restore_first = restores_first(state)
        """Whether workarounds are offered beside cures: in the set, and for a fault outside of any playbook."""
        self._adviser: Adviser | None = None
        self._heard: frozenset[str] = frozenset()
        self._in_time: dict[tuple[object, ...], InTime | None] = {}

    def next(self, state: RunState) -> tuple[Ask, Advice | None]:
        """The step to show now, with its advice; in the author's order there is none."""
        if self.by_author:
            return self._by_author(state), None
        advice = self.likely(state)
        ask = self.desk.ask_again(state, self.tree, advice.step)
        return (ask, advice) if ask is not None else (self._by_author(state), advice)

    def _by_author(self, state: RunState) -> Ask:
        """The author's next step, workarounds included unless a cause is hunted; never one whose spare is used up."""
        answers = state.walk.answers if state.walk else ()
        skipped = left_out(self.tree, self._gone(), workarounds=not is_hunt(state))
        known = self.desk.walk_fields(state)
        return next_ask(self.tree, [*answers, *skipped], facts=self.desk.conditions(), known=known)

    def odds(self, state: RunState, cause: str = "") -> tuple[tuple[str, float], ...]:
        """The likeliest causes in words with their chances, to be kept with what is left to fix.

        Only the confirmed one when that is known; none when nothing was found out, or nothing is left to fix.
        """
        walk = state.walk
        if walk is None or not walk.answers or (cause and not walk.workaround):
            return ()
        likely = self._advises(state).likely(walk.answers)
        if cause:
            return tuple((c.what, 1.0) for c in likely if c.cause == cause)
        return tuple((c.what, round(c.chance, 3)) for c in likely[:KEPT] if c.chance >= LEAST)

    def likely(self, state: RunState) -> Advice:
        """The causes that are still likely, whichever order is followed."""
        return self._advises(state).advise(state.walk.answers if state.walk else ())

    def in_time(self, state: RunState) -> InTime | None:
        """The step that is clearly likelier to help before the show's slot; None when none is.

        Asked only when time is short: between 20 seconds and 20 minutes before it, and not in the author's order.
        """
        seconds = self._seconds_left()
        if seconds is None or self.by_author or not SHORT[0] <= seconds <= SHORT[1]:
            return None
        rounded = ROUNDED if seconds < 4 * ROUNDED else 2 * ROUNDED
        left = max(SHORT[0], seconds // rounded * rounded)
        key = (state.walk.answers if state.walk else (), left, self.restore_first)
        if key not in self._in_time:
            self._in_time[key] = self._likelier(state, left)
        return self._in_time[key]

    def _likelier(self, state: RunState, left: float) -> InTime | None:
        found = self._advises(state).in_time(state.walk.answers if state.walk else (), left)
        ask = self.desk.ask_again(state, self.tree, found.step) if found else None
        if found is None or ask is None:
            return None
        chances = f"{round(100 * found.chance)}% against {round(100 * found.instead_of)}%"
        return InTime(found.step, ask.do, left, chances)

    def _seconds_left(self) -> float | None:
        """Seconds until the show's slot, which is the end of its changeover; None when it is not known."""
        show = self.desk.tonight()
        slot = slot_time(show, None) if show else None
        return (slot - self.desk.world.clock.now()).total_seconds() if slot else None

    def stopgap_waits(self, state: RunState) -> bool:
        """Whether a workaround is left that the other goal would offer."""
        if self.restore_first or state.walk is None or state.walk.item:
            return False
        gone = {node for node, _ in [*state.walk.answers, *left_out(self.tree, self._gone(), workarounds=True)]}
        return any(isinstance(n, Fix) and n.workaround and n.id not in gone for n in self.tree.nodes())

    def spares_left(self, spare: str) -> int:
        """How many of a spare are left, as far as plan, rig and log say; what needs one that is gone is not offered."""
        if is_frequency(spare) and (planned := spares_left(self.desk, *self._about)) is not None:
            return planned
        return max(0, spares_carried(self.desk.rig, spare) - self.used[spare.casefold()])

    def _gone(self) -> list[str]:
        wanted = {n.uses.casefold() for n in self.tree.nodes() if isinstance(n, Fix) and is_frequency(n.uses)}
        return [spare for spare in sorted({*self.used, *wanted}) if not self.spares_left(spare)]

    def switch_order(self) -> None:
        """From the computed order to the author's, or back."""
        self.by_author = not self.by_author

    def switch_goal(self) -> None:
        """From restoring first to looking for the cause, or back."""
        self.restore_first = not self.restore_first
        self._adviser = None

    def _advises(self, state: RunState) -> Adviser:
        heard = heard_nodes(state)
        if self._adviser is None or heard != self._heard:
            self._heard = heard
            self._adviser = Adviser(
                self.tree,
                facts=self.desk.conditions(),
                known=self.desk.walk_fields(state),
                learned=_trusting(self.learned(state), heard),
                used=self._gone(),
                workarounds=self.restore_first,
            )
        return self._adviser

    def learned(self, state: RunState) -> Learned:
        """What the log has taught about the tree, here and now."""
        show = self.desk.tonight()
        venues = self.desk.book().same_place(show.venue) if show else set()
        fault = state.walk.fault if state.walk else str(self.tree.fault)
        now = self.desk.world.clock.now()
        walks = lessons(self._walks, fault, venues=venues, rig=str(self.desk.rig.rig), now=now)
        return learn(self.tree, walks, placed=bool(venues))


def _trusting(learned: Learned, heard: Iterable[str]) -> Learned:
    """The numbers with the checks that listening answered trusted as much as listening is."""
    checks = {**learned.numbers.checks, **dict.fromkeys(heard, HEARD_SURE)}
    return replace(learned, numbers=replace(learned.numbers, checks=checks))


def heard_nodes(state: RunState) -> frozenset[str]:
    """The checks of the open walk whose last answer was given by listening."""
    walk = state.walk.walk if state.walk else ""
    answered = [e.event for e in state.history if isinstance(e.event, ev.WalkAnswered) and e.event.walk == walk]
    return frozenset(node for node, source in {a.node: a.source for a in answered}.items() if source == ev.HEARD)


def answer_by_ear(session: Session, tree: Tree, evidence: Evidence) -> list[tuple[str, str]]:
    """Give the open walk the answers that were heard, each marked so; a check that has an answer keeps it.

    Gives back (check, answer) of what was answered. Each can be answered again or undone like any other.
    """
    walk = session.state.walk
    if walk is None:
        return []
    given = {node for node, _ in walk.answers}
    fresh = [(node, answer) for node, answer in heard_answers(tree, evidence) if node not in given]
    if fresh:
        session.record(*(ev.WalkAnswered(walk.walk, node, answer, ev.HEARD) for node, answer in fresh))
    return fresh


def open_hunt(desk: Desk, item: ToFix) -> Session:
    """A run that looks for the cause of a to-fix item: its tree again, with the answers that were given then.

    One that was broken off is gone on with. Not carried over are "can't now" and "don't know", the call for help, and a
    cure that did not last: those may be asked again. FileTrouble when the item came from no walk or its tree is gone.
    """
    walks = logged_walks(desk.keeper.events_of(WALK_EVENTS, [item.run]))
    held = next((w.walk for w in walks if w.walk.walk == item.walk), None)
    if held is None:
        raise FileTrouble("This item did not come from a fault walk.", "Walk the fault by what you hear instead.")
    if broken_off := _broken_off(desk, item):
        return broken_off
    session = desk.start_bare()
    walk = desk.open_walk(session, held.fault, item=item.id, like=held).walk
    if walk is not None and (kept := _still_sensible(desk.tree_of(session.state), walk, held)):
        session.record(*(ev.WalkAnswered(walk.walk, node, answer, ev.CARRIED) for node, answer in kept))
    return session


def _broken_off(desk: Desk, item: ToFix) -> Session | None:
    """The unfinished run that looks for the cause of an item already."""
    for record in desk.unfinished():
        if record.playbook:
            continue
        opened = [e.event for e in desk.keeper.entries(record.id) if isinstance(e.event, ev.WalkOpened)]
        if opened and opened[-1].item == item.id:
            session = desk.resume_run(record.id)
            if session.state.walk is not None:
                return session
            session.finish(ev.STOPPED)
    return None


def _still_sensible(tree: Tree, walk: WalkState, held: WalkState) -> list[tuple[str, str]]:
    """Answers of an earlier walk that the tree of today has and that still say something about the cause."""
    possible = dict(walk.outline)
    stopgaps = {str(n.id) for n in tree.nodes() if isinstance(n, Fix) and n.workaround}
    known = [(n, a) for n, a in held.answers if a in possible.get(n, ()) and n != HELP]
    return [(n, a) for n, a in known if a != WORKED or n in stopgaps]


def is_hunt(state: RunState) -> bool:
    """Whether the open walk looks for the cause of a to-fix item."""
    return state.walk is not None and bool(state.walk.item)


def restores_first(state: RunState) -> bool:
    """Whether sound comes before cause: during the set, and in a fault walk outside of any playbook."""
    return state.plan.playbook in ("", IN_THE_SET) and not is_hunt(state)


def walks_of(desk: Desk, fault: str) -> list[LoggedWalk]:
    """The walks of one tree in the newest runs that had any."""
    return logged_walks(desk.keeper.events_of(WALK_EVENTS, desk.keeper.walked(fault, MOST_RUNS)))


def spares_in_use(desk: Desk, state: RunState) -> Counter[str]:
    """How often each spare is in use: it restored sound tonight, or is held by an open item of the to-fix list."""
    tonight = [record.id for record in desk.keeper.runs(limit=50) if desk.show and record.show == desk.show]
    walks = logged_walks(desk.keeper.events_of(WALK_EVENTS, [run for run in tonight if run != state.run]))
    items = desk.book().items.values()
    cured = {item.walk for item in items if item.closed}
    mine = [*state.walks, *(w.walk for w in walks)]
    counted = {walk.walk for walk in mine}
    used = Counter(w.uses.casefold() for w in mine if w.restored and w.uses and w.walk not in cured)
    used.update(i.uses.casefold() for i in items if i.uses and not i.closed and i.walk not in counted)
    return used


def spares_carried(rig: Rig, spare: str) -> int:
    """How many of a spare the rig has: spare packs and lines, or the count of its `spares`; 1 when it does not say."""
    words = set(spare.casefold().split()) - {"spare", "spares"}
    if "pack" in words and (packs := sum(pack.spare for pack in rig.packs)):
        return packs
    if words & {"channel", "line", "input"} and (lines := sum(line.spare for line in rig.inputs)):
        return lines
    for held in rig.spares:
        if held.have is not None and words and words <= set(held.name.casefold().replace("-", " ").split()):
            return held.have
    return 1
