"""This venue against the act's usual, and how readings moved from visit to visit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from showday.review.measured import Measured, Name
from showday.text.values import duration

LEAST_READINGS = 4
"""Readings from elsewhere before one from here is called unusual: a further one of the same kind falls outside of n
others with chance 2/(n+1) (all orders of n+1 values are equally likely), which is a lot for fewer."""
LEAST_TIMES = 3
FACTOR, SECONDS = 1.25, 60.0
"""A section is longer or shorter than usual from this factor and this many seconds on (a choice of this program)."""
STAYS = "steady"
STEADY = 0.05
"""Readings that stay within this part of their size are steady (a choice of this program)."""
SECONDS_UNIT = "s of work"
"""The unit of sections, which no reading has."""
_BARS = "▁▂▃▄▅▆▇█"


@dataclass(frozen=True, slots=True)
class Unusual:
    """Something that is other here than elsewhere."""

    what: str
    unit: str
    """Unit of the numbers; `SECONDS_UNIT` for the time of a section."""
    here: float
    """The middle of what was found here."""
    low: float
    high: float
    """What was found elsewhere, from lowest to highest."""
    usual: float
    """The middle of that."""
    times: int
    """How often it was found elsewhere."""

    @property
    def text(self) -> str:
        """`peak, input 3 [dBFS]: -9 here: HIGHER than elsewhere, -21 to -15, mostly -18 (7 readings)`."""
        if self.unit == SECONDS_UNIT:
            word = "LONGER" if self.here > self.usual else "SHORTER"
            here, usual = duration(self.here), duration(self.usual)
            return f"{self.what}: {here} here, {word} than elsewhere, mostly {usual} ({self.times} runs)"
        word = "HIGHER" if self.here > self.usual else "LOWER"
        span = f"{self.low:g} to {self.high:g}" if self.low < self.high else f"always {self.low:g}"
        mostly = f", mostly {self.usual:g}" if self.low < self.high else ""
        return (
            f"{self.what} [{self.unit}]: {self.here:g} here, {word} than elsewhere, {span}{mostly} "
            f"({self.times} readings)"
        )


def unusual(here: Sequence[Measured], elsewhere: Sequence[Measured]) -> tuple[Unusual, ...]:
    """What is other here: readings whose middle lies outside of all from elsewhere, the farthest outside first, measured
    by their spread elsewhere; then sections that take another time."""
    outside = []
    others = _gathered({name: value for name, (value, _) in run.readings.items()} for run in elsewhere)
    for name, values in _gathered({n: value for n, (value, _) in run.readings.items()} for run in here).items():
        usual = others.get(name, [])
        if len(usual) >= LEAST_READINGS and not min(usual) <= median(values) <= max(usual):
            outside.append((-_distance(median(values), usual), _made(*name, values, usual)))
    found = [reading for _, reading in sorted(outside, key=lambda pair: pair[0])]
    others = _gathered(run.seconds for run in elsewhere)
    for (playbook, section), values in _gathered(run.seconds for run in here).items():
        usual = others.get((playbook, section), [])
        if len(usual) >= LEAST_TIMES and _other_time(median(values), median(usual)):
            found.append(_made(f"{playbook}, {section}", SECONDS_UNIT, values, usual))
    return tuple(found)


def _distance(here: float, usual: Sequence[float]) -> float:
    """How far outside of the usual values, in their own spread."""
    low, high = min(usual), max(usual)
    spread = high - low or abs(high) / 100 or 1.0  # values that never moved: a hundredth of them is far
    return max(low - here, here - high) / spread


def _other_time(here: float, usual: float) -> bool:
    longer, shorter = max(here, usual), min(here, usual)
    return longer - shorter >= SECONDS and longer >= FACTOR * shorter


def _made(what: str, unit: str, values: Sequence[float], others: Sequence[float]) -> Unusual:
    return Unusual(what, unit, median(values), min(others), max(others), median(others), len(others))


def _gathered(runs: Iterable[Mapping[Name, float]]) -> dict[Name, list[float]]:
    """The values of each name over all runs."""
    made: dict[Name, list[float]] = {}
    for run in runs:
        for name, value in run.items():
            made.setdefault(name, []).append(value)
    return made


def trend(values: Sequence[float]) -> str:
    """How readings moved, oldest first: a few words and a bar for each; nothing for fewer than three.

    `rising ▁▄█ from old to new`, or just `steady`. The words say all; the bars only show it again.
    """
    if len(values) < 3:
        return ""
    moved = _moved(values)
    return moved if moved == STAYS else f"{moved} {bars(values)} from old to new"


def _moved(values: Sequence[float]) -> str:
    span = max(values) - min(values)
    if span <= STEADY * max(abs(max(values)), abs(min(values))):
        return STAYS
    steps = [after - before for before, after in pairwise(values)]
    if all(step >= 0 for step in steps):
        return "rising"
    if all(step <= 0 for step in steps):
        return "falling"
    if values[-1] > max(values[:-1]):
        return "highest so far"
    return "lowest so far" if values[-1] < min(values[:-1]) else "up and down"


def bars(values: Sequence[float]) -> str:
    """One bar a value, the lowest and the highest as far apart as can be."""
    low, span = min(values), max(values) - min(values)
    if not span:
        return _BARS[3] * len(values)
    return "".join(_BARS[round((value - low) / span * (len(_BARS) - 1))] for value in values)
