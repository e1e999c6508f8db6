"""A sweep drawn in characters: level over frequency, what is occupied named beneath it, marks, and an axis.

Shapes carry everything, so that it reads without colour; `ascii` needs nothing but the letters of an old terminal.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from showday.radio.model import CARRIER, FOREIGN, TELEVISION, Band
from showday.radio.sweep import Floats, Ints
from showday.radio.units import HZ_PER_MHZ, mhz

GUTTER = 5
"""Columns left of the drawing, for levels; choices of this program, like all below."""
NARROWEST = 200_000
"""Hz of the narrowest window: one stage carrier (EN 300 422-1 measures in channels of 200 kHz)."""
FINE = 150_000
"""Hz of a column up to which products of the fifth and seventh order are marked: beyond, they are everywhere."""
EVERYWHERE = 0.75
"""Share of the columns from which on the products of an order are not marked: a row full of marks says nothing."""
LEAST_SPAN = 20.0
"""dB from the lowest to the highest level that are drawn, at least."""
BELOW_FLOOR = 4.0
"""dB under the noise floor that are drawn, so that the floor is seen as a floor."""
TICK_ROOM = 9
"""Columns from one frequency on the axis to the next, at least."""

SIGNS = "123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
SPARE_SIGNS = "abcdeghijklmnopqrstuvwyz"
"""Carriers are numbers, then capitals; spares small letters, without `f` and `x`, which mean something else here."""
SEVERAL, OTHERS, OTHER_ACT, PRODUCT, FAINT_PRODUCT = "*", "x", "f", ":", "."
"""More than one of ours in a column; a carrier that the sweep shows; one of another act; products."""

_BLOCKS, _PLAIN = " ▁▂▃▄▅▆▇█", " ..::||##"
_EDGES, _PLAIN_EDGES = ("├", "─", "┤", "│"), ("[", "-", "]", "|")
_CURSOR, _PLAIN_CURSOR = "▼", "v"
_FLOOR, _PLAIN_FLOOR = "┈", "-"


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """Levels over frequency, [N] each, rising; -inf where nothing was measured. `floor` in the same unit, or None."""

    hz: Ints
    level: Floats
    floor: float | None = None
    unit: str = "dBm"

    @classmethod
    def of_points(cls, points: Iterable[tuple[int, float]], floor: float | None = None, unit: str = "dBm") -> Trace:
        """From pairs of Hz and level, rising."""
        pairs = list(points)
        hz = np.array([at for at, _ in pairs], dtype=np.int64)
        return cls(hz, np.array([level for _, level in pairs], dtype=np.float64), floor, unit)

    @property
    def span(self) -> Band:
        """From the first bin to the last."""
        return Band(int(self.hz[0]), int(self.hz[-1]))

    @property
    def step(self) -> float:
        """Hz from bin to bin, in the middle of all."""
        return float(np.median(np.diff(self.hz))) if len(self.hz) > 1 else 0.0

    def gaps(self) -> list[tuple[int, int]]:
        """Stretches in Hz without a point; narrower than two and a half usual distances is none: a line that was
        thinned out has its points where they were strongest."""
        wide = np.flatnonzero(np.diff(self.hz) > 2.5 * self.step)
        return [(int(self.hz[at]), int(self.hz[at + 1])) for at in wide]

    def strongest(self, low: float, high: float) -> tuple[int, float] | None:
        """Where the strongest level from `low` up to but not at `high` (Hz) is, and the level; None when unmeasured.

        Between two bins that are no farther apart than usual the nearer one counts.
        """
        first, last = (int(found) for found in np.searchsorted(self.hz, [low, high]))
        if first == last:
            middle = (low + high) / 2
            near = min(
                (n for n in (first - 1, first) if 0 <= n < len(self.hz)), key=lambda n: abs(self.hz[n] - middle)
            )
            if abs(self.hz[near] - middle) > 0.75 * self.step:
                return None
            first, last = near, near + 1
        best = first + int(np.argmax(self.level[first:last]))
        level = float(self.level[best])
        return (int(self.hz[best]), level) if math.isfinite(level) else None


@dataclass(frozen=True, slots=True)
class Mark:
    """One of ours: where (Hz) and its sign, see `SIGNS` and `SPARE_SIGNS`."""

    at: int
    sign: str


@dataclass(frozen=True, slots=True)
class Scene:
    """What is drawn besides the trace: occupied bands, our marks, and products as pairs of order and Hz [N]."""

    bands: tuple[Band, ...] = ()
    marks: tuple[Mark, ...] = ()
    products: tuple[tuple[int, Ints], ...] = ()


@dataclass(frozen=True, slots=True)
class Frame:
    """Which frequencies (Hz) stand in how many columns, without the gutter."""

    window: Band
    columns: int

    @property
    def per_column(self) -> float:
        """Hz of one column."""
        return max(self.window.width, 1) / self.columns

    def column(self, at: float) -> int | None:
        """The column a frequency is in; None outside."""
        if not self.window.low <= at <= self.window.high:
            return None
        return min(int((at - self.window.low) / self.per_column), self.columns - 1)

    def ends(self, column: int) -> tuple[float, float]:
        """Where a column begins and the next one does, Hz."""
        return self.window.low + column * self.per_column, self.window.low + (column + 1) * self.per_column

    def middle(self, column: int) -> int:
        """The middle of a column, whole Hz."""
        low, high = self.ends(column)
        return round((low + high) / 2)


@dataclass(frozen=True, slots=True)
class Drawing:
    """All rows, each as wide as the gutter and the columns together."""

    plot: tuple[str, ...]
    bands: str
    marks: str
    axis: str
    cursor: int | None = None
    """Index of the cursor's column in each row, gutter included."""

    @property
    def lines(self) -> tuple[str, ...]:
        """From top to bottom."""
        return (*self.plot, self.bands, self.marks, self.axis)


def draw(
    trace: Trace | None,
    scene: Scene,
    frame: Frame,
    height: int,
    *,
    cursor: int | None = None,
    empty: str = "",
    ascii: bool = False,
) -> Drawing:
    """The drawing: `height` rows of levels, then bands, marks and axis; `cursor` in Hz.

    `empty` is said where there is no trace to draw.
    """
    at = None if cursor is None else frame.column(cursor)
    plot = _plot(trace, frame, max(height, 1), ascii)
    nothing = trace is None or not len(trace.hz)
    if empty and nothing:
        plot[len(plot) // 2] = f"{'':{GUTTER}}{empty[: frame.columns]:<{frame.columns}}"
    if at is not None and not nothing:
        top = plot[0]
        sign = _PLAIN_CURSOR if ascii else _CURSOR
        plot[0] = f"{top[: GUTTER + at]}{sign}{top[GUTTER + at + 1 :]}"
    blank = " " * GUTTER
    return Drawing(
        tuple(plot),
        blank + _bands(scene.bands, frame, _PLAIN_EDGES if ascii else _EDGES),
        blank + _marks(scene, frame),
        "MHz".ljust(GUTTER) + _axis(frame),
        None if at is None else GUTTER + at,
    )


# -- the levels ------------------------------------------------------------------------------------------------------


def levels(trace: Trace, frame: Frame) -> list[float | None]:
    """The strongest level of each column; None where nothing was measured."""
    found = (trace.strongest(*frame.ends(column)) for column in range(frame.columns))
    return [None if each is None else each[1] for each in found]


def scale_of(trace: Trace) -> tuple[float, float]:
    """The lowest and the highest level that are drawn, the same for every window of a trace."""
    known = trace.level[np.isfinite(trace.level)]
    top = math.ceil(float(known.max()) / 10) * 10.0 if len(known) else 0.0
    base = trace.floor if trace.floor is not None else float(known.min()) if len(known) else top
    return min(base - BELOW_FLOOR, top - LEAST_SPAN), top


def _plot(trace: Trace | None, frame: Frame, height: int, ascii: bool) -> list[str]:
    if trace is None or not len(trace.hz):
        return [" " * (GUTTER + frame.columns)] * height
    low, high = scale_of(trace)
    blocks, line = (_PLAIN, _PLAIN_FLOOR) if ascii else (_BLOCKS, _FLOOR)
    eighths = [
        None if level is None else max(1, round((level - low) / (high - low) * height * 8))
        for level in levels(trace, frame)
    ]
    floor = None if trace.floor is None else int((trace.floor - low) / (high - low) * height)
    rows = []
    for row in range(height - 1, -1, -1):
        cells = [" " if n is None else blocks[min(max(n - row * 8, 0), 8)] for n in eighths]
        if row == floor:
            cells = [line if cell == " " and n is not None else cell for cell, n in zip(cells, eighths, strict=True)]
        label = f"{high:.0f}" if row == height - 1 else f"{trace.floor:.0f}" if row == floor else ""
        rows.append(f"{label[: GUTTER - 1]:>{GUTTER - 1}} {''.join(cells)}")
    return rows


# -- what stands beneath ---------------------------------------------------------------------------------------------


def _bands(bands: Sequence[Band], frame: Frame, edges: tuple[str, str, str, str]) -> str:
    left, fill, right, alone = edges
    cells = [" "] * frame.columns
    for band in bands:
        if band.kind in (CARRIER, FOREIGN) or not band.meets(frame.window):
            continue
        first = frame.column(max(band.low, frame.window.low)) or 0
        last = frame.column(min(max(band.high - 1, band.low), frame.window.high)) or 0
        room = last - first + 1
        name = next((name for name in _names(band) if len(name) < room or len(name) == room == 2), "")
        if room == 1:
            text = alone
        elif len(name) + 2 <= room:
            text = f"{left}{name}".ljust(room - 1, fill) + right
        elif len(name) < room and name:
            text = f"{name}{right}"
        else:
            text = name or f"{left}{fill * (room - 2)}{right}"
        cells[first : last + 1] = text.ljust(room, fill)[:room]
    return "".join(cells)


def _names(band: Band) -> list[str]:
    """What a band may be called, the longest first."""
    name = " ".join((band.name or band.kind or "occupied").split())
    shorter = [name.split()[-1]] if band.kind == TELEVISION else []
    name = "".join(char if char.isprintable() else "?" for char in name)
    return [name, *shorter]


def _marks(scene: Scene, frame: Frame) -> str:
    cells = [" "] * frame.columns
    for order, hertz in sorted(scene.products, key=lambda pair: -pair[0]):
        if order > 3 and frame.per_column > FINE:
            continue
        inside = hertz[(hertz >= frame.window.low) & (hertz <= frame.window.high)]
        columns = np.unique(((inside - frame.window.low) / frame.per_column).astype(np.int64))
        if len(columns) > EVERYWHERE * frame.columns:
            continue
        for column in columns:
            cells[min(int(column), frame.columns - 1)] = PRODUCT if order == 3 else FAINT_PRODUCT
    for band in scene.bands:
        at = frame.column(centre_of(band)) if band.kind in (CARRIER, FOREIGN) else None
        if at is not None:
            cells[at] = OTHERS if band.kind == CARRIER else OTHER_ACT
    ours: dict[int, list[str]] = {}
    for mark in scene.marks:
        at = frame.column(mark.at)
        if at is not None:
            ours.setdefault(at, []).append(mark.sign)
    for at, signs in ours.items():
        cells[at] = signs[0] if len(signs) == 1 else SEVERAL
    return "".join(cells)


def centre_of(band: Band) -> int:
    """Where a carrier stands: its peak when that is known, else the middle of its band."""
    at = getattr(band, "at", None)
    return band.centre if at is None else int(at)


def _axis(frame: Frame) -> str:
    cells = [" "] * frame.columns
    step = _tick_step(frame)
    first = -(-frame.window.low // step) * step
    for at in range(first, frame.window.high + 1, step):
        column = frame.column(at)
        text = f"|{short(at)}"
        if column is not None and column + len(text) <= frame.columns:
            cells[column : column + len(text)] = text
    return "".join(cells)


def _tick_step(frame: Frame) -> int:
    """1, 2 or 5 times a power of ten, in Hz."""
    for power in range(3, 11):
        for times in (1, 2, 5):
            if times * 10**power / frame.per_column >= TICK_ROOM:
                return int(times * 10**power)
    return 10 * HZ_PER_MHZ**2


def short(at: int) -> str:
    """MHz with no more decimals than are needed: `606`, `606.5`."""
    return mhz(at).rstrip("0").rstrip(".")


# -- the window ------------------------------------------------------------------------------------------------------


def zoomed(window: Band, at: int, times: float, limits: Band) -> Band:
    """The window made `times` as wide, with `at` (Hz) at the same place in it, inside of `limits`."""
    width = min(max(round(window.width * times), NARROWEST), limits.width)
    share = (at - window.low) / max(window.width, 1)
    return fitted(Band(round(at - share * width), round(at - share * width) + width), limits)


def fitted(window: Band, limits: Band) -> Band:
    """The window moved, and made narrower where it must be, so that it lies in `limits`."""
    width = min(window.width, limits.width)
    low = min(max(window.low, limits.low), limits.high - width)
    return Band(low, low + width)


def around(things: Iterable[Band], margin: float = 0.05) -> Band | None:
    """The window that holds all of them with a little room at both ends; None for nothing."""
    every = list(things)
    if not every:
        return None
    low, high = min(band.low for band in every), max(band.high for band in every)
    room = max(round((high - low) * margin), (NARROWEST - (high - low)) // 2 + 1, 0)
    return Band(max(low - room, 0), high + room)


def reading(trace: Trace | None, scene: Scene, frame: Frame, cursor: int) -> str:
    """What stands in the cursor's column, in words: `561.667 MHz | -62 dBm at 561.8 | TV 32 | 2 here`."""
    column = frame.column(cursor)
    if column is None:
        return f"{short(cursor)} MHz is outside of the drawing"
    low, high = frame.ends(column)
    parts = [f"{mhz(round(cursor, -3))} MHz"]
    if trace is not None and len(trace.hz):
        found = trace.strongest(low, high)
        parts.append(
            "not measured" if found is None else f"{found[1]:.0f} {trace.unit} at {short(round(found[0], -3))}"
        )
    here = Band(round(low), max(round(high) - 1, round(low)))
    parts += [what_is(band) for band in scene.bands if band.meets(here)][:2]
    ours = [mark for mark in scene.marks if here.holds(mark.at)]
    parts += [f"{mark.sign} {'here' if mark.at == cursor else f'at {mhz(mark.at)}'}" for mark in ours][:2]
    return " | ".join(parts)


def what_is(band: Band) -> str:
    """A band in use, in a few words."""
    if band.kind in (CARRIER, FOREIGN):
        whose = "a carrier of others" if band.kind == CARRIER else "another act"
        return f"{whose} at {short(round(centre_of(band), -3))}"
    return band.name or band.kind or "occupied"
