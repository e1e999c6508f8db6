"""What was heard of a whole recording or line check, and the same as JSON."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from typing import Any

from showday.sound.arrivals import Arrival
from showday.sound.levels import ChannelLevels
from showday.sound.model import Finding
from showday.sound.pairs import PairVerdict
from showday.sound.verdict import Heard


@dataclass(frozen=True, slots=True)
class ChannelReport:
    """One channel over everything heard."""

    channel: int
    """Counted from 0."""
    input: str
    """The input that is wanted on it; empty when there is none."""
    levels: ChannelLevels
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """Everything heard; channels counted from 0, times in seconds."""

    rate: int
    seconds: float
    mains_hz: float | None
    channels: tuple[ChannelReport, ...]
    arrivals: tuple[Arrival, ...] = ()
    pairs: tuple[PairVerdict, ...] = ()
    heard: tuple[Heard, ...] = ()
    """The verdict on each input that was sounded, in the order of the walk."""
    shuffles: tuple[str, ...] = ()
    """Sentences on swaps and shifts seen over the whole list."""
    lost_frames: int = 0
    """Frames that the host lost, which say nothing about any cable."""


def to_json(report: Report) -> str:
    """The report as JSON text; channels count from 1, what is not known is null, levels are in dBFS by AES17."""
    return json.dumps(_plain(report), ensure_ascii=False, allow_nan=False, indent=2)


def _plain(report: Report) -> dict[str, Any]:
    return {
        "rate": report.rate,
        "seconds": round(report.seconds, 3),
        "mains_hz": _number(report.mains_hz, 3),
        "channels": [
            {
                "channel": one.channel + 1,
                "input": one.input or None,
                "level_dbfs": _number(one.levels.level_dbfs),
                "peak_dbfs": _number(one.levels.peak_dbfs),
                "floor_dbfs_a": _number(one.levels.floor_dbfs_a),
                "findings": [_finding(finding) for finding in one.findings],
            }
            for one in report.channels
        ],
        "arrivals": [
            {
                "input": one.input,
                "wanted": _counted(one.wanted),
                "found": _counted(one.found),
                "margin_db": _number(one.margin_db),
            }
            for one in report.arrivals
        ],
        "pairs": [
            {
                "left": one.left + 1,
                "right": one.right + 1,
                "polarity": one.polarity,
                "lag_ms": _number(one.lag_ms, 3),
            }
            for one in report.pairs
        ],
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "kind": finding.kind,
        "level_dbfs": _number(finding.level_dbfs),
        "f0_hz": _number(finding.f0_hz, 3),
        "from_s": _number(finding.from_s, 3),
        "to_s": _number(finding.to_s, 3),
        "confidence": _number(finding.confidence, 2),
    }


def _number(value: float | None, digits: int = 1) -> float | None:
    """Rounded; null for what is not a number, and for the level of silence, which is no number either."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), digits) + 0.0


def _counted(channel: int | None) -> int | None:
    return None if channel is None else int(channel) + 1
