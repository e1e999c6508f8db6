"""What the analysers of sound take in and give back: blocks of samples, and findings in words and numbers.

Levels in dBFS follow AES17: a sine that just reaches full scale has 0 dBFS RMS, so a full-scale square has +3.01.
Peaks are plain sample peaks relative to full scale.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Samples = npt.NDArray[np.float32]
"""Samples as [frames, channels]; full scale is 1.0, floating-point material may exceed it."""

Floats = npt.NDArray[np.float64]
"""Whatever is computed from samples, in double precision."""

KINDS = (
    "hum",
    "buzz",
    "ripple",
    "hiss",
    "clipping",
    "digital_silence",
    "dead",
    "dropout",
    "rf_buzz",
    "clock_tone",
)
"""Every kind of finding."""

LOWEST_RATE, HIGHEST_RATE = 8_000, 192_000
"""Sample rates, in Hz, that every analyser works at."""


@dataclass(frozen=True, slots=True)
class Block:
    """A stretch of consecutive frames of all channels."""

    samples: Samples
    """Whoever hands them over does not change them afterwards."""
    first: int
    """Index of the first frame, counted from the start of the recording."""
    overflow: bool = False
    """The host lost frames just before this block."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing heard on one channel, as evidence: never a cause stated as a fact."""

    kind: str
    """One of `KINDS`."""
    channel: int
    """Counted from 0."""
    level_dbfs: float | None
    """RMS level of what was found, AES17."""
    f0_hz: float | None
    """Fundamental of a family of lines."""
    from_s: float
    to_s: float
    confidence: float
    """From 0 to 1."""
    sentence: str
    """What was heard and what to check, ready to show."""


@dataclass(frozen=True, slots=True)
class Meter:
    """Levels of one channel, in dBFS."""

    peak_dbfs: float
    """Sample peak of the latest stretch."""
    level_dbfs: float
    """RMS level of the latest stretch, AES17."""
    floor_dbfs: float
    """Noise floor, AES17; NaN while it cannot be assessed."""
    held_peak_dbfs: float
    """Largest sample peak since the start."""
    clipped: int
    """Samples at full scale since the start."""
