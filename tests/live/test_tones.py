"""The tones in the walker's ear: quiet, without clicks, told apart, and never more than one waiting."""

from __future__ import annotations

import sys
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from showday.errors import SoundTrouble
from showday.sound.model import Samples
from showday.sound.verdict import GOOD, NOT_YET, TROUBLE, VERDICTS, WRONG_CHANNEL
from showday.sound_devices import Device
from showday.tones_out import LEVEL_DBFS, LOUDEST_DBFS, PATTERNS, Tones, open_tones, pattern

PHONES = Device(4, "Phones", "ALSA", 0, 2, 48_000)


def db(samples: Samples) -> float:
    return float(20 * np.log10(np.abs(samples).max()))


@pytest.mark.parametrize("verdict", VERDICTS)
@pytest.mark.parametrize("rate", [8_000, 44_100, 48_000, 192_000])
def test_no_pattern_is_loud_or_clicks(verdict: str, rate: int) -> None:
    made = pattern(verdict, rate)
    assert db(made) == pytest.approx(LEVEL_DBFS, abs=0.2)
    assert made[0] == made[-1] == 0
    # The steepest step of a sine of amplitude a and f Hz is 2 pi f a / rate; an edge that clicks is steeper.
    highest = max(hertz for hertz, _ in PATTERNS[verdict])
    steepest = 2 * np.pi * highest / rate * 10 ** (LEVEL_DBFS / 20)
    assert np.abs(np.diff(made)).max() <= steepest * 1.05
    assert len(made) < 1.0 * rate


@pytest.mark.parametrize("asked", [-40.0, -26.0, -10.0, 0.0, 40.0, float("inf")])
def test_whatever_is_asked_for_the_level_is_limited(asked: float) -> None:
    for verdict in VERDICTS:
        assert db(pattern(verdict, 48_000, asked)) <= LOUDEST_DBFS + 1e-3


def test_the_patterns_that_matter_are_told_apart() -> None:
    tunes = [tuple(hertz for hertz, _ in PATTERNS[verdict]) for verdict in (GOOD, NOT_YET, WRONG_CHANNEL, TROUBLE)]
    assert len(set(tunes)) == len(tunes)
    assert not len(pattern("no such verdict", 48_000))


class Stream:
    """Stands for an output that asks when the test does."""

    def __init__(self, callback: Any, channels: int, **settings: Any) -> None:
        self.callback, self.channels, self.active = callback, channels, False

    def start(self) -> None:
        self.active = True

    def abort(self, ignore_errors: bool) -> None:
        self.active = False

    def close(self, ignore_errors: bool) -> None:
        self.active = False

    def ask(self, frames: int) -> Samples:
        out = np.ones((frames, self.channels), np.float32)
        self.callback(out, frames, None, None)
        return out


@pytest.fixture
def streams(monkeypatch: pytest.MonkeyPatch) -> list[Stream]:
    made: list[Stream] = []

    def stream(**settings: Any) -> Stream:
        made.append(Stream(**settings))
        return made[-1]

    fake = SimpleNamespace(OutputStream=stream, PortAudioError=OSError, check_output_settings=lambda **settings: None)
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    return made


def test_a_pattern_goes_to_its_own_channel_and_silence_follows(streams: list[Stream]) -> None:
    tones = open_tones("phones", 1, [PHONES])
    out = streams[0]
    assert not out.ask(500).any()
    assert not tones.busy
    tones.say(GOOD)
    assert tones.busy
    wanted = pattern(GOOD, 48_000)
    got = np.concatenate([out.ask(417) for _ in range(len(wanted) // 417 + 2)])
    assert not got[:, 0].any()
    assert np.array_equal(got[: len(wanted), 1], wanted)
    assert not got[len(wanted) :].any()
    assert not tones.busy
    tones.close()


def test_of_several_that_wait_only_the_latest_is_played(streams: list[Stream]) -> None:
    tones = Tones(PHONES)
    tones.open()
    for verdict in (NOT_YET, WRONG_CHANNEL, GOOD):
        tones.say(verdict)
    wanted = pattern(GOOD, 48_000)
    assert np.array_equal(streams[0].ask(len(wanted))[:, 0], wanted)
    assert not tones.busy
    tones.close()


def test_closing_ends_it_at_once(streams: list[Stream]) -> None:
    tones = Tones(PHONES)
    tones.open()
    tones.say(GOOD)
    tones.close()
    assert not tones.busy
    assert not streams[0].active


def test_the_caution_speaks_of_hearing_and_of_the_house(streams: list[Stream]) -> None:
    caution = Tones(PHONES, 1).caution
    assert "Phones, output 2" in caution
    assert "Hearing" in caution
    assert "house" in caution


def test_an_output_that_is_not_there(streams: list[Stream]) -> None:
    with pytest.raises(SoundTrouble, match="Phones has 2 output channels, and 3 are needed"):
        open_tones("phones", 2, [PHONES])
