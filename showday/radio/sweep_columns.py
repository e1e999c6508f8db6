"""Two columns: a frequency and a level in each line. Lines of digits are taken by the block, odd ones one by one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from showday.radio.sweep import Floats, Ints
from showday.radio.sweep_dialect import COMMENT, MOMENT, Dialect, FrequencyUnit, guess, looks_like_row, unit_by_size
from showday.radio.sweep_faults import Faults, shown
from showday.radio.sweep_lines import Block
from showday.radio.sweep_numbers import decimals

LEAST_LEVEL, MOST_LEVEL = -250.0, 200.0
"""dB that a level can be: thermal noise in 1 Hz is -174 dBm, and 200 dBuV are 2 kW; a choice of this program."""

_WORDS = 50
_SAMPLE = 10_000
"""Bytes that the guess of the dialect looks at."""
_DIGITS, _BLANK, _SEPARATOR, _ODD = range(4)
"""Classes of bytes: of a number, white, what separates, anything else."""


@dataclass
class Columns:
    """The rows that were read: frequencies [N] in Hz and levels [N] in dB, in pieces, in the file's order."""

    hz: list[Ints] = field(default_factory=list)
    level: list[Floats] = field(default_factory=list)
    dialect: Dialect | None = None
    unit: FrequencyUnit | None = None
    header: str = ""
    """The last line before the first row."""
    words: list[str] = field(default_factory=list)
    """The first lines before the first row, at most `_WORDS`."""
    rows: int = 0
    skipped: int = 0
    """Header and comment lines."""
    left_out: int = 0


def read_columns(blocks: Iterable[Block], faults: Faults) -> Columns:
    """Every row of a file; what cannot be used is noted in `faults` and left out."""
    read = Columns()
    for block in blocks:
        line, text = block.line, block.text
        if read.dialect is None:
            line, text = _begin(read, line, text)
        if read.dialect is not None and text:
            _take(read, read.dialect, line, text, faults)
    return read


def _begin(read: Columns, line: int, text: bytes) -> tuple[int, bytes]:
    """Pass over what stands before the first row, and guess the dialect; the rows that are left, if any."""
    at = 0
    while at < len(text):
        end = text.index(b"\n", at)
        words = text[at:end].decode("utf-8", "replace")
        if looks_like_row(words):
            rows = text[at : at + _SAMPLE].decode("utf-8", "replace").split("\n")
            read.dialect = guess(rows[:-1] or rows)
            return line, text[at:]
        if words.strip():
            read.skipped += 1
            read.header = words
            read.words += [words[:400]] if len(read.words) < _WORDS else []
        line, at = line + 1, end + 1
    return line, b""


def _take(read: Columns, dialect: Dialect, line: int, text: bytes, faults: Faults) -> None:
    """One block of rows."""
    ends = np.flatnonzero(np.frombuffer(text, np.uint8) == ord("\n"))
    odd = np.arange(len(ends))
    if not (dialect.quoted or dialect.units or dialect.grouped or dialect.separator == dialect.decimal):
        words = _words(text, dialect)
        odd = _odd_lines(words, ends, dialect)
        if len(odd) and len(odd) < len(ends):
            words = _words(_without(text, ends, odd), dialect)
        numbers = _numbers(words, dialect) if len(odd) < len(ends) else None
        if numbers is None:
            odd = np.arange(len(ends))
        else:
            _keep(read, numbers, np.delete(np.arange(len(ends)), odd) + line, faults)
    if len(odd):
        _take_slowly(read, dialect, line, text, ends, odd, faults)


@dataclass(frozen=True, slots=True)
class _Words:
    """A block's bytes with the class of each, and where its numbers begin and end."""

    text: bytes
    classes: npt.NDArray[np.uint8]
    begins: Ints
    ends: Ints


def _words(text: bytes, dialect: Dialect) -> _Words:
    classes = np.frombuffer(text.translate(_table(dialect)), np.uint8)
    inside = np.zeros(len(classes) + 2, dtype=np.int8)
    inside[1:-1] = classes == _DIGITS
    turns = np.flatnonzero(np.diff(inside))
    return _Words(text, classes, turns[0::2], turns[1::2])


def _odd_lines(words: _Words, ends: Ints, dialect: Dialect) -> Ints:
    """Indices of the lines that are not simply a number, a separator, a number."""
    odd = _count(words.begins, ends) != 2
    odd[np.searchsorted(ends, np.flatnonzero(words.classes == _ODD))] = True
    if dialect.separator != " ":
        odd |= _count(np.flatnonzero(words.classes == _SEPARATOR), ends) != 1
    found: Ints = np.flatnonzero(odd)
    return found


def _count(places: Ints, ends: Ints) -> Ints:
    """How many of the rising places lie before each end and behind the one before."""
    return np.diff(np.searchsorted(places, ends), prepend=0)


def _table(dialect: Dialect) -> bytes:
    """The class of every byte."""
    table = bytearray([_ODD]) * 256
    for char in f"0123456789+-eE{dialect.decimal}":
        table[ord(char)] = _DIGITS
    for char in " \t\n":
        table[ord(char)] = _BLANK
    if dialect.separator != " ":
        table[ord(dialect.separator)] = _SEPARATOR
    return bytes(table)


def _without(text: bytes, ends: Ints, odd: Ints) -> bytes:
    """The text without the odd lines."""
    starts = np.concatenate(([0], ends[:-1] + 1))
    parts, at = [], 0
    for index in odd:
        parts.append(text[at : starts[index]])
        at = int(ends[index]) + 1
    return b"".join([*parts, text[at:]])


def _numbers(words: _Words, dialect: Dialect) -> Floats | None:
    """The [N, 2] numbers of even lines; None when one is malformed."""
    flat = decimals(np.frombuffer(words.text, np.uint8), words.begins, words.ends, dialect.decimal)
    if flat is None:  # exponents, more than 15 digits, or no number at all
        try:
            flat = np.array([float(word) for word in _plain(words.text, dialect).split()])
        except ValueError:
            return None
    return flat.reshape(-1, 2)


def _plain(text: bytes, dialect: Dialect) -> bytes:
    return text.translate(bytes.maketrans(f"{dialect.separator}{dialect.decimal}".encode(), b" ."))


def _take_slowly(
    read: Columns, dialect: Dialect, line: int, text: bytes, ends: Ints, odd: Ints, faults: Faults
) -> None:
    """The odd lines of a block, one by one."""
    numbers, lines = [], []
    for index in odd:
        begin = int(ends[index - 1]) + 1 if index else 0
        raw = text[begin : int(ends[index])].decode("utf-8", "replace")
        if not raw.strip():
            continue
        if COMMENT.match(raw) or MOMENT.match(raw) or _same_words(raw, read.header):
            read.skipped += 1
            continue
        pair = _pair(raw, dialect, line + int(index), faults)
        if pair is None:
            read.left_out += 1
        else:
            numbers.append(pair)
            lines.append(line + int(index))
    if numbers:
        _keep(read, np.array(numbers), np.array(lines), faults)


def _same_words(raw: str, header: str) -> bool:
    """Whether the header stands here again, as it does where files were joined."""
    return bool(header) and raw.split() == header.split()


def _pair(raw: str, dialect: Dialect, line: int, faults: Faults) -> tuple[float, float] | None:
    cells = dialect.cells(raw)
    if len(cells) != 2:
        count = "1 value stands" if len(cells) == 1 else f"{len(cells)} values stand"
        more = "" if len(cells) < 2 else "; export those two alone, with ; between them"
        faults.add(line, f"{count} here, wanted a frequency and a level: {shown(raw)}{more}")
        return None
    made = []
    for cell in cells:
        try:
            made.append(dialect.number(cell))
        except ValueError:
            faults.add(line, f"{shown(cell) if cell else 'an empty cell'} is not a number", raw.find(cell) + 1)
            return None
    return made[0], made[1]


def _keep(read: Columns, numbers: Floats, lines: Ints, faults: Faults) -> None:
    """Take the rows whose numbers can be a frequency and a level; say why not of the others."""
    swapped = read.dialect is not None and read.dialect.swapped
    frequency, level = (numbers[:, 1], numbers[:, 0]) if swapped else (numbers[:, 0], numbers[:, 1])
    if read.unit is None:
        sizes = frequency[np.isfinite(frequency)]
        read.unit = unit_by_size(float(np.median(sizes))) if len(sizes) else None
    unit = read.unit
    if unit is None:
        read.left_out += len(frequency)
        text = f"{frequency[0]:.10g} is in no unit a stage frequency, 30 MHz to 10 GHz"
        faults.add(int(lines[0]), f"{text}; the frequencies of this block are left out")
        return
    bad_frequency = ~((frequency >= unit.least) & (frequency <= unit.most))
    bad_level = ~((level == -np.inf) | ((level >= LEAST_LEVEL) & (level <= MOST_LEVEL)))
    for row in np.flatnonzero(bad_frequency | bad_level):
        read.left_out += 1
        if bad_frequency[row]:
            faults.add(int(lines[row]), f"{frequency[row]:.10g} is outside of {unit.bounds}, the unit of this file")
        elif np.isnan(level[row]):
            faults.add(int(lines[row]), "the level is not a number (nan)")
        else:
            faults.add(int(lines[row]), f"{level[row]:.6g} is no level in dB")
    good = ~(bad_frequency | bad_level)
    read.rows += int(good.sum())
    read.hz.append(np.rint(frequency[good] * unit.hertz).astype(np.int64))
    read.level.append(np.ascontiguousarray(level[good]))
