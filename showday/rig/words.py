"""What sentences and conditions may ask of a rig: known fields, plain words for unknown ones, facts."""

from __future__ import annotations

from dataclasses import fields as dataclass_fields

from showday.rig.model import KINDS, Input, Item, Rig, Thing
from showday.text.fields import slug

UNKNOWN = {
    "input.name": "the input",
    "input.number": "its channel",
    "input.source": "its source",
    "input.box": "its box",
    "input.person": "its player",
    "input.pair": "its other side",
    "mix.name": "the mix",
    "mix.output": "its output",
    "mix.transmitter": "its transmitter",
    "mix.people": "its listeners",
    "transmitter.name": "the transmitter",
    "transmitter.mix": "its mix",
    "transmitter.frequency": "its planned frequency",
    "transmitter.planned": "its planned frequency",
    "transmitter.low": "the lower end of its range",
    "transmitter.high": "the upper end of its range",
    "transmitter.step": "its step",
    "transmitter.width": "its width",
    "pack.name": "the pack",
    "pack.transmitter": "its transmitter",
    "pack.person": "its wearer",
    "pack.cells": "fresh cells",
    "pack.hours": "its run time",
    "pack.planned": "its transmitter's frequency",
    "load.name": "the load",
    "load.watts": "its watts",
    "load.supply": "its supply",
    "load.circuit": "its circuit",
    "load.low": "its lowest voltage",
    "load.high": "its highest voltage",
    "spare.name": "the spare",
    "spare.have": "what is carried",
    "spare.need": "what is needed",
    "spare.frequency": "its planned spare",
    "spare.missing": "",
    "item.name": "the thing to fix",
    "item.about": "the line it is on",
    "item.opened": "an earlier show",
    "item.uses": "its spare",
    "item.owner": "whoever is free",
    "item.due": "the next show",
    "person.name": "the player",
    "person.plays": "their instrument",
    "rig.act": "the act",
    "rig.region": "the region",
    "mains.volts": "the nominal voltage",
    "mains.hertz": "the nominal frequency",
    "mains.low": "the lowest allowed voltage",
    "mains.high": "the highest allowed voltage",
    "band.low": "the low end of your band",
    "band.high": "the high end of your band",
    "band.halfwave": "half a wave",
    "band.distance": "the distance to the farthest player",
    "band.fresnel": "the radius of the first Fresnel zone",
    "band.clear": "60 % of the first Fresnel zone",
    "band.one_metre": "what arrives 1 m away",
    "band.three_metres": "what arrives 3 m away",
    "band.thin": "the loss of thin cable",
    "band.thick": "the loss of thick cable",
    "venue.name": "the venue",
    "venue.town": "the town",
    "show.slot": "stage time",
    "show.changeover": "the changeover",
}
"""Plain words for a field the rig does not give; its keys are all the fields there are."""

OF_THE_PLAN = frozenset({"transmitter.planned", "pack.planned", "spare.frequency", "spare.missing"})
"""Fields that the kept frequency plan gives. It may change during a run, so they are filled in when a sentence is shown."""
EVERYWHERE = frozenset({"spare.frequency", "spare.missing"})
"""Fields of the plan that need no thing to repeat for."""


def show(value: object) -> str:
    """A field's value as text; empty when unknown."""
    if value is None or value == () or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.4f}".rstrip("0").rstrip(".")
    if isinstance(value, tuple):
        return ", ".join(str(part) for part in value)
    return str(value)


def rig_fields(rig: Rig) -> dict[str, str]:
    """Fields of the rig as a whole: `{rig.…}` and `{mains.…}`."""
    mains = rig.mains
    known = {
        "rig.act": rig.act,
        "rig.region": rig.region,
        "mains.volts": show(mains.volts),
        "mains.hertz": show(mains.hertz),
        "mains.low": show(mains.lowest),
        "mains.high": show(mains.highest),
    }
    return {name: str(text) for name, text in known.items() if text}


def thing_fields(kind: str, thing: Thing) -> dict[str, str]:
    """Fields of one thing, as `kind.field`."""
    made = {}
    for f in dataclass_fields(thing):
        text = show(getattr(thing, f.name))
        if f.name != "place" and text:
            made[f"{kind}.{f.name}"] = text
    return made


def thing_id(kind: str, thing: Thing) -> str:
    """What names the thing in a step's key: an input's number, else its name as an id."""
    if isinstance(thing, Input) and thing.number is not None:
        return str(thing.number)
    if isinstance(thing, Item):
        return slug(thing.name)[:24].strip("-") or kind
    return slug(thing.name) or kind


def named_things(kind: str, rig: Rig) -> list[tuple[str, Thing]]:
    """Every thing of a kind with an id of its own, in the file's order.

    Names that give the same id (`Pack A` and `pack a`, or names in a script without Latin letters) are numbered.
    """
    taken: set[str] = set()
    made = []
    for thing in rig.things(kind):
        id = base = thing_id(kind, thing)
        again = 1
        while id in taken:
            again += 1
            id = f"{base}-{again}"
        taken.add(id)
        made.append((id, thing))
    return made


def people_of(kind: str, thing: Thing, rig: Rig) -> frozenset[str]:
    """Whose thing it is; empty when nobody's. A mix is its listeners', a transmitter its mix's."""
    if kind == "person":
        return frozenset({str(thing.name)})
    if kind == "mix":
        named = tuple(getattr(thing, "people", ()))
        unit = getattr(thing, "transmitter", "")
        wearers = tuple(p.person for p in rig.packs if unit and p.transmitter == unit and p.person and not p.spare)
        return frozenset(str(n) for n in (named or wearers))
    if kind == "transmitter":
        mixes = [m for m in rig.mixes if m.transmitter == thing.name or m.name == getattr(thing, "mix", "")]
        worn = {p.person for p in rig.packs if p.transmitter == thing.name and p.person}
        return frozenset(str(n) for m in mixes for n in people_of("mix", m, rig)) | frozenset(map(str, worn))
    person = getattr(thing, "person", "")
    return frozenset({str(person)}) if person else frozenset()


def facts(rig: Rig) -> dict[str, bool]:
    """Conditions that follow from the rig, for `when`. A list that is not given leaves its condition unknown."""
    made: dict[str, bool] = {}
    if rig.region:
        made |= {name: name == rig.region for name in ("europe", "uk", "us", "canada", "australia", "japan")}
    if rig.packs or rig.transmitters:
        made["in-ears"] = True
    if rig.inputs:
        made["playback"] = any(line.source == "playback" for line in rig.inputs)
        made["wireless-mics"] = any(line.source == "wireless" for line in rig.inputs)
        if any(line.phantom is not None for line in rig.inputs):
            made["phantom"] = any(line.phantom for line in rig.inputs)
    if not any(line.source for line in rig.inputs):
        made.pop("playback", None)
        made.pop("wireless-mics", None)
    return made


__all__ = [
    "EVERYWHERE",
    "KINDS",
    "OF_THE_PLAN",
    "UNKNOWN",
    "facts",
    "named_things",
    "people_of",
    "rig_fields",
    "show",
    "thing_fields",
    "thing_id",
]
