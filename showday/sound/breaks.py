"""Where a sound breaks off and comes back, as a loose contact does, without exact zeros.

Levels of 2 ms say where that may be, the samples say whether both edges are as sudden as a contact's. A gate that closes
before the next hit may look the same, so what is found is evidence and no more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showday.sound.activity import LOWEST_DB
from showday.sound.edges import stop_of
from showday.sound.lately import Lately
from showday.sound.model import Floats
from showday.sound.recent import Recent

FRAME_S = 0.002
"""Length of one level, s; a choice: a contact opens within two of them."""

FALL_DB = 15.0
"""How far the level falls within three frames before the samples are looked at, and how deep it must stay: a contact that
opens lets hum and crackle in, too. A choice, 5 dB under the shallowest gap that should be found."""

LOUD_DB = -45.0
"""Level of the sound that breaks off, dBFS; a choice: softer ones are music and talk from elsewhere."""

STOP_DB, RETURN_DB = 17.0, 14.0
"""How far the sound falls, and rises, at the edge itself. Measured in 2,400 s of recordings: of drums, strings, keys and
voices none is called broken, of loops one that is cut together of pieces."""

CLEAN_DB = 28.0
"""Two edges as steep as this are shown, however short it sounded before or behind: words in quick speech, too. Measured:
bass strings that fall to rest within a swing have one of 28 dB at most, and never both. A choice."""

SUDDEN_DB, AGAIN_DB = 8.0, 11.0
"""The sound right at an edge is within so much of its stretch, or it faded; behind it, where the
next note may rise, a little more. Choices: the last 4 ms of a straight fade of 50 ms are 14 dB softer than the last 20."""

BACK_DB = 10.0
"""At least so much over what the gap holds, and at least half of the way back in dB, the sound is there again; a choice."""
OVER_DB = 12.0
"""The sound never falls to so little over the gap in the 40 ms before it and behind it. Measured: 13 dB and more for 98 of
100 gaps made in recordings, 8 to 11 for bass strings whose own swings have rests."""

LEAST_S = 0.01
"""The shortest break; shorter ones are crackle, or the beats of a cymbal."""
LOW_FRAMES = 4
"""Frames that show how deep it is; the period of the lowest string (41 Hz) is three times as long."""
NEAR_FRAMES = 10
"""20 ms: what is compared on both sides."""
SOUNDS_FRAMES = 20
"""40 ms: how long it must have sounded before and must sound again; a choice, longer than a stroke with a stick."""
LONGEST_FRAMES = 500
"""One second; a choice: after that it is a pause."""
BEHIND = 3
"""Frames behind a fall that are needed to look at it."""

MEMORY = LONGEST_FRAMES + 2 * SOUNDS_FRAMES
"""Levels that must be kept."""
SAMPLES_FRAMES = 3 * SOUNDS_FRAMES
"""Frames of samples that must be kept beside those that were not looked at yet."""

_ZERO_DB = LOWEST_DB + 1.0
"""Frames below are exact zeros, which are told by themselves."""


@dataclass(frozen=True, slots=True)
class Break:
    """A sound that stopped and came back."""

    channel: int
    start: int
    """Number of its first sample."""
    end: int
    """One past its last."""
    before_db: float
    """Largest level of the 20 ms before, and of those after."""
    after_db: float
    lasting: bool
    """It sounded long enough before and behind to tell it from the swings of a string."""


@dataclass(frozen=True, slots=True)
class _Fall:
    """A sound that stopped, and has not come back yet."""

    channel: int
    frame: int
    """Number of the first level behind it."""
    start: int
    """Number of the first sample behind it."""
    fall_db: float
    level_db: float
    least_db: float
    """Lowest level of a few frames in a row before."""


class Breaks:
    """Looks at levels and samples that others keep, in which frame n begins at sample n * `length`."""

    def __init__(self, rate: int, length: int, levels: Recent, samples: Lately) -> None:
        self._rate, self._length = rate, length
        self._levels, self._samples = levels, samples
        self._looked = 0
        self._falls: list[_Fall] = []

    def restart(self) -> None:
        """Frames were lost and are numbered anew."""
        self._looked = 0
        self._falls.clear()

    def look(self) -> list[Break]:
        """The breaks that ended since the last look, which must not be further back than is kept."""
        self._find_falls()
        found, going_on = [], []
        for fall in self._falls:
            back = self._back(fall)
            if back is None:
                going_on.append(fall)
            elif back and (one := self._break(fall, back)):
                found.append(one)
        self._falls = going_on
        return found

    def _find_falls(self) -> None:
        """Note where a level falls; only frames not looked at before."""
        begin, end = max(self._looked, SOUNDS_FRAMES), self._levels.end - BEHIND
        if begin >= end:
            return
        self._looked = end
        levels = self._levels.between(begin - 3, end)
        now = levels[3:]
        before = np.maximum(np.maximum(levels[:-3], levels[1:-2]), levels[2:-1])
        falls = (before - now >= FALL_DB) & (before >= LOUD_DB)
        for at, channel in np.argwhere(falls).tolist():
            fall = self._fall(channel, at + begin)
            if fall is not None and not any(_same(fall, other, self._length) for other in self._falls):
                self._falls.append(fall)

    def _fall(self, channel: int, frame: int) -> _Fall | None:
        """The fall at this frame when it is as sudden as a contact's."""
        first = (frame - SOUNDS_FRAMES) * self._length
        piece = self._samples.of(channel, first, (frame + BEHIND) * self._length)
        stop = stop_of(piece, self._rate, (NEAR_FRAMES + BEHIND) * self._length)
        if stop.fall_db < STOP_DB or stop.last_db < -SUDDEN_DB:
            return None
        levels = self._between(channel, frame - SOUNDS_FRAMES, frame)
        return _Fall(
            channel, frame, first + stop.at, stop.fall_db, float(levels[-NEAR_FRAMES:].max()), _least(levels[:-1])
        )

    def _between(self, channel: int, start: int, end: int) -> Floats:
        return self._levels.between(start, end)[:, channel]

    def _back(self, fall: _Fall) -> int | None:
        """How many frames later the sound is there again; 0 for never, None while nobody knows."""
        levels = self._between(fall.channel, fall.frame, self._levels.end)
        if len(levels) < LOW_FRAMES + SOUNDS_FRAMES:
            return None
        low = _low(levels)
        if fall.level_db - low < FALL_DB or (fall.least_db - low < OVER_DB and fall.fall_db < CLEAN_DB):
            return 0
        back = levels > max(low + BACK_DB, (low + fall.level_db) / 2)
        stays = np.convolve(back, np.ones(SOUNDS_FRAMES), "valid") >= SOUNDS_FRAMES // 2
        returns = np.flatnonzero(stays & back[: len(stays)])
        if not len(returns):
            return 0 if len(levels) > LONGEST_FRAMES else None
        return int(returns[0])

    def _break(self, fall: _Fall, back: int) -> Break | None:
        """The break that ended `back` frames after its fall, when it is one."""
        levels = self._between(fall.channel, fall.frame, fall.frame + back + SOUNDS_FRAMES)
        if 2 * np.count_nonzero(levels[:back] < _ZERO_DB) >= back:
            return None
        first = (fall.frame + back - BEHIND) * self._length
        piece = self._samples.of(fall.channel, first, first + (BEHIND + SOUNDS_FRAMES) * self._length)
        begins = stop_of(piece[::-1], self._rate, (NEAR_FRAMES + BEHIND) * self._length)
        end = first + len(piece) - begins.at
        lasting = min(_least(levels[back + 1 :]), fall.least_db) - _low(levels) >= OVER_DB
        clean = min(begins.fall_db, fall.fall_db) >= CLEAN_DB
        sudden = begins.fall_db >= RETURN_DB and begins.last_db >= -AGAIN_DB
        if not (sudden and (lasting or clean)) or end - fall.start < LEAST_S * self._rate:
            return None
        after_db = float(levels[back : back + NEAR_FRAMES].max())
        return Break(fall.channel, fall.start, end, fall.level_db, after_db, lasting)


def _same(one: _Fall, other: _Fall, length: int) -> bool:
    """Whether two falls are one that was seen in two frames."""
    return one.channel == other.channel and abs(one.start - other.start) <= length


def _low(levels: Floats) -> float:
    """What a gap holds, by its first frames."""
    return float(np.median(levels[:LOW_FRAMES]))


def _least(levels: Floats) -> float:
    """The lowest level of a few frames in a row: a low string is silent for one frame, and never for so many."""
    power = np.convolve(10 ** (levels / 10), np.full(LOW_FRAMES, 1 / LOW_FRAMES), "valid")
    return float(10 * np.log10(power.min()))
