"""Listens to made line checks and counts what came out against what was put in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from showday.sound.listener import Heard, Listener
from showday.sound.model import Block, Finding
from showday.sound.report import Report
from showday.sound.verdict import GOOD, LIMITS
from tests.sound.labelled import LineCheck
from tests.sound.recordings import RATE

BLOCK = 4_801
NONE = "nothing"
LEVELLED = ("hum", "buzz", "ripple", "hiss")
"""Noises whose level is held against what was put in. Phones come in bursts; bleed adds to the lines of a faint clock."""


@dataclass(slots=True)
class Counts:
    """Over any number of line checks."""

    labels: Counter[tuple[str, str]] = field(default_factory=Counter)
    """(put in, heard) for every channel."""
    verdicts: Counter[tuple[str, str]] = field(default_factory=Counter)
    """(what is true of the line, verdict), file and live."""
    false_good: list[str] = field(default_factory=list)
    wrong_patch: list[str] = field(default_factory=list)
    f0_errors: list[float] = field(default_factory=list)
    level_errors: list[float] = field(default_factory=list)
    peak_errors: list[float] = field(default_factory=list)
    swaps: int = 0
    wrong_labels: list[str] = field(default_factory=list)

    @property
    def channels(self) -> int:
        """Channels judged."""
        return sum(self.labels.values())

    def table(self) -> str:
        """Both tables as text."""
        parts = [_table("put in", self.labels), _table("line is", self.verdicts)]
        worst = [f"worst f0 error {max(self.f0_errors, default=0):.4f} Hz of {len(self.f0_errors)}"]
        worst.append(f"worst level error {max(self.level_errors, default=0):.2f} dB of {len(self.level_errors)}")
        worst.append(f"worst peak error {max(self.peak_errors, default=0):.3f} dB of {len(self.peak_errors)}")
        return "\n\n".join([*parts, "\n".join(worst)])


def _table(title: str, counts: Counter[tuple[str, str]]) -> str:
    rows, columns = sorted({a for a, _ in counts}), sorted({b for _, b in counts})
    width = max(map(len, [title, *rows])) + 2
    lines = [title.ljust(width) + "".join(c.rjust(max(9, len(c) + 2)) for c in columns)]
    for row in rows:
        cells = (str(counts[row, c] or "·").rjust(max(9, len(c) + 2)) for c in columns)
        lines.append(row.ljust(width) + "".join(cells))
    return "\n".join(lines)


def listened(made: LineCheck) -> Report:
    """The whole recording with its walk, as a file."""
    listener = Listener(RATE, made.sound.shape[1], made.inputs, made.walk)
    for first in range(0, len(made.sound), BLOCK):
        listener.feed(Block(made.sound[first : first + BLOCK], first))
    return listener.report()


def walked(made: LineCheck) -> list[Heard]:
    """The same as it goes along: every input begun and ended, and the verdict of that moment."""
    listener = Listener(RATE, made.sound.shape[1], made.inputs)
    marks = sorted([(w.start_s, w.input) for w in made.walk] + [(w.end_s, "") for w in made.walk])
    found: list[Heard] = []
    at = 0
    for time, name in [*marks, (len(made.sound) / RATE, "")]:
        upto = round(time * RATE)
        for first in range(at, upto, BLOCK):
            listener.feed(Block(made.sound[first : min(upto, first + BLOCK)], first))
        at = upto
        if name:
            listener.begin(name)
        elif len(found) < len(made.inputs):
            found.append(listener.end())
    return found


def count(counts: Counts, made: LineCheck, report: Report, live: Iterable[Heard] = ()) -> None:
    """Add one line check."""
    for channel, truth in zip(report.channels, made.channels, strict=True):
        heard = {f.kind for f in channel.findings if _counts(f)}
        put = next(iter(truth.kinds), NONE)
        if channel.channel not in made.patch:
            heard -= {"dead"}  # nothing is plugged into it, and it may be told so
        for kind in heard or {NONE}:
            counts.labels[put, kind] += 1
            if kind != put:
                counts.wrong_labels.append(f"seed {made.seed} channel {channel.channel}: {put} heard as {kind}")
        for finding in channel.findings:
            if finding.kind == put and truth.f0_hz is not None and finding.f0_hz is not None and not truth.wanders:
                counts.f0_errors.append(abs(finding.f0_hz - truth.f0_hz))
            if finding.kind == put in LEVELLED and truth.level_dbfs is not None and finding.level_dbfs is not None:
                counts.level_errors.append(abs(finding.level_dbfs - truth.level_dbfs))
    for index, arrival in enumerate(report.arrivals):
        true = made.patch[index]
        alive = true is not None and "digital_silence" not in made.channels[true].kinds
        counts.swaps += alive and true != index
        if arrival.verdict in ("arrived", "elsewhere") and arrival.found != true:
            wrong = counts.wrong_patch if alive else counts.wrong_labels
            wrong.append(f"seed {made.seed} input {index}: at {true}, named {arrival.found}")
    for way, verdicts in (("file", report.heard), ("live", live)):
        for index, heard_one in enumerate(verdicts):
            state = _state(made, index)
            counts.verdicts[state, heard_one.verdict] += 1
            if heard_one.verdict == GOOD and state != GOOD:
                counts.false_good.append(
                    f"seed {made.seed} input {index} {way}: {state}, {made.channels[index].kinds}"
                )
            if heard_one.level_dbfs is not None and state == GOOD:
                counts.peak_errors.append(abs(heard_one.level_dbfs - made.peaks[index]))


def _counts(finding: Finding) -> bool:
    return LIMITS[finding.kind].passed_by(finding) and finding.confidence >= 0.5


def _state(made: LineCheck, index: int) -> str:
    if made.good(index):
        return GOOD
    if made.patch[index] is None:
        return "not there"
    if made.patch[index] != index:
        return "elsewhere"
    return "faulty" if made.channels[index].kinds else "too soft or loud"
