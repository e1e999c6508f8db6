"""What a sweep shows, in lines of at most 60 columns, without colour, and the same as plain data."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from showday.radio.drawing import Frame, Mark, Scene, Trace, draw
from showday.radio.model import Band
from showday.radio.occupancy import NEAR, Occupancy, Own, decibels
from showday.radio.occupancy_carriers import MOST, Carrier
from showday.radio.occupancy_tv import Television, Wide
from showday.radio.regions import channels, prompt_lines, region_of
from showday.radio.sweep import UNCALIBRATED, UNKNOWN, Sweep
from showday.radio.units import khz, khz_number, mhz, mhz_number
from showday.text.cautions import RADIO_LAW
from showday.text.problem import Problem
from showday.text.safe import one_line

WIDTH = 60
"""Columns of the text, a choice of this program."""
_HEIGHT = 6
_GUTTER = 5
FREE_TOLD = 8
"""So many free stretches are told, the widest; a choice of this program."""
GAPS_TOLD = 5
TOWN = 0.7
"""Share of TV channels on the air from which on a weak one may be missed: then little of the noise can be seen."""
_UNITS = {UNCALIBRATED: "dB over what nobody measured", UNKNOWN: "a unit that is not known yet"}


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """Everything that is told of a sweep."""

    found: Occupancy
    region: str = ""
    problems: tuple[Problem, ...] = ()
    maybe_own: tuple[tuple[str, int], ...] = ()
    """Names and frequencies (Hz) of the act's transmitters when nobody said whether they were on."""
    by_mean: bool = False
    ascii: bool = False
    """Whether the drawing makes do with the letters of an old terminal."""


def as_lines(told: Told) -> list[str]:
    """The whole text; the sentence that stands under everything is the last line."""
    parts = (_head(told), _drawn(told), _television(told), _carriers(told), _own(told), _wide(told), _free(told))
    made: list[str] = []
    for part in (*parts, _questions(told), _lines_not_used(told)):
        lines = list(part)
        made += [*lines, ""] if lines else []
    return [*made, RADIO_LAW]


def _wrapped(text: str, first: str = "", then: str | None = None) -> list[str]:
    """One text in lines of WIDTH."""
    return textwrap.wrap(
        one_line(text, 2_000),
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first) if then is None else then,
        break_on_hyphens=False,
    )


def _list(title: str, texts: Iterable[str]) -> Iterator[str]:
    """A title with a text a line; nothing when there is none."""
    lines = [line for text in texts for line in _wrapped(text, "- ")]
    if lines:
        yield title
        yield from lines


def _head(told: Told) -> Iterator[str]:
    sweep, floor = told.found.sweep, told.found.floor_level
    names = ", ".join(one_line(file, 200) for file in sweep.files)
    yield from _wrapped(f"Sweep of {names}", then="  ")
    passes = "1 pass" if sweep.passes == 1 else f"{sweep.passes} passes"
    if sweep.begun:
        passes += f", {sweep.begun[:19]} to {sweep.ended[:19]}"
    span = f"{_about(sweep.low)}-{_about(sweep.high)} MHz"
    yield from _wrapped(f"{span}, {len(sweep.hz):,} bins {_step(sweep.step)} apart; {passes}")
    unit = _UNITS.get(sweep.unit, sweep.unit)
    which = "mean" if told.by_mean else "strongest"
    yield from _wrapped(f"Noise floor {floor:.0f} {_unit(sweep)} a bin. Searched: the {which} level of each bin.")
    holes = sweep.gaps()
    gaps = [f"Nothing was measured from {_about(low)} to {_about(high)} MHz." for low, high in holes[:GAPS_TOLD]]
    gaps += [f"{len(holes) - GAPS_TOLD} more stretches were not measured."] if len(holes) > GAPS_TOLD else []
    yield from _list("Taken for granted:", [*sweep.said, f"Levels are in {unit}.", *gaps])
    yield from _list("To be asked:", _asked(told))


def _asked(told: Told) -> list[str]:
    made = list(told.found.sweep.asked)
    if not told.region:
        made.append("Which region is this? TV channels are named with --region, or a region in the rig file.")
    elif _town(told):
        made.append("Nearly every TV channel is in use: does a weak station hide in what looks free?")
    if told.found.crowded:
        made.append(f"The search stopped at {MOST} carriers: is this file a sweep at all?")
    return made


def _town(told: Told) -> bool:
    span = Band(told.found.sweep.low, told.found.sweep.high)
    inside = [each for each in channels(told.region) if span.holds(each.middle)]
    return len(told.found.television) > TOWN * len(inside) >= 3


def _drawn(told: Told) -> Iterator[str]:
    """The level over frequency, with TV channels, carriers of others and our own beneath."""
    found = told.found
    sweep = found.sweep
    trace = Trace(sweep.hz, sweep.mean if told.by_mean else sweep.peak, found.floor_level, sweep.unit)
    marks = tuple(Mark(each.at, "o") for each in found.own if each.seen)
    scene = Scene(found.bands(), marks)
    frame = Frame(Band(sweep.low, sweep.high), WIDTH - _GUTTER)
    yield f"Level in {_unit(sweep)}; x a carrier, o our own:"
    yield from (line.rstrip() for line in draw(trace, scene, frame, _HEIGHT, ascii=told.ascii).lines)


def _television(told: Told) -> Iterator[str]:
    if not told.region:
        return
    seen = told.found.television
    if not seen:
        yield f"Television ({told.region}): no channel is on the air here."
        return
    yield f"Television ({told.region}), level over the floor and in all:"
    for each in seen:
        band = f"{_about(each.channel.low)}-{_about(each.channel.high)}"
        more = "" if each.pilot is None else f", pilot {mhz(round(each.pilot, -3))}"
        power = f"{decibels(each.power):.0f} {_unit(told.found.sweep)}"
        yield f"  {each.channel.name:<6} {band:>15} {each.rise:4.0f} dB {power:>8}{more}"


def _carriers(told: Told) -> Iterator[str]:
    if not told.found.carriers:
        yield "Carriers: none of others."
        return
    yield "Carriers (MHz, width, level over what is around):"
    for each in told.found.carriers:
        yield f"  {_about(each.at):>9} {_width(each)} {each.height:4.0f} dB{_whose(told, each)}"


def _whose(told: Told, carrier: Carrier) -> str:
    near = min(told.maybe_own, key=lambda pair: abs(pair[1] - carrier.at), default=None)
    if near is None or abs(near[1] - carrier.at) > max(NEAR, 1.5 * told.found.sweep.step):
        return ""
    return f"  {one_line(near[0], 14)}? If so: --own"


def _own(told: Told) -> Iterator[str]:
    if told.found.own:
        yield "Our own, said to be on:"
    for each in told.found.own:
        name = f"{one_line(each.name, 20):<20}"
        if each.seen is None:
            yield f"  {name} {mhz(each.at):>9}  not seen"
        else:
            off = each.seen.at - each.at
            yield f"  {name} {mhz(each.at):>9} {each.seen.height:4.0f} dB, off by {round(off / 1000):+d} kHz"


def _wide(told: Told) -> Iterator[str]:
    if told.found.wide:
        yield "Other wide signals (MHz, level over the floor):"
    for each in told.found.wide:
        yield f"  {_about(each.low)}-{_about(each.high)} {each.rise:4.0f} dB"


def _free(told: Told) -> Iterator[str]:
    free = told.found.free
    if not free:
        yield "Free stretches: none as wide as a carrier."
        return
    yield "Widest stretches where nothing was seen (MHz):"
    for each in free[:FREE_TOLD]:
        yield f"  {_about(each.low)}-{_about(each.high)}  {each.width / 1e6:.2f} wide"
    if len(free) > FREE_TOLD:
        yield f"  and {len(free) - FREE_TOLD} narrower"


def _questions(told: Told) -> Iterator[str]:
    if told.region:
        sweep = told.found.sweep
        lines = prompt_lines(told.region, sweep.low, sweep.high)[:-1]
        yield from _list(f"Questions in {region_of(told.region).title}:", lines)


def _lines_not_used(told: Told) -> Iterator[str]:
    yield from _list("Lines that could not be used:", map(str, told.problems))


def _unit(sweep: Sweep) -> str:
    return "dB" if sweep.unit == UNKNOWN else sweep.unit


def _about(hertz: int) -> str:
    """MHz to the kHz."""
    return mhz(round(hertz, -3))


def _step(hertz: float) -> str:
    return f"{hertz / 1000:.6g} kHz"


def _width(carrier: Carrier) -> str:
    return f"{khz(round(carrier.width, -3)):>4} kHz"


# -- the same as data ------------------------------------------------------------------------------------------------


def as_data(told: Told) -> dict[str, Any]:
    """The facts for JSON: MHz, kHz and dB; null for what was not measured."""
    found = told.found
    sweep = found.sweep
    return {
        "files": list(sweep.files),
        "region": told.region,
        "from_mhz": mhz_number(sweep.low),
        "to_mhz": mhz_number(sweep.high),
        "bins": len(sweep.hz),
        "passes": sweep.passes,
        "unit": sweep.unit,
        "floor": _level(found.floor_level),
        "searched": "mean" if told.by_mean else "strongest",
        "said": list(sweep.said),
        "asked": _asked(told),
        "television": [_tv_data(each) for each in found.television],
        "carriers": [_carrier_data(each) for each in found.carriers],
        "own": [_own_data(each) for each in found.own],
        "wide": [_wide_data(each) for each in found.wide],
        "free": [_band_data(each) for each in found.free],
        "gaps": [_band_data(Band(low, high)) for low, high in sweep.gaps()],
        "questions": prompt_lines(told.region, sweep.low, sweep.high)[:-1] if told.region else [],
        "problems": [_problem_data(each) for each in told.problems],
        "advice": RADIO_LAW,
    }


def _level(level: float) -> float | None:
    return round(level, 2) if math.isfinite(level) else None


def _band_data(band: Band | Wide) -> dict[str, Any]:
    return {"from_mhz": mhz_number(band.low), "to_mhz": mhz_number(band.high)}


def _tv_data(each: Television) -> dict[str, Any]:
    return {
        "name": each.channel.name,
        **_band_data(each.channel),
        "over_floor_db": _level(each.rise),
        "channel_power": _level(decibels(each.power)),
        "offset_khz": None if each.offset is None else khz_number(each.offset),
        "pilot_mhz": None if each.pilot is None else mhz_number(each.pilot),
    }


def _carrier_data(each: Carrier) -> dict[str, Any]:
    return {
        "mhz": mhz_number(each.at),
        "width_khz": khz_number(each.width),
        "over_floor_db": _level(each.height),
        "level": _level(decibels(each.level)),
    }


def _own_data(each: Own) -> dict[str, Any]:
    seen = None if each.seen is None else _carrier_data(each.seen)
    return {"name": each.name, "mhz": mhz_number(each.at), "seen": seen}


def _wide_data(each: Wide) -> dict[str, Any]:
    return {**_band_data(each), "over_floor_db": _level(each.rise)}


def _problem_data(each: Problem) -> dict[str, Any]:
    return {"file": each.file, "line": each.place.line, "column": each.place.column, "text": each.text}
