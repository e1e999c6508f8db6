"""Judging a set of carriers. The worked examples are exact arithmetic on the products of Rec. ITU-R SM.1134."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from itertools import permutations

import pytest

from showday.radio.model import Band, Tuner, Widths
from showday.radio.products import KINDS, Kind, kinds_of
from showday.radio.verify import SPACING, Air, Verdict, overlap, verify
from tests.support.sentences import broken

THIRD = kinds_of((3,))
TWO_SIGNAL = KINDS[:1]


def mhz(*values: float) -> list[int]:
    return [round(value * 1e6) for value in values]


def hits(verdict: Verdict) -> set[tuple[str, int, int]]:
    return {(hit.kind, hit.at, hit.carrier) for hit in verdict.hits}


def test_the_nearest_miss_of_three_carriers() -> None:
    """Example 2: nothing hits; 3 · 519.0 - 2 · 518.2 = 520.6 is 175 kHz from 520.425."""
    verdict = verify(mhz(518.2, 519.0, 520.425), Air(kinds=tuple(k for k in kinds_of((3, 5)) if k.signals == 2)))
    assert verdict.clean
    worst = verdict.worst
    assert worst is not None
    assert (worst.kind, worst.at, worst.distance, worst.carrier) == ("3A-2B", 520_600_000, 175_000, 520_425_000)
    assert worst.makers == tuple(mhz(519.0, 518.2))


def test_even_spacing_fails() -> None:
    """Example 3: 2 · 471.0 - 471.5 = 470.5 and 2 · 471.0 - 470.5 = 471.5."""
    verdict = verify(mhz(470.5, 471.0, 471.5), Air(kinds=THIRD))
    assert hits(verdict) == {("2A-B", 470_500_000, 470_500_000), ("2A-B", 471_500_000, 471_500_000)}
    assert not verdict.clean


def test_two_signals_pass_and_three_fail() -> None:
    """Example 4: 500.0 + 501.2 = 500.3 + 500.9, so that an A+B-C falls on each of the four."""
    four = mhz(500.0, 500.3, 500.9, 501.2)
    assert verify(four, Air(kinds=TWO_SIGNAL)).clean
    verdict = verify(four, Air(kinds=THIRD))
    assert hits(verdict) == {("A+B-C", at, at) for at in four}


def test_a_clean_set() -> None:
    """Example 5: 606.7 + 0.4 · {0, 1, 4, 9, 11}, a Golomb ruler: third order 400 kHz away, and no 3A-2B hits."""
    five = mhz(606.7, 607.1, 608.3, 610.3, 611.1)
    verdict = verify(five, Air(kinds=THIRD))
    assert verdict.clean
    products = [j.limit.distance for j in verdict.carriers if j.limit is not None and j.limit.order == 3]
    assert min(products) == 400_000
    assert verdict.worst is not None
    assert verdict.worst.clearance == 400_000
    assert verify(five, Air(kinds=(*THIRD, KINDS[2]))).clean


def test_third_order_clean_and_fifth_not() -> None:
    """Example 6: 3 · 501.6 - 2 · 500.4 = 504.0 and 3 · 501.6 - 2 · 500.0 = 504.8."""
    six = mhz(500.0, 500.4, 501.6, 504.0, 504.8, 506.8)
    assert verify(six, Air(kinds=THIRD)).clean
    found = hits(verify(six, Air(kinds=KINDS[2:3])))
    assert {("3A-2B", at, at) for at in mhz(504.0, 504.8)} <= found


def test_a_width_of_nothing_forbids_exact_hits_only_and_widths_are_inclusive() -> None:
    three = mhz(518.2, 519.0, 520.425)
    for wide, clean in ((0, True), (174_999, True), (175_000, False)):
        verdict = verify(three, Air(kinds=KINDS[2:3], widths=Widths(fifth=wide)))
        assert verdict.clean is clean


def test_carriers_exactly_at_their_spacing_keep_it() -> None:
    two = mhz(500.0, 500.4)
    assert verify(two, Air(widths=Widths(spacing=400_000))).clean
    near = verify(two, Air(widths=Widths(spacing=400_001)))
    assert {(hit.kind, hit.order, hit.distance) for hit in near.hits} == {(SPACING, 1, 400_000)}


def test_the_same_frequency_twice_is_never_clean() -> None:
    assert not verify(mhz(500, 500)).clean


def test_a_foreign_carrier_makes_products_and_is_protected() -> None:
    """2 · 471.0 - 471.5 = 470.5: ours at 471.0 and 471.5 hit the foreign one, unless nobody asks for that."""
    verdict = verify(mhz(471.0, 471.5), Air(tuple(mhz(470.5)), THIRD))
    assert hits(verdict) == {("2A-B", 470_500_000, 470_500_000), ("2A-B", 471_500_000, 471_500_000)}
    alone = verify(mhz(471.0, 471.5), Air(tuple(mhz(470.5)), THIRD, protect=False))
    assert hits(alone) == {("2A-B", 471_500_000, 471_500_000)}


def test_what_foreign_carriers_do_to_each_other_is_not_ours_to_mend() -> None:
    assert verify(mhz(600), Air(tuple(mhz(470.5, 471.0, 471.5, 471.5001)))).clean


def test_what_a_sweep_shows_makes_products_of_third_order_and_is_said_to_be_found() -> None:
    """2 x 607.0 - 606.2 = 607.8, so 2 x 607.0 - 607.8 = 606.2; 3 x 606.2 - 2 x 607.0 = 604.6."""
    others = tuple(mhz(606.2, 607.0))
    verdict = verify(mhz(607.8), Air(others, found=frozenset(others)))
    assert hits(verdict) == {("2A-B", at, at) for at in mhz(606.2, 607.8)}
    assert verdict.hits[0].sentence == "2A-B of 607.000 (found), 606.200 (found) falls at 607.800 MHz, exactly on it"
    named = verify(mhz(607.8), Air(others, found=frozenset(others[:1])))
    assert "2A-B of 607.000, 606.200 (found)" in named.hits[0].sentence
    assert verify(mhz(604.6), Air(others, found=frozenset(others))).clean
    assert hits(verify(mhz(604.6), Air(others))) == {("3A-2B", 604_600_000, 604_600_000)}


def test_a_neighbour_that_a_sweep_shows_is_kept_at_the_spacing() -> None:
    verdict = verify(mhz(606.5), Air(tuple(mhz(606.2)), widths=Widths(spacing=400_000), found=frozenset(mhz(606.2))))
    (hit,) = [hit for hit in verdict.hits if hit.carrier == 606_500_000]
    assert "606.200 MHz found in the sweep is 300 kHz away" in hit.sentence


def test_carriers_nearer_than_one_is_wide_overlap() -> None:
    """EN 300 422-1 measures in channels of 200 kHz."""
    assert overlap(mhz(606.4, 606.0, 606.199)) == (606_000_000, 606_199_000)
    assert overlap(mhz(606.0, 606.2)) is None
    assert overlap(mhz(606.0)) is None


def test_a_carrier_in_an_occupied_band() -> None:
    television = Band(558_000_000, 566_000_000, "32", "television")
    verdict = verify(mhz(559, 566.1, 570), Air(occupied=(television,), widths=Widths(edge=100_000)))
    assert [(hit.carrier, hit.distance) for hit in verdict.hits] == [
        (559_000_000, -1_000_000),
        (566_100_000, 100_000),
    ]
    assert "television 32" in verdict.hits[0].sentence


def test_ranges_and_transmitters() -> None:
    air = Air(ranges=(Band(606_000_000, 614_000_000),), tuners=(Tuner("Ears", 600_000_000, 620_000_000, 25_000),))
    assert verify(mhz(606.0), air).clean
    assert [fault.kind for fault in verify(mhz(605.0), air).faults] == ["range"]
    assert [fault.kind for fault in verify(mhz(606.01), air).faults] == ["step"]


def test_one_carrier_alone_and_none() -> None:
    assert verify(mhz(500)).carriers[0].clearance is None
    assert verify(mhz(500)).worst is None
    assert verify([]).clean


def troubles(own: list[int], air: Air) -> Iterator[tuple[int, int, bool]]:
    """(index of the carrier, clearance, whether it is a hit) of all products and neighbours, by the definition."""
    everyone = [*own, *air.foreign]
    for hit in range(len(everyone)):
        for other in range(len(everyone)):
            if other != hit and (hit < len(own) or (other < len(own))):
                distance = abs(everyone[hit] - everyone[other])
                yield hit, distance - air.widths.spacing, distance < air.widths.spacing
        for kind in air.kinds:
            rest = [index for index in range(len(everyone)) if index != hit]
            for chosen in permutations(rest, kind.signals):
                if hit < len(own) or any(one < len(own) for one in chosen):
                    place = sum(f * everyone[one] for f, one in zip(kind.coefficients, chosen, strict=True))
                    clearance = abs(place - everyone[hit]) - air.widths.of_order(kind.order)
                    yield hit, clearance, clearance <= 0


@pytest.mark.parametrize("seed", range(60))
def test_clearances_and_cleanness_are_those_of_the_definition(seed: int) -> None:
    chance = random.Random(seed)
    places = chance.sample(range(600_000_000, 604_000_000, 25_000), chance.randrange(2, 8))
    cut = chance.randrange(1, len(places) + 1)
    kinds: tuple[Kind, ...] = tuple(chance.sample(KINDS, chance.randrange(1, 5)))
    widths = Widths(*(chance.choice((0, 25_000, 60_000)) for _ in range(4)))
    own, air = places[:cut], Air(tuple(places[cut:]), kinds, widths)
    verdict = verify(own, air)
    nearest: dict[int, int] = {}
    bad = False
    for index, clearance, hit in troubles(own, air):
        nearest[index] = min(nearest.get(index, clearance), clearance)
        bad |= hit
    judged = [*verdict.carriers, *verdict.foreign]
    assert {i: j.clearance for i, j in enumerate(judged) if j.clearance is not None} == nearest
    assert verdict.clean is not bad


def test_centres_on_sevenths_of_a_megahertz_are_judged_to_the_hertz() -> None:
    """Three neighbouring Japanese centres, 6 MHz apart + 1/7 MHz each (ARIB STD-B21): 2A-B hits, to the hertz."""
    three = [473_142_857, 479_142_857, 485_142_857]
    assert hits(verify(three, Air(kinds=TWO_SIGNAL))) == {("2A-B", three[0], three[0]), ("2A-B", three[2], three[2])}
    beside = verify([473_142_857, 479_142_858, 485_142_857], Air(kinds=TWO_SIGNAL))
    assert beside.clean
    assert beside.worst is not None
    assert beside.worst.clearance == 2  # 2 (A + 1) - B is 2 Hz beside 2A - B


@pytest.mark.parametrize("seed", range(20))
def test_the_order_of_the_carriers_changes_nothing(seed: int) -> None:
    chance = random.Random(seed)
    own = chance.sample(range(600_000_000, 608_000_000, 25_000), 6)
    turned = chance.sample(own, len(own))
    one, two = verify(own), verify(turned)
    assert {j.at: j for j in one.carriers} == {j.at: j for j in two.carriers}
    assert set(one.hits) == set(two.hits)


def test_carriers_with_the_same_part_in_a_product_are_named_from_the_lowest_on() -> None:
    """500.3 + 500.9 - 501.2 = 500.0, whichever of the first two was given first."""
    for own in (mhz(500.0, 500.3, 500.9, 501.2), mhz(501.2, 500.9, 500.3, 500.0)):
        made_of = {hit.makers for hit in verify(own, Air(kinds=THIRD)).hits if hit.carrier == 500_000_000}
        assert made_of == {tuple(mhz(500.3, 500.9, 501.2))}


def test_a_hundred_carriers_are_judged() -> None:
    """On so few places a 2A-B falls on many of them; which ones is counted by the definition."""
    own = random.Random(1).sample(range(470_000_000, 694_000_000, 25_000), 100)
    verdict = verify(own, Air(kinds=TWO_SIGNAL))
    places = set(own)
    counted = Counter(2 * one - two for one, two in permutations(own, 2) if 2 * one - two in places)
    assert Counter(hit.carrier for hit in verdict.hits) == counted
    assert counted
    assert [judged.clearance == 0 for judged in verdict.carriers] == [at in counted for at in own]


def test_sentences_are_whole() -> None:
    air = Air(tuple(mhz(470.5)), widths=Widths(spacing=600_000), occupied=(Band(471_000_000, 472_000_000),))
    verdict = verify(mhz(471.0, 471.5, 480.0), air)
    sentences = [hit.sentence for hit in verdict.hits]
    assert sentences
    assert not [sign for sentence in sentences for sign in broken(sentence)]
