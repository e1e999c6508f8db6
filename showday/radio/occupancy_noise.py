"""What noise does in a sweep: how far a bin strays from the mean, and from which height on it is no longer noise.

The power of a noise bin that was looked at once is exponential; the mean of M looks is gamma-distributed with shape M.
A trace that keeps the strongest of K looks follows the law of the largest of K. Every function works with powers that
are relative to the mean of the noise, never with dB, unless its name says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

MANY_CELLS = 10_000
"""So many noise cells that their mean is as good as known."""
FEWEST_LOOKS, MOST_LOOKS = 0.5, 2_000.0
"""Bounds of what is taken for a number of looks: below, a trace is no noise; above, it does not matter."""


def ca_cfar_factor(cells: int, chance: float) -> float:
    """Cell-averaging CFAR: threshold over the mean of N noise cells, N · (Pfa^(-1/N) - 1), for one look.

    Finn and Johnson, RCA Review 29(3), 414-464, 1968; Richards, Fundamentals of Radar Signal Processing, 6.5.
    """
    return float(cells * (chance ** (-1 / cells) - 1))


def fcme_factor(chance: float) -> float:
    """Forward consecutive mean excision: threshold over the mean of the cells taken for noise, -ln Pfa, for one look.

    Lehtomäki, Vartiainen, Juntti, Saarnisaari, IEEE Trans. Signal Processing 55(9), 4702-4706, 2007.
    """
    return -math.log(chance)


def os_cfar_chance(cells: int, rank: int, factor: float) -> float:
    """Order-statistic CFAR: the chance of a false alarm at `factor` times the rank-th smallest of N cells, one look.

    The product of (N - i) / (N - i + a) for i from 0 to k - 1: Rohling, IEEE Trans. AES-19(4), 608-621, 1983.
    """
    return math.prod((cells - i) / (cells - i + factor) for i in range(rank))


@lru_cache(maxsize=64)
def os_cfar_factor(cells: int, rank: int, chance: float) -> float:
    """The factor at which `os_cfar_chance` is `chance`."""
    return _solve(lambda factor: os_cfar_chance(cells, rank, factor) - chance, 1e-6, 1e6)


@lru_cache(maxsize=512)
def mean_factor(looks: float, cells: int, chance: float) -> float:
    """Threshold over the mean of N noise cells when each cell is a mean of `looks` looks.

    Test cell and reference mean are gamma-distributed, so that their ratio is an F with 2M and 2MN degrees of freedom.
    With one look this is `ca_cfar_factor`; with one look and many cells it is `fcme_factor`. With `chance` = 1 - q it is
    the q-quantile of the noise.
    """

    def excess(factor: float) -> float:
        return _beta_above(factor / (factor + cells), looks, looks * cells) - chance

    return _solve(excess, 1e-9, 1e4)


def held_factor(held: float, chance: float) -> float:
    """Threshold over the mean of a trace that keeps the strongest of K looks, many cells.

    The largest of K exponentials lies below x with chance (1 - e^-x)^K; its mean is the harmonic number of K.
    """
    level = -math.log1p(-math.exp(math.log1p(-chance) / held))
    return level / harmonic(held)


def harmonic(count: float) -> float:
    """The harmonic number H of a count, whole or not: the digamma function at count + 1 plus Euler's constant."""
    total, at = 0.0, count
    while at < 10:  # recurrence up to where the asymptotic series is good to 1e-10 (DLMF 5.11.2)
        at += 1
        total -= 1 / at
    series = math.log(at) + 1 / (2 * at) - 1 / (12 * at**2) + 1 / (120 * at**4) - 1 / (252 * at**6)
    return total + series + 0.5772156649015329


@lru_cache(maxsize=256)
def looks_of_spread(spread: float) -> float:
    """How many looks a trace is the mean of, from the median distance of two unrelated noise bins in dB.

    The ratio of two equal gammas is X / (1 - X) with X beta-distributed (M, M), so the median of its size in dB is
    where that beta holds three quarters. One look: 10 · log10 3 = 4.77 dB.
    """
    if spread <= 0:
        return MOST_LOOKS
    ratio = 10 ** (spread / 10)

    def excess(looks: float) -> float:
        return _beta_above(ratio / (1 + ratio), looks, looks) - 0.25

    if excess(MOST_LOOKS) > 0:
        return MOST_LOOKS
    return FEWEST_LOOKS if excess(FEWEST_LOOKS) < 0 else _solve(excess, FEWEST_LOOKS, MOST_LOOKS)


@lru_cache(maxsize=256)
def held_of_looks(looks: float) -> float:
    """How many looks a trace keeps the strongest of, when it strays as far as the mean of `looks` looks does.

    Compared by the standard deviation over the mean: 1/√M there, √(Σ 1/k²) / H here. Never less than one.
    """

    def excess(held: float) -> float:
        return _spread_held(held) - 1 / math.sqrt(looks)

    if excess(1.0) <= 0:
        return 1.0
    return 1e6 if excess(1e6) > 0 else _solve(excess, 1.0, 1e6)


def _spread_held(held: float) -> float:
    """Standard deviation over mean of the largest of K exponentials; Σ 1/k² runs to K, here its smooth form."""
    rest = 1 / (held + 1) + 1 / (2 * (held + 1) ** 2) + 1 / (6 * (held + 1) ** 3)  # Σ over k > K, Euler-Maclaurin
    return math.sqrt(math.pi**2 / 6 - rest) / harmonic(held)


def signal_factor(looks: float, cells: int, chance: float) -> float:
    """From which power on a bin is a signal, over the mean of the noise: the higher of the two laws.

    A trace does not say whether it is a mean or the strongest of several; the latter strays further upward.
    """
    return max(mean_factor(looks, cells, chance), held_factor(held_of_looks(looks), chance))


def _beta_above(x: float, a: float, b: float) -> float:
    """Chance that a beta-distributed (a, b) number lies above x: 1 - I_x(a, b), without cancellation in the tail."""
    if x <= 0:
        return 1.0
    if x >= 1:
        return 0.0
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    front = math.exp(log_front)
    if x < (a + 1) / (a + b + 2):
        return 1 - front * _fraction(x, a, b) / a
    return front * _fraction(1 - x, b, a) / b


def _fraction(x: float, a: float, b: float) -> float:
    """The continued fraction of the incomplete beta function (DLMF 8.17.22), by Lentz's method (DLMF 3.10)."""
    tiny = 1e-300
    c, d = 1.0, 1 - (a + b) * x / (a + 1)
    d = 1 / (d or tiny)
    made = d
    for m in range(1, 10_000):
        for step in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1 / ((1 + step * d) or tiny)
            c = (1 + step / c) or tiny
            made *= c * d
        if abs(c * d - 1) < 1e-12:
            break
    return made


def _solve(excess: Callable[[float], float], low: float, high: float) -> float:
    """Where a falling function crosses zero between two positive bounds, by halving their ratio."""
    for _ in range(100):
        middle = math.sqrt(low * high)
        if excess(middle) > 0:
            low = middle
        else:
            high = middle
        if high / low < 1 + 1e-12:
            break
    return math.sqrt(low * high)
