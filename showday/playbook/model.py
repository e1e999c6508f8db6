"""A playbook as its file says it, before any rig is known."""

from __future__ import annotations

from dataclasses import dataclass

from showday.text.problem import Place

CONDITIONS = (
    "festival",
    "club",
    "theatre",
    "indoors",
    "outdoors",
    "generator",
    "battery",
    "house-rf",
    "europe",
    "uk",
    "us",
    "canada",
    "australia",
    "japan",
    "in-ears",
    "playback",
    "wireless-mics",
    "split",
    "phantom",
)
"""Words that `when` knows."""

RADIO, LISTEN, CLOCK, TO_FIX = "radio", "listen", "clock", "to-fix"
TOOLS = (RADIO, LISTEN, CLOCK, TO_FIX)
RISKS = ("rare", "occasional", "common")
"""How often something is wrong at a step, in the author's words."""
HARMS = ("harmless", "annoying", "bad", "show-stopping")
"""How bad that is when nobody looked."""
SLOT, CHANGEOVER = "slot", "changeover"
DEADLINES = (SLOT, CHANGEOVER)
"""When a playbook must be over: when the set begins; `changeover` counts from its start where the slot is not known."""
MODES = ("read-do", "do-confirm")

MOST_STEPS = 9
"""Items in one section of a check list: 5 to 9, Gawande and Boorman, The Checklist Manifesto (2009)."""
MOST_SECONDS = 90
"""After 60 to 90 s people begin to shortcut a list, Gawande and Boorman (2009)."""
MOST_MUSTS = 3
"""Musts in one section before they stop standing out: a rule of this program, no published source."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A number to note at a step; `wanted` is a range as text and may hold fields of the rig."""

    unit: str
    name: str = ""
    wanted: str = ""
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do and the state wanted afterwards; `takes` in seconds."""

    id: str
    do: str
    until: str = ""
    why: str = ""
    basis: str = ""
    caution: str = ""
    takes: float | None = None
    must: bool = False
    reading: Reading | None = None
    if_wrong: tuple[str, ...] = ()
    for_each: str = ""
    where: tuple[str, ...] = ()
    when: tuple[str, ...] = ()
    opens: str = ""
    irreversible: str = ""
    risk: str = ""
    harm: str = ""
    after: tuple[str, ...] = ()
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Section:
    """Steps that belong together, with an optional pause point behind them."""

    title: str
    steps: tuple[Step, ...]
    mode: str = ""
    pause: str = ""
    work: bool = False
    waits: str = ""
    for_each: str = ""
    where: tuple[str, ...] = ()
    when: tuple[str, ...] = ()
    caution: tuple[str, ...] = ()
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Playbook:
    """A whole playbook."""

    playbook: str
    title: str
    sections: tuple[Section, ...]
    about: str = ""
    phase: str = ""
    order: int = 50
    mode: str = "read-do"
    pause: str = ""
    by: str = ""
    when: tuple[str, ...] = ()
    caution: tuple[str, ...] = ()
    place: Place = Place()
