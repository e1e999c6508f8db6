"""How a two-column file is written: what separates, what marks decimals, in which unit. Guessed, and said aloud.

No standard defines such files. The guesses rest on the numbers: a level is never 1,000 dB, so the mark in a level is
a decimal mark; a stage frequency lies between 30 MHz and 10 GHz, so its size tells its unit.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

_T = TypeVar("_T", bound=Hashable)

COMMENT = re.compile(r"\s*(#|!|//|%|\*|'|;(?!\s*[-+.\d]))")
"""How a line begins that is meant for people."""
MOMENT = re.compile(r"\s*\"?(\d{4}[-./]\d\d?[-./]\d\d?|\d\d?[-./]\d\d?[-./]\d{4}|\d\d?:\d\d)(?!\d)")
"""How a line begins that says when the sweep was made: a date or a time of day."""
_ROW = re.compile(r'\s*"?\s*[-+]?[.,]?\d')
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d{1,3})?")
_GROUPED = {mark: re.compile(rf"[+-]?\d{{1,3}}(?:\{mark}\d{{3}})+(?!\d|\{mark})") for mark in ".,"}
_UNIT = re.compile(r"\s*\b(ghz|mhz|khz|hz|dbm|dbuv|dbµv|dbμv|db)\b\.?", re.I)
_SPACED = re.compile(r"(?<=\d) (?=\d{3}(?!\d))")
_SPECIAL = {
    **dict.fromkeys(("inf", "+inf", "infinity", "1.#inf"), float("inf")),
    **dict.fromkeys(("-inf", "-infinity", "-1.#inf", "-1.#inf00"), float("-inf")),
    **dict.fromkeys(("nan", "-nan", "+nan", "1.#qnan", "-1.#ind", "1.#ind"), float("nan")),
}
"""What the C libraries print for numbers that are none."""
_LOOKED_AT = 100
"""Rows that the guess rests on."""


@dataclass(frozen=True, slots=True)
class FrequencyUnit:
    """A unit, and the numbers that are taken for stage frequencies in it: 30 MHz to 10 GHz."""

    name: str
    hertz: float

    @property
    def least(self) -> float:
        """The smallest number."""
        return 30e6 / self.hertz

    @property
    def most(self) -> float:
        """The largest number."""
        return 10e9 / self.hertz

    @property
    def bounds(self) -> str:
        """The two as text."""
        return f"{self.least:,.10g} to {self.most:,.10g} {self.name}"


UNITS = (FrequencyUnit("MHz", 1e6), FrequencyUnit("kHz", 1e3), FrequencyUnit("Hz", 1.0), FrequencyUnit("GHz", 1e9))
"""No number is a stage frequency in two of them."""


def unit_by_size(value: float) -> FrequencyUnit | None:
    """The unit in which this number is a stage frequency; None when it is one in no unit."""
    return next((unit for unit in UNITS if unit.least <= value <= unit.most), None)


@dataclass(frozen=True, slots=True)
class Dialect:
    """How the rows are written."""

    separator: str
    """`,`, `;`, a tab, or a space for any white space."""
    decimal: str = "."
    grouped: bool = False
    """Whether the other mark stands between groups of three digits."""
    quoted: bool = False
    swapped: bool = False
    """Whether the level stands before the frequency."""
    units: bool = False
    """Whether units stand behind the numbers."""

    def cells(self, line: str) -> list[str]:
        """The line's cells, without blanks, quotes and empty cells at its end."""
        if self.quoted:
            line = _unquoted(line, self.separator)
        if self.units:
            line = _UNIT.sub(" ", line)
        parts = line.split() if self.separator == " " else [part.strip() for part in line.split(self.separator)]
        while parts and not parts[-1]:
            parts.pop()
        if self.separator == self.decimal and len(parts) == 4:
            return [f"{parts[0]},{parts[1]}", f"{parts[2]},{parts[3]}"]
        return parts

    def number(self, cell: str) -> float:
        """The number of a cell, also one that is infinite or none; ValueError when it is no number."""
        text = cell.lower()
        if text in _SPECIAL:
            return _SPECIAL[text]
        text = _SPACED.sub("", text)
        other = "," if self.decimal == "." else "."
        if other in text:
            if not self.grouped or not _GROUPED[other].match(text):
                raise ValueError(cell)
            text = text.replace(other, "")
        text = text.replace(",", ".")
        if not _PLAIN.fullmatch(text):
            raise ValueError(cell)
        return float(text)

    def spoken(self) -> list[str]:
        """What is unusual about it, as sentences."""
        made = []
        if self.grouped:
            made.append(f"Digits stand in groups of three, decimals behind a {_MARKS[self.decimal]}.")
        elif self.decimal == ",":
            made.append("Decimals stand behind a comma.")
        if self.swapped:
            made.append("The level stands before the frequency.")
        return made


_MARKS = {",": "comma", ".": "point"}


def looks_like_row(line: str) -> bool:
    """Whether a line begins as a row of numbers does."""
    return bool(_ROW.match(line)) and not COMMENT.match(line) and not MOMENT.match(line)


def guess(lines: Sequence[str]) -> Dialect | None:
    """The dialect of the rows among these lines; None when there is no row."""
    rows = [line.strip() for line in lines if looks_like_row(line)][:_LOOKED_AT]
    if not rows:
        return None
    quoted = any('"' in row for row in rows)
    units = any(_UNIT.search(row) for row in rows)
    bare = [_UNIT.sub(" ", row).strip() for row in rows] if units else rows
    separator = _separator(bare, quoted)
    if separator == "," and _usual(len(row.split(",")) for row in bare) == 4:
        return Dialect(",", ",", quoted=quoted, units=units)
    first = Dialect(separator, quoted=quoted, units=units)
    pairs = [cells for cells in map(first.cells, rows) if len(cells) >= 2]
    swapped = _usual(cells[0].startswith("-") and not cells[1].startswith("-") for cells in pairs) is True
    levels = [cells[0 if swapped else 1] for cells in pairs]
    frequencies = [cells[1 if swapped else 0] for cells in pairs]
    decimal, grouped = _marks(levels, frequencies)
    return Dialect(separator, decimal, grouped, quoted, swapped, units)


def _separator(rows: Sequence[str], quoted: bool) -> str:
    for sign in ";\t":
        if _usual(sign in row for row in rows):
            return sign
    if quoted and _usual(re.search(r'",|,"', row) is not None for row in rows):
        return ";"
    if _usual("," in row and (re.search(r",\s|\s,", row) is not None or " " not in row) for row in rows):
        return ","
    return " "


def _marks(levels: Sequence[str], frequencies: Sequence[str]) -> tuple[str, bool]:
    """The decimal mark, and whether the other mark stands between groups of digits."""
    for mark, other in ((",", "."), (".", ",")):
        if _usual(mark in level for level in levels if mark in level or other in level):
            return mark, _usual(other in frequency for frequency in frequencies) is True
    for mark, other in ((",", "."), (".", ",")):
        if any(
            frequency.count(mark) > 1 or 0 <= frequency.find(mark) < frequency.find(other)
            for frequency in frequencies
        ):
            return other, True
    return ("," if _usual("," in frequency for frequency in frequencies) else "."), False


def _usual(values: Iterable[_T]) -> _T | None:
    """What stands there most often; None when nothing does."""
    return next((value for value, _ in Counter(values).most_common(1)), None)


def _unquoted(line: str, separator: str) -> str:
    """A line whose cells stand in quotes as one without; between such cells a comma separates."""
    if separator == ";":
        line = line.replace('","', ";").replace('",', ";").replace(',"', ";")
    return line.replace('"', "")
