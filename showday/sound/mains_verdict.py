"""What the quiet looks of one channel say: a mains family or not, and which. Every threshold says where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showday.sound.mains_comb import COUNTED, PRESENT_DB, Fit
from showday.sound.medians import medians
from showday.sound.model import Floats
from showday.sound.weighting import a_power

LEAST_LOOKS = 3
NOMINAL = ((50.0, 0.5), (60.0, 0.6))
"""Grid frequencies with 1 %: EN 50160 keeps a synchronous grid within it for 99.5 % of a year."""
GENERATOR = ((47.0, 53.5), (57.0, 64.0))
"""Where a generator set may run: ISO 8528-5 class G2 has 5 % droop and a steady band of 1.5 %, so an unloaded set
stands up to 6.7 % high; an overloaded one sags by as much."""
LEAST_LINES = 2
LEAST_COMB_DB = -6.0
"""The family against the rest up to 3 kHz. Measured: a channel under changeover music came to -10.6 dB."""
ONE_LINE_DB = 30.0
"""A single line must stand out this far (own choice: a thousand times the noise)."""
GRID_SPREAD_HZ, MOST_SPREAD_HZ = 0.03, 0.6
"""Standard deviation of f0 over the looks, for a grid and for a generator. Measured: 0.012 and 0.22; clean channels
from 2."""
GENERATOR_LINES = 4
MANY_LINES = 6
"""Lines that meet a frequency that is known to 0.03 Hz by no chance (own choice)."""
STILL_HZ = 0.015
"""Standard deviation of a grid's f0 in ten seconds; measured: 0.001 to 0.012."""
EVEN_DB = 6.0
"""Away from the grid's frequencies the looks must be this even, in dB between their loudest and quietest twentieth: a
generator's hum is, and hardly a note."""
MOST_DB = 12.0
"""What differs more within a second is music or speech: the rule of the noise floor (`noise_floor.EVEN_DB`)."""
FADING_DB = 0.75
"""Change between the halves of a look, half a second apart, from which on a family fades like a note. Measured: hum at the
level of the rest changes by 0.3 dB at random, plucked strings and drums by -1 to -15."""
LINE_FADING_DB = 1.25
"""The same for the mean over the lines, which is noisier."""
SKIRT_DB = -25.0
"""What may stand 3 to 10 Hz beside the strongest line: a steady line has side lobes of -31 dB there at most (Hann); a
note that begins, fades or bends has a skirt."""
WANDER_HZ = 0.05
"""Away from the grid's frequencies only a generator is mains, and that wanders by 0.1 to 0.3 Hz; a note does not."""
FLAT_DB, LEVEL_WANDER_HZ = 1.0, 0.005
"""What does not change its level at all is hardly a note even if it moves less: a set whose load stays the same keeps
within a few hundredths of a Hz for some seconds, and a synthesizer's drone does not move at all. Own choices; measured: hum
of many lines changes by 0.5 dB at most."""
ROUGH_HZ = 0.5
"""Random error of f0 in a look, in Hz, times the root of the sum of k^2 SNR_k (measured with sines in white noise: 0.4)."""
MULTIPLE_DB = 20.0
"""If lines at every third (fourth, ...) place hold all but a hundredth of the power, the family has another fundamental."""
RIPPLE_DB = 10.0
"""Even over odd lines: a rectifier leaves even ones only (its Fourier series)."""
BUZZ_SHARE = 0.3
"""Share of lines that stand out. Measured: hum 0.01 to 0.10, phase-cut dimmers 0.60 to 0.65."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """A family that was found in a stretch of one channel."""

    kind: str
    """hum, buzz, ripple or clock_tone."""
    f0: float
    level_dbfs: float
    weighted_dbfs: float
    """A-weighted level."""
    from_s: float
    to_s: float
    confidence: float
    third_db: float
    """Third line over the first."""
    fifth_db: float
    order: int
    """The strongest line."""
    snr: float
    """Its power over the noise of a Hann bin."""
    lines: int = 0
    """Lines that count, in most looks."""
    even: bool = False
    """Every other line alone, so that the tone itself is an octave higher."""
    exact: bool = False
    """As steady as a crystal at a round figure, as far as this stretch tells."""


def nominal(f0: float) -> float:
    """50 or 60, whichever is nearer."""
    return min((hz for hz, _ in NOMINAL), key=lambda hz: abs(f0 - hz))


def on_grid(f0: float) -> bool:
    """Within 1 % of a grid's frequency."""
    return any(abs(f0 - hz) <= off for hz, off in NOMINAL)


def is_family(fit: Fit, proven: bool = False) -> bool:
    """Whether the looks show lines of one steady mains frequency; `proven` as for `is_steady`."""
    if len(fit.f0) < LEAST_LOOKS:
        return False
    lines = float(medians(fit.present.sum(axis=1, dtype=np.float64)))
    strongest = float(medians(fit.snr[:, :3].max(axis=1)))
    one = lines >= 1 and strongest > ONE_LINE_DB
    if lines < LEAST_LINES and not one:
        return False
    if 2 * np.count_nonzero(fit.present[:, :3].any(axis=1)) <= len(fit.f0):
        return False
    if float(medians(_db(fit.comb / fit.rest))) < LEAST_COMB_DB:
        return False
    return _frequency_is_mains(fit, lines) and is_steady(fit, proven) and not _other_fundamental(fit)


def may_be_family(fit: Fit) -> bool:
    """Whether it is one but for what stands beside its lines, and as even as no struck note: a set's hum under music that
    goes on, or a note with a vibrato."""
    return is_family(fit, proven=True) and float(medians(fit.spread)) < FLAT_DB


def is_steady(fit: Fit, proven: bool = False) -> bool:
    """Whether the lines keep their level inside the looks; notes and drums fade.

    Many lines of a mains that is `proven` elsewhere, and stays, or that stand still at a grid's frequency and are louder
    than all the rest, are no note: what is beside them may be music that goes on.
    """
    changes = fit.change[np.isfinite(fit.change)]
    lines = fit.line_change[np.isfinite(fit.line_change)]
    if len(changes) < LEAST_LOOKS - 1:
        return False
    still = on_grid(float(medians(fit.f0))) and float(fit.f0.std()) < STILL_HZ
    loud = float(medians(_db(fit.comb / fit.rest))) > 0
    many = float(medians(fit.present.sum(axis=1, dtype=np.float64))) >= MANY_LINES and (proven or (still and loud))
    if (float(medians(fit.beside_db)) > SKIRT_DB and not many) or float(medians(fit.spread)) > MOST_DB:
        return False
    holds = abs(float(medians(changes))) < FADING_DB and float(medians(np.abs(changes))) < 2 * FADING_DB
    return holds and abs(float(medians(lines))) < LINE_FADING_DB


def random_hz(fit: Fit) -> float:
    """By how much f0 of a look errs at random, in Hz."""
    orders = np.arange(1, fit.snr.shape[1] + 1)
    good = np.where(fit.snr > PRESENT_DB, 10 ** (fit.snr / 10), 0.0)
    return ROUGH_HZ / float(np.sqrt(medians((orders**2 * good).sum(axis=1)) + 1e-9))


def _frequency_is_mains(fit: Fit, lines: float) -> bool:
    """A grid stays near its figure and hardly moves; a generator is anywhere near and wanders, smoothly."""
    spread, middle = float(fit.f0.std()), float(medians(fit.f0))
    random = random_hz(fit)
    if on_grid(middle) and spread < max(GRID_SPREAD_HZ, 3 * random):
        return True
    if not any(low <= middle <= high for low, high in GENERATOR):
        return False
    clear = float(medians(_db(fit.comb / fit.rest))) > 0 and lines >= GENERATOR_LINES
    uneven = float(medians(fit.spread))
    level = uneven < FLAT_DB and lines >= MANY_LINES
    moves = spread > max(LEVEL_WANDER_HZ if level else WANDER_HZ, 3 * random)
    return clear and uneven < EVEN_DB and moves and spread < MOST_SPREAD_HZ


def _other_fundamental(fit: Fit) -> bool:
    power = medians((fit.power * (fit.snr > PRESENT_DB)).T)
    whole = float(power.sum())
    return any(
        whole - float(power[step - 1 :: step].sum()) < whole / 10 ** (MULTIPLE_DB / 10) for step in range(3, 9)
    )


def describe(fit: Fit, from_s: Floats, shared: bool = False) -> Verdict:
    """The family in figures: medians over the looks."""
    f0 = float(medians(fit.f0))
    power = medians((fit.power * (fit.snr > PRESENT_DB - 4)).T)
    orders = np.arange(1, len(power) + 1, dtype=np.float64)
    even, odd = float(power[1::2].sum()), float(power[::2].sum())
    share = float(medians(fit.share))
    kind = "ripple" if _db(even / (odd + 1e-30)) > RIPPLE_DB else "buzz" if share > BUZZ_SHARE else "hum"
    comb = float(medians(fit.comb))
    weighted = float((power * a_power(f0 * orders)).sum())
    order = 1 + int(np.argmax(power[:COUNTED]))
    over = float(medians(_db(fit.comb / fit.rest)))
    lines = float(medians(fit.present.sum(axis=1, dtype=np.float64)))
    sure = 0.6 + 0.02 * min(lines, 10) + 0.01 * min(max(over, 0), 20) + (0.0 if on_grid(f0) else -0.1)
    return Verdict(
        kind,
        f0,
        level(comb),
        level(weighted),
        float(from_s.min()),
        float(from_s.max()) + 1.0,
        min(0.98, max(0.3, sure - (0.1 if shared or lines < LEAST_LINES else 0.0))),
        float(_db(power[2] / (power[0] + 1e-30))),
        float(_db(power[4] / (power[0] + 1e-30))),
        order,
        float(10 ** (medians(fit.snr[:, order - 1]) / 10)),
        int(lines),
        kind == "ripple",
    )


def level(mean_square: float) -> float:
    """dBFS by AES17: a full-scale sine has a mean square of one half."""
    return float(_db(2 * mean_square + 1e-30))


def _db(ratio: Floats | float) -> Floats:
    return np.asarray(10 * np.log10(np.maximum(ratio, 1e-30)), dtype=np.float64)
