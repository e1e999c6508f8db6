"""Reading a sweep file: which layout it has, what it leaves open, and every line that cannot be used.

Nothing here opens a file: the bytes come in chunks, so that a file may be longer than the memory is wide.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import chain

import numpy as np

from showday.radio.sweep import DBM, DBUV_AT_0_DBM, UNCALIBRATED, UNKNOWN, Floats, Ints, Sweep, collapsed
from showday.radio.sweep_columns import Columns, read_columns
from showday.radio.sweep_faults import Faults
from showday.radio.sweep_lines import Block, blocks
from showday.radio.sweep_rows import WIDE_ROW, Rows, read_rows
from showday.text.problem import Problems

LEVELS = ("dbm", "dbuv", "db")
"""What a person can say the levels are: dBm, dBuV across 50 ohm, or dB over something nobody measured."""

_FREQUENCY_WORD = re.compile(r"\b(ghz|mhz|khz|hz)\b", re.I)
_LEVEL_WORD = re.compile(r"\b(dbm|db(?:u|µ|μ)v|db)\b", re.I)
_FIRST_ROW = re.compile(rb"^[ \t]*\d", re.M)
_LEAST_BINS = 2
LEAST_DBUV = -60.0
"""dBuV in the middle of a sweep, below which it can hardly be dBuV: -167 dBm, where even 1 Hz of thermal noise at 290 K
has -174 dBm (10 log10 kT, in mW)."""
MOST_DBM = -30.0
"""dBm in the middle of a sweep, above which it can hardly be dBm: half of the air would be that strong; a choice of this
program. 10 kHz of thermal noise are -134 dBm, or -27 dBuV."""
_SAY = "Say --level dbuv or --level dbm."


def read_sweep(chunks: Iterable[bytes], file: str, level: str = "") -> tuple[Sweep | None, Problems]:
    """The sweep of a file and every line that cannot be used; None when nothing can.

    `chunks` are the file's bytes in order, `file` the name used in sentences, `level` one of LEVELS when a person has
    said what the levels are. FileTrouble when the file is not text.
    """
    faults = Faults(file)
    lines = blocks(chunks, file)
    begin: list[Block] = []
    for block in lines:
        begin.append(block)
        if block.text.strip():
            break
    if not begin or not begin[-1].text.strip():
        faults.add(1, "the file is empty")
        return None, faults.finish()
    every = chain(begin, lines)
    if _is_wide(begin[-1].text):
        return _wide_sweep(read_rows(every, faults), faults, level), faults.finish()
    return _column_sweep(read_columns(every, faults), faults, level), faults.finish()


def _is_wide(text: bytes) -> bool:
    """Whether the first line that begins with a digit begins a wide row."""
    found = _FIRST_ROW.search(text)
    return found is not None and WIDE_ROW.match(text, found.start()) is not None


def _wide_sweep(read: Rows, faults: Faults, level: str) -> Sweep | None:
    if not read.pieces:
        if not faults.problems:
            faults.add(1, "no row with levels stands in the file")
        return None
    centres, peak, mean = read.bins()
    hz = np.rint(centres).astype(np.int64)
    hz, peak, mean, _ = collapsed(hz, peak, mean)
    if len(hz) < _LEAST_BINS:
        faults.add(1, "one bin alone is no sweep")
        return None
    said = [*_wide_notes(read)]
    peak, mean, unit, asked = _levels(peak, mean, level or "db", "")
    return Sweep(
        hz, peak, mean, read.passes, unit, (faults.problems.file,), read.begun, read.ended, tuple(said), asked
    )


def _wide_notes(read: Rows) -> Iterator[str]:
    middles = {geometry.middle for geometry in read.pieces}
    if middles == {True}:
        yield "Wide sweep rows: each value stands for the middle of its bin."
    elif middles == {False}:
        more = "; the last value of a row is written twice and left out" if read.repeated else ""
        yield f"Wide sweep rows: each value stands for the lower end of its bin{more}."
    else:
        yield "Wide sweep rows of two kinds: some with one value more than their bins."
    if read.passes > 1:
        last = ", the last one not whole" if read.unfinished else ""
        yield f"{read.passes} sweeps stand in the file{last}: the strongest and the mean of each bin are kept."
    if read.skipped:
        yield _skipped(read.skipped)


def _skipped(count: int) -> str:
    return "1 line of words was passed over." if count == 1 else f"{count:,} lines of words were passed over."


def _column_sweep(read: Columns, faults: Faults, level: str) -> Sweep | None:
    if not read.rows or read.unit is None or read.dialect is None:
        if not faults.problems:
            faults.add(1, "no line with a frequency and a level stands in the file")
        return None
    hz, peak, mean, counts = collapsed(*_joined(read))
    if len(hz) < _LEAST_BINS:
        faults.add(1, "one frequency alone is no sweep")
        return None
    said = [f"Frequencies are taken as {read.unit.name}, by their size."]
    words = _FREQUENCY_WORD.findall(read.header)
    if words and read.unit.name.lower() not in map(str.lower, words):
        said.append(f"The header says {words[0]}; the numbers only make sense as {read.unit.name}.")
    said += read.dialect.spoken()
    passes = int(np.median(counts))
    if passes > 1:
        said.append(f"{passes} sweeps stand in the file: the strongest and the mean of each bin are kept.")
    elif twice := int((counts > 1).sum()):
        times = "1 frequency stands" if twice == 1 else f"{twice:,} frequencies stand"
        said.append(f"{times} more than once: the strongest and the mean are kept.")
    if read.skipped:
        said.append(_skipped(read.skipped))
    named = _named_level(read)
    peak, mean, unit, asked = _levels(peak, mean, level, named)
    if not level and named:
        said.append(f"The header says {_SPOKEN[named]}.")
    elif not level and not asked:
        said.append("Levels are taken as dBm, by their size.")
    return Sweep(hz, peak, mean, max(passes, 1), unit, (faults.problems.file,), "", "", tuple(said), asked)


_SPOKEN = {"dbm": "dBm", "dbuv": "dBuV, taken across 50 ohm", "db": "dB: over what is not known"}


def _named_level(read: Columns) -> str:
    """The one of LEVELS that the last line of words before the first row names which names one; else an empty text."""
    for words in reversed([*read.words, read.header]):
        if word := _LEVEL_WORD.search(words):
            return word[1].lower().replace("µ", "u").replace("μ", "u")
    return ""


def _joined(read: Columns) -> tuple[Ints, Floats]:
    """The pieces in one; they are let go, since a long file has them in hundreds of megabytes."""
    hz = np.concatenate(read.hz)
    read.hz.clear()
    level = np.concatenate(read.level)
    read.level.clear()
    return hz, level


def _levels(peak: Floats, mean: Floats, level: str, named: str) -> tuple[Floats, Floats, str, tuple[str, ...]]:
    """The levels in dBm where that can be, their unit, and what has to be asked.

    What a person says (`level`) counts; what the header says (`named`) counts too, but is asked about when the numbers
    speak against it.
    """
    finite = peak[np.isfinite(peak)]
    middle = float(np.median(finite)) if len(finite) else 0.0
    unit = level or named
    asked: tuple[str, ...] = ()
    if not level and len(finite):
        asked = _doubts(named, middle, float(finite.min()), float(finite.max()))
    if unit == "dbuv":
        return peak - DBUV_AT_0_DBM, mean - DBUV_AT_0_DBM, DBM, asked
    if unit == "db":
        return peak, mean, UNCALIBRATED, asked
    return peak, mean, UNKNOWN if asked and not unit else DBM, asked


def _doubts(named: str, middle: float, low: float, high: float) -> tuple[str, ...]:
    """What to ask when most levels cannot be what they are said to be: a sweep is noise for the most part."""
    if named == "db":
        return ()
    if named == "dbuv":
        if middle >= LEAST_DBUV:
            return ()
        return (
            f"The header says dBuV, yet most levels are negative ({low:.6g} to {high:.6g}). Are they dBm? {_SAY}",
        )
    if middle < MOST_DBM:
        return ()
    if low >= 0 and high <= 1:
        ask = "They look like plain power, not like decibels: export the levels in dBm."
    else:
        ask = f"Are they dBuV? {_SAY}"
    head = "The header says dBm, yet most" if named else "Most"
    are = "positive" if middle >= 0 else "high for dBm"
    return (f"{head} levels are {are} ({low:.6g} to {high:.6g}). {ask}",)
