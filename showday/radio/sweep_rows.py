"""Wide sweep rows: `date, time, hz_low, hz_high, hz_bin_width, num_samples, dB, dB, ...`, one piece of the span a row.

Two habits exist, told apart by the number of values. With as many values as bins, value i is the bin whose centre is
hz_low + (i + 1/2) · width. With one more, value i stands at hz_low + i · width, and the last one, when it only repeats
the one before it, is left out. (Manual pages and sources of two open-source sweep writers.)
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from showday.radio.sweep import Floats, level_of, power_of
from showday.radio.sweep_columns import LEAST_LEVEL, MOST_LEVEL
from showday.radio.sweep_dialect import COMMENT
from showday.radio.sweep_faults import Faults, shown
from showday.radio.sweep_lines import Block

WIDE_ROW = re.compile(rb"\s*\d{4}-\d\d-\d\d\s*,\s*\d\d:\d\d:\d\d(\.\d+)?\s*,")
"""How a wide row begins."""
_EMPTY_CELL = re.compile(rb"(?:^|,)\s*(?:,|$)")
_NUMBER = re.compile(r"\s*[-+]?\.?\d")
_HEAD = 6
_HIGHEST = 10e9
_MOST_BINS = 5_000_000


@dataclass(frozen=True, slots=True)
class Geometry:
    """Where a row's values stand, in Hz."""

    low: float
    width: float
    bins: int
    middle: bool
    """Whether value i stands in the middle of its bin, half a width higher."""

    def centres(self, count: int) -> Floats:
        """Centres of the first so many values."""
        places = np.arange(count, dtype=np.float64) + (0.5 if self.middle else 0.0)
        return self.low + places * self.width


@dataclass
class _Piece:
    """All passes over one piece of the span."""

    peak: Floats
    power: Floats
    passes: int = 0


@dataclass
class Rows:
    """The rows that were read, summed up by the pieces of the span."""

    pieces: dict[Geometry, _Piece] = field(default_factory=dict)
    rows: int = 0
    skipped: int = 0
    left_out: int = 0
    begun: str = ""
    ended: str = ""
    repeated: int = 0
    """Rows whose last value was written twice."""

    @property
    def passes(self) -> int:
        """How often the sweep came back to its start: the rows of the piece that has most."""
        return max((piece.passes for piece in self.pieces.values()), default=0)

    @property
    def unfinished(self) -> bool:
        """Whether some pieces were passed less often than others."""
        return len({piece.passes for piece in self.pieces.values()}) > 1

    def bins(self) -> tuple[Floats, Floats, Floats]:
        """Centres [N] in Hz, strongest levels and levels of the mean power, piece after piece."""
        hz = [geometry.centres(len(piece.peak)) for geometry, piece in self.pieces.items()]
        peak = [piece.peak for piece in self.pieces.values()]
        mean = [level_of(piece.power / piece.passes) for piece in self.pieces.values()]
        return np.concatenate(hz), np.concatenate(peak), np.concatenate(mean)


def read_rows(blocks: Iterable[Block], faults: Faults) -> Rows:
    """Every row of a file; what cannot be used is noted in `faults` and left out."""
    read = Rows()
    known: dict[tuple[bytes, bytes, bytes, int], Geometry | str] = {}
    for block in blocks:
        for index, raw in enumerate(block.text.split(b"\n")[:-1]):
            if not raw.strip():
                continue
            trouble = _take(read, raw, known)
            if trouble is _PASSED:
                read.skipped += 1
            elif trouble:
                read.left_out += 1
                faults.add(block.line + index, trouble)
    return read


_PASSED = "passed over"


def _take(read: Rows, raw: bytes, known: dict[tuple[bytes, bytes, bytes, int], Geometry | str]) -> str:
    """Take one row; why it cannot be used, or an empty text."""
    if not WIDE_ROW.match(raw):
        text = raw[:400].decode("utf-8", "replace")
        if COMMENT.match(text) or (not read.rows and not _NUMBER.match(text)):
            return _PASSED
        return f"the row does not begin with a date and a time: {shown(text)}"
    parts = raw.rstrip(b", \t").split(b",", _HEAD)
    if len(parts) <= _HEAD:
        return f"the row ends after {len(parts)} of its columns; it has no values"
    values = _values(parts[_HEAD])
    if values is None:
        return f"{shown(_culprit(parts[_HEAD]))} is not a level"
    low, high, width = (part.strip() for part in parts[2:5])
    key = (low, high, width, len(values))
    where = known.get(key)
    if where is None:
        where = known[key] = _geometry(low, high, width, len(values))
    if isinstance(where, str):
        return where
    if bad := _unusable(values):
        return bad
    if len(values) > where.bins:
        twice = values[-1] == values[-2]
        read.repeated += int(twice)
        values = values[:-1] if twice else values
    _add(read, where, values)
    stamp = b" ".join(part.strip() for part in parts[:2]).decode("ascii", "replace")
    read.begun = min(read.begun or stamp, stamp)
    read.ended = max(read.ended, stamp)
    return ""


def _values(text: bytes) -> Floats | None:
    if b"#" in text:  # how an older C library on one system prints what is infinite
        text = re.sub(rb"-1\.#INF\d*", b"-inf", text, flags=re.I)
    if _EMPTY_CELL.search(text):  # numpy takes a blank one for -1
        return None
    with warnings.catch_warnings():
        warnings.simplefilter("error", DeprecationWarning)
        try:
            made = np.fromstring(text, sep=",")
        except (DeprecationWarning, ValueError):
            return None
    return made if len(made) == text.count(b",") + 1 else None


def _culprit(text: bytes) -> str:
    """The first of the values that is no number."""
    for cell in text.split(b","):
        try:
            float(cell)
        except ValueError:
            return cell.decode("utf-8", "replace").strip()
    return text[:40].decode("utf-8", "replace")


def _geometry(low_text: bytes, high_text: bytes, width_text: bytes, count: int) -> Geometry | str:
    """Where the values of such a row stand, or why that cannot be."""
    try:
        low, high, width = float(low_text), float(high_text), float(width_text)
    except ValueError:
        named = b", ".join((low_text, high_text, width_text)).decode("utf-8", "replace")
        return f"{shown(named)} are not the ends and the bin width of a row, in Hz"
    if not (0 < low < _HIGHEST and 0 < high < _HIGHEST) or not 0 < width < _HIGHEST:
        return f"a row from {low:.10g} to {high:.10g} Hz with bins of {width:.10g} Hz is no part of a sweep"
    if high <= low:
        return f"the row ends at {high:.10g} Hz, below its start at {low:.10g} Hz"
    bins = round((high - low) / width)
    if not 1 <= bins <= _MOST_BINS:
        return f"bins of {width:.10g} Hz do not fit into a row of {high - low:.10g} Hz"
    if count not in (bins, bins + 1):
        return f"{count} values stand here, {bins} or {bins + 1} fit between {low:.10g} and {high:.10g} Hz"
    return Geometry(low, width, bins, count == bins)


def _unusable(values: Floats) -> str:
    good = (values == -np.inf) | ((values >= LEAST_LEVEL) & (values <= MOST_LEVEL))
    if good.all():
        return ""
    at = int(np.flatnonzero(~good)[0])
    return f"value {at + 1} of the row, {values[at]:.6g}, is no level in dB"


def _add(read: Rows, where: Geometry, values: Floats) -> None:
    read.rows += 1
    piece = read.pieces.get(where)
    if piece is None:
        read.pieces[where] = _Piece(values, power_of(values), 1)
        return
    if len(values) < len(piece.peak):  # a last value that was new in one pass and repeated in another
        piece.peak, piece.power = piece.peak[: len(values)], piece.power[: len(values)]
    np.maximum(piece.peak, values[: len(piece.peak)], out=piece.peak)
    piece.power += power_of(values[: len(piece.peak)])
    piece.passes += 1
