"""The lines that stand at one place on every screen of a run: what is owed, elapsed, and what is left."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from showday.pace_words import BAR, outlook_words
from showday.run.phases import FINISHED
from showday.run.progress import Progress, progress
from showday.run.session import Session
from showday.run.slot import slot_time
from showday.run.touring import Show
from showday.tui.lines import Line, say

if TYPE_CHECKING:
    from showday.pacing import Outlook


def clock_words(seconds: float) -> str:
    """`6:40`, or `1:06:40` from an hour on."""
    whole = max(0, int(seconds))
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    return f"{hours}:{minutes:02d}:{left:02d}" if hours else f"{minutes}:{left:02d}"


def minutes_words(seconds: float) -> str:
    """`42 min`, `1 h 5 min`; under a minute in seconds."""
    if seconds < 60:
        return f"{int(seconds)} s"
    hours, minutes = divmod(int(seconds) // 60, 60)
    return f"{hours} h {minutes} min" if hours and minutes else f"{hours} h" if hours else f"{minutes} min"


@dataclass(frozen=True, slots=True)
class TimeLeft:
    """What the show says about time. Times in UTC, the changeover in seconds."""

    slot: str = ""
    slot_at: datetime | None = None
    changeover: float | None = None

    @classmethod
    def of(cls, show: Show | None, zone: tzinfo | None = None) -> TimeLeft:
        """What a show says; nothing when there is none."""
        if show is None:
            return cls()
        seconds = show.changeover * 60 if show.changeover else None
        return cls(show.slot, slot_time(show, zone), seconds)

    def parts(self, started: datetime | None, now: datetime) -> list[str]:
        """`changeover 6:40 left` and `slot 20:30 in 42 min`, as far as they are known.

        The changeover ends at the slot; without a slot it is counted from the start of the run.
        """
        slot = [f"slot {self.slot}"] if self.slot_at is not None else []
        to_slot = (self.slot_at - now).total_seconds() if self.slot_at is not None else None
        left = to_slot
        if left is None and started is not None and self.changeover is not None:
            left = self.changeover - (now - started).total_seconds()
        if self.changeover is not None and left is not None and 0 <= left <= self.changeover:
            return [f"changeover {clock_words(left)} left", *slot]
        when = [f"{slot[0]} {_when(to_slot)}"] if slot and to_slot is not None else []
        if self.changeover is None or left is None:
            return when
        return [f"changeover {minutes_words(self.changeover)}" if left > 0 else "changeover is OVER", *when]


def _when(seconds: float) -> str:
    return f"in {minutes_words(seconds)}" if seconds >= 0 else f"was {minutes_words(-seconds)} ago"


def owed_words(done: Progress, usual: bool = True) -> str:
    """`2 owed, 1 a must | 21 open, usually 6 min`: the same order always; the usual time only where no forecast is."""
    musts = sum(1 for key in done.musts_owed if key in done.owed)
    owed = f"{done.later} owed" + (f", {musts} a must" if musts else "")
    left = f"{done.open} open"
    if usual and done.usual_left:
        left += f", usually {minutes_words(done.usual_left)}"
    return f"{owed} | {left}"


def standing_lines(
    session: Session,
    place: str,
    show: Show | None,
    count: str = "",
    outlook: Outlook | None = None,
    *,
    small: bool = False,
) -> list[Line]:
    """The lines on top of every screen of a run; `count` stands instead of what is owed and open, the forecast last."""
    history = session.state.history
    started = datetime.fromisoformat(history[0].at.replace("Z", "+00:00")) if history else None
    times = [f"elapsed {clock_words(session.elapsed)}", *TimeLeft.of(show).parts(started, session.world.clock.now())]
    owed = count or owed_words(progress(session.state), usual=outlook is None and session.state.phase != FINISHED)
    lines = [Line("title", place), Line("count", owed), Line("time", " | ".join(times))]
    return [*lines, *pace_line(outlook, small)] if outlook else lines


SMALL_BAR = 10
"""Cells of the bar where the screen is narrow."""


def pace_line(outlook: Outlook, small: bool = False) -> list[Line]:
    """The forecast; when it will not fit, with the key for what to leave out."""
    said = outlook_words(outlook, SMALL_BAR if small else BAR)
    if outlook.fits:
        return say("time", said)
    return say("warning", f"{said}, F8" if said else "")
