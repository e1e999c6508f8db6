"""What missing sound is called: what was heard, where to look, and how sure it is.

Channels and cables are never blamed for what the host lost; nothing here says that something is broken.
"""

from __future__ import annotations

from showday.sound.durations import length
from showday.sound.model import Finding
from showday.sound.runs import Span

ALIKE, UNLIKE, YOUNG = "alike", "unlike", "young"
"""How a sound stands behind its gap: as loud as before, at another loudness, not at all though it had just begun."""

STOPPED = (0.45, 0.5)
"""How sure zeros inside a sound are where a gate or the end of a digital sound looks the same, least and most. No other
gap is as sure as this and no surer: so these can be told from the rest."""


def silence(channel: int, span: Span, rate: int, *, lasts: bool) -> Finding:
    """A second and more of exact zeros; `lasts` when they go on at the end of what was heard.

    Zeros that ended may be a source that was not playing yet: less is claimed of them.
    """
    start, end = span.start / rate, span.end / rate
    said = f"Exact zeros for {length(span.longest / rate)}, not even noise"
    if lasts:
        sentence = (
            f"{said}: muted, switched off or not routed digitally? Check the routing and which channels are sent."
        )
    else:
        sentence = f"{said}, then it came back: muted, or a digital source that was not playing?"
    return Finding("digital_silence", channel, None, None, start, end, 1.0 if lasts else 0.5, sentence)


def dead_line(channel: int, floor_dbfs: float, start_s: float, end_s: float) -> Finding:
    """A line on which nothing rose above its noise, while other lines sounded."""
    sentence = (
        f"Only its own noise at {floor_dbfs:.0f} dBFS while other lines sounded: not played yet, or unplugged, "
        "a dead cable, phantom power off? Swap the cable and make a sound."
    )
    return Finding("dead", channel, round(floor_dbfs, 1), None, start_s, end_s, 0.5, sentence)


def digital_gap(channel: int, span: Span, rate: int, at_once: int, how: str) -> Finding:
    """Exact zeros inside a sound; `at_once` channels stopped at the same moments, this one included."""
    said = f"The sound stops to exact zeros {_times(span)}, {length(span.longest / rate)} at the longest"
    if at_once > 1:
        sentence = (
            f"{said}, on {at_once} channels at the same moment: look at USB, network and clock, not at the cables."
        )
    elif how == ALIKE:
        sentence = f"{said}: look at what is digital on the way (wireless receiver, network, clock, USB)."
    elif how == UNLIKE:
        sentence = f"{said}: a digital gate or the end of a sample looks the same. Play on steadily and listen."
    else:
        sentence = f"{said}, just after it began: a digital gate looks the same. Play on steadily and listen."
    sure = 1.0 if how == ALIKE or at_once > 1 else STOPPED[how == UNLIKE]
    return Finding("dropout", channel, None, None, span.start / rate, span.end / rate, sure, sentence)


def sound_break(channel: int, span: Span, rate: int, *, alike: bool, shared: bool) -> Finding:
    """A sound that broke off and came back at once, with noise between; `shared` when other lines broke off with it."""
    said = f"The sound breaks off {_times(span)}, for {length(span.longest / rate)} at the longest"
    if shared:
        sentence = f"{said}, and on other lines with it: the playing, or what they have in common."
        sure = 0.3
    elif alike:
        sentence = f"{said}, and comes back as loud: a loose contact? Move the cable and the plugs while it sounds."
        sure = 0.6 if span.events == 1 else 0.7
    else:
        sentence = (
            f"{said}, and comes back as suddenly: a loose contact? A gate or a stop in the playing looks the same."
        )
        sure = 0.4
    return Finding("dropout", channel, None, None, span.start / rate, span.end / rate, sure, sentence)


def _times(span: Span) -> str:
    return "once" if span.events == 1 else f"{span.events:,} times"
