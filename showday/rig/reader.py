"""Reading a rig file: its field tables, and the checks that need the whole file."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from showday.rig import model
from showday.text import fields
from showday.text.fields import Choice, Field, ListOf, Table, Text
from showday.text.problem import Problems, nearest
from showday.text.reader import Word, read_yaml

REGIONS = ("europe", "uk", "us", "canada", "australia", "japan")
SOURCES = ("mic", "di", "line", "wireless", "playback")

_NAME = Field("name", Text("a name"), "what the band calls it", needed=True)
_VOLTS = fields.number(1, 1000)
_COUNT = fields.whole(0, 9999)

MAINS = Table(
    "mains",
    (
        Field("volts", _VOLTS, "nominal voltage the rig is built for"),
        Field("hertz", fields.number(1, 500), "nominal frequency"),
        Field("low", _VOLTS, "lowest acceptable voltage; volts less 10 % when not given"),
        Field("high", _VOLTS, "highest acceptable voltage; volts plus 10 % when not given"),
    ),
    model.Mains,
    bare="volts",
    what="the mains",
)
PERSON = Table(
    "person",
    (
        _NAME,
        Field("plays", Text(), "instruments"),
        Field("away", fields.yes_no(), "yes: not here tonight; the lines become `not here`"),
    ),
    model.Person,
    bare="name",
    what="a person",
)
INPUT = Table(
    "input",
    (
        _NAME,
        Field("number", fields.whole(1, 999), "channel on the mixer; counted from 1 when not given"),
        Field("source", Choice(SOURCES), "what makes the sound"),
        Field("box", Text(), "stage box and socket, DI or drop"),
        Field("person", Text(), "who plays it"),
        Field("phantom", fields.yes_no(), "yes: needs 48 V"),
        Field("pad", fields.yes_no(), "yes: the pad is in"),
        Field("pair", fields.whole(1, 999), "number of the other side of a stereo pair"),
        Field("house", fields.yes_no(), "no: never sent to the house (click)"),
        Field("spare", fields.yes_no(), "yes: a line kept free"),
    ),
    model.Input,
    bare="name",
    what="an input",
)
MIX = Table(
    "mix",
    (
        _NAME,
        Field("output", Text(), "mixer outputs that feed it"),
        Field("stereo", fields.yes_no(), "yes: two channels"),
        Field("transmitter", Text(), "the transmitter that carries it"),
        Field("people", ListOf(Text(), single=True), "who listens to it"),
    ),
    model.Mix,
    bare="name",
    what="a mix",
)
_MHZ = fields.number(1, 10_000)
TRANSMITTER = Table(
    "transmitter",
    (
        _NAME,
        Field("low", _MHZ, "lower end of the tuning range, MHz"),
        Field("high", _MHZ, "upper end of the tuning range, MHz"),
        Field("step", fields.number(0.1, 10_000), "tuning step, kHz"),
        Field("width", fields.number(1, 10_000), "occupied width, kHz"),
        Field("mix", Text(), "the mix it carries"),
        Field("frequency", _MHZ, "carrier in use, MHz"),
    ),
    model.Transmitter,
    bare="name",
    what="a transmitter",
)
PACK = Table(
    "pack",
    (
        _NAME,
        Field("transmitter", Text(), "the transmitter it listens to"),
        Field("person", Text(), "who wears it"),
        Field("cells", Text(), "cells it takes"),
        Field("hours", fields.number(0.1, 100), "run time on fresh cells, hours"),
        Field("stereo", fields.yes_no(), "yes: set to stereo"),
        Field("spare", fields.yes_no(), "yes: nobody wears it"),
    ),
    model.Pack,
    bare="name",
    what="a pack",
)
LOAD = Table(
    "load",
    (
        _NAME,
        Field("watts", fields.number(0, 100_000), "power drawn, watts"),
        Field("low", _VOLTS, "lowest supply voltage it takes"),
        Field("high", _VOLTS, "highest supply voltage it takes"),
        Field("supply", Text(), "its supply: inlet, brick, adapter"),
        Field("circuit", Text(), "the circuit it hangs on"),
    ),
    model.Load,
    bare="name",
    what="a load",
)
SPARE = Table(
    "spare",
    (
        _NAME,
        Field("have", _COUNT, "how many are carried"),
        Field("need", _COUNT, "how many there should be"),
    ),
    model.Spare,
    bare="name",
    what="a spare",
)
ITEM = Table(
    "item",
    (
        Field("name", Text(), "what is to be fixed", needed=True),
        Field("about", Text(), "what it concerns"),
        Field("opened", Text(), "the day it was opened"),
        Field("uses", Text(), "the spare that it has used up"),
        Field("owner", Text(), "who sees to it"),
        Field("due", Text(), "the day it is due"),
    ),
    model.Item,
    what="an item of the to-fix list",
)
RIG = Table(
    "rig",
    (
        Field("rig", fields.Id(), "id, the same as the file name", needed=True),
        Field("act", Text(), "the act's name"),
        Field("region", Choice(REGIONS), "whose rules and TV raster apply"),
        Field("full_scale", fields.number(0, 40), "dBu at which the mixer is at digital full scale: 18, 22, 24"),
        Field("mains", MAINS, "the supply the rig is built for"),
        Field("people", ListOf(PERSON), "who is in the act"),
        Field("inputs", ListOf(INPUT), "lines into the rack mixer"),
        Field("mixes", ListOf(MIX), "monitor mixes"),
        Field("transmitters", ListOf(TRANSMITTER), "in-ear transmitters"),
        Field("packs", ListOf(PACK), "in-ear body packs"),
        Field("loads", ListOf(LOAD), "what is plugged into the mains"),
        Field("spares", ListOf(SPARE), "what is carried to replace a failure"),
    ),
    model.Rig,
    what="a rig",
)
LISTS = {
    "input": INPUT,
    "mix": MIX,
    "transmitter": TRANSMITTER,
    "pack": PACK,
    "load": LOAD,
    "spare": SPARE,
    "person": PERSON,
    "item": ITEM,
}
"""The table of each kind of thing; sentence fields are `kind.field`."""


def read_rig(source: bytes | str, file: str) -> tuple[model.Rig | None, Problems]:
    """The rig and every problem of its file; None when it cannot be used."""
    node, problems = read_yaml(source, file)
    rig = fields.read_file(RIG, node, problems)
    if rig is None:
        return None, problems
    rig = replace(rig, inputs=_numbered(rig.inputs))
    _check(rig, problems)
    return rig, problems


def _numbered(inputs: tuple[model.Input, ...]) -> tuple[model.Input, ...]:
    """Inputs without a number take the next one after the line before."""
    out: list[model.Input] = []
    last = 0
    for line in inputs:
        last = line.number if line.number is not None else last + 1
        out.append(replace(line, number=last))
    return tuple(out)


def _check(rig: model.Rig, problems: Problems) -> None:
    _check_unique(rig, problems)
    _check_names(rig, problems)
    numbers = {line.number for line in rig.inputs}
    for line in rig.inputs:
        if line.pair is not None and (line.pair not in numbers or line.pair == line.number):
            problems.add(line.place, f"input {line.name}: its pair {line.pair} is not another input")
    for unit in rig.transmitters:
        if unit.low is not None and unit.high is not None and unit.low > unit.high:
            problems.add(unit.place, f"transmitter {unit.name}: low is above high; swap them")
        elif unit.frequency is not None and not (unit.low or 0) <= unit.frequency <= (unit.high or 1e9):
            problems.add(
                unit.place, f"transmitter {unit.name}: {unit.frequency:g} MHz is outside of its tuning range"
            )
    for load in rig.loads:
        if load.low is not None and load.high is not None and load.low > load.high:
            problems.add(load.place, f"load {load.name}: low is above high; swap them")
    low, high = rig.mains.lowest, rig.mains.highest
    if low is not None and high is not None and low > high:
        problems.add(rig.mains.place, "mains: low is above high; swap them")


def _check_unique(rig: model.Rig, problems: Problems) -> None:
    for kind in model.KINDS:
        seen: set[object] = set()
        for thing in rig.things(kind):
            key: object = thing.number if isinstance(thing, model.Input) else str(thing.name)
            if key in seen:
                what = f"number {key}" if kind == "input" else f"name '{key}'"
                problems.add(thing.place, f"two of the {kind} list have the {what}; give each its own")
            seen.add(key)


def _check_names(rig: model.Rig, problems: Problems) -> None:
    """Names that point at another list must stand in it, once that list says anything."""
    people = [p.name for p in rig.people]
    units = [t.name for t in rig.transmitters]
    mixes = [m.name for m in rig.mixes]
    wanted: list[tuple[Any, list[str], str]] = []
    wanted += [(line.person, people, "people") for line in rig.inputs]
    wanted += [(pack.person, people, "people") for pack in rig.packs]
    wanted += [(pack.transmitter, units, "transmitters") for pack in rig.packs]
    wanted += [(mix.transmitter, units, "transmitters") for mix in rig.mixes]
    wanted += [(name, people, "people") for mix in rig.mixes for name in mix.people]
    wanted += [(unit.mix, mixes, "mixes") for unit in rig.transmitters]
    for name, known, where in wanted:
        if isinstance(name, Word) and known and name not in known:
            meant = nearest(name, {k.lower(): k for k in known})
            problems.add(
                name.place, f"'{name}' is not in {where}", next((k for k in known if k.lower() == meant), "")
            )
