"""Whether a line is good: its own channel, its level in the wanted range, and nothing wrong to be heard on it.

A line that is called good and is not costs the show, one that is asked for again costs ten seconds. So everything that
is not known yet, and everything that is doubtful, is `not yet` or `again`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from showday.sound.arrivals import Arrival
from showday.sound.gap_words import STOPPED
from showday.sound.model import KINDS, Finding

GOOD, NOT_YET, WRONG_CHANNEL, AGAIN, TROUBLE = "good", "not yet", "wrong channel", "again", "trouble"
VERDICTS = (GOOD, NOT_YET, WRONG_CHANNEL, AGAIN, TROUBLE)
"""As wanted; nothing, too little or too soon to tell; it came elsewhere; a close call, make the sound again; something is
wrong with the line."""

LEAST_S = 6.0
"""Seconds that must have been heard before anything is called good: hiss is judged from five, mains from two, and the start
of a recording is not the start of a second."""

REST_DBFS = -60.0
"""A line must have been as quiet as this for some seconds before nothing is said to hum under it. Hum 6 dB under all the
rest is found, so what hides is below -66 dBFS, 42 dB under the lowest wanted peak of the shipped line check; a choice."""

KNOWN_DB = 3.0
"""A line that is hardly louder at rest than the noise that was found on it hides nothing else; a choice."""

ROSE_DB, ROSE_DBFS = 10.0, -70.0
"""What a line does at rest may not have risen by so much to above this since the sound was asked for: something was plugged
in with it that has not been judged yet. As much as a sound must rise to be one."""

STEADY = ("hum", "buzz", "ripple", "hiss", "rf_buzz", "clock_tone")
"""Kinds that go on as long as their cause does; the others are moments."""


@dataclass(frozen=True, slots=True)
class Limit:
    """From where on a finding keeps a line from being good; what has no level counts at any strength."""

    dbfs: float
    confidence: float = 0.0

    def passed_by(self, finding: Finding) -> bool:
        """Whether this finding is too much."""
        strong = finding.level_dbfs is None or finding.level_dbfs > self.dbfs
        return strong and finding.confidence >= self.confidence


ANY = Limit(-200.0)
LIMITS: Mapping[str, Limit] = {
    "hum": Limit(-70.0),
    "ripple": Limit(-70.0),
    "buzz": Limit(-75.0),
    "rf_buzz": Limit(-75.0),
    "clock_tone": Limit(-75.0),
    "hiss": ANY,
    "clipping": Limit(-200.0, 0.5),
    "dropout": Limit(-200.0, 0.5),
    "digital_silence": Limit(-200.0, 0.8),
    "dead": ANY,
}
"""Choices of this program: hum stays 46 dB under the lowest wanted peak of -24 dBFS, and what the ear hears better 5 dB
more. Flat tops of one moment, and zeros that have ended (half sure at most) are shown and do not stop a line. A sound that
broke off and may have been played so is doubtful (`DOUBT`)."""

DOUBT = 0.35
"""A sound that broke off, this sure and not sure enough for its limit, is asked for again: a stop of the playing does not
come twice. One that broke off on several lines at once is less sure, for that was the playing. A choice."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is wanted of one input."""

    input: str
    number: int
    """Its number, as people say it."""
    channel: int | None
    """The channel it should arrive on, counted from 0; None when nobody said."""
    low_dbfs: float | None = None
    """Lowest and highest wanted sample peak of the sound made at it; None: open on that side."""
    high_dbfs: float | None = None
    digital: bool = False
    """What plays there may be digital all the way: exact zeros are its rest, and a sound that ends in them may be over."""
    limits: Mapping[str, Limit] = field(default_factory=lambda: LIMITS)
    """For each kind of finding the limit above which the line is not good; a kind without one is only shown."""


@dataclass(frozen=True, slots=True)
class Rest:
    """What was heard of a line while it rested."""

    heard_s: float
    """For how long anything has been heard at all."""
    dbfs: float | None = None
    """How quiet the line became for some seconds; None when it did not, or only by exact zeros."""
    before_dbfs: float | None = None
    """The same before its sound was asked for; None when that says nothing any more."""
    doubts: tuple[Finding, ...] = ()
    """What may hum there, heard too seldom to be told."""


@dataclass(frozen=True, slots=True)
class Heard:
    """What was heard of one input."""

    input: str
    verdict: str
    """One of VERDICTS."""
    reason: str
    """One sentence."""
    level_dbfs: float | None
    """Sample peak on the wanted channel since the sound was asked for; None before anything was heard."""
    arrival: Arrival | None = None
    findings: tuple[Finding, ...] = ()
    """Everything found on the wanted channel, above its limit or not."""


def judge(
    wanted: Wanted, arrival: Arrival | None, peak_dbfs: float | None, findings: Iterable[Finding], rest: Rest
) -> Heard:
    """The verdict on one line; `findings` are those of its channel that count now."""
    found = tuple(findings)
    verdict, reason = _verdict(wanted, arrival, peak_dbfs, found)
    if verdict == GOOD and (unsure := _unheard(rest, found)):
        verdict, reason = NOT_YET, f"{_peaks(wanted, peak_dbfs)}; {unsure}"
    if verdict == GOOD and (doubts := above_limits(wanted, rest.doubts)):
        doubt = f"for some seconds there may have been {doubts[0].kind} at {doubts[0].level_dbfs:.0f} dBFS"
        verdict, reason = (
            AGAIN,
            f"{_peaks(wanted, peak_dbfs)}; {doubt}: let it rest where it is quiet, then sound it again.",
        )
    return Heard(wanted.input, verdict, reason, peak_dbfs, arrival, found)


def _unheard(rest: Rest, found: Sequence[Finding]) -> str:
    """Why nobody can say yet that nothing hums or hisses; empty when one can."""
    if rest.heard_s < LEAST_S:
        return f"{LEAST_S:.0f} s must be heard before hum and hiss can be told."
    known = max((f.level_dbfs for f in found if f.kind in STEADY and f.level_dbfs is not None), default=-np.inf)
    if rest.dbfs is None or rest.dbfs > max(REST_DBFS, known + KNOWN_DB):
        return "let it rest for 3 s, so that hum and hiss can be told."
    if rest.before_dbfs is not None and rest.dbfs > max(rest.before_dbfs + ROSE_DB, ROSE_DBFS, known + KNOWN_DB):
        return (
            f"at rest it rose from {rest.before_dbfs:.0f} to {rest.dbfs:.0f} dBFS: let it rest until that is judged."
        )
    return ""


def above_limits(wanted: Wanted, findings: Sequence[Finding]) -> list[Finding]:
    """The findings that keep the line from being good, worst kinds first in the order of KINDS."""
    over = [f for f in findings if f.kind in wanted.limits and wanted.limits[f.kind].passed_by(f)]
    return sorted(over, key=lambda f: (KINDS.index(f.kind), -(f.level_dbfs or 0.0)))


def _verdict(
    wanted: Wanted, arrival: Arrival | None, peak: float | None, found: tuple[Finding, ...]
) -> tuple[str, str]:
    over = above_limits(wanted, found)
    if arrival is None:
        return NOT_YET, f"Nothing heard yet: make a sound at {wanted.input}."
    if arrival.verdict == "elsewhere":
        return WRONG_CHANNEL, arrival.sentence
    if arrival.verdict == "unsure":
        return (NOT_YET if wanted.channel is None else AGAIN), arrival.sentence
    if arrival.verdict != "arrived":
        silent = next((f for f in over if f.kind in ("digital_silence", "dead")), None)
        return NOT_YET, silent.sentence if silent else arrival.sentence
    if wanted.digital:
        over = [f for f in over if not _at_rest(f)]
    if over:
        return TROUBLE, over[0].sentence
    if peak is None:
        return NOT_YET, f"Nothing heard yet: make a sound at {wanted.input}."
    where = _peaks(wanted, peak)
    if wanted.high_dbfs is not None and peak > wanted.high_dbfs:
        return TROUBLE, f"{where}, wanted at most {wanted.high_dbfs:g}: turn the gain down, then sound it again."
    if wanted.low_dbfs is not None and peak < wanted.low_dbfs:
        return NOT_YET, f"{where}, wanted at least {wanted.low_dbfs:g}: play as loud as in the show, or turn it up."
    broke = next((f for f in found if f.kind == "dropout" and f.confidence >= DOUBT), None)
    if broke is not None and not (wanted.digital and _at_rest(broke)):
        return AGAIN, f"{broke.sentence} Sound it again, and hold it."
    return GOOD, f"{where}, nothing wrong heard."


def _at_rest(finding: Finding) -> bool:
    """Whether it is what a digital source does between its sounds."""
    least, most = STOPPED
    return finding.kind == "digital_silence" or (finding.kind == "dropout" and least <= finding.confidence <= most)


def _peaks(wanted: Wanted, peak: float | None) -> str:
    return f"Channel {(wanted.channel or 0) + 1} peaks at {peak or 0.0:.1f} dBFS"
