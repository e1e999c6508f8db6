"""Small asks for a plan, as chance has them."""

from __future__ import annotations

import random
from dataclasses import replace

from showday.radio.model import Band, Tuner, Widths
from showday.radio.plan_ask import Ask
from showday.radio.products import KINDS

UNIT = 5_000
"""Everything in them is a multiple of so many Hz."""


def chance_ask(seed: int) -> Ask:
    """One with one range or two, foreign carriers, bands to avoid, widths, orders, spares or transmitters."""
    chance = random.Random(seed)
    step = chance.choice((25_000, 50_000, 100_000))
    low = 600_000_000 + chance.randrange(200) * UNIT
    high = low + chance.randrange(14, 36) * step
    ask = Ask(
        chance.randrange(2, 5),
        0,
        _ranges(chance, low, high, step),
        step,
        chance.choice(((3,), (3, 5), (3, 5, 7), (5,))),
        Widths(*(chance.choice((0, 0, step, step + UNIT, 2 * step)) for _ in range(5))),
        tuple(
            Band(at, at + chance.randrange(6) * step)
            for at in (low + chance.randrange(30) * UNIT * 3 for _ in range(chance.randrange(3)))
        ),
        tuple(dict.fromkeys(low + chance.randrange(-20, 300) * UNIT for _ in range(chance.randrange(3)))),
    )
    if chance.random() < 0.35:
        ask = replace(ask, tuners=_tuners(chance, ask.count, low, high), ranges=(Band(low, high),), step=0)
    elif ask.count < 4:
        ask = replace(ask, spares=chance.randrange(3))
    if chance.random() < 0.2:
        kinds = tuple(chance.sample(KINDS, chance.randrange(1, 4)))
        ask = replace(ask, kinds=tuple(kind for kind in KINDS if kind in kinds))
    return ask


def chance_spares(seed: int) -> Ask:
    """One with spares for transmitters whose ranges overlap, touch or lie apart, and with carriers that a sweep shows."""
    chance = random.Random(seed)
    step = chance.choice((50_000, 100_000))
    tuners = []
    for number in range(chance.randrange(2, 4)):
        low = 600_000_000 + chance.choice((0, 0, 12, 24, 24)) * step
        tuners.append(
            Tuner(f"Ears {number}", low, low + chance.choice((12, 20)) * step, step * chance.choice((1, 2)))
        )
    return Ask(
        len(tuners),
        chance.choice((1, 2, 2)),
        orders=chance.choice(((3,), (3, 5))),
        widths=Widths(spacing=chance.choice((0, step)), third=chance.choice((0, UNIT))),
        avoid=tuple(
            Band(at, at + 8 * step) for at in (600_000_000 + chance.randrange(8, 40) * step,) * chance.randrange(2)
        ),
        tuners=tuple(tuners),
        foreign=(600_000_000 + chance.randrange(400) * UNIT,) * chance.randrange(2),
        found=tuple(600_000_000 + chance.randrange(900) * UNIT for _ in range(chance.randrange(3))),
    )


def _ranges(chance: random.Random, low: int, high: int, step: int) -> tuple[Band, ...]:
    """The whole, or two parts of it with a gap of some steps between them, the second one beside the first's steps."""
    if chance.random() < 0.6:
        return (Band(low, high),)
    middle = low + (high - low) // step // 2 * step
    return Band(low, middle - 2 * step), Band(middle + chance.choice((0, UNIT)), high)


def _tuners(chance: random.Random, count: int, low: int, high: int) -> tuple[Tuner, ...]:
    """One for each carrier, each with enough steps inside of the range to be of use."""
    made = []
    for number in range(count):
        step = chance.choice((25_000, 40_000, 100_000))
        begin = low + chance.randrange(0, (high - low) // 2) // UNIT * UNIT
        made.append(Tuner(f"Ears {number}", begin, begin + chance.randrange(8, 30) * step, step))
    return tuple(made)
