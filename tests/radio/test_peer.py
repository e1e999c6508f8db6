"""The planner beside another solver: CP-SAT is told the definition of a hit and knows nothing of our proofs."""

from __future__ import annotations

import pytest

from showday.radio.plan import plan
from showday.radio.plan_ask import Ask
from showday.radio.verify import verify
from tests.radio.chance_asks import UNIT, chance_ask, chance_spares
from tests.radio.peer_model import FAR, Peer, seats_of

SECONDS = 120.0
"""A solver that needs longer leaves the comparison open, which is a failure."""
ASKS = {seed: chance_ask(seed) for seed in range(60)}


def test_chance_has_thought_of_everything() -> None:
    asks = list(ASKS.values())
    for some in (
        [ask for ask in asks if len(ask.ranges) > 1],
        [ask for ask in asks if ask.avoid],
        [ask for ask in asks if ask.foreign],
        [ask for ask in asks if ask.spares],
        [ask for ask in asks if ask.tuners],
        [ask for ask in asks if len({ask.widths.spacing, ask.widths.third, ask.widths.fifth}) == 3],
    ):
        assert len(some) >= 8


SPARES = {seed: chance_spares(seed) for seed in (*range(30), 1023)}
"""In the last one the only place that all transmitters share is clean by nothing more than one step."""


def test_chance_has_thought_of_every_kind_of_spare() -> None:
    asks = list(SPARES.values())
    sets = [len({tuple(seat) for seat in seats_of(ask)[len(ask.tuners) :]}) for ask in asks]
    assert sets.count(1) >= 8 and sets.count(2) >= 5
    assert sum(bool(ask.found) for ask in asks) >= 8


@pytest.mark.parametrize("seed", ASKS)
def test_the_best_clearance_is_the_peer_s(seed: int) -> None:
    agrees(ASKS[seed])


@pytest.mark.parametrize("seed", SPARES)
def test_the_best_clearance_with_spares_for_transmitters_is_the_peer_s(seed: int) -> None:
    agrees(SPARES[seed])


def agrees(ask: Ask) -> None:
    """As many carriers, as clear, and nothing that can be set to nothing."""
    found = plan(ask)
    own = [each.at for each in (*found.carriers, *found.spares)]
    assert found.most == len(own)
    assert found.proved
    assert verify(own, ask.air).clean
    if len(own) < ask.count + ask.spares:
        assert Peer(ask, len(own) + 1, touching=True).solve(SECONDS) == (None, FAR, True)
    if not own:
        return
    best, _, proved = Peer(ask, len(own)).solve(SECONDS)
    assert proved
    if best is None:
        assert found.clearance == 0
    elif found.clearance is None:
        assert best == FAR
    else:
        assert found.clearance == best * UNIT
    if ask.tuners:
        assert all(each.tuner for each in found.carriers)
        assert all(each.fits for each in found.spares)
