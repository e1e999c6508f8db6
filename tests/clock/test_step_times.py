"""How long a step will take: Student's t against SciPy, the predictive law against closed forms."""

from __future__ import annotations

import math
from statistics import NormalDist, fmean, stdev

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from showday.clock.student import REACH, score_of, t_of, t_quantile
from showday.clock.times import (
    ENOUGH,
    GUESS_RUNS,
    LEAST_SECONDS,
    LEAST_SPREAD,
    SPREAD_RUNS,
    USUAL_DAY,
    USUAL_SPREAD,
    StepTime,
    day_spread,
    learn_time,
)

PAST = [40.0, 50.0, 90.0, 45.0, 60.0]
SECONDS = st.floats(0.0, 1e5)


@pytest.mark.parametrize(
    ("freedom", "reach", "near"),
    [
        (1, 3, 1e-6),
        (1, 5, 1e-3),
        (2, 5, 1e-3),
        (4, 3, 1e-6),
        (4, 5, 1e-4),
        (9, 5, 1e-4),
        (30, 5, 1e-5),
        (500, 5, 1e-6),
    ],
)
def test_quantiles_are_those_of_scipy(freedom: int, reach: float, near: float) -> None:
    scores = np.linspace(0.0, reach, 301)
    wanted = -stats.t.ppf(stats.norm.sf(scores), freedom)
    assert t_of(scores, freedom) == pytest.approx(wanted, rel=near, abs=1e-12)
    assert t_of(-scores, freedom) == pytest.approx(-wanted, rel=near, abs=1e-12)


@pytest.mark.parametrize(
    ("chance", "freedom", "table"),
    [(0.95, 1, 6.314), (0.975, 4, 2.776), (0.9, 10, 1.372), (0.995, 30, 2.750), (0.975, 120, 1.980)],
)
def test_quantiles_are_those_of_printed_tables(chance: float, freedom: int, table: float) -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.2, critical values of Student's t."""
    assert round(t_quantile(chance, freedom), 3) == table


def test_many_degrees_of_freedom_are_the_normal() -> None:
    assert t_quantile(0.8, 10**9) == pytest.approx(NormalDist().inv_cdf(0.8), rel=1e-3)


@given(st.floats(-5, 5), st.integers(4, 300))
def test_the_score_of_a_t_leads_back(score: float, freedom: int) -> None:
    t = float(t_of(np.array([score]), freedom)[0])
    assert score_of(t, freedom) == pytest.approx(score, abs=1e-4)


def test_scores_end_somewhere() -> None:
    assert score_of(1e30, 4) == REACH
    assert score_of(-1e30, 4) == -REACH


def test_five_runs_give_the_predictive_t() -> None:
    time = learn_time(PAST, guess=1000.0)
    assert [round(time.seconds(p), 1) for p in (0.5, 0.8, 0.9)] == [54.6, 75.7, 92.9]
    logs = np.log(PAST)
    law = stats.t(df=4, loc=logs.mean(), scale=logs.std(ddof=1) * math.sqrt(1 + 1 / 5))
    for chance in (0.05, 0.5, 0.8, 0.9, 0.99):
        assert time.seconds(chance) == pytest.approx(math.exp(law.ppf(chance)), rel=1e-4)


def test_it_is_wider_than_mean_and_spread_plugged_in() -> None:
    logs = [math.log(s) for s in PAST]
    plugged = math.exp(fmean(logs) + stdev(logs) * NormalDist().inv_cdf(0.8))
    assert round(plugged, 1) == 71.3
    assert learn_time(PAST).seconds(0.8) > plugged + 4


def test_without_a_past_the_authors_time_is_the_middle() -> None:
    time = learn_time([], 20.0)
    assert time.seconds(0.5) == pytest.approx(20.0)
    law = stats.t(df=SPREAD_RUNS, loc=math.log(20.0), scale=USUAL_SPREAD * math.sqrt(1 + 1 / 3))
    assert time.seconds(0.8) == pytest.approx(math.exp(law.ppf(0.8)), rel=1e-4)


@pytest.mark.parametrize("past", [[40.0], [40.0, 50.0], [40.0, 50.0, 90.0], [40.0, 50.0, 90.0, 45.0]])
def test_few_runs_and_the_authors_time_as_three(past: list[float]) -> None:
    """The conjugate posterior of Gelman et al., Bayesian Data Analysis, 3rd ed., equation 3.3 ff., by hand."""
    n, usual = len(past), math.log(20.0)
    logs = [math.log(s) for s in past]
    mean = fmean(logs)
    freedom = SPREAD_RUNS + n
    variance = (
        SPREAD_RUNS * USUAL_SPREAD**2
        + sum((x - mean) ** 2 for x in logs)
        + GUESS_RUNS * n / (GUESS_RUNS + n) * (mean - usual) ** 2
    ) / freedom
    law = stats.t(
        df=freedom,
        loc=(GUESS_RUNS * usual + n * mean) / (GUESS_RUNS + n),
        scale=math.sqrt(variance * (1 + 1 / (GUESS_RUNS + n))),
    )
    time = learn_time(past, 20.0)
    for chance in (0.2, 0.5, 0.8, 0.95):
        assert time.seconds(chance) == pytest.approx(math.exp(law.ppf(chance)), rel=1e-4)


def test_three_runs_weigh_as_much_as_the_author() -> None:
    assert learn_time([40.0] * 3, 10.0).seconds(0.5) == pytest.approx(20.0)


def test_from_five_runs_on_the_author_is_not_asked() -> None:
    assert learn_time([30.0] * ENOUGH, 1.0) == learn_time([30.0] * ENOUGH, 900.0)
    assert learn_time([30.0] * (ENOUGH - 1), 1.0) != learn_time([30.0] * (ENOUGH - 1), 900.0)


@given(st.lists(SECONDS, max_size=12), st.one_of(st.none(), st.floats(0.1, 3600)), st.randoms(use_true_random=False))
def test_any_past_gives_a_time_and_its_order_changes_nothing(
    past: list[float], guess: float | None, random: object
) -> None:
    time = learn_time(past, guess)
    mixed = list(past)
    random.shuffle(mixed)  # type: ignore[attr-defined]
    assert learn_time(mixed, guess) == time
    quantiles = [time.seconds(p) for p in (0.1, 0.5, 0.8, 0.9)]
    assert quantiles == sorted(quantiles)
    assert quantiles[0] > 0 and math.isfinite(quantiles[-1])


def test_answers_in_no_time_count_as_half_a_second() -> None:
    time = learn_time([0.0] * 6)
    assert time.seconds(0.5) == pytest.approx(LEAST_SECONDS)
    assert time.spread == LEAST_SPREAD


@pytest.mark.parametrize("true", [0.0, 0.15, 0.4])
def test_the_spread_of_whole_days_is_found_in_them(true: float) -> None:
    random = np.random.default_rng(3)
    names = [f"step{i}" for i in range(25)]
    days = []
    for _ in range(120):
        slow = random.normal(0.0, true)
        days.append([(name, float(np.exp(3 + slow + 0.3 * random.normal()))) for name in names])
    times = {name: learn_time([s for day in days for n, s in day if n == name]) for name in names}
    assert day_spread(days, times) == pytest.approx(true, abs=0.04)


def test_too_few_days_say_nothing() -> None:
    times = {"a": learn_time([], 10.0), "b": learn_time([], 10.0)}
    assert day_spread([], times) == USUAL_DAY
    assert day_spread([[("a", 9.0), ("b", 14.0)]], times) == USUAL_DAY
    assert day_spread([[("a", 9.0)], [("b", 9.0)], [("unknown", 9.0)]], times) == USUAL_DAY


def test_two_days_by_hand() -> None:
    """Offsets d, d and -d, -d: the sample variance of the days is 2 d², blended with four usual days."""
    times = {name: StepTime(math.log(10.0), 0.3, 9.0, 8.0) for name in ("a", "b")}
    slow, quick = 10.0 * math.exp(0.3), 10.0 * math.exp(-0.3)
    days = [[("a", slow), ("b", slow)], [("a", quick), ("b", quick)]]
    assert day_spread(days, times) == pytest.approx(math.sqrt((4 * USUAL_DAY**2 + 2 * 0.3**2) / 5))
