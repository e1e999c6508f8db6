"""Frequencies in and out: people write MHz and kHz, inside everything is a whole number of hertz."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Decimal

from showday.errors import RadioTrouble
from showday.radio.model import Band
from showday.text.safe import one_line

HZ_PER_KHZ = 1_000
HZ_PER_MHZ = 1_000_000
LOWEST = 1 * HZ_PER_MHZ
HIGHEST = 10_000 * HZ_PER_MHZ
"""Bounds of what is taken for a frequency, a choice of this program: stage bands end at 7125 MHz (47 CFR 74.802)."""
WIDEST = 100 * HZ_PER_MHZ
"""Bound of a step, a spacing or a width, a choice of this program."""

_NUMBER = re.compile(r"[+-]?(?:\d{1,15}(?:[.,]\d{0,15})?|[.,]\d{1,15})")
_MHZ = re.compile(r"\s*mhz\s*\Z", re.I)
_KHZ = re.compile(r"\s*khz\s*\Z", re.I)
_BAND = re.compile(
    r"(?P<low>[+-]?[\d.,]+?)\s*(?:mhz)?\s*(?:\.\.|-|–|—|\bto\b)\s*(?P<high>[+-]?[\d.,]+)\s*(?:mhz)?", re.I
)


def scaled(text: str, hertz_per_unit: int) -> int:
    """A decimal number, with a point or a comma, times so many hertz, rounded exactly; ValueError otherwise."""
    text = text.strip()
    if not _NUMBER.fullmatch(text):
        raise ValueError(text)
    exact = Decimal(text.replace(",", ".")) * hertz_per_unit
    return int(exact.to_integral_value(ROUND_HALF_EVEN))


def frequency(text: str) -> int:
    """Hz of a text in MHz such as `606.125`, `606,125` or `606.125 MHz`; RadioTrouble when it is no radio frequency."""
    shown = one_line(text, 40)
    try:
        hertz = scaled(_MHZ.sub("", text), HZ_PER_MHZ)
    except ValueError:
        raise RadioTrouble(f"'{shown}' is not a frequency.", "Write MHz, such as 606.125.") from None
    return checked_frequency(hertz, shown)


def checked_frequency(hertz: int, shown: str = "") -> int:
    """The same Hz; RadioTrouble when they lie outside of LOWEST to HIGHEST."""
    shown = shown or mhz(hertz)
    if LOWEST <= hertz <= HIGHEST:
        return hertz
    hint = f"Frequencies are in MHz, from {LOWEST // HZ_PER_MHZ} to {HIGHEST // HZ_PER_MHZ}."
    for unit, name in ((HZ_PER_KHZ, "kHz"), (HZ_PER_MHZ, "Hz")):
        if hertz % unit == 0 and LOWEST <= hertz // unit <= HIGHEST:
            hint = f"If these are {name}, write {mhz(hertz // unit)}."
            break
    raise RadioTrouble(f"{shown} MHz is not a frequency that a stage transmitter has.", hint)


def width(text: str, what: str = "width", *, least: int = 0) -> int:
    """Hz of a text in kHz such as `25` or `12,5`; `what` names it in the sentence when it cannot be used."""
    shown = one_line(text, 40)
    try:
        hertz = scaled(_KHZ.sub("", text), HZ_PER_KHZ)
    except ValueError:
        raise RadioTrouble(f"'{shown}' is not a {what}.", "Write kHz, such as 25 or 12.5.") from None
    if hertz < least or hertz > WIDEST:
        low = "more than 0" if least > 0 else "0 or more"
        hint = f"Give kHz, {low} and at most {khz(WIDEST)}."
        raise RadioTrouble(f"A {what} of {shown} kHz cannot be used.", hint)
    return hertz


def band(text: str, *, name: str = "", kind: str = "") -> Band:
    """The band of `606-614`, `606..614`, or one frequency, in MHz; RadioTrouble when swapped or no band."""
    shown = one_line(text, 60)
    found = _BAND.fullmatch(text.strip())
    if not found:
        try:
            at = frequency(text)
        except RadioTrouble as trouble:
            if any(sign in text.strip()[1:] for sign in "-–—") or ".." in text:
                raise RadioTrouble(f"'{shown}' is not a range.", "Write MHz from low to high: 606-614.") from None
            raise trouble
        return Band(at, at, name, kind)
    low, high = frequency(found["low"]), frequency(found["high"])
    if low > high:
        raise RadioTrouble(f"The range {shown} ends below its start.", f"Write {mhz(high)}-{mhz(low)}.")
    return Band(low, high, name, kind)


def mhz(hertz: int) -> str:
    """MHz as text: three decimals, more when they are needed: `606.125`, `473.142857`."""
    sign = "-" if hertz < 0 else ""
    whole, part = divmod(abs(hertz), HZ_PER_MHZ)
    decimals = f"{part:06d}".rstrip("0").ljust(3, "0")
    return f"{sign}{whole}.{decimals}"


def khz(hertz: int) -> str:
    """kHz as text, with decimals only when they are needed: `350`, `62.5`."""
    sign = "-" if hertz < 0 else ""
    whole, part = divmod(abs(hertz), HZ_PER_KHZ)
    decimals = f"{part:03d}".rstrip("0")
    return f"{sign}{whole}.{decimals}" if decimals else f"{sign}{whole}"


def mhz_number(hertz: int) -> float:
    """MHz as a number for JSON: the shortest decimal that is exactly these hertz."""
    return float(mhz(hertz))


def khz_number(hertz: int) -> int | float:
    """kHz as a number for JSON: whole when it is whole."""
    whole, part = divmod(hertz, HZ_PER_KHZ)
    return float(khz(hertz)) if part else whole


def band_text(band: Band) -> str:
    """`606.000-614.000 MHz`, or `606.000 MHz` when it is one frequency."""
    return f"{mhz(band.low)} MHz" if band.low == band.high else f"{mhz(band.low)}-{mhz(band.high)} MHz"
