"""The A curve of IEC 61672-1, as a formula and as a weight for the bins of a spectrum."""

from __future__ import annotations

import numpy as np

from showday.sound.model import Floats

F1, F2, F3, F4 = 20.598997, 107.652649, 737.862231, 12194.217148
"""Pole frequencies in Hz: IEC 61672-1, Annex E, formula (E.6) with the unrounded values of its table."""


def _gain(hz: Floats) -> Floats:
    square = np.asarray(hz, dtype=np.float64) ** 2
    middle = (square + F2**2) * (square + F3**2)
    return np.asarray(F4**2 * square**2 / ((square + F1**2) * np.sqrt(middle) * (square + F4**2)))


_AT_1_KHZ = float(_gain(np.array([1_000.0]))[0])
"""-1.99966 dB; the standard prints -2.000, with which its table's value at 158.49 Hz would round to another figure."""


def a_power(hz: Floats) -> Floats:
    """What the A curve multiplies a power by at these frequencies; 0 at 0 Hz, 1 at 1 kHz. IEC 61672-1 Annex E."""
    return np.asarray((_gain(hz) / _AT_1_KHZ) ** 2, dtype=np.float64)


def a_db(hz: Floats) -> Floats:
    """The A curve in dB at these frequencies; minus infinity at 0 Hz."""
    with np.errstate(divide="ignore"):
        return np.asarray(10 * np.log10(a_power(hz)), dtype=np.float64)
