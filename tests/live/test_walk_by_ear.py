"""The order in which inputs are asked for, ticked and left, with verdicts that a test scripts."""

from __future__ import annotations

import io
import math
import sys
from collections.abc import Iterator

import numpy as np
import pytest

from showday.commands import listen_walk
from showday.commands.listen_walk import RESTS_S, Keys, walk
from showday.sound.arrivals import Arrival
from showday.sound.listener import Listener
from showday.sound.model import Block, Meter, Samples
from showday.sound.verdict import AGAIN, GOOD, NOT_YET, TROUBLE, WRONG_CHANNEL, Heard, Wanted
from showday.sound_live import Live
from tests.live.made_source import MadeSource

INPUTS = [Wanted("Kick", 1, 0), Wanted("Snare", 2, 1)]
LOUD, SOFT = -20.0, -90.0


def heard(verdict: str, reason: str = "", found: int | None = None) -> Heard:
    arrival = None if found is None else Arrival("", 0, found, 20.0, "arrived", "")
    return Heard("", verdict, reason or f"{verdict}.", None, arrival)


class Scripted(Listener):
    """Gives the verdicts it was told to, one each time it is asked; time passes meanwhile."""

    def __init__(self, source: MadeSource, verdicts: list[Heard], peaks: list[float] | None = None) -> None:
        super().__init__(source.rate, source.channels, INPUTS)
        self.begun: list[tuple[str, float]] = []
        self._source, self._verdicts, self._peaks = source, iter(verdicts), iter(peaks or [])
        self._last = heard(NOT_YET)
        self._time = 0.0

    def feed(self, block: Block) -> None:
        self._time += len(block.samples) / self.rate

    def begin(self, input_name: str) -> None:
        self.begun.append((input_name, self._time))

    def end(self) -> Heard:
        return self._last

    def now(self) -> Heard:
        self._last = next(self._verdicts, self._last)
        return self._last

    def meters(self) -> list[Meter]:
        frames: Samples = np.zeros((self._source.rate // 10, self._source.channels), np.float32)
        self._source.put(frames)
        peak = next(self._peaks, SOFT)
        return [Meter(peak, peak, math.nan, peak, 0)] * self._source.channels


class Typed(Keys):
    """Lines that are typed one after the other, each when it is asked for."""

    def __init__(self, *lines: str | None) -> None:
        super().__init__()
        self.closed.clear()
        self._lines: Iterator[str | None] = iter(lines)

    def take(self) -> str | None:
        return next(self._lines, None)


class Tones:
    busy = False

    def __init__(self) -> None:
        self.said: list[str] = []

    def say(self, verdict: str) -> None:
        self.said.append(verdict)


class Went:
    """One walk, as it went."""

    def __init__(self, verdicts: list[Heard], *typed: str | None, peaks: list[float] | None = None) -> None:
        source = MadeSource()
        self.lines: list[str] = []
        self.tones = Tones()
        self.listener = Scripted(source, verdicts, peaks)
        live: Live[Listener] = Live(source, self.listener)
        live.start()
        walk(live, INPUTS, Typed(*typed), self.lines.append, self.tones)
        live.stop()

    @property
    def asked(self) -> list[str]:
        return [name for name, _ in self.listener.begun]


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(listen_walk, "ASKS_EVERY", 0.001)


def test_what_is_good_is_ticked_and_the_next_is_asked_for() -> None:
    went = Went([heard(NOT_YET), heard(GOOD, "Channel 1 peaks."), heard(NOT_YET), heard(GOOD, "Channel 2 peaks.")])
    assert went.lines[1:] == [
        "1 of 2  Kick, channel 1: make a sound.",
        "    good: Channel 1 peaks.",
        "2 of 2  Snare, channel 2: make a sound.",
        "    good: Channel 2 peaks.",
    ]
    assert went.tones.said == [GOOD, GOOD]


def test_what_is_not_good_stays_until_somebody_goes_on() -> None:
    verdicts = [heard(NOT_YET), heard(WRONG_CHANNEL, "On 9, wanted 1."), heard(TROUBLE), heard(AGAIN)]
    went = Went(verdicts, None, None, None, None, None, "", "end")
    assert went.asked == ["Kick", "Snare"]
    assert went.lines[2:5] == ["    WRONG CHANNEL: On 9, wanted 1.", "    trouble: trouble.", "    again: again."]
    assert went.tones.said == [WRONG_CHANNEL, TROUBLE, AGAIN]


def test_an_input_can_be_asked_for_anew_and_the_walk_ended() -> None:
    went = Went([], None, "again", "a", "q")
    assert went.asked == ["Kick", "Kick", "Kick"]


def test_a_level_that_moves_is_not_told_again_and_again_but_new_advice_is() -> None:
    levels = [heard(NOT_YET, f"Channel 1 peaks at -{n}.5 dBFS: louder.") for n in (60, 50, 40)]
    went = Went(
        [heard(NOT_YET), *levels, heard(NOT_YET, "Channel 1 peaks at -20.1 dBFS: let it rest.")], *[None] * 9, "q"
    )
    assert went.lines[2:] == [
        "    not yet: Channel 1 peaks at -60.5 dBFS: louder.",
        "    not yet: Channel 1 peaks at -20.1 dBFS: let it rest.",
    ]
    assert went.tones.said == []


def test_the_next_is_asked_for_when_the_last_has_come_to_rest() -> None:
    """The last stroke of one input must not be heard as the next one."""
    good = [heard(NOT_YET), heard(GOOD, found=0), heard(NOT_YET), heard(GOOD)]
    times = [at for _, at in Went(good).listener.begun]
    assert RESTS_S <= times[1] - times[0] < 2 * RESTS_S
    times = [at for _, at in Went(good, peaks=[LOUD] * 20).listener.begun]
    assert times[1] - times[0] >= 1.8 + RESTS_S  # a tenth of a second each, until it rests


def test_a_line_that_never_rests_does_not_stop_the_walk() -> None:
    went = Went([heard(NOT_YET), heard(GOOD, found=0), heard(NOT_YET), heard(GOOD)], peaks=[LOUD] * 1_000)
    assert went.asked == ["Kick", "Snare"]


def test_where_nobody_can_type_no_keys_are_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO())  # no file of the system is behind it
    keys = Keys()
    assert keys.closed.is_set()
    assert keys.take() is None
