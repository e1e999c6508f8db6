"""What to tell about a mains family: what was heard, what is likely, and a check of less than a minute.

A spectrum gives evidence, a check gives the cause. Ground loops and shared shields: B. Whitlock, JAES 43(6), 1995, and
N. Muncy in the same number; hum and buzz: E. Winer 1997; the rows as such are common practice.
"""

from __future__ import annotations

from showday.sound.mains_verdict import Verdict

MANY = 4
"""Channels with the same hum from which on it is hardly each channel's own fault (own choice)."""
QUIET_DBFS_A, LOUD_DBFS_A = -80.0, -65.0
"""A-weighted levels between which hum is a nuisance; own choice, it depends on the gain behind."""
THIRD_DB = (-16.0, -9.0)
FIFTH_DB = -18.0
"""A transformer's stray field: third line 9 to 16 dB down and fifth below -18 (from memory)."""
RAGGED_DBFS = -40.0
"""Hum or buzz above this is as strong as the signal of a line: an open shield (own choice)."""
TINGLE = "If anything tingles: stop, do not touch, power off, call the electrician."


def sentence(verdict: Verdict, channels: int) -> str:
    """Evidence, likely cause and check. `channels` is how many channels show mains at all."""
    heard = f"{_NAMES[verdict.kind]} at {verdict.f0:.2f} Hz, {verdict.level_dbfs:.0f} dBFS{_loudness(verdict)}"
    tingle = f" {TINGLE}" if verdict.kind in ("hum", "buzz") and verdict.level_dbfs > RAGGED_DBFS else ""
    return f"{heard}: {_cause(verdict, channels)}{tingle}"


_NAMES = {"hum": "Hum", "buzz": "Buzz", "ripple": "Hum of even lines", "clock_tone": "A steady tone family"}


def _loudness(verdict: Verdict) -> str:
    if verdict.kind == "clock_tone" or QUIET_DBFS_A <= verdict.weighted_dbfs <= LOUD_DBFS_A:
        return ""
    return " (hardly audible)" if verdict.weighted_dbfs < QUIET_DBFS_A else " (loud)"


def _cause(verdict: Verdict, channels: int) -> str:
    if verdict.kind == "clock_tone":
        return (
            "more exact than mains ever is, likely a digital device or a 10 ms wireless system near this line; "
            "check by switching such devices off one at a time."
        )
    if verdict.kind == "ripple":
        return "likely ripple of a power supply; check with a battery or another supply."
    if channels >= MANY:
        return (
            f"the same mains is on {channels} channels, likely one shared path such as the stage box, the multicore or "
            "the distribution; check by muting groups, then feed both ends of the multicore from one distribution."
        )
    if verdict.kind == "buzz":
        if verdict.level_dbfs > RAGGED_DBFS:
            return "likely an open shield, or dimmers nearby; check by swapping the cable."
        return "likely dimmers or a switching supply; check by asking lighting for 0, 50 and 100 % for five seconds each."
    if THIRD_DB[0] <= verdict.third_db <= THIRD_DB[1] and verdict.fifth_db < FIFTH_DB:
        return (
            "likely a magnetic field at a pickup, microphone or cable; check by turning it or moving it half a metre."
        )
    return (
        "likely a ground loop through the shield; check by pulling the source's audio plug at the DI, or on battery."
    )
