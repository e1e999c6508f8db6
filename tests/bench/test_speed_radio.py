"""Products beside a plain loop over them, and plans beside another solver that is told the same model."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from itertools import combinations, permutations
from typing import Any

import pytest

from showday.radio.model import Band
from showday.radio.plan import plan
from showday.radio.plan_ask import Ask
from showday.radio.products import KINDS, makers_of, products
from showday.radio.verify import verify
from tests.bench.conftest import Compare, Pair
from tests.radio.peer_model import FAR, Peer

STEP = 25_000
CARRIERS = sorted(random.Random(40).sample(range(470_000_000, 694_000_000, STEP), 40))
MOST_PEER_SECONDS = 20.0
"""Proving six carriers takes the other solver longer; the ratio is then at most the one printed."""


def timed(act: Callable[[], object]) -> float:
    """Seconds an act takes."""
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def vectorised() -> int:
    """How many products there are; nothing is remembered from the time before."""
    makers_of.cache_clear()
    return sum(len(products(CARRIERS, kind).at) for kind in KINDS)


def looped() -> int:
    """The same by itertools: each product, its place and its carriers, sorted."""
    pairs, triples = list(permutations(CARRIERS, 2)), list(permutations(CARRIERS, 3))
    chosen = [(a, b, c) for a, b in combinations(CARRIERS, 2) for c in CARRIERS if c not in (a, b)]
    made: list[list[tuple[int, ...]]] = [
        sorted((2 * a - b, a, b) for a, b in pairs),
        sorted((a + b - c, a, b, c) for a, b, c in chosen),
        sorted((3 * a - 2 * b, a, b) for a, b in pairs),
        sorted((2 * a + b - 2 * c, a, b, c) for a, b, c in triples),
        sorted((3 * c - a - b, c, a, b) for a, b, c in chosen),
        sorted((4 * a - 3 * b, a, b) for a, b in pairs),
    ]
    return sum(len(each) for each in made)


def test_products_of_40_carriers(compare: Compare) -> None:
    """Aimed at: under 30 ms."""
    assert vectorised() == looped() == 3 * 40 * 39 + 2 * 40 * 39 * 38
    what = "all products of 40 carriers, beside itertools"
    compare(Pair(what, 0.25, lambda: timed(vectorised), lambda: timed(looped)), 20)


def in_mhz(count: int, wide: int) -> Ask:
    """So many carriers in so many MHz, third and fifth order, all widths alike."""
    return Ask(count, 0, (Band(606_000_000, (606 + wide) * 1_000_000),), STEP)


@pytest.mark.slow
def test_six_carriers_in_8_mhz(compare: Compare, benchmark: Any) -> None:
    """Aimed at: proved, ties too, in under 0.5 s. Without speeds the other solver is only asked whether it finds better."""
    ask = in_mhz(6, 8)
    found = plan(ask)
    assert found.proved and found.ties_proved and found.clearance is not None
    limit = MOST_PEER_SECONDS if benchmark.enabled else 2.0

    def peer() -> None:
        clear, bound, _ = Peer(ask, 6, unit=STEP).solve(limit)
        assert clear is None or clear * STEP <= (found.clearance or 0)
        assert bound * STEP >= (found.clearance or 0)

    what = f"6 in 8 MHz proved, CP-SAT for at most {limit:.0f} s"
    compare(Pair(what, 0.05, lambda: timed(lambda: plan(ask)), lambda: timed(peer)), 2)


@pytest.mark.slow
@pytest.mark.parametrize(("count", "wide"), [(8, 16), (10, 24)])
def test_clearance_and_bound_in_a_given_time(
    count: int, wide: int, benchmark: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ours after 10 s, CP-SAT's after 60 s; what is asserted holds however far each of the two came."""
    ours, theirs = (10.0, 60.0) if benchmark.enabled else (1.0, 2.0)
    ask = in_mhz(count, wide)
    end = time.monotonic() + ours
    found = benchmark.pedantic(lambda: plan(ask, lambda: time.monotonic() < end), rounds=1)
    clear, bound, _ = Peer(ask, count, unit=STEP).solve(theirs)
    assert verify([each.at for each in found.carriers], ask.air).clean
    assert found.clearance is not None and found.bound is not None
    assert found.clearance <= found.bound
    assert found.clearance <= bound * STEP
    assert clear is None or clear * STEP <= found.bound
    if benchmark.enabled:
        peer = "none" if clear is None else f"{clear * STEP // 1000} kHz"
        limit = "none" if bound == FAR else f"{bound * STEP // 1000} kHz"
        with capsys.disabled():
            print(f"\n{count} in {wide} MHz: ours after {ours:.0f} s", end=" ")
            print(f"{found.clearance // 1000} kHz, bound {found.bound // 1000} kHz;", end=" ")
            print(f"CP-SAT after {theirs:.0f} s {peer}, bound {limit}")
