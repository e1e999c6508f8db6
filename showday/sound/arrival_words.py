"""An arrival and what it is called: one sentence of what was heard, and what to do when it is not right.

Channels are counted from 0 here and from 1 in every sentence. The sentences name what was heard and what to look at, not
what is broken: a silent line may be a cable, a mute or a microphone without phantom power.
"""

from __future__ import annotations

from dataclasses import dataclass

CHECK_LINE = "Check the cable, the socket on the box, mute and phantom power"


@dataclass(frozen=True, slots=True)
class Arrival:
    """Where one input arrived; channels counted from 0."""

    input: str
    wanted: int | None
    found: int | None
    """The channel it was heard on; for `unsure` the likeliest one, None when there is none."""
    margin_db: float
    """How far that channel is above the next; 0 when nothing was found."""
    verdict: str
    """arrived, elsewhere, nothing or unsure (a second tap is wanted)."""
    sentence: str


@dataclass(frozen=True, slots=True)
class Circumstance:
    """What the sentence about one input needs to know."""

    name: str
    wanted: int | None
    found: int | None
    """The channel it was heard on, or the likeliest one."""
    other: int | None = None
    """The channel that comes next, or that drowns it."""
    margin_db: float = 0.0
    owner: str | None = None
    """The input that the channel it was heard on belongs to, or that arrives there."""
    replaced_by: str | None = None
    """The input that was heard on the channel wanted here."""


def sentence_of(why: str, at: Circumstance) -> str:
    """The sentence for one of the reasons that `WORDS` names."""
    return WORDS[why](at)


def _arrived(at: Circumstance) -> str:
    return f"{at.name} arrives on channel {_number(at.found)}, as wanted."


def _elsewhere(at: Circumstance) -> str:
    said = f"{at.name} arrives on channel {_number(at.found)}, wanted {_number(at.wanted)}"
    if at.owner is not None and at.owner == at.replaced_by:
        return f"{said}: swapped with {at.owner}?"
    if at.owner is not None:
        return f"{said}: {_number(at.found)} is the channel of {at.owner}. Check the patch."
    return f"{said}. Check the patch."


def _silent(at: Circumstance) -> str:
    return f"Nothing arrived from {at.name}: no channel rose. {CHECK_LINE}."


def _overheard(at: Circumstance) -> str:
    where = f"channel {_number(at.other)}"
    through = f"{where}, where {at.owner} arrives" if at.owner is not None else where
    return f"Nothing arrived from {at.name} itself: it was only overheard on {through}. {CHECK_LINE}."


def _faint(at: Circumstance) -> str:
    return (
        f"{at.name} is too faint to be sure, likeliest on channel {_number(at.found)}: tap again, harder or closer."
    )


def _restless(at: Circumstance) -> str:
    return (
        f"{at.name} cannot be told from what channel {_number(at.found)} hears all the time: "
        "wait until it is quiet and tap again."
    )


def _drowned(at: Circumstance) -> str:
    return (
        f"{at.name} is heard on channel {_number(at.found)}, but channel {_number(at.other)} is as loud then as at other "
        f"times and may hide it: make {_number(at.other)} quiet and tap again."
    )


def _close(at: Circumstance) -> str:
    where = f"channels {_number(at.found)} and {_number(at.other)}"
    return f"{at.name} is heard on {where}, only {abs(at.margin_db):.0f} dB apart: tap once more, closer."


def _unplaced(at: Circumstance) -> str:
    return f"{at.name} is heard on channel {_number(at.found)}; nobody said which channel it should arrive on."


def _unplayed(at: Circumstance) -> str:
    return f"{at.name} was not played in what was heard so far."


def _number(channel: int | None) -> str:
    return "?" if channel is None else str(channel + 1)


WORDS = {
    "arrived": _arrived,
    "elsewhere": _elsewhere,
    "silent": _silent,
    "overheard": _overheard,
    "faint": _faint,
    "restless": _restless,
    "drowned": _drowned,
    "close": _close,
    "unplaced": _unplaced,
    "unplayed": _unplayed,
}
"""Every reason and its words."""
