"""Line checks made of real recordings, every fault put in on purpose and written down.

Somebody walks along the inputs and sounds each and lets it ring. Microphones overhear their neighbours, gains differ,
music of the changeover leaks in; plugs are swapped, a block is shifted, lines are dead, and noises of known level lie on
some. Contacts break for moments while something sustained is played; drums are over too soon to tell that.
Everything follows from the seed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from showday.sound.model import Floats, Samples
from showday.sound.verdict import Wanted
from showday.sound.walk_csv import Window
from tests.sound.recordings import BASS, DRUMS, GUITAR, KEYS, RATE, VOICE, Recording

SLOT_S, LEAD_S, SOUND_S = 5.0, 6.0, 1.5
WANTED = (-24.0, -12.0)
MICROPHONES = (DRUMS, VOICE)
SUSTAINED = (VOICE, BASS, GUITAR, KEYS)
RECORDED_HUM_DB = {1: 0, 2: -22, 3: -12, 4: -31, 5: -23, 6: -31, 7: -25, 9: -13, 13: -25, 15: -27}
"""Lines of hum that was recorded, dB over the first (tails of the ForzeeStereo kit)."""
STEADY = ("hum", "buzz", "ripple", "hiss", "rf_buzz", "clock_tone")
WHITE_A_DB = -2.7
"""A-weighting of white noise up to 24 kHz (IEC 61672-1, summed over its curve)."""
LOUD, LOUD_HISS = (-68.0, -42.0), (-60.0, -42.0)
"""AES17 levels of steady noises that are put in, dBFS: over every limit; hiss must also be far over the other channels."""


@dataclass(slots=True)
class Truth:
    """What was done to one channel."""

    kinds: set[str] = field(default_factory=set)
    level_dbfs: float | None = None
    f0_hz: float | None = None
    wanders: bool = False
    gaps: list[tuple[int, int]] = field(default_factory=list)
    """Where it drops out: first frame and frames."""


@dataclass(slots=True)
class LineCheck:
    """A made line check."""

    seed: int
    sound: Samples
    inputs: list[Wanted]
    walk: list[Window]
    patch: list[int | None]
    """Channel on which each input really arrives; None: nowhere."""
    peaks: list[float]
    """Peak of each input on its channel, dBFS."""
    channels: list[Truth]

    def good(self, index: int) -> bool:
        """Whether input `index` may be called good."""
        low, high = WANTED
        wanted = self.inputs[index].channel
        right = wanted is not None and self.patch[index] == wanted
        return right and low <= self.peaks[index] <= high and not self.channels[wanted or 0].kinds


def dbfs_rms(samples: Samples | Floats) -> float:
    """AES17 level of a signal."""
    return float(10 * np.log10(2 * np.mean(np.square(samples, dtype=np.float64)) + 1e-30))


def line_check(
    recordings: tuple[Recording, ...], music: tuple[Recording, ...], seed: int, lines: int = 8
) -> LineCheck:
    """A line check of `lines` inputs; the first two thirds are microphones."""
    rng = np.random.default_rng([7_411, seed])
    frames = round((LEAD_S + lines * SLOT_S + 1) * RATE)
    sound = _floors(rng, frames, lines)
    patch, kinds = _patch(rng, lines), _faults(rng, lines)
    made = LineCheck(seed, sound, [], [], patch, [], kinds)
    microphones = lines * 2 // 3
    gains = 10 ** (rng.uniform(-6, 6, lines) / 20)
    if seed % 3 == 0:
        leak = _stretched(music[seed % len(music)].samples, frames) * 10 ** (rng.uniform(-62, -52) / 20)
        for channel in range(microphones):
            sound[:, channel] += np.roll(leak, 80 * channel) * gains[channel]
    for index in range(lines):
        roles = MICROPHONES if index < microphones else (BASS, GUITAR, KEYS)
        _sounded(made, recordings, rng, index, roles, microphones, gains)
    _noises(made, rng, frames)
    return made


def _floors(rng: np.random.Generator, frames: int, lines: int) -> Samples:
    """Noise of preamplifiers, -98 to -84 dBFS."""
    levels = 10 ** (rng.uniform(-101, -87, lines) / 20)
    return (rng.standard_normal((frames, lines), np.float32) * levels.astype(np.float32)).astype(np.float32)


def _patch(rng: np.random.Generator, lines: int) -> list[int | None]:
    """Half of the nights right, a third with swaps, the others with a block that moved by one."""
    patch: list[int | None] = list(range(lines))
    draw = rng.random()
    if draw < 0.35:
        one, other = rng.choice(lines, 2, replace=False)
        patch[one], patch[other] = int(other), int(one)
    elif draw < 0.5:
        start, size = int(rng.integers(0, lines - 5)), int(rng.integers(3, 6))
        for index in range(size):
            patch[start + index] = start + (index + 1) % size
    if rng.random() < 0.5:
        patch[int(rng.integers(lines))] = None
    return patch


def _faults(rng: np.random.Generator, lines: int) -> list[Truth]:
    """A third of the channels has one fault."""
    every = [*STEADY, "clipping", "dropout", "digital_silence"]
    return [Truth({every[int(rng.integers(len(every)))]} if rng.random() < 1 / 3 else set()) for _ in range(lines)]


def _stretched(samples: Samples, frames: int) -> Samples:
    return np.resize(samples, frames).astype(np.float32)


def _sounded(
    made: LineCheck,
    recordings: tuple[Recording, ...],
    rng: np.random.Generator,
    index: int,
    roles: tuple[str, ...],
    microphones: int,
    gains: Floats,
) -> None:
    """Put the sound of one input on its channel and its bleed on the microphones beside it."""
    chosen = [one for one in recordings if one.role in roles]
    one = chosen[int(rng.integers(len(chosen)))]
    start = LEAD_S + index * SLOT_S
    made.walk.append(Window(f"{index + 1} {one.role}", index, start, start + SLOT_S - 0.3))
    made.inputs.append(Wanted(f"{index + 1} {one.role}", index + 1, index, *WANTED))
    at = made.patch[index]
    sound = one.samples[: round(SOUND_S * RATE)].copy()
    fade = min(len(sound), 2_400)
    sound[-fade:] *= np.linspace(1, 0, fade, dtype=np.float32)
    draw = rng.random()
    peak = rng.uniform(*((-40.0, -28.0) if draw < 0.08 else (-10.0, -3.0) if draw < 0.16 else (-22.5, -13.5)))
    sound *= np.float32(10 ** (peak / 20) / np.abs(sound).max())
    if at is None:
        made.peaks.append(-np.inf)
        return
    kinds = made.channels[at].kinds
    own = sound  # what its preamplifier and cable make of it; the neighbours overhear the sound itself
    if "clipping" in kinds:
        own = np.clip(sound * np.float32(10 ** ((14 - peak) / 20)), -1, 1)
    made.peaks.append(20 * float(np.log10(np.abs(own).max())))
    first = round((start + 0.3) * RATE)
    made.sound[first : first + len(sound), at] += own
    if "dropout" in kinds and one.role in SUSTAINED and rng.random() < 0.5:
        _open_contact(made.sound[:, at], _gaps(own, first, rng, (1_200, 4_800)), rng)
    elif "dropout" in kinds:
        made.channels[at].gaps = _gaps(own, first, rng, (300, 1_500))
    if index >= microphones:
        return
    for channel in range(microphones):
        if channel != at:
            loss = rng.uniform(12, 22) + 2 * abs(channel - index)
            late = first + round(RATE * abs(channel - index) * rng.uniform(0.002, 0.004))
            bleed = sound * np.float32(10 ** (-loss / 20) * gains[channel] / gains[at])
            made.sound[late : late + len(bleed), channel] += bleed


def _gaps(sound: Samples, first: int, rng: np.random.Generator, frames: tuple[int, int]) -> list[tuple[int, int]]:
    """Three stretches where it is loud; a digital link that drops out leaves exact zeros there."""
    loud = np.flatnonzero(np.abs(sound) > np.abs(sound).max() / 8)
    starts = rng.choice(loud[: max(1, len(loud) * 3 // 4)], 3)
    return [(first + int(start), int(rng.integers(*frames))) for start in starts]


def _open_contact(line: Samples, gaps: list[tuple[int, int]], rng: np.random.Generator) -> None:
    """A contact that opens for 25 to 100 ms: 30 to 60 dB less comes through, and the preamplifier's noise stays."""
    for start, length in gaps:
        stretch = line[start : start + length]
        loss = 10 ** (-rng.uniform(30, 60) / 20)
        noise = rng.standard_normal(len(stretch)) * 10 ** (-90 / 20)
        stretch[:] = stretch * np.float32(loss) + noise.astype(np.float32)


def _noises(made: LineCheck, rng: np.random.Generator, frames: int) -> None:
    """What lies on the channels all the time; one mains for all."""
    nominal = (50.0, 60.0)[int(rng.integers(2))]
    generator = rng.random() < 0.25
    f0 = nominal * (1 + rng.uniform(0.01, 0.05)) if generator else nominal + rng.uniform(-0.08, 0.08)
    t = np.arange(frames) / RATE
    swing, period = (rng.uniform(0.1, 0.2), rng.uniform(4, 9)) if generator else (0.006, 40.0)
    turns = f0 * t + swing * period / (2 * np.pi) * (1 - np.cos(2 * np.pi * t / period))
    for channel, truth in enumerate(made.channels):
        for kind in truth.kinds & set(STEADY):
            shape = _SHAPES[kind](turns, t, rng)
            level = truth.level_dbfs = float(rng.uniform(*(LOUD_HISS if kind == "hiss" else LOUD)))
            made.sound[:, channel] += (shape * 10 ** ((level - dbfs_rms(shape)) / 20)).astype(np.float32)
            if kind == "hiss":
                truth.level_dbfs += WHITE_A_DB  # hiss is told A-weighted
            if kind in ("hum", "buzz", "ripple"):
                truth.f0_hz, truth.wanders = f0, generator
        if "digital_silence" in truth.kinds:
            made.sound[:, channel] = 0.0
        for start, length in truth.gaps:
            made.sound[start : start + length, channel] = 0.0
        if channel not in made.patch:  # these two are done to the sound that comes in
            truth.kinds -= {"clipping", "dropout"}


def _comb(turns: Floats, amplitudes: dict[int, float], rng: np.random.Generator) -> Floats:
    made = np.zeros(len(turns))
    for order, amplitude in amplitudes.items():
        made += amplitude * np.sin(2 * np.pi * (order * turns + rng.random()))
    return made


def _hum(turns: Floats, t: Floats, rng: np.random.Generator) -> Floats:
    return _comb(turns, {k: 10 ** (db / 20) for k, db in RECORDED_HUM_DB.items()}, rng)


def _buzz(turns: Floats, t: Floats, rng: np.random.Generator) -> Floats:
    """A wave cut at 90 degrees (Fourier series), coupled through a capacitance: times the order."""
    amplitudes = {1: 0.5927}
    for k in range(3, 100, 2):
        odd = (k - 1) // 2 if (k - 1) // 2 % 2 else (k + 1) // 2
        amplitudes[k] = k / (np.pi * odd)
    return _comb(turns, amplitudes, rng)


def _ripple(turns: Floats, t: Floats, rng: np.random.Generator) -> Floats:
    """A rectifier with its capacitor: a sawtooth at twice the mains."""
    return _comb(turns, {2 * k: 1 / k for k in range(1, 12)}, rng)


def _hiss(turns: Floats, t: Floats, rng: np.random.Generator) -> Floats:
    return rng.standard_normal(len(t))


def _phone(turns: Floats, t: Floats, rng: np.random.Generator) -> Floats:
    """One slot of eight in frames of 120/26 ms, every 26th frame idle, for two seconds in five."""
    frame = t * 26 / 0.120
    on = (frame % 1 < 1 / 8) & (np.floor(frame) % 26 != 25) & (t % 5 < 2)
    return np.asarray(on - 1 / 8 * (t % 5 < 2), np.float64)


def _clock(turns: Floats, t: Floats, rng: np.random.Generator) -> Floats:
    """The frames of a serial bus: exactly 1 kHz and its harmonics."""
    return _comb(t * 1_000.0, {k: 1 / k for k in range(1, 7)}, rng)


_SHAPES: dict[str, Callable[[Floats, Floats, np.random.Generator], Floats]] = {
    "hum": _hum,
    "buzz": _buzz,
    "ripple": _ripple,
    "hiss": _hiss,
    "rf_buzz": _phone,
    "clock_tone": _clock,
}
