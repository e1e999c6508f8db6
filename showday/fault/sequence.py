"""The p/c rule: fixes by chance over time, re-ranked after each failure, stopped for help where that is best.

Sorting by chance over time is optimal when every fix cures its own cause only and nothing is asked (Jensen et al. 2001,
proposition 2 and theorem 1); re-ranking handles fixes that share causes within a factor of four. A group is ranked
by its best prefix, max over k of (p_1+…+p_k) / (opening + c_1+…+c_k) (Ottosen and Jensen, arXiv 1203.3502). Every
stopping point for help is priced, for the rule "call when no p/c beats 1/help" is not optimal (Jensen et al. 2001, 2.3).
"""

from __future__ import annotations

from dataclasses import dataclass
from heapq import heapify, heappop, heapreplace

from showday.fault.diagnosis import Belief, Model

TINY = 1e-12


@dataclass(frozen=True, slots=True)
class Sequence:
    """A run of fixes, then help. `cost` is expected seconds times the belief's mass."""

    cost: float
    actions: tuple[int, ...]
    """Indexes into `model.actions`; empty when calling for help at once is best."""


class Ranker:
    """The p/c rule over one model, prepared once."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.shift = len(model.questions)
        self.covers = [tuple((f, s) for f, s in enumerate(a.cures) if s > 0.0) for a in model.actions]
        self.by_cause: list[list[tuple[int, float]]] = [[] for _ in model.causes]
        for index, action in enumerate(model.actions):
            for cause, chance in enumerate(action.cures):
                if chance > 0.0:
                    self.by_cause[cause].append((index, chance))

        self.simple = not model.groups and not any(a.after or a.repair for a in model.actions)

    def run(self, belief: Belief) -> Sequence:
        """The sequence from a belief, without any question."""
        return self._quick(belief) if self.simple else self._full(belief)

    def _quick(self, belief: Belief) -> Sequence:
        """Without groups and constraints: unnormalised rates only fall, so a heap needs each looked at again only on top."""
        actions, covers = self.model.actions, self.covers
        weights = list(belief.weights)
        undone = ~belief.done >> self.shift
        left = sum(weights)
        heap = []
        for a, cover in enumerate(covers):
            if undone >> a & 1:
                chance = 0.0
                for f, s in cover:
                    chance += weights[f] * s
                if chance > TINY:
                    heap.append((-chance / actions[a].seconds, a))
        heapify(heap)
        help_seconds = self.model.help_seconds
        spent, best, order, upto = 0.0, left * help_seconds, [], 0
        while heap:
            rate, a = heap[0]
            chance = 0.0
            for f, s in covers[a]:
                chance += weights[f] * s
            seconds = actions[a].seconds
            now = -chance / seconds
            if now > rate + TINY:
                if chance > TINY:
                    heapreplace(heap, (now, a))
                else:
                    heappop(heap)
                continue
            heappop(heap)
            spent += left * seconds
            for f, s in covers[a]:
                weights[f] *= 1.0 - s
            left -= chance
            order.append(a)
            cost = spent + left * help_seconds
            if cost < best:
                best, upto = cost, len(order)
        return Sequence(best, tuple(order[:upto]))

    def _full(self, belief: Belief) -> Sequence:
        model, shift = self.model, self.shift
        weights = list(belief.weights)
        done, opened = belief.done, belief.opened
        left = sum(weights)
        chance = [sum(weights[f] * s for f, s in cover) for cover in self.covers]
        free = [a for a in range(len(model.actions)) if not done >> shift + a & 1]
        spent = 0.0
        best, order, upto = left * model.help_seconds, [], 0
        while free and left > TINY:
            chosen = self._best(free, chance, done, opened)
            if chosen is None:
                break
            action = model.actions[chosen]
            seconds = action.seconds
            if action.group >= 0 and not opened >> action.group & 1:
                seconds += model.groups[action.group]
                opened |= 1 << action.group
            spent += left * seconds
            if action.repair:
                spent += action.repair * sum(weights[f] for f, _ in self.covers[chosen])
            for cause, works in self.covers[chosen]:
                lost = weights[cause] * works
                weights[cause] -= lost
                left -= lost
                for other, other_works in self.by_cause[cause]:
                    chance[other] -= lost * other_works
            free.remove(chosen)
            done |= 1 << shift + chosen
            order.append(chosen)
            cost = spent + left * model.help_seconds
            if cost < best:
                best, upto = cost, len(order)
        return Sequence(best, tuple(order[:upto]))

    def ranked(self, belief: Belief) -> list[tuple[float, int]]:
        """Actions that may come now with their chance over time, best first; a closed group counts by its best prefix."""
        chance = [sum(belief.weights[f] * s for f, s in cover) for cover in self.covers]
        free = [a for a in range(len(self.model.actions)) if not belief.done >> self.shift + a & 1]
        rates = self._rates(free, chance, belief.done, belief.opened)
        return sorted(((rate, a) for a, rate in rates), key=lambda pair: (-pair[0], pair[1]))

    def _best(self, free: list[int], chance: list[float], done: int, opened: int) -> int | None:
        best, best_rate = None, TINY
        for action, rate in self._rates(free, chance, done, opened):
            if rate > best_rate:
                best, best_rate = action, rate
        return best

    def _rates(self, free: list[int], chance: list[float], done: int, opened: int) -> list[tuple[int, float]]:
        """(action, chance over time) of every action that may come now."""
        out = []
        closed: dict[int, list[int]] = {}
        for a in free:
            action = self.model.actions[a]
            if chance[a] <= TINY or action.after & ~done:
                continue
            if action.group >= 0 and not opened >> action.group & 1:
                closed.setdefault(action.group, []).append(a)
            else:
                out.append((a, chance[a] / action.seconds))
        for group, members in closed.items():
            # Only the group's best member carries the rate of the best prefix: it is the one to begin with.
            members.sort(key=lambda a: -chance[a] / self.model.actions[a].seconds)
            gained, spent, rate = 0.0, self.model.groups[group], 0.0
            for a in members:
                gained += chance[a]
                spent += self.model.actions[a].seconds
                rate = max(rate, gained / spent)
            out.append((members[0], rate))
        return out


