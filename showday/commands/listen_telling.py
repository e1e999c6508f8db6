"""What was heard, in lines of at most 60 columns that a person reads, and whether there is anything to see to."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Iterator, Sequence

from showday.sound.levels import dbu
from showday.sound.model import Finding
from showday.sound.report import ChannelReport, Report
from showday.sound_devices import Device
from showday.text.safe import one_line

WIDTH = 60
"""Columns of the text, a choice of this program."""

UNHEARD = ("digital_silence", "dead")
"""Findings that mean nothing where no input is wanted: nobody plugged anything in there."""

_SEVERAL = 3
"""Lines on which nothing happened from which on one sentence tells it; a choice."""
_GOES_ON = {"digital_silence": 1.0, "dead": 0.5}
"""How sure such a finding is while it goes on (`sound.gap_words`)."""
_TOGETHER = {
    "digital_silence": "Exact zeros, not even noise: muted, switched off or not routed digitally? Check the routing and "
    "which channels are sent.",
    "dead": "Only their own noise while other lines sounded: not played yet, or unplugged, dead cables, phantom power "
    "off? Make a sound at each.",
}

_SILENT_DBFS = -100.0
"""A channel whose peak never reached this is told as silent; a choice: under the noise of any microphone input."""

_NEAR_DBTP = -1.0
"""True peaks above this are told: EBU R128 allows no more."""

_LEVELS = "dBFS by AES17: a full-scale sine is 0. Floor: A-weighted."


def as_lines(report: Report, title: str, said: Sequence[str] = (), full_scale: float | None = None) -> list[str]:
    """The whole text: what was listened to, every channel, what is wrong, where everything arrived."""
    parts = (
        _head(report, title),
        _list("About the sound itself:", said),
        _channels(report),
        _analogue(report, full_scale),
        _list("To see to:", _findings(counted(report))),
        _arrivals(report),
        _list("Over the whole list:", report.shuffles),
        _list("Pairs:", (one.sentence for one in report.pairs)),
    )
    made: list[str] = []
    for part in parts:
        lines = list(part)
        made += ["", *lines] if made and lines else lines
    return [*made, "", "Nothing to see to was heard." if fine(report) else "There is something to see to."]


def fine(report: Report) -> bool:
    """Whether nothing was found, every input arrived where it is wanted, and no pair is the wrong way round."""
    arrived = all(one.verdict == "arrived" for one in report.arrivals if one.wanted is not None)
    inverted = any(one.polarity == "inverted" for one in report.pairs)
    return not counted(report) and arrived and not inverted and not report.shuffles


def counted(report: Report) -> list[tuple[ChannelReport, Finding]]:
    """Every finding with its channel, without the silence of channels that nothing is wanted on."""
    return [
        (channel, found)
        for channel in report.channels
        for found in channel.findings
        if channel.input or found.kind not in UNHEARD
    ]


def _head(report: Report, title: str) -> Iterator[str]:
    channels = "1 channel" if len(report.channels) == 1 else f"{len(report.channels)} channels"
    yield from _wrapped(f"{title}: {channels}, {report.rate:,} Hz, {clock(report.seconds)}", then="  ")
    if report.mains_hz is not None:
        yield f"Mains that is heard: {report.mains_hz:.2f} Hz"


def clock(seconds: float) -> str:
    """A length of time: `12.3 s`, `4:05 min`, `1:02:03 h`."""
    if seconds < 60:
        return f"{math.floor(seconds * 10) / 10:.1f} s"
    minutes, rest = divmod(math.floor(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02} h" if hours else f"{minutes}:{rest:02} min"


def _channels(report: Report) -> Iterator[str]:
    silent = [one for one in report.channels if not one.input and not one.levels.peak_dbfs > _SILENT_DBFS]
    told = [one for one in report.channels if one not in silent]
    if told:
        yield f"{'':>3} {'':<21} {'level':>7} {'peak':>7} {'floor':>7} {'crest':>6}"
    for one in told:
        levels = one.levels
        numbers = (
            f"{_db(levels.level_dbfs)} {_db(levels.peak_dbfs)} {_db(levels.floor_dbfs_a)} {_db(levels.crest_db, 6)}"
        )
        yield f"{one.channel + 1:>3} {one_line(one.input or '-', 21):<21} {numbers}"
    if told:
        yield from _wrapped(_LEVELS)
    over = [(one.channel + 1, one.levels.true_peak_dbtp) for one in told]
    peaks = ", ".join(f"{channel}: {peak:+.1f}" for channel, peak in over if peak is not None and peak > _NEAR_DBTP)
    if peaks:
        yield from _wrapped(f"True peaks near full scale, dBTP by BS.1770: {peaks}", then="  ")
    if silent:
        yield from _wrapped(f"Silent: {ranges([one.channel + 1 for one in silent])}", then="  ")


def _analogue(report: Report, full_scale: float | None) -> Iterator[str]:
    """Levels in dBu, only where the rig says what full scale is."""
    levels = [(one, dbu(one.levels.level_dbfs, full_scale)) for one in report.channels if one.input]
    told = ", ".join(f"{one.channel + 1}: {level:.1f}" for one, level in levels if level is not None)
    if told:
        yield from _wrapped(f"Levels in dBu (the rig: full scale is {full_scale:+g} dBu): {told}", then="  ")


def _db(value: float, width: int = 7) -> str:
    return f"{value:>{width}.1f}" if math.isfinite(value) else f"{'-':>{width}}"


def ranges(numbers: Sequence[int]) -> str:
    """Rising numbers in short: `1-4, 7, 9-12`."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(f"{a}" if a == b else f"{a}-{b}" for a, b in runs)


def _findings(every: Sequence[tuple[ChannelReport, Finding]]) -> Iterator[str]:
    """A sentence each; lines on which nothing happened share theirs where there are several."""
    for kind in UNHEARD:
        alike = [one for one in every if one[1].kind == kind and one[1].confidence == _GOES_ON[kind]]
        if len(alike) >= _SEVERAL:
            every = [one for one in every if one not in alike]
            numbers = ranges(sorted({channel.channel + 1 for channel, _ in alike}))
            yield f"{numbers}: {_TOGETHER[kind]}"
    yield from (_finding(channel, found) for channel, found in every)


def _finding(channel: ChannelReport, found: Finding) -> str:
    name = f" {one_line(channel.input, 40)}" if channel.input else ""
    start, end = clock(found.from_s), clock(found.to_s)
    when = f"{f'at {start}' if start == end else f'{start} to {end}'}, {found.confidence:.0%} sure"
    return f"{channel.channel + 1}{name}: {found.sentence} ({when})"


def _arrivals(report: Report) -> Iterator[str]:
    """What is not as wanted, a sentence each; of what is, only how many."""
    arrived = [one for one in report.arrivals if one.verdict == "arrived"]
    others = [one for one in report.arrivals if one.verdict != "arrived"]
    if arrived:
        inputs = "1 input arrives" if len(arrived) == 1 else f"{len(arrived)} inputs arrive"
        yield f"As wanted: {inputs}."
    yield from _list("Not as wanted, or not sure:", (one.sentence for one in others))
    not_good = [
        one for one in report.heard if one.verdict != "good" and one.input in {each.input for each in arrived}
    ]
    yield from _list("Arrives, but is not good yet:", (f"{one.input}: {one.reason}" for one in not_good))


def device_lines(devices: Sequence[Device]) -> list[str]:
    """The devices as a table."""
    if not devices:
        return ["There is no sound device.", "Plug one in and switch it on; a recording works without any."]
    lines = [f"{'':>3} {'in':>4} {'out':>4} {'Hz':>7}  name (reached by)"]
    for one in devices:
        name = f"{one_line(one.name, 60)} ({one_line(one.host, 20)})"
        lines += _wrapped(name, f"{one.number:>3} {one.inputs:>4} {one.outputs:>4} {one.rate:>7}  ", " " * 23)
    return lines


def _list(title: str, texts: Iterable[str]) -> Iterator[str]:
    lines = [line for text in texts for line in _wrapped(text, "- ", "  ")]
    if lines:
        yield title
        yield from lines


def _wrapped(text: str, first: str = "", then: str = "") -> list[str]:
    return textwrap.wrap(
        one_line(text, 2_000), WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False
    )
