"""Rates on made sweeps: averaged or peak-held noise with a slope, television, carriers from 6 dB up, holes, empty bins."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import pytest

from showday.radio.occupancy import Occupancy, occupancy
from showday.radio.rasters import Channel
from tests.radio.made_sweeps import HEIGHTS, Truth, by_the_gap, made, measured

SWEEPS = 210
NEAR = 50_000
"""Hz by which a carrier may be found beside its place, or one and a half bins when these are wider."""

pytestmark = pytest.mark.slow  # two hundred sweeps are made and read


@dataclass
class Rates:
    """Counts over all sweeps."""

    there: Counter[int] = field(default_factory=Counter)
    """Carriers, by their height in dB."""
    found: Counter[int] = field(default_factory=Counter)
    blocks: int = 0
    alarms: int = 0
    """Blocks (TV channels) with a carrier where none is."""
    on_air: int = 0
    seen: int = 0
    quiet: int = 0
    ghosts: int = 0
    """Quiet channels that were taken for television."""

    def add(self, truth: Truth, found: Occupancy) -> None:
        """Count one sweep; what is beside its hole does not count."""
        near = max(NEAR, 1.5 * found.sweep.step)
        for at, width, height in truth.carriers:
            if not by_the_gap(truth, at) and measured(found.sweep, at, width):
                self.there[height] += 1
                self.found[height] += any(abs(each.at - at) <= near for each in found.carriers)
        numbers = {each.channel.number for each in found.television}
        for channel in truth.channels:
            if not self._beside(truth, channel):
                self.blocks += 1
                self.alarms += self._alarmed(truth, found, channel)
                on = channel.number in truth.television
                self.on_air += on
                self.quiet += not on
                self.seen += on and channel.number in numbers
                self.ghosts += not on and channel.number in numbers

    @staticmethod
    def _beside(truth: Truth, channel: Channel) -> bool:
        return by_the_gap(truth, channel.low) or by_the_gap(truth, channel.middle) or by_the_gap(truth, channel.high)

    @staticmethod
    def _alarmed(truth: Truth, found: Occupancy, channel: Channel) -> bool:
        inside = (each.at for each in found.carriers if channel.low <= each.at < channel.high)
        explained = [(at, max(width / 2 + found.sweep.step, 100_000)) for at, width, _ in truth.carriers]
        return any(all(abs(each - at) > reach for at, reach in explained) for each in inside)

    def __str__(self) -> str:
        by_height = ", ".join(f"{h} dB {self.found[h]}/{self.there[h]}" for h in HEIGHTS)
        return (
            f"carriers found: {by_height}; false alarms in {self.alarms} of {self.blocks} blocks; "
            f"television seen {self.seen} of {self.on_air}, ghosts {self.ghosts} of {self.quiet}"
        )


@pytest.fixture(scope="module")
def rates() -> Rates:
    total = Rates()
    for seed in range(SWEEPS):
        sweep, truth = made(seed)
        found = occupancy(sweep, truth.channels)
        assert found is not None
        total.add(truth, found)
    print(f"\n{SWEEPS} made sweeps: {total}")
    return total


def test_carriers_from_10_db_up_are_found(rates: Rates) -> None:
    strong = [height for height in HEIGHTS if height >= 10]
    there, found = sum(rates.there[h] for h in strong), sum(rates.found[h] for h in strong)
    assert there > 1000
    assert found >= 0.99 * there, str(rates)


@pytest.mark.parametrize(("height", "least"), [(6, 0.85), (8, 0.97)])
def test_most_of_the_weaker_ones_are_found_too(rates: Rates, height: int, least: float) -> None:
    assert rates.there[height] > 100
    assert rates.found[height] >= least * rates.there[height], str(rates)


def test_false_alarms_are_rare(rates: Rates) -> None:
    assert rates.blocks > 5000
    assert rates.alarms < 0.01 * rates.blocks, str(rates)


def test_television_is_seen_and_none_is_made_up(rates: Rates) -> None:
    assert rates.on_air > 2000
    assert rates.seen >= 0.99 * rates.on_air, str(rates)
    assert rates.ghosts <= 0.001 * rates.quiet, str(rates)
