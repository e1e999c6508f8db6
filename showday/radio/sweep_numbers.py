"""Decimal numbers out of bytes, all at once. As exact as reading them one by one, at a fraction of the time."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from showday.radio.sweep import Floats, Ints

LONGEST = 17
"""Characters of a number that is read here: a sign, a mark and 15 digits, which a double holds exactly."""


def decimals(text: npt.NDArray[np.uint8], begins: Ints, ends: Ints, mark: str) -> Floats | None:
    """The numbers [N] that stand in `text` from each begin to before its end; None when one is not plain decimal.

    The digits are gathered as one whole number, which is then divided by a power of ten: both are exact doubles, so
    that the quotient is the double nearest to the decimal (IEEE 754 division rounds correctly).
    """
    if not len(begins):
        return np.zeros(0)
    lengths = ends - begins
    longest = int(lengths.max())
    if longest > LONGEST:
        return None
    first = text[begins]
    negative = first == ord("-")
    signed = negative | (first == ord("+"))
    whole = np.zeros(len(begins), dtype=np.int64)
    digits = np.zeros(len(begins), dtype=np.int8)
    behind = np.zeros(len(begins), dtype=np.int8)
    marks = np.zeros(len(begins), dtype=np.int8)
    padded = np.concatenate((text, np.zeros(LONGEST, dtype=np.uint8)))
    for place in range(longest):
        char = padded[begins + place]
        inside = place < lengths
        digit = char - np.uint8(ord("0"))  # wraps around below '0', so that one comparison is enough
        is_digit = (digit < 10) & inside
        np.add(whole * 10, digit, out=whole, where=is_digit)
        digits += is_digit
        behind += is_digit & (marks > 0)
        marks += (char == ord(mark)) & inside
    if (marks > 1).any() or (digits == 0).any() or (digits > 15).any() or (digits + marks + signed != lengths).any():
        return None
    made = whole / np.power(10.0, np.arange(16))[behind]
    return np.where(negative, -made, made)
