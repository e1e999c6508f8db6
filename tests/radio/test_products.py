"""Every product, at the right place, once; the worked examples are exact arithmetic on the kinds' own formulas.

Which products there are follows Rec. ITU-R SM.1134; the counts are the number of ways to choose the carriers:
n(n-1) for two signals, n(n-1)(n-2)/2 when two of three are interchangeable, n(n-1)(n-2) when none are.
"""

from __future__ import annotations

import random
from collections import Counter
from fractions import Fraction
from itertools import permutations

import pytest

from showday.errors import RadioTrouble
from showday.radio.products import KINDS, MOST_CARRIERS, Kind, kinds_of, products

BY_NAME = {kind.name: kind for kind in KINDS}


def mhz(*values: float) -> list[int]:
    return [round(value * 1e6) for value in values]


def at(name: str, *carriers: float) -> list[int]:
    return [int(place) for place in products(mhz(*carriers), BY_NAME[name]).at]


def test_the_kinds_are_named_by_their_formula() -> None:
    assert [(kind.name, kind.order) for kind in KINDS] == [
        ("2A-B", 3),
        ("A+B-C", 3),
        ("3A-2B", 5),
        ("2A+B-2C", 5),
        ("3A-B-C", 5),
        ("4A-3B", 7),
    ]
    for kind in KINDS:
        assert sum(kind.coefficients) == 1
        assert sum(map(abs, kind.coefficients)) == kind.order


def test_two_carriers_a_megahertz_apart() -> None:
    """Example 1: 500 and 501 MHz."""
    assert at("2A-B", 500, 501) == mhz(499, 502)
    assert at("3A-2B", 500, 501) == mhz(498, 503)
    assert at("4A-3B", 500, 501) == mhz(497, 504)
    assert at("A+B-C", 500, 501) == []


def test_three_carriers() -> None:
    """Example 2: 518.2, 519.0 and 520.425 MHz."""
    three = (518.2, 519.0, 520.425)
    assert at("2A-B", *three) == mhz(515.975, 517.400, 517.575, 519.800, 521.850, 522.650)
    assert at("A+B-C", *three) == mhz(516.775, 519.625, 521.225)
    assert at("3A-2B", *three) == mhz(513.750, 516.150, 516.600, 520.600, 523.275, 524.875)


@pytest.mark.parametrize(
    ("count", "two", "three"),
    [(2, 2, 0), (3, 6, 3), (4, 12, 12), (5, 20, 30), (6, 30, 60), (7, 42, 105), (8, 56, 168)],
)
def test_how_many_third_order_products_there_are(count: int, two: int, three: int) -> None:
    carriers = mhz(*(500 + 0.1 * 2**step for step in range(count)))
    assert len(products(carriers, BY_NAME["2A-B"]).at) == two
    assert len(products(carriers, BY_NAME["A+B-C"]).at) == three


@pytest.mark.parametrize("count", range(2, 9))
def test_how_many_products_of_higher_orders_there_are(count: int) -> None:
    carriers = mhz(*(500 + 0.1 * 2**step for step in range(count)))
    pairs, triples = count * (count - 1), count * (count - 1) * (count - 2)
    found = {name: len(products(carriers, kind).at) for name, kind in BY_NAME.items()}
    assert (found["3A-2B"], found["4A-3B"]) == (pairs, pairs)
    assert (found["2A+B-2C"], found["3A-B-C"]) == (triples, triples // 2)


@pytest.mark.parametrize(("count", "inside"), zip(range(3, 11), (2, 4, 8, 12, 18, 24, 32, 40), strict=True))
def test_how_many_2a_b_land_inside_a_block_of_adjacent_channels(count: int, inside: int) -> None:
    """floor((n - 1)² / 2): for each A and B of one block, 2A - B is in the block for half of the pairs."""
    block = [500_000_000 + 400_000 * step for step in range(count)]
    landed = sum(place in block for place in products(block, BY_NAME["2A-B"]).at.tolist())
    assert landed == inside == (count - 1) ** 2 // 2


def by_hand(carriers: list[int], kind: Kind) -> Counter[tuple[int, frozenset[tuple[int, int]]]]:
    """Every product by the definition: its place and which carrier takes part with which coefficient."""
    found = {
        (
            sum(factor * carriers[one] for factor, one in zip(kind.coefficients, chosen, strict=True)),
            frozenset(zip(chosen, kind.coefficients, strict=True)),
        )
        for chosen in permutations(range(len(carriers)), kind.signals)
    }
    return Counter(found)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
@pytest.mark.parametrize("seed", range(8))
def test_products_are_those_of_the_definition(kind: Kind, seed: int) -> None:
    chance = random.Random(seed)
    carriers = chance.sample(range(470_000_000, 694_000_000, 1_250), chance.randrange(1, 9))
    made = products(carriers, kind)
    assert made.at.tolist() == sorted(made.at.tolist())
    found = Counter(
        (place, frozenset(zip(makers, kind.coefficients, strict=True)))
        for place, makers in zip(made.at.tolist(), made.makers.tolist(), strict=True)
    )
    assert found == by_hand(carriers, kind)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_on_a_raster_of_sevenths_of_a_megahertz_products_are_right_to_a_few_hertz(kind: Kind) -> None:
    """Japanese centres are 473 + 6 (N - 13) + 1/7 MHz (ARIB STD-B21). A carrier is rounded by half a hertz at most,
    a product by so much for each of its coefficients."""
    exact = [
        Fraction(473 + 6 * number) + Fraction(1, 7) + Fraction(step, 40) for number, step in enumerate((0, 3, 1, 8))
    ]
    made = products([round(centre * 10**6) for centre in exact], kind)
    assert len(made.at) == len(by_hand([1, 10, 100, 1000], kind))
    for place, makers in zip(made.at.tolist(), made.makers.tolist(), strict=True):
        right = 10**6 * sum(factor * exact[one] for factor, one in zip(kind.coefficients, makers, strict=True))
        assert abs(place - right) <= Fraction(kind.order, 2)


def test_kinds_of_orders() -> None:
    assert [kind.name for kind in kinds_of((5, 3, 3))] == ["2A-B", "A+B-C", "3A-2B", "2A+B-2C", "3A-B-C"]
    assert [kind.name for kind in kinds_of((7,))] == ["4A-3B"]
    with pytest.raises(RadioTrouble, match="order 4"):
        kinds_of((3, 4))


def test_too_many_carriers_are_refused() -> None:
    with pytest.raises(RadioTrouble, match="too many"):
        products(range(500_000_000, 500_000_000 + MOST_CARRIERS + 1), KINDS[0])
