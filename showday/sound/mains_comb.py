"""A family of lines k * f0 in one-second looks: its fundamental, the power of each line, and how it behaves.

The lines of a mains family are at least 43 Hz apart and a Hann look of one second is 4 Hz wide, so each line can be
measured alone in the spectrum; that gives what a least-squares fit of sines gives, at a hundredth of the work.
Frequencies come from the parabola through the logarithm of a Hann peak (J. O. Smith, Spectral Audio Signal Processing,
quadratic interpolation). With the spectrum padded twofold it errs by 0.0016 Hz, always in the same way: `_bend` takes that
back, to below 0.0001 Hz.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from showday.sound.medians import medians
from showday.sound.model import Floats, Samples

LOWEST_HZ, HIGHEST_HZ = 43.0, 66.0
"""Where f0 is searched: EN 50160 allows islands 50 Hz -15 %, and generator sets of ISO 8528-5 class G2 rise to 60 Hz
+10 %. Less than an octave, so that half or twice of a family is never a candidate."""
STEP_HZ = 0.02
"""At the highest line searched that is less than a bin."""
PADDED = 2
"""Times the length of a look that is transformed."""
SEARCHED = 15
"""Lines that take part in the search: beyond, a wandering generator smears them."""
COUNTED = 30
"""Lines that may count as present."""
TOP_HZ = 5_000.0
"""Lines above are not measured."""
PRESENT_DB = 12.0
"""A line counts when its peak stands this far over the noise of a Hann bin. Measured: no family in 300 looks of noise."""
OUT_DB = 8.0
"""A line stands out when the band around it holds this much more than the band midway to the next. Measured: at most 4 % of
the lines of a clean channel do so by chance."""
LOW_LINES = 5
"""Lines of which the strongest is looked at for skirts: a wandering generator smears the upper ones."""
FLANK_HZ = 4.0
"""Where the flank of the clearest line may lead: half the main lobe of a Hann look of one second is 2 Hz, and side
lobes count, too, when the noise is 60 dB down."""
CLEAR_DB = 20.0
"""A line that no noise makes."""
CHANCE_DB = 13.0
"""What noise alone may reach beside a line, over its mean: twenty times, with odds of 1e-7 in the thirty bins there."""
REST_BAND = (20.0, 3_000.0)
"""Hz of the rest that a family is compared with."""
BESIDE_LINE = (6.0, 20.0)
"""Hz from a line within which its noise is taken."""
FURTHER_HZ = 60.0
"""Of the spectrum above the highest line that is looked at: the gap behind it and the noise beside it."""

Ints = npt.NDArray[np.intp]
Powers = npt.NDArray[np.float32]
_Number = TypeVar("_Number", np.float32, np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """What a comb of lines looks like in each of W looks, with up to K lines."""

    f0: Floats
    """[W] Hz."""
    power: Floats
    """[W, K] mean square of each line, without the noise under it."""
    snr: Floats
    """[W, K] dB of each line's peak over the noise of its Hann bin."""
    rest: Floats
    """[W] mean square of what is not of the family, 20 Hz to 3 kHz."""
    change: Floats
    """[W] dB by which the lines' power grows from the first half of the look to the second; NaN without lines."""
    line_change: Floats
    """[W] the same as the mean of the lines' own changes in dB: upper lines of a plucked note fade first."""
    beside_db: Floats
    """[W] what stands highest 3 to 10 Hz beside the strongest low line, in dB over that line; struck notes have skirts."""
    spread: Floats
    """[W] dB between the loudest and the quietest 50 ms of the look."""
    share: Floats
    """[W] share of all lines that stand out of the gaps between them."""

    @property
    def present(self) -> npt.NDArray[np.bool_]:
        """[W, COUNTED] which lines count."""
        return np.asarray(self.snr[:, :COUNTED] > PRESENT_DB)

    @property
    def comb(self) -> Floats:
        """[W] mean square of the whole family: every line that is more than a whim of the noise."""
        return np.asarray((self.power * (self.snr > PRESENT_DB - 4)).sum(axis=1))


class CombFitter:
    """Fits looks of `length` samples at `rate` Hz."""

    def __init__(self, rate: float, length: int) -> None:
        self._rate, self._length = rate, length
        self._size = _smooth(PADDED * length)
        self._df = rate / self._size
        self._bend = _bend(self._size / length)
        self._window = np.hanning(length + 1)[:-1].astype(np.float32)
        self._half_window = np.hanning(length // 2 + 1)[:-1].astype(np.float32)
        self._top = min(TOP_HZ, 0.45 * rate)
        self._bins = min(self._size // 2 + 1, round((self._top + FURTHER_HZ) / self._df))
        self._candidates = np.arange(LOWEST_HZ, HIGHEST_HZ, STEP_HZ)
        orders = np.arange(1, SEARCHED + 1)
        self._places: Ints = np.round(np.outer(orders, self._candidates) / self._df).astype(np.intp)
        self._orders = np.arange(1, int(self._top / LOWEST_HZ) + 1, dtype=np.float64)
        low, high = BESIDE_LINE
        side = np.arange(round(low / self._df), round(high / self._df))
        self._sides: Ints = np.concatenate((-side, side)).astype(np.intp)
        # a sine of amplitude a has sum |X|^2 = a^2/4 * size * sum w^2 over its peak: power a^2/2 is twice that, scaled
        self._scale = 2.0 / (self._size * float((self._window.astype(np.float64) ** 2).sum()))

    @property
    def lines(self) -> int:
        """K of the fits."""
        return len(self._orders)

    def fit(self, looks: Samples, near: Floats | None = None) -> Fit:
        """The family in each look of [W, length]; `near` gives each look's f0 where it is known to 0.1 Hz."""
        centred = looks - looks.mean(axis=1, keepdims=True, dtype=np.float64).astype(np.float32)
        spectrum = _powers(centred * self._window, self._size, self._bins)
        start = self._search(spectrum) if near is None else near
        f0 = self._refine(spectrum, start)
        inside = np.outer(f0, self._orders) < self._top
        peak, _ = self._peaks(spectrum, f0, 0.25 + 0.02 * self._orders)
        noise = self._noise(spectrum, f0)
        snr = np.where(inside, 10 * np.log10(peak / (noise + 1e-30) + 1e-9), -90.0)
        total = _summed(spectrum)
        wide = 2.5 + 0.12 * self._orders
        held = self._band(total, np.outer(f0, self._orders), wide)
        bins = 2 * np.round(wide / self._df) + 1
        power = np.where(inside, np.maximum(held - noise * bins, 0) * self._scale, 0.0)
        beside = self._beside(spectrum, f0, np.where(snr > PRESENT_DB, power, 0.0), noise)
        rest = self._rest(total, power, snr, f0)
        change, line_change = self._changes(centred, f0, snr)
        share = self._share(total, f0, inside)
        return Fit(f0, power, snr, rest, change, line_change, beside, spread_db(centred), share)

    def _search(self, spectrum: Powers) -> Floats:
        """f0 to a few hundredths of a Hz: the candidate with most clipped log-SNR at its lines."""
        block = max(1, round(25 / self._df))
        used = int(self._places.max()) + 1
        whole = -(-used // block) * block
        low = spectrum[:, :whole]
        middle = medians(low.reshape(len(low), -1, block)).repeat(block, axis=1)
        worth = np.clip(np.log10(low / (middle + 1e-30) + 1e-9) - 0.5, 0, 4).astype(np.float32)
        score = np.zeros((len(low), len(self._candidates)), dtype=np.float32)
        for places in self._places:
            score += worth.take(places, axis=1)
        best = np.argmax(score, axis=1)
        found = np.empty(len(spectrum))
        for look, at in enumerate(best):
            level = score[look] >= score[look, at] - 1e-4
            other = np.flatnonzero(~level[at:])
            end = at + int(other[0]) if len(other) else len(level)
            found[look] = self._candidates[at:end].mean()
        return found

    def _peaks(self, spectrum: Powers, f0: Floats, reach: Floats) -> tuple[Floats, Floats]:
        """Height and frequency [W, K'] of the highest bin within `reach` [K'] Hz of each of the first lines."""
        centre = np.round(np.outer(f0, self._orders[: len(reach)]) / self._df).astype(np.intp)
        most = int(np.ceil(reach.max() / self._df))
        offsets = np.arange(-most, most + 1)
        limit = spectrum.shape[1] - 2
        places = np.clip(centre[:, :, None] + offsets, 1, limit)
        near = np.abs(offsets)[None, :] <= np.ceil(reach / self._df)[:, None]
        values = np.where(near[None], _picked(spectrum, places), np.float32(-1))
        best = np.take_along_axis(places, values.argmax(axis=2)[:, :, None], axis=2)[:, :, 0]
        around = [np.log(_picked(spectrum, best + d).astype(np.float64) + 1e-30) for d in (-1, 0, 1)]
        bend = around[0] - 2 * around[1] + around[2]
        with np.errstate(divide="ignore", invalid="ignore"):
            shift = np.clip(np.where(bend < 0, 0.5 * (around[0] - around[2]) / bend, 0.0), -0.5, 0.5)
        height = np.exp(around[1] - 0.25 * (around[0] - around[2]) * shift)
        return height, (best + shift * (1 + self._bend * (0.25 - shift**2))) * self._df

    def _refine(self, spectrum: Powers, start: Floats) -> Floats:
        """f0 from the lines' own peaks, each worth k^2 times its SNR; low lines first, then all, without strays."""
        f0 = self._by_strongest(spectrum, start)
        noise = self._noise(spectrum, f0, COUNTED) + 1e-30
        for lines, reach in ((5, 0.4), (SEARCHED, 0.4), (COUNTED, 0.4)):
            orders = self._orders[:lines]
            peak, hz = self._peaks(spectrum, f0, reach + 0.03 * orders)
            snr = peak / noise[:, :lines]
            each = hz / orders
            good = (snr > 10 ** (PRESENT_DB / 10)) & (np.abs(each - f0[:, None]) < np.maximum(0.02, 0.3 / orders))
            worth = np.where(good, orders**2 * np.minimum(snr, 1e5), 0.0)
            sums = worth.sum(axis=1)
            f0 = np.where(sums > 0, (worth * each).sum(axis=1) / np.where(sums > 0, sums, 1), f0)
        return f0

    def _by_strongest(self, spectrum: Powers, start: Floats) -> Floats:
        """f0 by the clearest of the low lines alone. Far over the noise even the flanks of a line count as much as its top
        in the search, which then errs by up to half their width."""
        peak, hz = self._peaks(spectrum, start, np.full(LOW_LINES, FLANK_HZ))
        snr = peak / (self._noise(spectrum, start, LOW_LINES) + 1e-30)
        best = snr.argmax(axis=1)
        looks = np.arange(len(start))
        clear = snr[looks, best] > 10 ** (CLEAR_DB / 10)
        return np.where(clear, hz[looks, best] / (best + 1), start)

    def _noise(self, spectrum: Powers, f0: Floats, lines: int | None = None) -> Floats:
        """Mean noise [W, K] of a bin near each line: the median 6 to 20 Hz away, made a mean (exponential law)."""
        centre = np.round(np.outer(f0, self._orders[:lines]) / self._df).astype(np.intp)
        places = np.minimum(np.abs(centre[:, :, None] + self._sides), spectrum.shape[1] - 1)
        return np.asarray(medians(_picked(spectrum, places)) / np.log(2), dtype=np.float64)

    def _beside(self, spectrum: Powers, f0: Floats, power: Floats, noise: Floats) -> Floats:
        """[W] dB; what is no more than noise can do counts as nothing."""
        looks = np.arange(len(f0))
        order = power[:, :LOW_LINES].argmax(axis=1)
        centre = np.round(f0 * (order + 1) / self._df).astype(np.intp)
        side = np.arange(round(3 / self._df), round(10 / self._df) + 1)
        around = _picked(spectrum, np.abs(centre[:, None] + np.concatenate((-side, side)))).max(axis=1)
        line = _picked(spectrum, centre[:, None] + np.arange(-1, 2)).max(axis=1)
        around = np.where(around > 10 ** (CHANCE_DB / 10) * noise[looks, order], around, 0.0)
        return np.asarray(10 * np.log10(around / (line + 1e-30) + 1e-12), dtype=np.float64)

    def _band(self, total: Floats, hz: Floats, wide: Floats | float) -> Floats:
        """Sum of the bins within `wide` Hz of each frequency [W, K]."""
        centre = np.round(hz / self._df).astype(np.intp)
        reach = np.round(np.broadcast_to(wide, centre.shape[1:]) / self._df).astype(np.intp)
        return _between(total, centre, reach)

    def _rest(self, total: Floats, power: Floats, snr: Floats, f0: Floats) -> Floats:
        low, high = (round(hz / self._df) for hz in REST_BAND)
        high = min(high, total.shape[1] - 1)
        whole = (total[:, high] - total[:, low]) * self._scale
        lines = (np.outer(f0, self._orders) < REST_BAND[1]) & (snr > PRESENT_DB - 4)
        return np.asarray(np.maximum(whole - (power * lines).sum(axis=1), 1e-20))

    def _changes(self, centred: Samples, f0: Floats, snr: Floats) -> tuple[Floats, Floats]:
        # without padding: what counts is the power of whole peaks, beside which nothing lies for 40 Hz
        half = self._length // 2
        df = self._rate / half
        orders = self._orders[:SEARCHED]
        centre = np.round(np.outer(f0, orders) / df).astype(np.intp)
        reach = np.full(centre.shape[1:], round(4 / df))
        bins = min(half // 2 + 1, int(centre.max()) + int(reach[0]) + 2)
        halves = []
        for part in (centred[:, :half], centred[:, half : 2 * half]):
            total = _summed(_powers(part * self._half_window, half, bins))
            halves.append(_between(total, centre, reach) + 1e-30)
        first, second = halves
        snr = snr[:, : len(orders)]
        strong = snr > PRESENT_DB + 6
        strong |= (snr > PRESENT_DB) & ~strong.any(axis=1, keepdims=True)
        count = strong.sum(axis=1)
        with np.errstate(divide="ignore", invalid="ignore"):
            change = 10 * np.log10((second * strong).sum(axis=1) / (first * strong).sum(axis=1))
            lines = (10 * np.log10(second / first) * strong).sum(axis=1) / count
        return np.where(count > 0, change, np.nan), np.where(count > 0, lines, np.nan)

    def _share(self, total: Floats, f0: Floats, inside: npt.NDArray[np.bool_]) -> Floats:
        wide = 2.0 + 0.06 * self._orders
        line = self._band(total, np.outer(f0, self._orders), wide)
        gap = self._band(total, np.outer(f0, self._orders + 0.5), wide)
        out = (line > 10 ** (OUT_DB / 10) * gap) & inside
        return np.asarray(out.sum(axis=1) / np.maximum(inside.sum(axis=1), 1), dtype=np.float64)


def spread_db(centred: Samples) -> Floats:
    """[W] dB between the loudest and the quietest twentieth of each look."""
    size = centred.shape[1] // 20
    parts = centred[:, : 20 * size].reshape(len(centred), 20, size)
    power = np.einsum("wij,wij->wi", parts, parts).astype(np.float64) + 1e-30
    return np.asarray(10 * np.log10(power.max(axis=1) / power.min(axis=1)))


def _powers(looks: Samples, size: int, bins: int) -> Powers:
    """[W, bins] squared magnitudes of the first bins of a transform of `size`."""
    seen = np.fft.rfft(looks, size)[:, :bins]
    return np.asarray(seen.real**2 + seen.imag**2, dtype=np.float32)


def _summed(spectrum: Powers) -> Floats:
    """[W, bins + 1] sums of all bins below each; doubles, for differences of them are powers of faint lines."""
    total = np.zeros((len(spectrum), spectrum.shape[1] + 1))
    np.cumsum(spectrum, axis=1, dtype=np.float64, out=total[:, 1:])
    return total


def _between(total: Floats, centre: Ints, reach: Ints) -> Floats:
    """[W, K] sums of the bins within `reach` [K] of `centre` [W, K]."""
    last = total.shape[1] - 1
    upper = _picked(total, np.minimum(centre + reach + 1, last))
    return np.asarray(upper - _picked(total, np.clip(centre - reach, 0, last)))


def _picked(values: npt.NDArray[_Number], places: Ints) -> npt.NDArray[_Number]:
    """[W, ...] the values [W, bins] at the places [W, ...] of each look."""
    rows = np.arange(len(values)) * values.shape[1]
    found: npt.NDArray[_Number] = values.reshape(-1).take(places + rows.reshape(-1, *[1] * (places.ndim - 1)))
    return found


def _bend(padded: float) -> float:
    """By how much the parabola errs on a Hann peak: true offset = p (1 + bend (1/4 - p^2)), in bins of the padded spectrum.

    A least-squares fit to the transform of the window, sinc(x) / (1 - x^2) at x bins of an unpadded spectrum.
    """
    true = np.linspace(-0.5, 0.5, 101)
    left, middle, right = (
        2 * np.log(np.abs(np.sinc(x) / (1 - x**2))) for x in ((k - true) / padded for k in (-1, 0, 1))
    )
    found = 0.5 * (left - right) / (left - 2 * middle + right)
    form = found * (0.25 - found**2)
    return float(((true - found) * form).sum() / (form**2).sum())


def _smooth(least: int) -> int:
    """The smallest 2^a 3^b 5^c that is not less: transforms of such lengths are quick."""
    best = 1 << (least - 1).bit_length()
    five = 1
    while five < best:
        three = five
        while three < best:
            two = three
            while two < least:
                two *= 2
            best = min(best, two)
            three *= 3
        five *= 5
    return best
