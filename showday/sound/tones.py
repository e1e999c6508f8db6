"""Lines that are no mains: the frames of a phone near a cable, and the millisecond frames of a computer's port.

Both are as exact as the clocks they come from, so their lines are looked for just where they are, in every second
of sound and not in quiet ones alone: a phone speaks when it likes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from showday.sound.mains_verdict import level
from showday.sound.model import Block, Finding, Floats, Samples
from showday.sound.windows import HOP_SHARE, Window, Windows, cleaned

PHONE_HZ = 5_200 / 24
"""216.667: a TDMA frame of GSM lasts 120/26 ms (3GPP TS 45.010)."""
PHONE_LINES = (1, 2, 3, 4, 5, 6, 7, 9, 10, 11, 12, 13, 14)
"""Lines looked at. A slot is an eighth of a frame, so the eighth line, 1733 Hz, is missing (Fourier series of a pulse)."""
PHONE_PARTS = (2, 3, 4, 5)
"""Beside a phone's lines, a half to a fifth of a frame's rate away, there is nothing. A bowed bass on a low F has its fifth
line within a hertz of a phone's first, and its others there (measured)."""
LEAST_PHONE_LINES = 9
"""A note at 216 Hz is in the bin with its first four lines only, and buzz of 50 Hz shares every third line with a phone."""
SKIRT_HZ = 2.5
"""A line is higher than what is this far beside it, even in a burst of 0.2 s; a note near by is not, at most orders."""
PORT_HZ = 1_000.0
"""Frames of a USB port at full speed: 1 ms (USB 2.0, 5.3.3)."""
PORT_LINES = (1, 2, 3, 4, 5)
LEAST_PORT_LINES = 3
PORT_SIDES_HZ = (-50.0, 50.0, -100.0, 100.0)
"""Beside a port's lines there is nothing, beside those of buzz at 50 Hz or frames of 10 ms there are the next ones. Of 60
Hz only each third line is near, and three must be."""
LEAST_PORT_LOOKS = 3
PORT_OFF = 200e-6
"""Two crystals, of 100 ppm at most each (common practice)."""
MOST_TURNED_HZ = 0.45
"""Half a turn between two looks a second apart is the most that can be told."""
EVEN_DB = 30.0
"""A test tone of 1 kHz has harmonics, too, but far below it; frames leave lines of similar height."""
PRESENT_DB = 12.0
"""A line over the mean of what stands beside it. In noise 1 % of the lines do so, never nine of thirteen."""
TOP_SHARE = 0.45
"""Lines above this share of the rate are not looked at."""
NEAREST = 2
"""Places beside a line that are looked at on every channel; the others, only where these leave it in doubt."""


@dataclass(slots=True)
class _Heard:
    from_s: float
    to_s: float
    looks: int
    power: float


class _Comb:
    """A family's lines and what stands beside them, in a look of the lower rate.

    A line is present over the mean of all that is beside it. That mean is at least the sum of the nearest places over the
    number of all, so a channel that has too few lines even over that needs no more.
    """

    def __init__(self, lines: Floats, sides: Sequence[float], rate: float, window: Floats) -> None:
        self.lines = lines
        self._sides = len(sides)
        self._scale = 2.0 / float(window.sum()) ** 2
        around = np.round(lines[:, None] + np.array(sides), 6)
        near, self._near = np.unique(around[:, :NEAREST], return_inverse=True)
        far, self._far = np.unique(around[:, NEAREST:], return_inverse=True)
        self.first = _projections(np.concatenate((lines, near)), rate, window)
        """[2 F, n] what `likely` wants to be multiplied with a look."""
        self._rest = _projections(far, rate, window)

    def power(self, seen: Floats) -> Floats:
        """Mean squares [F, channels] from real over imaginary parts [2 F, channels]."""
        half = len(seen) // 2
        return np.asarray((seen[:half] ** 2 + seen[half:] ** 2) * self._scale)

    def present(self, samples: Samples, power: Floats, least: int) -> npt.NDArray[np.bool_]:
        """[lines, channels] which lines are there, on channels with `least` of them; none elsewhere."""
        lines, nearest = power[: len(self.lines)], self._beside(power[len(self.lines) :], self._near)
        present = self._over(lines, nearest)
        some = np.flatnonzero(present.sum(axis=0) >= least)
        found = np.zeros_like(present)
        if len(some):
            rest = self.power(np.asarray(self._rest @ samples[:, some], dtype=np.float64))
            found[:, some] = self._over(lines[:, some], nearest[:, some] + self._beside(rest, self._far))
        return found

    def _beside(self, power: Floats, places: npt.NDArray[np.intp]) -> Floats:
        """[lines, channels] the sum of what is at the places of each line."""
        return np.asarray(power[places.reshape(len(self.lines), -1)].sum(axis=1))

    def _over(self, lines: Floats, beside: Floats) -> npt.NDArray[np.bool_]:
        return np.asarray(lines > 10 ** (PRESENT_DB / 10) * np.maximum(beside / self._sides, 1e-20))


class Tones:
    """Feed blocks, or looks from a `Windows` that others use too."""

    def __init__(self, rate: int, channels: int) -> None:
        self._windows = Windows(rate, channels)
        lower, length = self._windows.rate, self._windows.length
        window = np.hanning(length + 1)[:-1]

        def comb(hz: float, orders: Sequence[int], sides: Sequence[float]) -> _Comb:
            lines = [k * hz for k in orders if k * hz + max(sides) < TOP_SHARE * lower]
            return _Comb(np.array(lines), sides, lower, window)

        self._phone = comb(PHONE_HZ, PHONE_LINES, [sign * PHONE_HZ / n for n in PHONE_PARTS for sign in (-1, 1)])
        self._port = comb(PORT_HZ, PORT_LINES, PORT_SIDES_HZ)
        self._table = np.concatenate((self._phone.first, self._port.first))
        skirts = np.array([line + side for side in (-SKIRT_HZ, SKIRT_HZ) for line in self._phone.lines])
        self._skirts = _projections(skirts, lower, window)
        self._phones: dict[int, _Heard] = {}
        self._ports: dict[int, _Heard] = {}
        self._phase: tuple[float, Floats] | None = None

    def feed(self, block: Block) -> None:
        """Listen to a block."""
        for window in self._windows.feed(cleaned(block)):
            self.take(window)

    def take(self, window: Window) -> None:
        """Listen to a look; those that overlap the one before are left out."""
        if window.index % HOP_SHARE:
            return
        seen = np.asarray(self._table @ window.samples, dtype=np.float64)
        split = len(self._phone.first)
        self._hear_phones(window, seen[:split])
        self._hear_ports(window, seen[split:])

    def _hear_phones(self, window: Window, seen: Floats) -> None:
        power = self._phone.power(seen)
        present = self._phone.present(window.samples, power, LEAST_PHONE_LINES)
        some = np.flatnonzero(present.sum(axis=0) >= LEAST_PHONE_LINES)
        if not len(some):
            return
        lines = power[: len(self._phone.lines)]
        skirts = self._phone.power(np.asarray(self._skirts @ window.samples[:, some], dtype=np.float64))
        present[:, some] &= lines[:, some] > skirts.reshape(2, len(lines), -1).max(axis=0)
        for channel in some[present[:, some].sum(axis=0) >= LEAST_PHONE_LINES].tolist():
            _note(self._phones, channel, window.from_s, float(lines[present[:, channel], channel].sum()))

    def _hear_ports(self, window: Window, seen: Floats) -> None:
        half, count = len(seen) // 2, len(self._port.lines)
        phase = np.arctan2(seen[half : half + count], seen[:count])
        before, self._phase = self._phase, (window.from_s, phase)
        if before is None or window.from_s - before[0] > 1.5:
            return
        # a line off by d Hz has turned by d times the time between, beyond what the round figure turns
        apart = window.from_s - before[0]
        expected = 2 * np.pi * np.outer(self._port.lines, [apart])
        turned = np.angle(np.exp(1j * (phase - before[1] - expected))) / (2 * np.pi * apart)
        power = self._port.power(seen)
        lines, present = power[:count], self._port.present(window.samples, power, LEAST_PORT_LINES)
        near = lines >= lines.max(axis=0) / 10 ** (EVEN_DB / 10)
        most = np.minimum(PORT_OFF * self._port.lines, MOST_TURNED_HZ)
        good = present & near & (np.abs(turned) < most[:, None])
        for channel in np.flatnonzero(good.sum(axis=0) >= LEAST_PORT_LINES).tolist():
            _note(self._ports, channel, window.from_s, float(lines[good[:, channel], channel].sum()))

    def findings(self) -> list[Finding]:
        """What has been heard so far."""
        phones = [_told_phone(channel, heard) for channel, heard in sorted(self._phones.items())]
        steady = [(c, heard) for c, heard in sorted(self._ports.items()) if heard.looks >= LEAST_PORT_LOOKS]
        return phones + [_told_port(channel, heard) for channel, heard in steady]


def _projections(hz: Floats, rate: float, window: Floats) -> Samples:
    """[2 F, n] what tells the real and the imaginary part of the spectrum at these frequencies."""
    turns = 2 * np.pi * np.outer(hz, np.arange(len(window)) / rate)
    table: Samples = (np.concatenate((np.cos(turns), -np.sin(turns))) * window).astype(np.float32)
    return table


def _note(heard: dict[int, _Heard], channel: int, from_s: float, power: float) -> None:
    if channel not in heard:
        heard[channel] = _Heard(from_s, from_s + 1, 1, power)
        return
    known = heard[channel]
    known.to_s = from_s + 1
    known.looks += 1
    known.power = max(known.power, power)


def _told_phone(channel: int, heard: _Heard) -> Finding:
    decibels = level(heard.power)
    sentence = (
        f"Buzz of {PHONE_HZ:.1f} Hz frames, {decibels:.0f} dBFS: likely a phone near this microphone, DI or cable; "
        "check by putting the phones nearby into flight mode, and keep them two metres away."
    )
    sure = 0.95 if heard.looks > 1 else 0.8
    return Finding(
        "rf_buzz", channel, round(decibels, 1), round(PHONE_HZ, 3), heard.from_s, heard.to_s, sure, sentence
    )


def _told_port(channel: int, heard: _Heard) -> Finding:
    decibels = level(heard.power)
    sentence = (
        f"Lines at each 1000 Hz, {decibels:.0f} dBFS, as exact as a computer's clock: likely a laptop or its USB port; "
        "check by running the laptop on its battery, then try another port, or the audio ground lift on the DI."
    )
    sure = min(0.95, 0.7 + 0.05 * heard.looks)
    return Finding(
        "clock_tone", channel, round(decibels, 1), PORT_HZ, heard.from_s, heard.to_s, round(sure, 2), sentence
    )
