"""What the act carries. Everything but a name is optional: three lines of rig are enough to run."""

from __future__ import annotations

from dataclasses import dataclass, field

from showday.text.problem import Place

MAINS_TOLERANCE = 0.10
"""IEC 60038: the supply at the terminals stays within ±10 % of the nominal voltage."""


@dataclass(frozen=True, slots=True)
class Mains:
    """The supply the rig is built for."""

    volts: float | None = None
    hertz: float | None = None
    low: float | None = None
    high: float | None = None
    place: Place = Place()

    @property
    def lowest(self) -> float | None:
        """Lowest acceptable voltage: as given, else nominal less the tolerance of IEC 60038."""
        if self.low is not None or self.volts is None:
            return self.low
        return round(self.volts * (1 - MAINS_TOLERANCE), 1)

    @property
    def highest(self) -> float | None:
        """Highest acceptable voltage: as given, else nominal plus the tolerance of IEC 60038."""
        if self.high is not None or self.volts is None:
            return self.high
        return round(self.volts * (1 + MAINS_TOLERANCE), 1)


@dataclass(frozen=True, slots=True)
class Person:
    """A member of the act."""

    name: str
    plays: str = ""
    away: bool = False
    """True when not here tonight: this person's lines become `not here`."""
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Input:
    """One line into the rack mixer."""

    name: str
    number: int | None = None
    """Channel on the mixer and position on the panel; counted from 1 when the file gives none."""
    source: str = ""
    box: str = ""
    """Stage box and socket, DI or drop."""
    person: str = ""
    phantom: bool | None = None
    pad: bool | None = None
    pair: int | None = None
    """Number of the other side of a stereo pair."""
    house: bool | None = None
    """False when it must never reach the house (click)."""
    spare: bool = False
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Mix:
    """One monitor mix."""

    name: str
    output: str = ""
    stereo: bool | None = None
    transmitter: str = ""
    people: tuple[str, ...] = ()
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Transmitter:
    """One in-ear transmitter; frequencies in MHz, step and width in kHz."""

    name: str
    low: float | None = None
    high: float | None = None
    step: float | None = None
    width: float | None = None
    mix: str = ""
    frequency: float | None = None
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Pack:
    """One in-ear body pack."""

    name: str
    transmitter: str = ""
    person: str = ""
    cells: str = ""
    hours: float | None = None
    stereo: bool | None = None
    spare: bool = False
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Load:
    """Something plugged into the mains."""

    name: str
    watts: float | None = None
    low: float | None = None
    high: float | None = None
    supply: str = ""
    circuit: str = ""
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Spare:
    """A thing carried so that its like may fail."""

    name: str
    have: int | None = None
    need: int | None = None
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Item:
    """Something on the to-fix list that the rig carries along; filled in by the program, not by the rig file."""

    name: str
    about: str = ""
    """What it concerns."""
    opened: str = ""
    """The day it was opened."""
    uses: str = ""
    """The spare that it has used up."""
    owner: str = ""
    """Who sees to it."""
    due: str = ""
    """The day it is due."""
    place: Place = Place()


Thing = Input | Mix | Transmitter | Pack | Load | Spare | Person | Item


@dataclass(frozen=True, slots=True)
class Rig:
    """The whole rig as its file describes it."""

    rig: str
    act: str = ""
    region: str = ""
    full_scale: float | None = None
    """dBu at which the mixer's inputs are at digital full scale; None when nobody said."""
    mains: Mains = field(default_factory=Mains)
    people: tuple[Person, ...] = ()
    inputs: tuple[Input, ...] = ()
    mixes: tuple[Mix, ...] = ()
    transmitters: tuple[Transmitter, ...] = ()
    packs: tuple[Pack, ...] = ()
    loads: tuple[Load, ...] = ()
    spares: tuple[Spare, ...] = ()
    items: tuple[Item, ...] = ()
    """What is open on the to-fix list tonight."""
    place: Place = Place()

    def things(self, kind: str) -> tuple[Thing, ...]:
        """All of one kind (`input`, `mix`, … `person`), in the file's order; empty for an unknown kind."""
        lists: dict[str, tuple[Thing, ...]] = {
            "input": self.inputs,
            "mix": self.mixes,
            "transmitter": self.transmitters,
            "pack": self.packs,
            "load": self.loads,
            "spare": self.spares,
            "person": self.people,
            "item": self.items,
        }
        return lists.get(kind, ())


KINDS = ("input", "mix", "transmitter", "pack", "load", "spare", "person")
"""The lists of a rig file."""

REPEATS = (*KINDS, "item")
"""What steps can repeat for: those lists, and what is open on the to-fix list."""

EMPTY = Rig(rig="no-rig")
"""The rig of someone who has not written one yet."""
