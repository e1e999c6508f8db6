"""Pairs of channels that hear the same thing: whether one is upside down, and how much later it is.

Judged on beginnings of sounds, of which the loudest count: what both microphones are there for, not what spills into them.
The answer may be "can't tell": the polarity of a single microphone cannot be known from its signal, and cymbals, bells and
hum fool every method.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from showday.sound.activity import LEAST_DB, LOWEST_DB, RISE_DB, dbfs
from showday.sound.alignment import WIDEST_S, Comparison
from showday.sound.folded import means
from showday.sound.model import Block, Floats, Samples
from showday.sound.pair_words import CANT_TELL, EXPECTED, INVERTED, SAME, PairVerdict, sentence_of
from showday.sound.windows import finite

__all__ = ["Pair", "PairVerdict", "Pairs"]

ONSET_DB = 6.0
"""A stretch this much louder than the one before begins a sound; a choice."""

NEAR_LOUDEST_DB = 12.0
"""Sounds count when they are within so much of the loudest one of the pair; a choice, half of usual bleed in dB."""

AGREEING = 3
"""Sounds that must agree when none is beyond doubt alone."""

MOST = 24
"""Sounds remembered for each pair; a choice."""

LAG_WITHIN_S = 0.0002
"""Delays of several sounds agree when they are so close; a choice: 7 cm of air."""

_FAST_S, _SLOW_S, _ENOUGH = 0.5, 4.0, 6
"""Seconds between two sounds that are compared, before and after so many were."""

_LONGEST_S = 0.372
"""Seconds compared at once, at most: the power of two below is 16,384 frames at 44.1 and 48 kHz; a choice."""

_STEADY_S = 1.0
"""Seconds after which a sound that goes on is compared once more."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two channels, counted from 0."""

    left: int
    right: int
    inverted: bool = False
    """They face each other, as above and below a snare drum: one is expected to be upside down."""


@dataclass(frozen=True, slots=True)
class _Sound:
    """One sound compared."""

    level_dbfs: float
    sign: int
    sure: bool
    lag_s: float | None


class Pairs:
    """Fed with blocks; memory is a third of a second of the channels that are in pairs. The samples of frames that the host
    lost are not missed: stretches begin anew."""

    def __init__(self, rate: int, channels: int, pairs: Sequence[Pair]) -> None:
        usable = [pair for pair in pairs if max(pair.left, pair.right) < channels and min(pair.left, pair.right) >= 0]
        self._pairs = list(pairs)
        self._rate = rate
        self._columns = sorted({channel for pair in usable for channel in (pair.left, pair.right)})
        place = {channel: at for at, channel in enumerate(self._columns)}
        self._left = np.array([place[pair.left] for pair in usable], np.int64)
        self._right = np.array([place[pair.right] for pair in usable], np.int64)
        self._sounds: dict[Pair, deque[_Sound]] = {pair: deque(maxlen=MOST) for pair in pairs}
        self._usable = usable
        room = (1 << int(_LONGEST_S * rate).bit_length() - 1) - int(WIDEST_S * rate)
        self._hop = room // 2
        """Samples of one stretch; two are compared at once, so that a whole beginning is among them."""
        self._comparison = Comparison(rate, 2 * self._hop)
        self._before: Samples = np.zeros((self._hop, len(self._columns)), np.float32)
        self._held = self._before.copy()
        self._filled, self._next = 0, -1
        self._levels: list[Floats] = []
        self._quietest: Floats = np.full(len(self._columns), np.inf)
        self._due: npt.NDArray[np.int64] = np.zeros(len(usable), np.int64)
        self._steady: npt.NDArray[np.int64] = np.zeros(len(usable), np.int64)

    def feed(self, block: Block) -> None:
        """Take the next block."""
        if not self._columns:
            return
        if block.overflow or block.first != self._next:
            self._filled, self._levels = 0, []
        self._next = block.first + len(block.samples)
        taken = 0
        while taken < len(block.samples):
            piece = block.samples[taken : taken + self._hop - self._filled]
            np.take(
                piece, self._columns, axis=1, out=self._held[self._filled : self._filled + len(piece)], mode="clip"
            )
            self._filled += len(piece)
            taken += len(piece)
            if self._filled == self._hop:
                self._stretch()
                self._before, self._held = self._held, self._before
                self._filled = 0

    def _level(self) -> Floats:
        """The level of the newest stretch without its mean; what is no number is silenced in it."""
        with np.errstate(over="ignore", invalid="ignore"):
            power = np.einsum("ij,ij->j", self._held, self._held)
        if not np.isfinite(power).all():
            self._held = finite(self._held)
            power = np.einsum("ij,ij->j", self._held, self._held)
        return dbfs(np.maximum(power / self._hop - means(self._held) ** 2, 0))

    def _stretch(self) -> None:
        """A stretch is full: compare the pairs on which a sound began in the one before it."""
        level = self._level()
        self._levels = [*self._levels[-2:], level]
        self._quietest = np.where(level > LOWEST_DB, np.minimum(self._quietest, level), self._quietest)
        self._due = np.maximum(self._due - self._hop, 0)
        self._steady += self._hop
        if len(self._levels) < 3:
            return
        before, begun, now = self._levels
        bar = np.maximum(self._quietest + RISE_DB, LEAST_DB)
        sounds = np.maximum(begun, now) >= bar
        begins = begun - before >= ONSET_DB
        left, right = self._left, self._right
        onset = begins[left] | begins[right] | (self._steady >= _STEADY_S * self._rate)
        for at in np.flatnonzero(onset & sounds[left] & sounds[right] & (self._due == 0)).tolist():
            loud = float(np.maximum(begun, now)[[left[at], right[at]]].sum() / 2)
            self._compare(at, loud)

    def _compare(self, at: int, level: float) -> None:
        kept = self._sounds[self._usable[at]]
        left, right = (
            np.concatenate([self._before[:, column], self._held[:, column]]).astype(np.float64)
            for column in (self._left[at], self._right[at])
        )
        found = self._comparison.compare(left, right)
        kept.append(_Sound(level, found.sign, found.sure, found.lag_s))
        self._due[at] = int((_FAST_S if len(kept) < _ENOUGH else _SLOW_S) * self._rate)
        self._steady[at] = 0

    def result(self) -> list[PairVerdict]:
        """What is known of every pair, in the order given."""
        return [self._verdict(pair) for pair in self._pairs]

    def _verdict(self, pair: Pair) -> PairVerdict:
        every = self._sounds[pair]
        loudest = max((sound.level_dbfs for sound in every), default=0.0)
        sounds = [sound for sound in every if sound.level_dbfs >= loudest - NEAR_LOUDEST_DB]
        sign, lag_s = _sign(sounds), _lag(sounds)
        polarity = {1: SAME, -1: EXPECTED if pair.inverted else INVERTED, 0: CANT_TELL}[sign]
        lag_ms = None if lag_s is None else 1_000 * lag_s
        sentence = sentence_of(polarity, pair.left, pair.right, lag_ms, len(sounds), wanted_inverted=pair.inverted)
        return PairVerdict(pair.left, pair.right, polarity, lag_ms, sentence)


def _sign(sounds: Sequence[_Sound]) -> int:
    """The sign all agree on: of those beyond doubt if there are any, else of AGREEING others; 0 when none."""
    sure = {sound.sign for sound in sounds if sound.sure}
    if sure:
        return sure.pop() if len(sure) == 1 else 0
    likely = [sound.sign for sound in sounds if sound.sign]
    return likely[0] if len(likely) >= AGREEING and len(set(likely)) == 1 else 0


def _lag(sounds: Sequence[_Sound]) -> float | None:
    """The delay most sounds agree on."""
    lags = [sound.lag_s for sound in sounds if sound.lag_s is not None]
    if not lags:
        return None
    middle = sorted(lags)[len(lags) // 2]
    agree = sum(abs(lag - middle) <= LAG_WITHIN_S for lag in lags)
    return middle if 2 * agree > len(sounds) else None
