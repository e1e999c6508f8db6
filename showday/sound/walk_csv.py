"""The walk along the inputs as a table: when somebody made a sound at which input.

One line each, `start_s,end_s,input`: seconds from the start of the recording (or `m:ss` and `h:mm:ss`), and the name or
the number of an input. A first line of words is passed over; commas, semicolons or tabs part the columns.
"""

from __future__ import annotations

import csv
import itertools
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from showday.text.problem import Place, Problems, nearest
from showday.text.safe import one_line

MOST_LINES = 10_000
"""Lines read; a choice, far above what a night holds."""

_NUMBER = re.compile(r"\d+(?:[.,]\d*)?|[.,]\d+")
_CLOCK = re.compile(r"(?:(\d+):)?(\d+):(\d{1,2}(?:[.,]\d*)?)")
_LAYOUT = "start_s,end_s,input"


@dataclass(frozen=True, slots=True)
class WalkLine:
    """One stretch of the walk."""

    start_s: float
    end_s: float
    input: str
    """As written."""
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch in which a sound was made at one input."""

    input: str
    wanted: int | None
    """The channel it should arrive on, counted from 0; None when nobody said."""
    start_s: float
    end_s: float


def read_walk(text: str, file: str) -> tuple[list[WalkLine], Problems]:
    """The lines that can be used, in the order of time, and every line that cannot."""
    problems = Problems(file)
    lines: list[WalkLine] = []
    rows = text.removeprefix("\ufeff").splitlines()
    if len(rows) > MOST_LINES:
        problems.add(Place(MOST_LINES + 1), f"only the first {MOST_LINES:,} lines are read", warning=True)
    parted = _parted(rows)
    begun = False
    for number, row in enumerate(rows[:MOST_LINES], 1):
        cells = [cell.strip() for cell in next(csv.reader([row.replace("\0", " ")], delimiter=parted), [])]
        if not any(cells) or cells[0].startswith("#"):
            continue
        if not begun and not any(char.isdigit() for char in cells[0]):
            begun = True  # a line of headings
            continue
        begun = True
        line = _line(cells, Place(number), problems)
        if line is not None:
            lines.append(line)
    if not lines and not problems:
        problems.add(Place(), f"no line of the walk stands here; write {_LAYOUT}")
    lines.sort(key=lambda line: line.start_s)
    for before, after in itertools.pairwise(lines):
        if after.start_s < before.end_s and after.input != before.input:
            problems.add(after.place, f"it begins before line {before.place.line} has ended", warning=True)
    return lines, problems


def windows(lines: list[WalkLine], wanted: Mapping[str, int], file: str = "walk") -> tuple[list[Window], Problems]:
    """The lines with the channel each input should arrive on.

    `wanted` maps names of inputs to channels counted from 0. A number in the walk is the input on that channel; a name
    that is not in `wanted` keeps its line and is told.
    """
    problems = Problems(file)
    by_name = {name.casefold(): (name, channel) for name, channel in wanted.items()}
    by_channel = {channel: name for name, channel in reversed(list(wanted.items()))}
    found = []
    for line in lines:
        name, channel = by_name.get(line.input.casefold(), (line.input, None))
        if channel is None and line.input.isdecimal() and 1 <= int(line.input[:6]) <= 9_999:
            channel = int(line.input[:6]) - 1
            name = by_channel.get(channel, f"Input {channel + 1}")
        elif channel is None and wanted:
            text = f"no input of the rig is called '{one_line(line.input, 40)}'"
            problems.add(line.place, text, nearest(line.input, wanted), warning=True)
        found.append(Window(name, channel, line.start_s, line.end_s))
    return found, problems


def _parted(rows: list[str]) -> str:
    first = next((row for row in rows if row.strip() and not row.lstrip().startswith("#")), "")
    return next((sign for sign in ";\t" if sign in first), ",")


def _line(cells: list[str], place: Place, problems: Problems) -> WalkLine | None:
    if len(cells) < 3 or not cells[2]:
        problems.add(place, f"a column is missing; write {_LAYOUT}")
        return None
    start, end = _seconds(cells[0]), _seconds(cells[1])
    if start is None or end is None:
        wrong = cells[0] if start is None else cells[1]
        problems.add(place, f"'{one_line(wrong, 40)}' is not a time; write seconds, or minutes as 1:30")
        return None
    if end <= start:
        problems.add(place, "it ends before it begins; write the start first, then the end")
        return None
    return WalkLine(start, end, one_line(cells[2], 80), place)


def _seconds(text: str) -> float | None:
    if clock := _CLOCK.fullmatch(text):
        hours, minutes, seconds = clock.groups(default="0")
        value = int(hours[:9]) * 3_600 + int(minutes[:9]) * 60 + _float(seconds)
        return value if _float(seconds) < 60 else None
    value = _float(text) if _NUMBER.fullmatch(text) else math.nan
    return value if math.isfinite(value) else None


def _float(text: str) -> float:
    return float(text.replace(",", "."))
