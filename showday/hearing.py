"""Between the rig and what is heard of it: what is wanted of every input, and which answers of fault trees were heard.

Needs numpy: whoever starts the program imports this only when somebody listens.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from showday.fault.heard import ARRIVES, ELSEWHERE, NOTHING, TOO_LOW, Evidence
from showday.rig.model import Rig
from showday.rig.words import named_things
from showday.run.plan import Plan
from showday.sound.model import Finding
from showday.sound.pairs import Pair
from showday.sound.verdict import LIMITS, Heard, Limit, Wanted

WANTED_DBFS = (-24.0, -12.0)
"""Peaks wanted of an input where no step says otherwise: those of the shipped line check."""
UNDERSIDE = frozenset({"bottom", "under", "underside", "below", "btm"})
"""Words in the name of a microphone that faces its partner across a drum: such two are expected to be upside down to each
other (common practice)."""
PLAYBACK = "playback"
"""Source of an input that is fed by an interface: a computer that plays nothing gives exact zeros where no converter is on
the way."""
PEAK_UNIT = "dbfs"
SURE = {"clipping": 0.8}
LEAST_SURE = 0.5
"""How confident a finding must be before it answers for a person; clipping only when it is at full scale, where a clip
light lights. Choices of this program."""
WHINE_HZ = 500.0
"""A clock tone below this is a hum to the ear, not the whine that fault trees ask for; a choice."""


def wanted_inputs(rig: Rig, plan: Plan | None = None) -> list[Wanted]:
    """What is wanted of each input of the rig, in its order: input number n on channel n.

    A step of the plan that opens `listen` and reads dBFS at an input gives its range; several narrow each other down.
    """
    ranges = _ranges(plan) if plan is not None else {}
    made = []
    for id, line in named_things("input", rig):
        number = getattr(line, "number", None)
        if number is None:
            continue
        low, high = ranges.get(id, WANTED_DBFS)
        digital = getattr(line, "source", "") == PLAYBACK
        made.append(Wanted(str(line.name), number, number - 1, low, high, digital))
    return made


def _ranges(plan: Plan) -> dict[str, tuple[float | None, float | None]]:
    """Id of an input → the range of peaks its steps want."""
    found: dict[str, tuple[float | None, float | None]] = {}
    for step in plan.steps:
        reading = step.reading
        if step.kind != "input" or step.opens != "listen" or reading is None or reading.unit.casefold() != PEAK_UNIT:
            continue
        low, high = found.get(step.thing, (None, None))
        lows = [value for value in (low, reading.low) if value is not None]
        highs = [value for value in (high, reading.high) if value is not None]
        found[step.thing] = (max(lows, default=None), min(highs, default=None))
    return found


def pairs_of(rig: Rig) -> list[Pair]:
    """The stereo pairs of the rig as channels, each once, the lower number left."""
    names = {line.number: set(line.name.casefold().split()) for line in rig.inputs if line.number is not None}
    sides = {
        (min(line.number, line.pair), max(line.number, line.pair))
        for line in rig.inputs
        if line.number is not None and line.pair in names and line.pair != line.number
    }
    return [
        Pair(left - 1, right - 1, inverted=bool(names[left] & UNDERSIDE) != bool(names[right] & UNDERSIDE))
        for left, right in sorted(sides)
    ]


def input_of(rig: Rig, thing: tuple[str, str]) -> str:
    """The name of the input that a step or a walk is about; empty when it is about none."""
    kind, about = thing
    return next((str(line.name) for id, line in named_things("input", rig) if kind == "input" and id == about), "")


def evidence(
    findings: Iterable[Finding],
    inputs: Sequence[Wanted],
    about: str = "",
    heard: Heard | None = None,
    since_s: float = 0.0,
) -> Evidence:
    """What was heard, as fault trees ask for it.

    `about` is the input in question, `heard` what was heard when it was sounded last, if it was. Findings that were over
    before `since_s` are left out, so are those that are below their limits or too unsure.
    """
    by_channel = {one.channel: one for one in inputs}
    lines: dict[str, set[str]] = {}
    for finding in findings:
        wanted = by_channel.get(finding.channel)
        limit = (wanted.limits if wanted else LIMITS).get(finding.kind, Limit(0.0))
        sure = finding.confidence >= SURE.get(finding.kind, LEAST_SURE)
        low_tone = finding.kind == "clock_tone" and (finding.f0_hz or 0.0) < WHINE_HZ
        if sure and not low_tone and finding.to_s >= since_s and limit.passed_by(finding):
            lines.setdefault(finding.kind, set()).add(str(finding.channel))
    mine = next((one for one in inputs if one.input == about), None)
    return Evidence(
        lines={kind: frozenset(channels) for kind, channels in lines.items()},
        line="" if mine is None or mine.channel is None else str(mine.channel),
        arrival=_arrival(heard, mine) if mine is not None and heard is not None and heard.input == about else "",
    )


def _arrival(heard: Heard, wanted: Wanted) -> str:
    """Where the sound came out, in the words of fault trees; empty for a close call."""
    verdict = heard.arrival.verdict if heard.arrival else ""
    if verdict != "arrived":
        return {"elsewhere": ELSEWHERE, "nothing": NOTHING}.get(verdict, "")
    low = wanted.low_dbfs
    return TOO_LOW if low is not None and heard.level_dbfs is not None and heard.level_dbfs < low else ARRIVES
