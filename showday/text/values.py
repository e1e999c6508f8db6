"""Turning a scalar's text into a value: times, numbers, ranges, yes and no. One function a form."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

_PART = re.compile(r"(\d+(?:[.,]\d+)?)\s*(hours?|h|minutes?|min|m|seconds?|sec|s)?\s*", re.I)
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_CLOCK = re.compile(r"([01]?\d|2[0-3])[:.h]([0-5]\d)")


def seconds(text: str) -> float:
    """Seconds of `15s`, `2min`, `1min 30s`, `1h`; a bare number is seconds. ValueError when it is none of these."""
    text = text.strip()
    total, at = 0.0, 0
    parts = 0
    while at < len(text):
        found = _PART.match(text, at)
        if not found or (found.group(2) is None and (parts or found.end() < len(text))):
            raise ValueError(text)
        unit = (found.group(2) or "s").lower()
        total += float(found.group(1).replace(",", ".")) * (3600 if unit[0] == "h" else 60 if unit[0] == "m" else 1)
        at, parts = found.end(), parts + 1
    if not parts or not math.isfinite(total):
        raise ValueError(text)
    return total


def number(text: str) -> float:
    """A decimal number with a point or a comma; ValueError otherwise (no exponents, no underscores, no octal)."""
    text = text.strip()
    if not _NUMBER.fullmatch(text):
        raise ValueError(text)
    value = float(text.replace(",", "."))
    if not math.isfinite(value):
        raise ValueError(text)
    return value


def yes_no(text: str) -> bool:
    """`yes` or `no`; `true`, `false`, `on` and `off` are understood too. ValueError otherwise."""
    word = text.strip().lower()
    if word in ("yes", "true", "on"):
        return True
    if word in ("no", "false", "off"):
        return False
    raise ValueError(text)


def clock_time(text: str) -> str:
    """A time of day as HH:MM; ValueError otherwise."""
    found = _CLOCK.fullmatch(text.strip())
    if not found:
        raise ValueError(text)
    return f"{int(found.group(1)):02d}:{found.group(2)}"


@dataclass(frozen=True, slots=True)
class Span:
    """A wanted range; None means open on that side; both ends count as inside."""

    low: float | None = None
    high: float | None = None

    def holds(self, value: float) -> bool:
        """Whether a value is inside."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)

    def __str__(self) -> str:
        low = "" if self.low is None else f"{self.low:.10g}"
        high = "" if self.high is None else f"{self.high:.10g}"
        if low == high:
            return low or "any"
        if not low:
            return f"at most {high}"
        if not high:
            return f"at least {low}"
        return f"{low} to {high}"


def span(text: str) -> Span:
    """`-24..-12`, `12..`, `..3` or one number; ValueError when it is none of these or the ends are swapped."""
    low_text, dots, high_text = text.strip().partition("..")
    if not dots:
        value = number(low_text)
        return Span(value, value)
    low = number(low_text) if low_text.strip() else None
    high = number(high_text) if high_text.strip() else None
    if low is None and high is None:
        raise ValueError(text)
    if low is not None and high is not None and low > high:
        raise ValueError(text)
    return Span(low, high)


def duration(value: float) -> str:
    """Seconds as a person says them: `15 s`, `2 min`, `1 min 30 s`, `1 h 5 min`."""
    whole = round(value)
    if whole < 60:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    if minutes < 60:
        return f"{minutes} min {rest} s" if rest else f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"
