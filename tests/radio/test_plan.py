"""Plans: clean, best, proved, and the same whatever order the wishes come in."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest

from showday.radio.model import Band, Tuner, Widths
from showday.radio.plan import plan
from showday.radio.plan_ask import Ask, Plan, Progress
from showday.radio.products import KINDS
from showday.radio.verify import verify
from tests.radio.chance_asks import UNIT, chance_ask

MHZ = 1_000_000
SEEDS = range(106, 120)


@cache
def planned(seed: int) -> Plan:
    return plan(chance_ask(seed))


def places(made: Plan) -> list[int]:
    return [each.at for each in (*made.carriers, *made.spares)]


def worth(made: Plan) -> tuple[int, float]:
    """How many fit, and the smallest clearance; without a limit, more than any."""
    return len(places(made)), float("inf") if made.clearance is None else made.clearance


@pytest.mark.parametrize("seed", SEEDS)
def test_a_plan_always_verifies_clean(seed: int) -> None:
    ask, made = chance_ask(seed), planned(seed)
    own = [each.at for each in made.carriers]
    verdict = verify(places(made), replace(ask.air, ranges=ask.ranges))
    assert verdict.clean
    assert verify(own, replace(ask.air, ranges=ask.ranges, tuners=ask.tuners)).clean
    assert (verdict.worst.clearance if verdict.worst else None) == made.clearance
    judged = {each.at: each for each in verdict.carriers}
    assert all(each.judged == judged[each.at] for each in (*made.carriers, *made.spares))
    assert (made.proved, made.bound) == (True, made.clearance)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_foreign_carrier_more_never_raises_the_clearance(seed: int) -> None:
    ask = chance_ask(seed)
    low = min(band.low for band in ask.ranges)
    more = low + random.Random(seed).randrange(-20, 300) * UNIT
    made = plan(replace(ask, foreign=tuple({*ask.foreign, more})))
    assert worth(made) <= worth(planned(seed))


@pytest.mark.parametrize("shift", [7 * MHZ, -12_345])
@pytest.mark.parametrize("seed", SEEDS[:6])
def test_shifting_everything_shifts_the_plan(seed: int, shift: int) -> None:
    ask = chance_ask(seed)
    made = plan(
        replace(
            ask,
            ranges=tuple(replace(band, low=band.low + shift, high=band.high + shift) for band in ask.ranges),
            avoid=tuple(replace(band, low=band.low + shift, high=band.high + shift) for band in ask.avoid),
            foreign=tuple(at + shift for at in ask.foreign),
            tuners=tuple(replace(each, low=each.low + shift, high=each.high + shift) for each in ask.tuners),
        )
    )
    assert places(made) == [at + shift for at in places(planned(seed))]
    assert worth(made) == worth(planned(seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_order_of_the_wishes_changes_nothing_and_the_same_wishes_get_the_same_plan(seed: int) -> None:
    ask = chance_ask(seed)
    turned = replace(ask, ranges=ask.ranges[::-1], avoid=ask.avoid[::-1], foreign=ask.foreign[::-1])
    assert plan(turned) == planned(seed)
    if ask.tuners:
        assert places(plan(replace(ask, tuners=ask.tuners[::-1]))) == places(planned(seed))


@pytest.mark.parametrize("seed", range(6))
def test_of_all_choices_it_is_the_best_to_the_last_clearance(seed: int) -> None:
    """Every choice of as many places, judged by `verify`: the smallest clearance counts first, then the next."""
    chance = random.Random(seed)
    low, foreign = 600 * MHZ, tuple(600 * MHZ + chance.randrange(400) * 5_000 for _ in range(chance.randrange(3)))
    ask = Ask(3, chance.randrange(2), (Band(low, low + 250_000),), 25_000, foreign=foreign)
    room = [at for at in range(low, low + 250_001, 25_000) if at not in foreign]
    made = plan(ask)
    count = len(places(made))
    judged = [verify(choice, ask.air) for choice in combinations(room, count)]
    best = max(verdict.ranked for verdict in judged if verdict.clean)
    assert verify(places(made), ask.air).ranked == best
    assert made.ties_proved


@pytest.mark.parametrize("seed", range(8))
def test_the_largest_number_that_fits_is_counted_and_proved(seed: int) -> None:
    chance = random.Random(seed)
    low = 600 * MHZ
    widths = Widths(*(chance.choice((0, 25_000, 50_000)) for _ in range(3)))
    avoid = (Band(low + 100_000, low + 125_000),) if seed % 2 else ()
    ask = Ask(6, 1, (Band(low, low + 225_000),), 25_000, (3,), widths, avoid)
    made = plan(ask)
    fit = len(places(made))
    room = range(low, low + 225_001, 25_000)
    assert fit < 7
    assert not any(verify(choice, ask.air).clean for choice in combinations(room, fit + 1))
    assert (made.most, made.fewest_proved, made.fits) == (fit, True, False)


def test_spares_stay_clean_while_everything_is_on_and_the_carriers_are_the_clearest_without_them() -> None:
    ask = Ask(4, 2, (Band(606 * MHZ, 614 * MHZ),), 25_000)
    made = plan(ask)
    everything = places(made)
    assert (len(made.carriers), len(made.spares), made.fits) == (4, 2, True)
    assert verify(everything, ask.air).clean
    choices = [verify(choice, ask.air) for choice in combinations(everything, 4)]
    assert all(verdict.clean for verdict in choices)
    best = max(verdict.ranked for verdict in choices)
    assert verify([each.at for each in made.carriers], ask.air).ranked == best


def test_a_spare_that_takes_over_for_any_carrier_leaves_the_rest_as_clear() -> None:
    ask = Ask(3, 1, (Band(606 * MHZ, 612 * MHZ),), 50_000, foreign=(608_300_000,))
    made = plan(ask)
    (spare,) = made.spares
    assert made.clearance is not None
    for gone in made.carriers:
        swapped = [spare.at, *(each.at for each in made.carriers if each is not gone)]
        worst = verify(swapped, ask.air).worst
        assert worst is not None
        assert worst.clearance >= made.clearance


LOW, HIGH, COARSE = (
    Tuner("Low", 600 * MHZ, 606 * MHZ, 25_000),
    Tuner("High", 604 * MHZ, 612 * MHZ, 25_000),
    Tuner("Coarse", 600_010_000, 612_010_000, 200_000),
)


def test_every_carrier_gets_a_transmitter_that_can_be_set_to_it() -> None:
    made = plan(Ask(3, 1, (), 0, tuners=(LOW, HIGH, COARSE)))
    by_name = {tuner.name: tuner for tuner in (LOW, HIGH, COARSE)}
    assert sorted(each.tuner for each in made.carriers) == ["Coarse", "High", "Low"]
    assert all(by_name[each.tuner].reaches(each.at) for each in made.carriers)
    (spare,) = made.spares
    assert spare.fits == tuple(name for name, tuner in by_name.items() if tuner.reaches(spare.at))
    assert spare.fits


def test_transmitters_that_reach_the_same_few_places_bound_how_many_fit() -> None:
    """Two of the three have one place between them."""
    narrow = [Tuner(name, 603 * MHZ, 603 * MHZ, 25_000) for name in ("One", "Two")]
    made = plan(Ask(3, 0, (), 0, tuners=(LOW, *narrow)))
    assert (len(made.carriers), made.most) == (2, 2)
    assert 603 * MHZ in places(made)


LOWS = [Tuner(f"Low {n}", 598 * MHZ, 606 * MHZ, 25_000) for n in (1, 2)]
HIGHS = [Tuner(f"High {n}", 606 * MHZ, 622 * MHZ, 125_000) for n in (1, 2)]
APART = Ask(4, 2, orders=(3,), tuners=(*LOWS, *HIGHS))
"""Two sets of transmitters that share one place, 606 MHz."""


def test_when_every_transmitter_is_held_its_spares_can_still_be_planned() -> None:
    made = plan(replace(APART, held=(600 * MHZ, 604_200_000, 610 * MHZ, 621 * MHZ)))
    assert [each.held for each in made.carriers] == [True] * 4
    assert [each.fits for each in made.spares] == [("Low 1", "Low 2"), ("High 1", "High 2")]


def test_what_fits_when_one_set_of_transmitters_has_no_place_is_theirs_or_a_spare() -> None:
    television = Band(598 * MHZ, 606 * MHZ, "TV 37", "television")
    made = plan(replace(APART, spares=1, avoid=(television,)))
    assert [each.tuner for each in made.carriers] == ["High 1", "High 2"]
    assert [each.fits for each in made.spares] == [("High 1", "High 2")]
    assert (made.most, made.asked, made.proved) == (3, 5, True)


def test_of_many_places_each_transmitter_has_one_and_each_set_its_spares() -> None:
    """7,315 ways to choose four spares out of 22 places; in the first thousands of them a low one has no transmitter."""
    tuners = [Tuner(f"High {n}", 600 * MHZ, 680 * MHZ, 25_000) for n in range(14)]
    tuners += [Tuner(f"Low {n}", 500 * MHZ, 560 * MHZ, 25_000) for n in range(4)]
    turns = iter(range(1_000))
    made = plan(Ask(18, 4, orders=(3,), tuners=tuple(tuners)), lambda: next(turns, None) is not None)
    assert {each.tuner for each in made.carriers} == {tuner.name for tuner in tuners}
    assert sorted(len(each.fits) for each in made.spares) == [4, 4, 14, 14]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_found_carrier_more_never_raises_the_clearance_and_a_named_one_leaves_no_more(seed: int) -> None:
    ask = chance_ask(seed)
    more = min(band.low for band in ask.ranges) + random.Random(seed).randrange(-20, 300) * UNIT
    found = plan(replace(ask, found=(more,)))
    assert worth(plan(replace(ask, foreign=tuple({*ask.foreign, more})))) <= worth(found) <= worth(planned(seed))


def test_what_is_held_stays_and_the_rest_goes_round_it() -> None:
    ask = Ask(4, 1, (Band(606 * MHZ, 614 * MHZ),), 25_000, held=(609_987_500, 613 * MHZ))
    made = plan(ask)
    assert [each.at for each in made.carriers if each.held] == [609_987_500, 613 * MHZ]
    assert len(made.carriers) == 4
    assert verify(places(made), ask.air).clean
    assert worth(made) <= worth(plan(replace(ask, held=())))


def test_a_carrier_may_stand_on_either_end_of_a_range() -> None:
    made = plan(Ask(2, 0, (Band(606 * MHZ, 608 * MHZ),), 2 * MHZ))
    assert (places(made), made.clearance) == ([606 * MHZ, 608 * MHZ], 2 * MHZ)


def test_a_single_carrier_has_nothing_to_fear() -> None:
    made = plan(Ask(1, 0, (Band(606 * MHZ, 614 * MHZ),)))
    assert (len(made.carriers), made.clearance, made.proved, made.bound) == (1, None, True, None)


def test_two_carriers_exactly_at_their_spacing_are_a_plan() -> None:
    made = plan(Ask(2, 0, (Band(606 * MHZ, 606_400_000),), 400_000, widths=Widths(spacing=400_000)))
    assert (places(made), made.clearance, made.proved) == ([606 * MHZ, 606_400_000], 0, True)


def test_on_a_raster_of_sevenths_of_a_megahertz() -> None:
    """Japanese centres, 473 + 6 (N - 13) + 1/7 MHz (ARIB STD-B21), to the hertz; five of them as places."""
    low = 473_142_857
    made = plan(Ask(3, 0, (Band(low, low + 24 * MHZ),), 6 * MHZ, (3,)))
    assert made.clearance == 6 * MHZ
    assert all((at - low) % (6 * MHZ) == 0 for at in places(made))
    assert verify(places(made)[:3], Ask(3, kinds=KINDS[:2]).air).clean


HARD = Ask(5, 0, (Band(606 * MHZ, 612 * MHZ),), 25_000, widths=Widths(spacing=300_000, third=50_000))


def stopped(after: int) -> Plan:
    left = iter(range(after))
    return plan(HARD, lambda: next(left, None) is not None)


def test_a_search_that_is_stopped_gives_the_best_so_far_and_a_bound() -> None:
    whole = plan(HARD)
    assert whole.proved
    assert whole.clearance is not None
    for after in (0, 1, 5, 12):
        made = stopped(after)
        assert not made.carriers or verify(places(made), HARD.air).clean
        if len(made.carriers) == 5:
            assert made.clearance is not None and made.bound is not None
            assert made.clearance <= whole.clearance <= made.bound
            assert not made.proved or made.clearance == whole.clearance
        else:
            assert made.most == 5


def test_the_bound_closes_on_the_best_while_it_is_proved() -> None:
    told: list[Progress] = []
    made = plan(HARD, report=told.append)
    proving = [each for each in told if each.doing == "proving" and each.best is not None and each.bound is not None]
    assert len(proving) > 2
    bests, bounds = ([each.best or 0 for each in proving], [each.bound or 0 for each in proving])
    assert bests == sorted(bests)
    assert bounds == sorted(bounds, reverse=True)
    assert (bests[-1], bounds[-1]) == (made.clearance, made.clearance)


def test_far_too_many_are_a_best_effort_with_a_bound() -> None:
    left = iter(range(25))
    ask = Ask(100, 0, (Band(470 * MHZ, 694 * MHZ),), 25_000)
    made = plan(ask, lambda: next(left, None) is not None)
    assert 10 < len(made.carriers) <= made.most <= 100
    assert not made.fits
    assert verify(places(made), ask.air).clean
    assert made.bound is not None and made.clearance is not None
    assert made.clearance <= made.bound
