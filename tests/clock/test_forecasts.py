"""When a list will be over: totals by hand, laws by SciPy, posteriors by plain matrix algebra and by brute force."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import product

import numpy as np
import pytest
from scipy import stats

from showday.clock.breaks import PRIOR_BREAKS, PRIOR_SECONDS, BreakDraws, learn_breaks
from showday.clock.forecast import Forecast, Sample, UnderWay
from showday.clock.student import Floats
from showday.clock.times import StepTime, day_spread, learn_time
from showday.clock.totals import Totals

DAY = 0.2
TIMES = {
    "line": learn_time([40.0, 50.0, 90.0, 45.0, 60.0]),
    "mix": learn_time([20.0, 26.0], 15.0),
    "walk": learn_time([], 30.0),
}
CHANCES = (0.1, 0.5, 0.8, 0.9)


def forecast(steps: Sequence[str], *, draws: int = 40_000, day: float = DAY, seed: int = 1) -> Forecast:
    return Forecast(TIMES, steps, seed=seed, day_spread=day, draws=draws)


def at(time: StepTime, score: float) -> float:
    """Seconds at a normal score, by SciPy."""
    return math.exp(time.middle + time.width * float(stats.t.ppf(stats.norm.cdf(score), time.freedom)))


def mean_of(totals: Totals, evenings: int = 1000) -> float:
    """Mean seconds, from so many equally likely ones."""
    return float(np.mean([totals.seconds((each + 0.5) / evenings) for each in range(evenings)]))


def test_eighteen_equally_likely_evenings() -> None:
    lists = ([40, 50, 90], [20, 30], [60, 60, 120])
    totals = Totals([sum(parts) for parts in product(*lists)])
    assert mean_of(totals, 18) == pytest.approx(165)
    assert totals.seconds(0.5) == 170
    assert totals.seconds(0.8) == 190
    assert totals.chance(180) == 13 / 18
    assert (totals.chance(0), totals.chance(1000)) == (0, 1)


@pytest.mark.parametrize("name", TIMES)
def test_a_single_step_has_the_law_of_its_time(name: str) -> None:
    sample = forecast([name]).look([0])
    for chance in CHANCES:
        score = float(stats.norm.ppf(chance))
        low, high = at(TIMES[name], score - 0.03), at(TIMES[name], score + 0.03)
        assert low < sample.work().seconds(chance) < high


def test_without_a_shared_day_steps_of_different_names_are_apart() -> None:
    """The log of a sum of many is then narrow; with slow days it is as wide as the days."""
    times = {f"s{i}": StepTime(math.log(20.0), 0.3, 1e6, 1000.0) for i in range(100)}
    apart = Forecast(times, sorted(times), seed=1, day_spread=0.0).look(range(100)).work()
    shared = Forecast(times, sorted(times), seed=1, day_spread=0.2).look(range(100)).work()
    mean, deviation = 2000 * math.exp(0.045), 20 * math.exp(0.045) * math.sqrt(math.expm1(0.09)) * 10
    assert mean_of(apart) == pytest.approx(mean, rel=0.005)
    assert apart.seconds(0.8) == pytest.approx(mean + 0.8416 * deviation, rel=0.005)
    assert math.log(shared.seconds(0.8) / shared.seconds(0.5)) == pytest.approx(0.8416 * 0.2, rel=0.1)


def parts(name: str, day: float = DAY) -> tuple[float, float, float]:
    """Variances of the score that are the day's, the kind's and the step's own."""
    time = TIMES[name]
    shared = min(day**2, 0.8 * time.spread**2) / time.width**2
    kind = 1 / (time.worth + 1)
    return shared, kind, 1 - shared - kind


def covariance(names: Sequence[str], day: float = DAY) -> Floats:
    """Of the scores of steps with these names."""
    made = np.eye(len(names))
    for i, one in enumerate(names):
        for j, other in enumerate(names):
            if i != j:
                kind = parts(one)[1] if one == other else 0.0
                made[i, j] = math.sqrt(parts(one, day)[0] * parts(other, day)[0]) + kind
    return made


def told(names: Sequence[str], left: int, done: list[tuple[str, float]], day: float = DAY) -> tuple[Floats, Floats]:
    """Means and widths of the scores of the first `left` steps after what is done: the conditional normal law."""
    full = covariance(names, day)
    scores = np.array([TIMES[name].score(seconds) for name, seconds in done])
    gain = np.linalg.solve(full[left:, left:], full[left:, :left]).T
    return gain @ scores, np.sqrt(np.diag(full[:left, :left] - gain @ full[left:, :left]))


@pytest.mark.parametrize(
    "done",
    [
        [],
        [("line", 90.0)],
        [("line", 90.0), ("line", 80.0), ("walk", 20.0)],
        [("mix", 60.0)] * 3 + [("walk", 55.0)] * 5 + [("line", 60.0)],
        [("line", 10.0), ("mix", 100.0)],
    ],
)
@pytest.mark.parametrize("day", [DAY, 1.0])
def test_what_is_done_tonight_moves_what_is_left_as_matrix_algebra_says(
    done: list[tuple[str, float]], day: float
) -> None:
    left = ["line", "mix", "walk", "walk"]
    names = [*left, *(name for name, _ in done)]
    means, widths = told(names, len(left), done, day)
    sample = forecast(names, day=day).look(range(len(left)), done)
    for place, name in enumerate(left):
        for chance in CHANCES:
            score = means[place] + widths[place] * float(stats.norm.ppf(chance))
            low, high = at(TIMES[name], score - 0.04), at(TIMES[name], score + 0.04)
            assert low < sample.work([place]).seconds(chance) < high, (name, chance)


def test_a_step_under_way_is_cut_off_from_what_tonight_says_of_its_kind() -> None:
    done = [("line", 90.0), ("line", 80.0), ("walk", 20.0)]
    names = ["line", "line", "line", "walk"]
    means, widths = told(names, 1, done, 0.4)
    sample = forecast(names, day=0.4).look([0], done, UnderWay(0, 85.0))
    reached = (TIMES["line"].score(85.0) - means[0]) / widths[0]
    for chance in (0.3, 0.5, 0.8):
        score = means[0] + widths[0] * float(stats.norm.isf((1 - chance) * stats.norm.sf(reached)))
        assert sample.work([0]).seconds(chance) == pytest.approx(at(TIMES["line"], score) - 85.0, rel=0.04)


@pytest.mark.parametrize("reached", [0.0, 20.0, 55.0, 90.0, 300.0])
def test_a_step_under_way_has_the_law_above_what_it_has_had(reached: float) -> None:
    time = TIMES["line"]
    law = stats.t(df=time.freedom, loc=time.middle, scale=time.width)
    gone = float(law.cdf(math.log(reached))) if reached else 0.0
    sample = forecast(["line"]).look([0], (), UnderWay(0, reached))
    for chance in (0.5, 0.8):
        whole = math.exp(float(law.isf((1 - chance) * (1 - gone))))
        assert sample.work([0]).seconds(chance) == pytest.approx(whole - reached, rel=0.04)


def test_a_step_that_will_not_end_slows_what_is_left_as_brute_force_says() -> None:
    """All imagined evenings in which the first step takes longer than it has had, and no other."""
    names, done, reached = ["line", "line", "mix"], [("mix", 25.0)], 80.0
    full = covariance(["line", "line", "mix", "mix"])
    random = np.random.default_rng(8)
    gain = full[:3, 3] / full[3, 3]
    rest = full[:3, :3] - np.outer(gain, full[3, :3])
    scores = gain * TIMES["mix"].score(25.0) + random.standard_normal((400_000, 3)) @ np.linalg.cholesky(rest).T
    logs = [
        TIMES[n].middle + TIMES[n].width * stats.t.ppf(stats.norm.cdf(scores[:, i]), TIMES[n].freedom)
        for i, n in enumerate(names)
    ]
    seconds = np.exp(np.array(logs))
    kept = seconds[:, seconds[0] > reached]
    sample = forecast([*names, "mix"]).look([0, 1, 2], done, UnderWay(0, reached))
    for chance in (0.5, 0.8):
        for place, row in enumerate([kept[0] - reached, kept[1], kept[2]]):
            assert sample.work([place]).seconds(chance) == pytest.approx(float(np.quantile(row, chance)), rel=0.03)
        total = float(np.quantile(kept.sum(axis=0) - reached, chance))
        assert sample.work().seconds(chance) == pytest.approx(total, rel=0.02)
    fresh = forecast([*names, "mix"]).look([0, 1, 2], done)
    assert sample.work([1]).seconds(0.5) > 1.1 * fresh.work([1]).seconds(0.5)


def test_slow_steps_make_a_slow_evening_and_quick_ones_a_quick_one() -> None:
    made = forecast(["line", "mix", "walk"])
    slow = made.look([2], [("line", 110.0), ("mix", 50.0)])
    quick = made.look([2], [("line", 27.0), ("mix", 8.0)])
    assert quick.slow < 0.95 < made.look([2]).slow == 1.0 < 1.05 < slow.slow
    assert quick.work([0]).seconds(0.5) < made.look([2]).work([0]).seconds(0.5) < slow.work([0]).seconds(0.5)


def test_the_same_seed_gives_the_same_numbers() -> None:
    def numbers(seed: int) -> list[float]:
        sample = forecast(["line", "mix", "mix"], draws=500, seed=seed).look(
            [0, 1, 2], [("mix", 9.0)], UnderWay(0, 7.0)
        )
        return [sample.whole().seconds(chance) for chance in CHANCES]

    assert numbers(4) == numbers(4)
    assert numbers(4) != numbers(5)


def test_parts_of_the_whole_add_up_to_p80_of_the_work() -> None:
    sample = forecast(["line", "mix", "walk"] * 10).look(range(30))
    shares = sample.shares()
    assert sum(shares) == pytest.approx(sample.work().seconds(0.8), rel=0.01)
    assert sum(sample.work([place]).seconds(0.8) for place in range(30)) > 1.03 * sum(shares)


def test_nothing_left_is_over_now() -> None:
    sample = forecast(["line"], draws=100).look([], [("line", 50.0)])
    assert (sample.whole().seconds(0.8), sample.whole().chance(0.0), sample.shares()) == (0.0, 1.0, [])
    empty = Forecast({}, [], seed=1, day_spread=DAY, draws=100).look([])
    assert empty.work().seconds(0.5) == 0.0


def test_a_step_under_way_must_be_open() -> None:
    with pytest.raises(ValueError, match="not open"):
        forecast(["line", "mix"], draws=10).look([1], (), UnderWay(0, 3.0))


def test_steps_of_other_lists_and_absurd_seconds_are_borne() -> None:
    made = forecast(["line", "mix"], draws=200)
    sample = made.look([0, 1], [("elsewhere", 3.0), ("line", 0.0), ("mix", 1e12)], UnderWay(0, 1e9))
    assert math.isfinite(sample.whole().seconds(0.8))
    assert sample.work([0]).seconds(0.8) >= 0.0


@pytest.mark.parametrize(("seen", "worked", "work"), [(0, 0.0, 900.0), (3, 5400.0, 900.0), (12, 7200.0, 2400.0)])
def test_how_many_breaks_come_is_a_gamma_mixed_poisson(seen: int, worked: float, work: float) -> None:
    """Negative binomial: Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.6. Every break lasts one second here."""
    breaks = learn_breaks([1.0] * max(seen, 5), worked)
    breaks = type(breaks)(seen, worked, learn_time([1.0] * 50))
    counts = np.rint(BreakDraws(breaks, np.random.default_rng(2), 40_000).seconds(np.full(40_000, work)))
    law = stats.nbinom(PRIOR_BREAKS + seen, (PRIOR_SECONDS + worked) / (PRIOR_SECONDS + worked + work))
    for most in range(4):
        assert (counts <= most).mean() == pytest.approx(law.cdf(most), abs=0.01)
    assert counts.mean() == pytest.approx(law.mean(), abs=0.02)


def test_more_work_never_has_fewer_breaks() -> None:
    drawn = BreakDraws(learn_breaks([30.0, 90.0], 3600.0), np.random.default_rng(2), 500)
    before = np.zeros(500)
    for work in (0.0, 60.0, 600.0, 6000.0, 1e6):
        now = drawn.seconds(np.full(500, work))
        assert (now >= before).all()
        before = now


def test_what_lasted_over_an_hour_was_no_break() -> None:
    assert learn_breaks([20.0, 3601.0, 0.0, -5.0], 100.0).seen == 1


class Imagined:
    """Acts whose true times are known: 30 steps, twelve of one kind, days that are slow or quick."""

    def __init__(self, seed: int) -> None:
        self.random = np.random.default_rng(seed)
        ids = [f"s{i}" for i in range(19)]
        self.names = [*ids[:9], *[ids[9]] * 12, *ids[10:]]
        self.takes = {i: float(np.exp(self.random.normal(math.log(15.0), 0.5))) for i in ids}
        self.middles = {i: math.log(t) + self.random.normal(0.0, 0.3) for i, t in self.takes.items()}
        self.spreads = {i: self.random.uniform(0.2, 0.45) for i in ids}

    def day(self) -> list[tuple[str, float]]:
        slow = self.random.normal(0.0, 0.15)
        draw = self.random.normal
        return [(n, float(np.exp(self.middles[n] + slow + self.spreads[n] * draw()))) for n in self.names]


def covered(act: Imagined, nights: int, done: int) -> tuple[bool, bool]:
    """Whether P50 and P80 of what is left held, after so many past nights and so many steps tonight."""
    days = [act.day() for _ in range(nights)]
    past: dict[str, list[float]] = {}
    for name, seconds in (step for day in days for step in day):
        past.setdefault(name, []).append(seconds)
    times = {name: learn_time(past.get(name, []), takes) for name, takes in act.takes.items()}
    seed = int(act.random.integers(2**31))
    made = Forecast(times, act.names, seed=seed, day_spread=day_spread(days, times), draws=500)
    tonight = act.day()
    had = tonight[done][1] * act.random.uniform(0.0, 0.95) if done else 0.0
    under_way = UnderWay(done, had) if done else None
    left = made.look(range(done, len(tonight)), tonight[:done], under_way).work()
    true = sum(seconds for _, seconds in tonight[done:]) - had
    return true <= left.seconds(0.5), true <= left.seconds(0.8)


@pytest.mark.parametrize("done", [0, 8, 15])
def test_four_of_five_imagined_evenings_are_over_by_p80(done: int) -> None:
    """At the start, among single steps, and in the middle of a kind; histories of 0, 2, 4, 8 and 20 nights."""
    told = [covered(Imagined(1000 * nights + k), nights, done) for nights in (0, 2, 4, 8, 20) for k in range(100)]
    p50, p80 = np.mean(told, axis=0)
    print(f"\nwith {done} of 30 done: P50 covers {p50:.1%}, P80 covers {p80:.1%} of {len(told)} evenings")
    assert 0.75 <= p80 <= 0.85
    assert 0.42 <= p50 <= 0.58


def test_sample_rows_are_told() -> None:
    sample = forecast(["line", "mix", "walk"], draws=50).look([2, 0])
    assert isinstance(sample, Sample)
    assert sample.rows == (2, 0)
    assert mean_of(sample.work([0])) + mean_of(sample.work([1])) == pytest.approx(mean_of(sample.work()))
