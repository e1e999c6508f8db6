"""The p/c rule: fixes by chance over time, re-ranked after each failure, stopped for help where that is best.

Sorting by chance over time is optimal when every fix cures its own cause only and nothing is asked (Jensen et al. 2001,
proposition 2 and theorem 1; of look-then-fix steps only the look counts: Breese and Heckerman, UAI 1996, section 2);
re-ranking handles fixes that share causes within a factor of four (Langseth and Jensen 2003). A group is ranked by its
best prefix, max over k of (p_1+…+p_k) / (opening + c_1+…+c_k) (Ottosen and Jensen, arXiv 1203.3502). Every stopping point
for help is priced, for the rule "call when no p/c beats 1/help" is not optimal (Jensen et al. 2001, 2.3).
"""

from __future__ import annotations

from collections.abc import Iterable
from collections.abc import Sequence as Weights
from dataclasses import dataclass, field
from heapq import heapify, heappop, heappush, heapreplace

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
    """A sequence in the making: odds and times change as it goes on, the heap holds what may come next."""

    weights: list[float]
    done: int
    opened: int
    tiny: float
    steps: list[int] = field(default_factory=list)
    heap: list[tuple[float, int]] = field(default_factory=list)
    """(-rate, number): a fix; behind the fixes the closed groups; behind those the ways to fixes that must wait."""


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
        self.first_group = len(model.actions)
        self.first_way = self.first_group + len(model.groups)
        self.closure = closures(model)
        self.order = sorted(range(model.steps), key=lambda step: (self.closure[step].bit_count(), step))
        """Steps so that each stands behind what it must come after."""
        self.bound = [a for a, action in enumerate(model.actions) if action.after]
        """Fixes that must come after something."""
        self.waited_for = 0
        for a in self.bound:
            self.waited_for |= self.closure[self.shift + a]
        cured = {f for cover in self.covers for f, _ in cover}
        self.never = [f for f in range(len(model.causes)) if f not in cured]

    def run(self, belief: Belief) -> Sequence:
        """The sequence from a belief, without any question."""
        return self._run(belief.weights, belief.done, belief.opened)

    def _run(self, given: Weights[float], done: int, opened: int) -> Sequence:
        """Rates only fall, so each entry of the heap is looked at again only when it stands on top.

        The end comes early when even the best rate does not pay for the causes that no fix cures.
        """
        weights = list(given)
        left = sum(weights)
        course = _Course(weights, done, opened, left * TINY)
        heap = self._fill(course)
        covers, seconds, repair, shift, waited_for = (
            self.covers,
            self.seconds,
            self.repair,
            self.shift,
            self.waited_for,
        )
        help_seconds, first_group, tiny, steps = self.model.help_seconds, self.first_group, course.tiny, course.steps
        floor = -sum([weights[f] for f in self.never]) / help_seconds
        spent, best, upto = 0.0, left * help_seconds, 0
        while heap:
            rate, a = heap[0]
            if rate >= floor:
                break
            forced = a >= first_group
            if forced:
                lost, a = self._special(course)
                spent += left * lost
                if a < 0:
                    continue
            gained = 0.0
            for f, s in covers[a]:
                gained += weights[f] * s
            if not forced:
                now = -gained / seconds[a]
                if now > rate and gained > tiny:
                    heapreplace(heap, (now, a))
                    continue
                heappop(heap)
                if now > rate:
                    continue
            spent += left * seconds[a]
            if repair[a]:
                for f, _ in covers[a]:
                    spent += repair[a] * weights[f]
            for f, s in covers[a]:
                weights[f] *= 1.0 - s
            left -= gained
            steps.append(shift + a)
            if waited_for >> shift + a & 1:
                self._passed(course, shift + a)
            if spent + left * help_seconds < best:
                best, upto = spent + left * help_seconds, len(steps)
        return Sequence(best, tuple(steps[:upto]))

    def _fill(self, course: _Course) -> list[tuple[float, int]]:
        """The heap of a course at its beginning."""
        weights, seconds, heap, tiny = course.weights, self.seconds, course.heap, course.tiny
        undone = ~course.done >> self.shift
        apart: set[int] = set()
        for a in self.bound:
            if undone >> a & 1 and self._waits(a, course.done):
                apart.add(a)
                self._push_way(course, a)
        for g, members in enumerate(self.inside):
            if members and not course.opened >> g & 1:
                apart.update(members)
                self._push_group(course, g)
        for a, cover in enumerate(self.covers):
            if undone >> a & 1 and a not in apart:
                chance = 0.0
                for f, s in cover:
                    chance += weights[f] * s
                if chance > tiny:
                    heap.append((-chance / seconds[a], a))
        heapify(heap)
        return heap

    def _special(self, course: _Course) -> tuple[float, int]:
        """Deal with a group or a way on top of the heap: the seconds that it takes, and the fix to try at once or -1."""
        rate, number = heappop(course.heap)
        group, action = number - self.first_group, number - self.first_way
        if action >= 0:
            if course.done >> self.shift + action & 1 or not self._waits(action, course.done):
                return 0.0, -1
            self._push_way(course, action)
        elif course.opened >> group & 1:
            return 0.0, -1
        else:
            self._push_group(course, group)
        if not course.heap or course.heap[0] != (rate, number):
            return 0.0, -1
        heappop(course.heap)
        return self._begin_way(course, action) if action >= 0 else (self._open(course, group), -1)

    def _begin_way(self, course: _Course, action: int) -> tuple[float, int]:
        """Take the first step of the way to a fix: a check here, a fix by telling which."""
        step = self.way(self.shift + action, course.done)[0]
        taken = self.model.step(step)
        spent = self._open(course, taken.group) if taken.group >= 0 else 0.0
        if step >= self.shift:
            # It also stands in the heap by itself; that entry goes, so that it is not tried twice.
            course.heap[:] = [entry for entry in course.heap if entry[1] != step - self.shift]
            heapify(course.heap)
            return spent, step - self.shift
        course.steps.append(step)
        self._passed(course, step)
        return spent + taken.seconds, -1

    def _passed(self, course: _Course, step: int) -> None:
        """Something that others wait for was done: put those that wait into the heap anew."""
        course.done |= 1 << step
        for a in self.bound:
            if not self.closure[self.shift + a] >> step & 1 or course.done >> self.shift + a & 1:
                continue
            group = self.group[a]
            if self._waits(a, course.done):
                self._push_way(course, a)
            elif group >= 0 and not course.opened >> group & 1:
                self._push_group(course, group)
            else:
                heappush(course.heap, (-self._chance(course.weights, a) / self.seconds[a], a))

    def _open(self, course: _Course, group: int) -> float:
        """Open a group and put its fixes into the heap, each on its own; the seconds of opening."""
        if course.opened >> group & 1:
            return 0.0
        course.opened |= 1 << group
        for a in self.inside[group]:
            if not course.done >> self.shift + a & 1 and not self._waits(a, course.done):
                heappush(course.heap, (-self._chance(course.weights, a) / self.seconds[a], a))
        return self.model.groups[group]

    def _waits(self, action: int, done: int) -> bool:
        return bool(self.model.actions[action].after & ~done)

    def _push_group(self, course: _Course, group: int) -> None:
        gained, spent = self._prefix(course.weights, course.done, group)
        if gained > course.tiny:
            heappush(course.heap, (-gained / spent, self.first_group + group))

    def _push_way(self, course: _Course, action: int) -> None:
        """A way counts by all its chances over all its time."""
        gained, spent, opened = 0.0, 0.0, course.opened
        for step in self.way(self.shift + action, course.done):
            taken = self.model.step(step)
            spent += max(taken.seconds, NO_TIME) + opening(self.model, opened, taken.group)
            opened |= 1 << taken.group if taken.group >= 0 else 0
            gained += self._chance(course.weights, step - self.shift) if step >= self.shift else 0.0
        if gained > course.tiny:
            heappush(course.heap, (-gained / spent, self.first_way + action))

    def way(self, step: int, done: int) -> list[int]:
        """A step behind everything that it must still come after, in an order that can be walked."""
        before = self.closure[step] & ~done
        return [other for other in self.order if before >> other & 1] + [step]

    def _chance(self, weights: Weights[float], action: int) -> float:
        return sum([weights[f] * s for f, s in self.covers[action]])

    def _prefix(self, weights: Weights[float], done: int, group: int) -> tuple[float, float]:
        """(chance, time with the opening) of a group's best prefix."""
        free = (a for a in self.inside[group] if not done >> self.shift + a & 1 and not self._waits(a, done))
        return _best_prefix(((self._chance(weights, a), self.seconds[a]) for a in free), self.model.groups[group])

    def ranked(self, weights: Weights[float], done: int, opened: int) -> list[tuple[float, int]]:
        """Fixes that may come now with their chance over time, best first; a closed group's best by its best prefix."""
        out = []
        least = sum(weights) * TINY
        led: set[int] = set()
        for a in range(len(self.covers)):
            if done >> self.shift + a & 1 or self._waits(a, done):
                continue
            chance = self._chance(weights, a)
            if chance <= least:
                continue
            seconds, group = self.seconds[a], self.group[a]
            if group >= 0 and not opened >> group & 1:
                seconds += self.model.groups[group]
                led.add(group)
            out.append((chance / seconds, a))
        if led:
            out = [(self._led(rate, a, weights, done, led), a) for rate, a in out]
        return sorted(out, key=lambda pair: (-pair[0], pair[1]))

    def _led(self, rate: float, action: int, weights: Weights[float], done: int, closed: set[int]) -> float:
        """The rate of a fix; of the first one inside a closed group that of the group's best prefix."""
        group = self.group[action]
        if group not in closed:
            return rate
        free = (a for a in self.inside[group] if not done >> self.shift + a & 1 and not self._waits(a, done))
        if action != min(free, key=lambda a: (-self._chance(weights, a) / self.seconds[a], a)):
            return rate
        gained, spent = self._prefix(weights, done, group)
        return gained / spent


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
    best_gained, best_spent = 0.0, max(opening_seconds, NO_TIME)
    gained, spent = 0.0, best_spent
    for chance, seconds in sorted(members, key=lambda pair: -pair[0] / pair[1]):
        gained += chance
        spent += seconds
        if gained * best_spent > best_gained * spent:
            best_gained, best_spent = gained, spent
    return best_gained, best_spent
