"""Regions: TV rasters, and what to ask before switching on. It asks and warns; it never says that one may.

The rows are data in `regions.yaml`, each with its date and with how it is known.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

from showday.errors import RadioTrouble
from showday.radio.rasters import OFDM, VSB, Channel, Raster, channel_holding
from showday.radio.units import HZ_PER_KHZ, HZ_PER_MHZ, mhz
from showday.text import fields
from showday.text.cautions import RADIO_LAW
from showday.text.fields import Choice, Field, Id, ListOf, Table, Text
from showday.text.problem import Place, Problems, nearest
from showday.text.reader import read_yaml
from showday.text.safe import one_line

MARKS = {
    "official": "from the official text",
    "derived": "calculated",
    "secondary": "from a secondary source",
    "memory": "from memory",
}
"""How a row is known, and how that is said."""

_SINCE = re.compile(r"unknown|\d{4}(-\d\d-\d\d)?")


@dataclass(frozen=True, slots=True)
class Prompt:
    """A question or a warning for a range of frequencies (Hz); one of `ask` and `warn` is given."""

    low: int
    high: int
    mark: str
    as_of: str
    source: str
    ask: str = ""
    warn: str = ""
    place: Place = Place()

    @property
    def text(self) -> str:
        """The question or the warning."""
        return self.ask or self.warn

    @property
    def basis(self) -> str:
        """How it is known, since when, and from where."""
        since = "date not known" if self.as_of == "unknown" else f"as of {self.as_of}"
        return f"{MARKS[self.mark]}, {since}: {self.source}"


@dataclass(frozen=True, slots=True)
class Region:
    """One region's rows, in the file's order."""

    region: str
    title: str
    tv: tuple[Raster, ...] = ()
    rows: tuple[Prompt, ...] = ()
    place: Place = Place()

    def channels(self) -> tuple[Channel, ...]:
        """Every TV channel, rising in frequency."""
        return tuple(sorted((c for raster in self.tv for c in raster.channels()), key=lambda c: c.low))


@dataclass(frozen=True, slots=True)
class _File:
    regions: tuple[Region, ...]
    place: Place = Place()


def _hz(value: float) -> int:
    return round(value * HZ_PER_MHZ)


def _raster(low: float, width: float, occupied: float, shift: float = 0.0, **given: Any) -> Raster:
    return Raster(low=_hz(low), width=_hz(width), occupied=_hz(occupied), shift=round(shift * HZ_PER_KHZ), **given)


def _prompt(low: float, high: float, **given: Any) -> Prompt:
    return Prompt(_hz(low), _hz(high), **given)


_MHZ = fields.number(1, 10_000)
_KNOWN = (
    Field("mark", Choice(tuple(MARKS)), "how it is known", needed=True),
    Field("as_of", Text(), "the date it was true, or `unknown`", needed=True),
    Field("source", Text(), "the text it comes from", needed=True),
)
RASTER = Table(
    "raster",
    (
        Field("first", fields.whole(1, 99), "number of the lowest channel", needed=True),
        Field("last", fields.whole(1, 99), "number of the highest channel", needed=True),
        Field("low", _MHZ, "lower edge of the lowest channel, MHz", needed=True),
        Field("width", fields.number(1, 20), "width of a channel, MHz", needed=True),
        Field("occupied", fields.number(1, 20), "width of the signal in it, MHz", needed=True),
        Field("shift", fields.number(-1000, 1000), "kHz from the middle of the channel up to that of its signal"),
        Field("signal", Choice((OFDM, VSB)), "what kind of signal", needed=True),
        *_KNOWN,
    ),
    _raster,
    what="a TV raster",
)
PROMPT = Table(
    "prompt",
    (
        Field("low", _MHZ, "lower end of the range, MHz", needed=True),
        Field("high", _MHZ, "upper end of the range, MHz", needed=True),
        Field("ask", Text(), "a question to ask"),
        Field("warn", Text(), "a warning"),
        *_KNOWN,
    ),
    _prompt,
    what="a row",
)
REGION = Table(
    "region",
    (
        Field("region", Id(), "its id, as a rig file has it", needed=True),
        Field("title", Text(), "its name", needed=True),
        Field("tv", ListOf(RASTER), "its TV rasters"),
        Field("rows", ListOf(PROMPT), "questions and warnings"),
    ),
    Region,
    what="a region",
)
FILE = Table(
    "regions", (Field("regions", ListOf(REGION, least=1), "all regions", needed=True),), _File, what="the file"
)


def read_regions(source: bytes | str, file: str) -> tuple[tuple[Region, ...], Problems]:
    """Every region of such a file and the file's problems."""
    node, problems = read_yaml(source, file)
    found = fields.read_file(FILE, node, problems)
    regions: tuple[Region, ...] = () if found is None else found.regions
    for region in regions:
        _check(region, problems)
    return regions, problems


def _check(region: Region, problems: Problems) -> None:
    every: tuple[Raster | Prompt, ...] = (*region.tv, *region.rows)
    for known in every:
        if not _SINCE.fullmatch(known.as_of):
            problems.add(known.place, f"{region.region}: as_of is a year, a day (2025-10-01) or `unknown`")
    for raster in region.tv:
        if raster.first > raster.last:
            problems.add(raster.place, f"{region.region}: the last channel is below the first")
        if raster.occupied > raster.width:
            problems.add(raster.place, f"{region.region}: the signal is wider than its channel")
    for row in region.rows:
        if row.low > row.high:
            problems.add(row.place, f"{region.region}: the range ends below its start")
        if bool(row.ask) == bool(row.warn):
            problems.add(row.place, f"{region.region}: a row has either a question (ask) or a warning (warn)")


@lru_cache(maxsize=1)
def regions() -> tuple[Region, ...]:
    """The regions that ship with the program; RadioTrouble when their file is damaged."""
    raw = resources.files("showday.radio").joinpath("regions.yaml").read_bytes()
    found, problems = read_regions(raw, "regions.yaml")
    if problems.errors:
        raise RadioTrouble(f"The file of regions is damaged: {problems.errors[0]}.", "Install the program again.")
    return found


def region_of(name: str) -> Region:
    """The region of this id; RadioTrouble with the nearest name when there is none."""
    known = {region.region: region for region in regions()}
    if name in known:
        return known[name]
    meant = nearest(name, known)
    hint = f"Did you mean {meant}?" if meant else f"Known are {', '.join(known)}."
    raise RadioTrouble(f"'{one_line(name, 40)}' is not a region.", hint)


def channels(region: str) -> tuple[Channel, ...]:
    """Every TV channel of a region, rising in frequency."""
    return region_of(region).channels()


def channel_at(at: int, region: str) -> Channel | None:
    """The TV channel that a frequency (Hz) lies in; on an edge that two share, the upper one."""
    return channel_holding(channels(region), at)


def prompts(region: str, low: int, high: int) -> tuple[Prompt, ...]:
    """What to ask and what to heed between two frequencies (Hz), in the file's order.

    Whatever part of it no row touches gets a question too: silence must not look like a clear way.
    """
    found = tuple(row for row in region_of(region).rows if _touches(row, low, high))
    return (*found, *(_unnoted(*gap) for gap in _gaps(found, low, high)))


def _touches(row: Prompt, low: int, high: int) -> bool:
    """Whether a row and a range share more than an edge; a range of no width need only lie in the row."""
    return row.low < high and low < row.high if low < high else row.low <= low <= row.high


def _gaps(rows: tuple[Prompt, ...], low: int, high: int) -> list[tuple[int, int]]:
    """The parts of a range that no row covers, rising."""
    if low == high:
        return [] if rows else [(low, high)]
    gaps, reached = [], low
    for row in sorted(rows, key=lambda row: row.low):
        if row.low > reached:
            gaps.append((reached, row.low))
        reached = max(reached, row.high)
    return [*gaps, (reached, high)] if reached < high else gaps


def _unnoted(low: int, high: int) -> Prompt:
    ask = "Nothing is noted here for this range. Who uses it, and who has a say? Ask before you switch on."
    return Prompt(low, high, "derived", "unknown", "no row of the list of regions touches it", ask=ask)


def prompt_lines(region: str, low: int, high: int) -> list[str]:
    """The same as plain lines, with the sentence that stands under everything last."""
    lines = [f"{mhz(row.low)}-{mhz(row.high)} MHz: {row.text} ({row.basis})" for row in prompts(region, low, high)]
    return [*lines, RADIO_LAW]
