"""What the listening screen says: channels as a table, findings as words, a spectrum in signs; without colour."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from showday.text.safe import one_line

if TYPE_CHECKING:
    from showday.sound.model import Finding, Meter
    from showday.sound.spectrum import Column, Spectrum
    from showday.sound.verdict import Heard, Wanted

LOWEST, HIGHEST = -60.0, 0.0
"""dBFS at the two ends of a meter; quieter than the first is silence on a stage."""
PAGE = 32
"""Channels on one page: two columns of sixteen rows on a screen of 24."""
TWO_COLUMNS = 78
"""Columns from which on the table has two halves."""
NAME = 14
"""Columns of a name at most; then the meter gets the room."""
_BAR_LEAST = 6
_TOP_DBFS, _BOTTOM_DBFS = -10.0, -120.0
"""Levels of the top and the bottom row of the spectrum."""


def meter_line(meter: Meter, channel: int, wanted: Wanted | None, marks: str, width: int) -> str:
    """`>!  3 Hi-hat    ####:....|  -18  -84`: marks, channel, input, level up to peak, peak and floor in dBFS."""
    room = width - 18
    name_room = max(4, min(NAME, room - _BAR_LEAST))
    bar = _bar(meter, max(_BAR_LEAST, room - name_room))
    name = one_line(wanted.input if wanted else "", name_room)
    return (
        f"{marks:<2}{channel + 1:>3} {name:<{name_room}} {bar} {_whole(meter.peak_dbfs)} {_whole(meter.floor_dbfs)}"
    )


def _bar(meter: Meter, cells: int) -> str:
    """The level in full signs, on to the peak in thin ones, and where the loudest peak was."""

    def at(dbfs: float) -> int:
        share = (dbfs - LOWEST) / (HIGHEST - LOWEST) if math.isfinite(dbfs) else 0.0
        return round(cells * min(1.0, max(0.0, share)))

    level, peak, held = at(meter.level_dbfs), at(meter.peak_dbfs), at(meter.held_peak_dbfs)
    signs = ["#" if cell < level else ":" if cell < peak else "." for cell in range(cells)]
    if meter.clipped:
        signs[-1] = "C"
    elif held:
        signs[held - 1] = "|" if held > peak else signs[held - 1]
    return "".join(signs)


def _whole(dbfs: float) -> str:
    return f"{dbfs:4.0f}" if math.isfinite(dbfs) and dbfs > -200 else "  --"


def marks_of(channel: int, marked: int, awaited: int | None, troubled: bool) -> str:
    """`>` the marked row, `*` the input that is awaited, `!` something was found."""
    first = "*" if channel == awaited else ">" if channel == marked else " "
    return first + ("!" if troubled else " ")


def meter_rows(
    meters: Sequence[Meter],
    wanted: Mapping[int, Wanted],
    troubled: set[int],
    *,
    marked: int,
    awaited: int | None,
    width: int,
    rows: int,
) -> list[str]:
    """The table: the page of the marked channel in two halves where it fits, else the channels that matter most."""
    if not meters:
        return []

    def line(channel: int, room: int) -> str:
        marks = marks_of(channel, marked, awaited, channel in troubled)
        return meter_line(meters[channel], channel, wanted.get(channel), marks, room)

    first = marked // PAGE * PAGE
    page = range(first, min(first + PAGE, len(meters)))
    if width >= TWO_COLUMNS and len(page) <= 2 * rows:
        half = (len(page) + 1) // 2
        room = (width - 1) // 2
        left, right = page[:half], page[half:]
        made = [line(channel, room) for channel in left]
        return [f"{row:<{room}} {line(right[n], room)}" if n < len(right) else row for n, row in enumerate(made)]
    return [line(channel, width) for channel in chosen(meters, troubled, marked, awaited, rows)]


def chosen(meters: Sequence[Meter], troubled: set[int], marked: int, awaited: int | None, rows: int) -> list[int]:
    """The channels that matter most, in their order: awaited, marked, troubled, then the loudest."""
    loud = sorted(range(len(meters)), key=lambda channel: -_finite(meters[channel].peak_dbfs))
    wish = [*([awaited] if awaited is not None else []), marked, *sorted(troubled), *loud]
    picked = list(dict.fromkeys(channel for channel in wish if 0 <= channel < len(meters)))[: max(1, rows)]
    return sorted(picked)


def _finite(dbfs: float) -> float:
    return dbfs if math.isfinite(dbfs) else -1000.0


def heard_words(heard: Heard | None, hands_free: bool) -> str:
    """`Kick: not yet. Channel 1 …`; the word first, because the eye has no time for more."""
    free = "hands free" if hands_free else "listening"
    if heard is None or not heard.input:
        return f"{free}: no input is awaited at this step"
    return f"{free}: {heard.input}: {heard.verdict.upper()}. {heard.reason}"


def worst_of(findings: Sequence[Finding]) -> Finding:
    """The one to be told of several on one channel: what goes on all the time before what happened once."""
    from showday.sound.model import KINDS

    return min(findings, key=lambda one: (KINDS.index(one.kind), -one.to_s))


def finding_words(finding: Finding, wanted: Mapping[int, Wanted]) -> str:
    """One finding with its channel and input: evidence, never a cause as a fact."""
    line = wanted.get(finding.channel)
    where = f"{finding.channel + 1}" + (f" {line.input}" if line else "")
    return f"{where}: {finding.sentence}"


def spectrum_rows(columns: Sequence[Column], rows: int) -> list[str]:
    """The picture: a row for each 10 dB or more, then the numbers of the mains lines under their columns."""
    step = (_TOP_DBFS - _BOTTOM_DBFS) / max(1, rows - 1)
    made = []
    for row in range(rows):
        floor = _TOP_DBFS - row * step
        signs = "".join(("M" if c.mains else "#") if c.dbfs >= floor else " " for c in columns)
        made.append(f"{floor:5.0f} {signs}".rstrip())
    marks = "".join(str(c.mains % 10) if c.mains else " " for c in columns)
    return [*made, f"{'Hz':>5} {axis(columns)}".rstrip(), f"{'mains':>5} {marks}".rstrip()]


def axis(columns: Sequence[Column]) -> str:
    """Frequencies under the columns where they stand."""
    signs = [" "] * (len(columns) + 6)
    for hertz in (20, 50, 100, 200, 500, 1000, 2000):
        at = next((n for n, c in enumerate(columns) if c.low_hz <= hertz < c.high_hz), None)
        if at is not None:
            text = f"{hertz // 1000}k" if hertz >= 1000 else str(hertz)
            signs[at : at + len(text)] = text
    return "".join(signs).rstrip()


def peak_words(spectrum: Spectrum, mains_hz: float | None) -> str:
    """The strongest line of the picture in words, and the mains that is heard."""
    low = spectrum.hertz >= 20.0
    at = int(spectrum.dbfs[low].argmax())
    said = f"strongest at {spectrum.hertz[low][at]:.0f} Hz, {spectrum.dbfs[low][at]:.0f} dBFS"
    return f"{said} | mains {mains_hz:.2f} Hz (M)" if mains_hz else f"{said} | no mains heard"
