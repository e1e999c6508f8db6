"""When a list will be over: so many imagined evenings, drawn once, and read anew after each step.

The seconds of every step have the distribution of its `StepTime`. They hang together (a Gaussian copula): the normal
score of one step is

    u = a · day + b · kind + e · own,   a² + b² + e² = 1,

with `day` shared by everything of the evening (a slow day), `kind` by all steps of one name (twelve inputs, one habit),
and `own` by nobody. a² is the share of the days' spread in the step's variance, b² the share that comes from its
middle not being known exactly. The scores of what is done tonight are then observations with a normal law, so day and
kind have exact normal posteriors; a step that is under way adds that its score lies above the one it has reached,
drawn first from its truncated law and then used like an observation of that imagined evening.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from showday.clock.breaks import BreakDraws, Breaks
from showday.clock.student import REACH, Floats, normal_above, t_of
from showday.clock.times import StepTime
from showday.clock.totals import Totals

DRAWS = 2000
"""Imagined evenings: a chance is then known within one percent (its standard error at P50 is 1.1 %)."""
MOST_SHARED = 0.8
"""The days' share of a step's own variance is not believed to be more: a choice of this program."""
_PER_SCORE = 128
"""Nodes of a step's table for each unit of score: rounding to the nearest moves seconds by less than one percent."""
_NODES = round(2 * REACH * _PER_SCORE) + 1
_TOGETHER = 8
"""Rows read at a time, so that what is between lies in the processor's cache."""
_MIDDLE = (_NODES - 1) / 2 + 0.5
"""Where the score 0 stands in a table, with the half that makes cutting off decimals round to the nearest."""
Singles = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Kind:
    """A name's steps: their time, and the three parts of their score."""

    time: StepTime
    day: float
    kind: float
    own: float

    @classmethod
    def of(cls, time: StepTime, day_spread: float) -> Kind:
        """The parts of a time, when whole days differ by this spread of log seconds."""
        variance = time.width**2
        day = min(day_spread**2, MOST_SHARED * time.spread**2) / variance
        kind = 1.0 / (time.worth + 1.0)
        return cls(time, math.sqrt(day), math.sqrt(kind), math.sqrt(max(0.0, 1.0 - day - kind)))


@dataclass(frozen=True, slots=True)
class UnderWay:
    """A step that is begun: its row, and the seconds it has had."""

    row: int
    seconds: float


class Sample:
    """The seconds of the open steps in every imagined evening."""

    def __init__(
        self,
        rows: Sequence[int],
        seconds: Singles,
        breaks: Sequence[BreakDraws],
        slow: float,
        running: Floats | None = None,
    ) -> None:
        self.rows = tuple(rows)
        self.slow = slow
        """How many times the usual time things take tonight."""
        self._seconds = seconds
        self._breaks = breaks
        self._running = running
        """Seconds that a break which has begun still lasts."""

    def work(self, among: Sequence[int] | None = None) -> Totals:
        """Seconds of work alone, of all open rows or of some of them (places in `rows`)."""
        return Totals(self._work(among))

    def whole(self, among: Sequence[int] | None = None) -> Totals:
        """Seconds with the breaks that come between."""
        work = self._work(among)
        running = 0.0 if self._running is None else self._running
        return Totals(work + running + sum(kind.seconds(work) for kind in self._breaks))

    def _work(self, among: Sequence[int] | None) -> Floats:
        chosen = self._seconds if among is None else self._seconds[list(among)]
        made: Floats = chosen.sum(axis=0, dtype=np.float64)
        return made

    def shares(self, low: float = 0.75, high: float = 0.85) -> list[float]:
        """Each step's mean seconds in the evenings around P80: they add up to P80 of the work, which single P80s do not."""
        if not self.rows:
            return []
        work = self._work(None)
        order = np.argsort(work, kind="stable")
        band = order[int(low * len(order)) : max(int(low * len(order)) + 1, int(high * len(order)))]
        return [float(x) for x in self._seconds[:, band].mean(axis=1, dtype=np.float64)]


class Forecast:
    """A whole list, drawn once: `look` reads it after what has happened since.

    `steps` names the kind of each row; the same seed gives the same numbers.
    """

    def __init__(
        self,
        times: Mapping[str, StepTime],
        steps: Sequence[str],
        *,
        seed: int,
        day_spread: float,
        breaks: Sequence[Breaks] = (),
        draws: int = DRAWS,
    ) -> None:
        random = np.random.default_rng(seed)
        names = sorted(set(steps))
        self._names = {name: index for index, name in enumerate(names)}
        self._kinds = [Kind.of(times[name], day_spread) for name in names]
        self._of_row = np.array([self._names[name] for name in steps], dtype=np.int64)
        self._day_spread = day_spread
        self._day = random.standard_normal(draws)
        self._under_way = random.random(draws)
        self._kind = random.standard_normal((len(names), draws))
        own = random.standard_normal((len(steps), draws), dtype=np.float32)
        parts = np.array([kind.own for kind in self._kinds], dtype=np.float32)
        self._own = own * (parts[self._of_row] * np.float32(_PER_SCORE))[:, None]
        self._table = np.concatenate([_table(kind.time) for kind in self._kinds] or [np.zeros(0, np.float32)])
        self._breaks = [BreakDraws(each, random, draws) for each in breaks]

    def look(
        self,
        rows: Sequence[int],
        done: Sequence[tuple[str, float]] = (),
        under_way: UnderWay | None = None,
        running: tuple[int, float] | None = None,
    ) -> Sample:
        """The open rows after what is done tonight: (name, seconds) each; names the list does not know count not.

        `running` is a break that has begun: its place in `breaks`, and the seconds it has lasted.
        ValueError when the step under way is not among the rows.
        """
        counts, sums = self._heard(done)
        score: Floats | None = None
        if under_way is not None:
            if under_way.row not in rows:
                raise ValueError("the step under way is not open")
            score = self._still_running(under_way, counts, sums)
        index = int(self._of_row[under_way.row]) if under_way is not None else -1
        belief = _Belief(self._kinds, counts, sums, index, score)
        day = belief.day_mean + belief.day_width * self._day
        seconds = self._rows(np.array(rows, dtype=np.int64), belief, day)
        if under_way is not None and score is not None:
            time = self._kinds[index].time
            logs = time.middle + time.width * t_of(score, time.freedom)
            seconds[list(rows).index(under_way.row)] = np.maximum(np.exp(logs) - under_way.seconds, 0.0)
        slow = math.exp(self._day_spread * float(np.mean(belief.day_mean)))
        rest = None if running is None else self._breaks[running[0]].rest(running[1])
        return Sample(rows, seconds, self._breaks, slow, rest)

    def _heard(self, done: Sequence[tuple[str, float]]) -> tuple[list[int], list[float]]:
        counts, sums = [0] * len(self._kinds), [0.0] * len(self._kinds)
        for name, seconds in done:
            index = self._names.get(name)
            if index is not None:
                counts[index] += 1
                sums[index] += self._kinds[index].time.score(seconds)
        return counts, sums

    def _still_running(self, step: UnderWay, counts: list[int], sums: list[float]) -> Floats:
        """Scores of the step under way, drawn from its law above the score that it has reached."""
        index = int(self._of_row[step.row])
        mean, width = _Belief(self._kinds, counts, sums).next_score(index)
        reached = self._kinds[index].time.score(step.seconds) if step.seconds > 0 else -math.inf
        return mean + width * normal_above((reached - mean) / width, self._under_way)

    def _rows(self, rows: NDArray[np.int64], belief: _Belief, day: Floats) -> Singles:
        kinds = self._of_row[rows]
        needed, places = np.unique(kinds, return_inverse=True)
        shifts = np.empty((len(needed), len(day)), dtype=np.float32)
        for place, index in enumerate(needed):
            shifts[place] = belief.shift(int(index), day, self._kind[index]) * _PER_SCORE + _MIDDLE
        made = np.empty((len(rows), len(day)), dtype=np.float32)
        for start in range(0, len(rows), _TOGETHER):
            part = slice(start, start + _TOGETHER)
            scaled = self._own[rows[part]]
            scaled += shifts[places[part]]
            np.clip(scaled, 0, _NODES - 1, out=scaled)
            nodes = scaled.astype(np.intp)
            nodes += (kinds[part] * _NODES)[:, None]
            self._table.take(nodes, out=made[part], mode="clip")
        return made


class _Belief:
    """Posterior of the day and of the kinds, after scores of tonight; one of them may differ from draw to draw.

    A kind's k scores have the mean ḡ = a·day + b·kind + e/√k·noise. With D = b² + e²/k the day's precision is
    1 + Σ a²/D and its mean Σ a·ḡ/D over that; given the day, kind has the mean b(ḡ - a·day)/D, variance 1/(1 + k·b²/e²).
    """

    def __init__(
        self,
        kinds: Sequence[Kind],
        counts: Sequence[int],
        sums: Sequence[float],
        also: int = -1,
        score: Floats | None = None,
    ) -> None:
        self._kinds = kinds
        self._counts = list(counts)
        self._sums: list[Any] = list(sums)
        if score is not None:
            self._counts[also] += 1
            self._sums[also] = self._sums[also] + score
        precision, pull = 1.0, np.zeros(1)
        for kind, count, total in zip(kinds, self._counts, self._sums, strict=True):
            if count:
                noise = _noise(kind, count)
                precision += kind.day**2 / noise
                pull = pull + kind.day * (total / count) / noise
        self.day_mean: Floats = pull / precision
        self.day_width = 1.0 / math.sqrt(precision)

    def shift(self, index: int, day: Floats, drawn: Floats) -> Floats:
        """What the day and the kind add to the score of one more step of the kind, draw by draw."""
        kind = self._kinds[index]
        mean, width = self._kind(index, day)
        made: Floats = kind.day * day + kind.kind * (mean + width * drawn)
        return made

    def next_score(self, index: int) -> tuple[float, float]:
        """Mean and standard deviation of the score of one more step of the kind."""
        kind = self._kinds[index]
        at_zero, width = self._kind(index, np.zeros(1))
        at_one, _ = self._kind(index, np.ones(1))
        slope = kind.day + kind.kind * float(at_one[0] - at_zero[0])
        mean = kind.kind * float(at_zero[0]) + slope * float(self.day_mean[0])
        variance = (slope * self.day_width) ** 2 + (kind.kind * width) ** 2 + kind.own**2
        return mean, math.sqrt(variance)

    def _kind(self, index: int, day: Floats) -> tuple[Floats, float]:
        """Mean of the kind's own factor given the day, and its standard deviation."""
        kind, count = self._kinds[index], self._counts[index]
        if not count:
            return np.zeros(1), 1.0
        noise = _noise(kind, count)
        mean: Floats = kind.kind * (self._sums[index] / count - kind.day * day) / noise
        return mean, math.sqrt(kind.own**2 / count / noise)


def _noise(kind: Kind, count: int) -> float:
    """Variance of the mean of so many scores of a kind, given the day."""
    return max(kind.kind**2 + kind.own**2 / count, 1e-9)


def _table(time: StepTime) -> Singles:
    """Seconds at every node of score, from -6 to 6."""
    scores = (np.arange(_NODES) - (_NODES - 1) // 2) / _PER_SCORE
    logs = time.middle + time.width * t_of(scores, time.freedom)
    made: Singles = np.exp(np.minimum(logs, 50.0)).astype(np.float32)
    return made
