"""The report as JSON, as it is written down for whoever reads it with another program."""

from __future__ import annotations

import json
from typing import Any

import jsonschema

from showday.sound.arrivals import Arrival
from showday.sound.levels import ChannelLevels
from showday.sound.model import KINDS, Finding
from showday.sound.pairs import PairVerdict
from showday.sound.report import ChannelReport, Report, to_json

NUMBER: dict[str, Any] = {"type": ["number", "null"]}
COUNTED: dict[str, Any] = {"type": ["integer", "null"], "minimum": 1}
TEXT: dict[str, Any] = {"type": ["string", "null"]}


def listing(**keys: Any) -> dict[str, Any]:
    """A list of objects that have these keys and no other."""
    return {"type": "array", "items": record(**keys)}


def record(**keys: Any) -> dict[str, Any]:
    return {"type": "object", "properties": keys, "required": list(keys), "additionalProperties": False}


FINDINGS = listing(
    kind={"enum": list(KINDS)}, level_dbfs=NUMBER, f0_hz=NUMBER, from_s=NUMBER, to_s=NUMBER, confidence=NUMBER
)
SCHEMA = record(
    rate={"type": "integer"},
    seconds={"type": "number"},
    mains_hz=NUMBER,
    channels=listing(
        channel=COUNTED, input=TEXT, level_dbfs=NUMBER, peak_dbfs=NUMBER, floor_dbfs_a=NUMBER, findings=FINDINGS
    ),
    arrivals=listing(input={"type": "string"}, wanted=COUNTED, found=COUNTED, margin_db=NUMBER),
    pairs=listing(
        left=COUNTED,
        right=COUNTED,
        polarity={"enum": ["same", "inverted", "can't tell", "expected inverted"]},
        lag_ms=NUMBER,
    ),
)
"""The layout that is promised."""

NAN, INF = float("nan"), float("inf")
HUM = Finding("hum", 1, -52.34, 50.0213, 1.0, 12.5, 0.876, "Hum …")
CUT = Finding("clipping", 1, None, None, 3.25, 3.5, 1.0, "Clipped …")
REPORT = Report(
    rate=48_000,
    seconds=12.5004,
    mains_hz=50.0213,
    channels=(
        ChannelReport(0, "", ChannelLevels(-INF, -INF, None, NAN, NAN, NAN, 0, -INF)),
        ChannelReport(1, "Bøss 🎸", ChannelLevels(-20.04, -0.001, 0.1, -80.0, -91.26, 20.0, 3, -10.0), (HUM, CUT)),
    ),
    arrivals=(
        Arrival("Bøss 🎸", 1, 1, 31.44, "arrived", ""),
        Arrival("Kick", 0, None, 0.0, "nothing", ""),
        Arrival("Kazoo", None, 0, 8.0, "unsure", ""),
    ),
    pairs=(PairVerdict(0, 1, "can't tell", None, ""),),
)


def test_the_layout_is_as_promised() -> None:
    jsonschema.validate(json.loads(to_json(REPORT)), SCHEMA)


def test_channels_count_from_one_and_what_is_unknown_is_null() -> None:
    said = json.loads(to_json(REPORT))
    assert (said["rate"], said["seconds"], said["mains_hz"]) == (48_000, 12.5, 50.021)
    silent, bass = said["channels"]
    assert silent == {
        "channel": 1,
        "input": None,
        "level_dbfs": None,
        "peak_dbfs": None,
        "floor_dbfs_a": None,
        "findings": [],
    }
    assert (bass["channel"], bass["input"], bass["level_dbfs"], bass["peak_dbfs"]) == (2, "Bøss 🎸", -20.0, 0.0)
    assert bass["findings"][0] == {
        "kind": "hum",
        "level_dbfs": -52.3,
        "f0_hz": 50.021,
        "from_s": 1.0,
        "to_s": 12.5,
        "confidence": 0.88,
    }
    assert bass["findings"][1]["level_dbfs"] is None
    assert [(a["wanted"], a["found"]) for a in said["arrivals"]] == [(2, 2), (1, None), (None, 1)]
    assert said["pairs"] == [{"left": 1, "right": 2, "polarity": "can't tell", "lag_ms": None}]


def test_no_number_is_written_that_json_does_not_know() -> None:
    assert "NaN" not in to_json(REPORT)
    assert "Infinity" not in to_json(REPORT)
    assert "-0.0" not in to_json(REPORT)
