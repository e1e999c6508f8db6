"""The whole list at a glance: lines that are exchanged for each other, and rows of lines that all stand beside their place.

One line on a wrong channel is a plug; many that moved by the same step are a multicore or a bank of channels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from showday.sound.arrival_words import Arrival

LEAST_ROW = 3
"""Neighbours that moved by the same step and are told as a row; a choice: two may be two plugs."""


@dataclass(frozen=True, slots=True)
class _Moved:
    """An input on a wrong channel; channels counted from 0."""

    name: str
    wanted: int
    found: int

    @property
    def step(self) -> int:
        return self.found - self.wanted


@dataclass(frozen=True, slots=True)
class _Row:
    """Neighbours that moved by the same step."""

    lines: tuple[_Moved, ...]

    @property
    def step(self) -> int:
        return self.lines[0].step

    @property
    def span(self) -> str:
        return f"{self.lines[0].wanted + 1} to {self.lines[-1].wanted + 1}"


def shuffles(arrivals: Sequence[Arrival]) -> list[str]:
    """A sentence for every row that moved, every rotation, swap and ring, in the order of the wanted channels.

    Only inputs that surely arrived elsewhere count; lines that moved alone are told by their own sentence.
    """
    rows = _rows(arrivals)
    told: list[tuple[int, str]] = []
    in_rows = {line.name for row in rows for line in row.lines}
    while rows:
        row = rows.pop(0)
        rest = next((other for other in rows if _turned(row, other)), None)
        if rest is not None:
            rows.remove(rest)
            told.append((row.lines[0].wanted, _rotation(row, rest)))
        else:
            told.append((row.lines[0].wanted, _step(row)))
    alone = [line for line in _moved(arrivals) if line.name not in in_rows]
    told += [(ring[0].wanted, _ring(ring)) for ring in _rings(alone)]
    return [sentence for _, sentence in sorted(told)]


def _moved(arrivals: Sequence[Arrival]) -> list[_Moved]:
    return [
        _Moved(one.input, one.wanted, one.found)
        for one in arrivals
        if one.verdict == "elsewhere" and one.wanted is not None and one.found is not None
    ]


def _rows(arrivals: Sequence[Arrival]) -> list[_Row]:
    """Rows of neighbours; an input that was not heard or is unsure does not break one, another step does.

    The shorter end of a rotation counts as a row when it comes where the longer one left room.
    """
    placed = sorted((one for one in arrivals if one.wanted is not None), key=lambda one: one.wanted or 0)
    runs: list[list[_Moved]] = []
    going: list[_Moved] = []
    for one in placed:
        moved = _moved([one])
        if moved and going and moved[0].step == going[-1].step:
            going += moved
        elif moved or one.verdict == "arrived":
            going = moved
            runs += [going] if moved else []
    rows = [_Row(tuple(run)) for run in runs]
    long = [row for row in rows if len(row.lines) >= LEAST_ROW]
    ends = [row for row in rows if row not in long and any(_turned(row, other) for other in long)]
    return [row for row in rows if row in long or row in ends]


def _turned(one: _Row, other: _Row) -> bool:
    """Whether both rows together only changed their order among themselves."""
    lines = one.lines + other.lines
    return {line.wanted for line in lines} == {line.found for line in lines}


def _rotation(one: _Row, other: _Row) -> str:
    """`one` holds the lower channels."""
    if len(one.lines) == len(other.lines):
        return f"{one.span} and {other.span} are exchanged for each other. {_BANK}"
    main, rest = (one, other) if len(one.lines) >= len(other.lines) else (other, one)
    span = f"{one.lines[0].wanted + 1} to {other.lines[-1].wanted + 1}"
    return (
        f"Inputs {span} are rotated by {abs(main.step)}: {main.span} arrive {_way(main.step)} and "
        f"{_those(rest)} {_way(rest.step)}. {_BANK}"
    )


def _step(row: _Row) -> str:
    first, last = row.lines[0], row.lines[-1]
    whole = len(row.lines) == last.wanted - first.wanted + 1
    who = f"All of {row.span}" if whole else f"{len(row.lines)} of the inputs {row.span}"
    return (
        f"{who} arrive {_way(row.step)} ({first.wanted + 1} on {first.found + 1}, {last.wanted + 1} on {last.found + 1}). "
        f"{_BANK}"
    )


_BANK = "A bank of channels or a multicore in the wrong place?"


def _those(row: _Row) -> str:
    if len(row.lines) == 1:
        return f"{row.lines[0].wanted + 1} arrives"
    return row.span


def _way(step: int) -> str:
    return f"{abs(step)} {'higher' if step > 0 else 'lower'}"


def _rings(lines: Sequence[_Moved]) -> list[list[_Moved]]:
    """Lines that stand on each other's channels, each ring begun at its lowest channel."""
    at = {line.wanted: line for line in lines}
    rings: list[list[_Moved]] = []
    seen: set[int] = set()
    for start in sorted(at):
        ring: list[_Moved] = []
        here = start
        while here in at and here not in seen:
            seen.add(here)
            ring.append(at[here])
            here = at[here].found
        if len(ring) > 1 and here == start:
            rings.append(ring)
    return rings


def _ring(ring: list[_Moved]) -> str:
    if len(ring) == 2:
        one, other = ring
        return f"{one.name} and {other.name} are swapped (channels {one.wanted + 1} and {other.wanted + 1})."
    steps = ", ".join(f"{line.name} on {line.found + 1}" for line in ring)
    return f"{len(ring)} lines stand in a ring on each other's channels: {steps}."
