"""How good a plan is: its clearances from the smallest on, each carrier by itself."""

from __future__ import annotations

import numpy as np

from showday.radio.plan_room import Room
from showday.radio.plan_ways import EVERY_ORDER, FAR
from showday.radio.products import Ints, makers_of

MOST_RANKED = 24
"""With more carriers, foreign ones included, plans are told apart by their smallest clearance only."""

Rank = tuple[int, ...]


def ranking(room: Room, places: Ints) -> Rank:
    """Clearances of our own carriers, the held ones and protected foreign ones, smallest first."""
    everyone = np.concatenate([places, room.others])
    ours = np.concatenate([np.ones(len(places), dtype=bool), np.zeros(len(room.others), dtype=bool)])
    held = len(room.ask.held)
    if held:
        ours[-held:] = True
    safe = np.concatenate(
        [np.ones(len(places), dtype=bool), np.array([each.safe for each in room.standing], dtype=bool)]
    )
    most = np.array([EVERY_ORDER] * len(places) + [each.most for each in room.standing])
    best = np.concatenate([room.bands[room.index(places)], np.full(len(room.others), FAR, dtype=np.int64)])
    for equation in room.equations:
        chosen = makers_of(len(everyone), equation.coefficients)
        chosen = chosen[ours[chosen].any(axis=1) & (most[chosen] >= equation.order).all(axis=1)]
        factors = np.array(equation.coefficients, dtype=np.int64)
        residues = np.abs(everyone[chosen] @ factors) - equation.asked
        for role, factor in enumerate(equation.coefficients):
            if abs(factor) == 1:
                np.minimum.at(best, chosen[:, role], residues)
    return tuple(sorted(int(value) for value in best[safe] if value < FAR))
