"""The p/c rule: fixes by chance over time, re-ranked after each failure, stopped for help where that is best.

Sorting by chance over time is optimal when every fix cures its own cause only and nothing is asked (Jensen et al. 2001,
proposition 2 and theorem 1; of look-then-fix steps only the look counts: Breese and Heckerman, UAI 1996, section 2);
re-ranking handles fixes that share causes within a factor of four (Langseth and Jensen 2003). A group is ranked by its
best prefix, max over k of (p_1+…+p_k) / (opening + c_1+…+c_k) (Ottosen and Jensen, arXiv 1203.3502). Every stopping point
for help is priced, for the rule "call when no p/c beats 1/help" is not optimal (Jensen et al. 2001, 2.3).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from collections.abc import Sequence as Weights
from dataclasses import dataclass, field
from heapq import heapify, heappop, heapreplace

from showday.fault.diagnosis import Belief, Model, bits, opening

TINY = 1e-12
"""A share of the belief's mass too small to act on."""
NO_TIME = 1e-9
"""Seconds that stand for a step without any, so that it can be ranked."""


@dataclass(frozen=True, slots=True)
class Sequence:
    """A run of steps, then help. `cost` is expected seconds times the belief's mass."""

    cost: float
    steps: tuple[int, ...]
    """Steps of the model by their bits; a check among them only opens the way to a fix that must come after it, and its
    answer is not used. Empty when calling for help at once is best."""


@dataclass(slots=True)
class _Course:
    """A sequence in the making."""

    weights: list[float]
    done: int
    opened: int
    left: float
    """Chance that nothing has helped so far, times the mass."""
    tiny: float
    best: float
    spent: float = 0.0
    steps: list[int] = field(default_factory=list)
    upto: int = 0
    """How many of the steps to take before help."""


class Ranker:
    """The p/c rule over one model, prepared once."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.shift = len(model.questions)
        self.covers = [tuple((f, s) for f, s in enumerate(a.cures) if s > 0.0) for a in model.actions]
        self.seconds = [max(a.seconds, NO_TIME) for a in model.actions]
        self.repair = [a.repair for a in model.actions]
        self.group = [a.group for a in model.actions]
        self.inside = [[a for a, of in enumerate(self.group) if of == g] for g in range(len(model.groups))]
        self.bound = [(a, action.after) for a, action in enumerate(model.actions) if action.after]
        """Fixes that must come after something."""
        self.closure = closures(model)
        self.order = sorted(range(model.steps), key=lambda step: (self.closure[step].bit_count(), step))
        """Steps so that each stands behind what it must come after."""
        self.cured = {f for cover in self.covers for f, _ in cover}
        self.never = [f for f in range(len(model.causes)) if f not in self.cured]

    def run(self, belief: Belief) -> Sequence:
        """The sequence from a belief, without any question."""
        course = self._course(belief.weights, belief.done, belief.opened)
        return Sequence(course.best, tuple(course.steps[: course.upto]))

    def cost(self, weights: Weights[float], done: int, opened: int) -> float:
        """Expected seconds times mass of the sequence."""
        return self._course(weights, done, opened).best

    def _course(self, weights: Weights[float], done: int, opened: int) -> _Course:
        mass = sum(weights)
        course = _Course(list(weights), done, opened, mass, mass * TINY, mass * self.model.help_seconds)
        if mass <= 0.0:
            return course
        while self._blocked(course.done):
            way = self._best_way(course)
            if way is None:
                return course
            self._take(course, way)
        self._run_free(course)
        return course

    def _blocked(self, done: int) -> bool:
        """Whether a fix that is not done must wait for another step."""
        return any(after & ~done and not done >> self.shift + a & 1 for a, after in self.bound)

    def _best_way(self, course: _Course) -> int | None:
        """The first step of the way with the best chance over time; a way is a fix and all it must come after."""
        best, chosen = 0.0, None
        for a in range(len(self.covers)):
            if course.done >> self.shift + a & 1 or self._chance(course.weights, a) <= course.tiny:
                continue
            way = self._way(self.shift + a, course.done)
            gained, spent, opened = 0.0, 0.0, course.opened
            for step in way:
                taken = self.model.step(step)
                spent += max(taken.seconds, NO_TIME) + opening(self.model, opened, taken.group)
                opened |= 1 << taken.group if taken.group >= 0 else 0
                gained += self._chance(course.weights, step - self.shift) if step >= self.shift else 0.0
            if len(way) == 1 and opened != course.opened and self._leads(course.weights, course.done, a):
                gained, spent = self._prefix(course.weights, course.done, self.group[a])
            if gained > best * spent:
                best, chosen = gained / spent, way[0]
        return chosen

    def _way(self, step: int, done: int) -> list[int]:
        """A step behind everything that it must still come after, in an order that can be walked."""
        before = self.closure[step] & ~done
        if not before:
            return [step]
        return [other for other in self.order if before >> other & 1] + [step]

    def _chance(self, weights: Weights[float], action: int) -> float:
        return sum(weights[f] * s for f, s in self.covers[action])

    def _take(self, course: _Course, step: int) -> None:
        taken = self.model.step(step)
        course.spent += course.left * (taken.seconds + opening(self.model, course.opened, taken.group))
        if taken.group >= 0:
            course.opened |= 1 << taken.group
        course.done |= 1 << step
        course.steps.append(step)
        if step >= self.shift:
            repair = self.repair[step - self.shift]
            for f, s in self.covers[step - self.shift]:
                course.spent += repair * course.weights[f]
                course.left -= course.weights[f] * s
                course.weights[f] *= 1.0 - s
        cost = course.spent + course.left * self.model.help_seconds
        if cost < course.best:
            course.best, course.upto = cost, len(course.steps)

    def _run_free(self, course: _Course) -> None:
        """The fixes that nothing blocks: their rates only fall, so each is looked at again only on top of the heap.

        The end comes early when even the best rate does not pay for the causes that no fix cures.
        """
        weights, covers, seconds, repair, group = course.weights, self.covers, self.seconds, self.repair, self.group
        help_seconds, shift, tiny = self.model.help_seconds, self.shift, course.tiny
        heap = self._heap(course)
        floor = -sum([weights[f] for f in self.never]) / help_seconds
        spent, left, best = course.spent, course.left, course.best
        while heap:
            rate, a = heap[0]
            if rate >= floor:
                break
            if a < 0:
                gained, lasts = self._prefix(weights, course.done, -1 - a)
                now = -gained / lasts
            else:
                gained = 0.0
                for f, s in covers[a]:
                    gained += weights[f] * s
                now = -gained / seconds[a]
            if now > rate:
                if gained > tiny:
                    heapreplace(heap, (now, a))
                else:
                    heappop(heap)
                continue
            heappop(heap)
            if a < 0:
                self._open(course, -1 - a, heap)
                spent += left * self.model.groups[-1 - a]
                continue
            spent += left * seconds[a]
            if repair[a]:
                for f, _ in covers[a]:
                    spent += repair[a] * weights[f]
            for f, s in covers[a]:
                weights[f] *= 1.0 - s
            left -= gained
            course.steps.append(shift + a)
            if spent + left * help_seconds < best:
                best, course.upto = spent + left * help_seconds, len(course.steps)
        course.best = best

    def _heap(self, course: _Course) -> list[tuple[float, int]]:
        """(-rate, fix) of what may come; a closed group stands as one entry, numbered -1 - group."""
        weights, seconds, tiny = course.weights, self.seconds, course.tiny
        undone = ~course.done >> self.shift
        heap: list[tuple[float, int]] = []
        closed: set[int] = set()
        for a, cover in enumerate(self.covers):
            if not undone >> a & 1:
                continue
            group = self.group[a]
            if group >= 0 and not course.opened >> group & 1:
                closed.add(group)
                continue
            chance = 0.0
            for f, s in cover:
                chance += weights[f] * s
            if chance > tiny:
                heap.append((-chance / seconds[a], a))
        for group in closed:
            gained, lasts = self._prefix(weights, course.done, group)
            if gained > tiny:
                heap.append((-gained / lasts, -1 - group))
        heapify(heap)
        return heap

    def _open(self, course: _Course, group: int, heap: list[tuple[float, int]]) -> None:
        """Put a group's fixes into the heap, each on its own."""
        course.opened |= 1 << group
        for a in self.inside[group]:
            if not course.done >> self.shift + a & 1:
                heap.append((-self._chance(course.weights, a) / self.seconds[a], a))
        heapify(heap)

    def _prefix(self, weights: Weights[float], done: int, group: int) -> tuple[float, float]:
        """(chance, time with the opening) of a group's best prefix."""
        members = (a for a in self.inside[group] if not done >> self.shift + a & 1)
        chances = ((self._chance(weights, a), self.seconds[a]) for a in members)
        return _best_prefix(chances, self.model.groups[group])

    def ranked(self, weights: Weights[float], done: int, opened: int) -> list[tuple[float, int]]:
        """Fixes that may come now with their chance over time, best first; a closed group's fixes by its best prefix."""
        out = []
        least = sum(weights) * TINY
        for a in range(len(self.covers)):
            if done >> self.shift + a & 1 or self.model.actions[a].after & ~done:
                continue
            chance = self._chance(weights, a)
            if chance <= least:
                continue
            seconds, group = self.seconds[a], self.group[a]
            if group >= 0 and not opened >> group & 1:
                own = chance / (seconds + self.model.groups[group])
                gained, lasts = self._prefix(weights, done, group)
                out.append((max(own, gained / lasts) if self._leads(weights, done, a) else own, a))
            else:
                out.append((chance / seconds, a))
        return sorted(out, key=lambda pair: (-pair[0], pair[1]))

    def _leads(self, weights: Weights[float], done: int, action: int) -> bool:
        """Whether a fix is the one that its group's best prefix begins with."""
        members = (a for a in self.inside[self.group[action]] if not done >> self.shift + a & 1)
        return action == min(members, key=lambda a: (-self._chance(weights, a) / self.seconds[a], a))


def closures(model: Model) -> list[int]:
    """For each step the mask of all steps that must come before it, directly or through others."""
    masks = [model.after(step) for step in range(model.steps)]
    for _ in range(model.steps):
        wider = list(masks)
        for step, mask in enumerate(masks):
            for other in bits(mask):
                wider[step] |= masks[other]
        if wider == masks:
            break
        masks = wider
    return masks


def _best_prefix(members: Iterable[tuple[float, float]], opening_seconds: float) -> tuple[float, float]:
    """(chance, time) of the prefix with the best ratio, the members taken by chance over time."""
    best = (0.0, max(opening_seconds, NO_TIME))
    for gained, spent in _prefixes(members, opening_seconds):
        if gained * best[1] > best[0] * spent:
            best = (gained, spent)
    return best


def _prefixes(members: Iterable[tuple[float, float]], opening_seconds: float) -> Iterator[tuple[float, float]]:
    gained, spent = 0.0, opening_seconds
    for chance, seconds in sorted(members, key=lambda pair: -pair[0] / pair[1]):
        gained += chance
        spent += seconds
        yield gained, spent
