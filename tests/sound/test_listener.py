"""What the listener says of an input that is sounded: good only when everything is right, and never too soon."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from showday.sound.arrivals import Arrival
from showday.sound.gap_words import UNLIKE, YOUNG, digital_gap, sound_break
from showday.sound.listener import Heard, Listener, Wanted
from showday.sound.model import HIGHEST_RATE, LOWEST_RATE, Block, Finding, Samples
from showday.sound.pairs import Pair
from showday.sound.runs import Span
from showday.sound.verdict import AGAIN, GOOD, LEAST_S, NOT_YET, TROUBLE, WRONG_CHANNEL, Limit, Rest, judge
from showday.sound.walk_csv import Window

RATE, LINES = 48_000, 8
INPUTS = [Wanted(f"in {n + 1}", n + 1, n, -24.0, -12.0) for n in range(LINES)]


class Stage:
    """Channels with the noise of preamplifiers at -90 dBFS, on which one may sound and hum."""

    def __init__(self, inputs: Sequence[Wanted] = INPUTS, rest_s: float = LEAST_S + 1, rate: int = RATE) -> None:
        self.rng = np.random.default_rng(5)
        self.listener = Listener(rate, LINES, inputs)
        self.rate, self.at = rate, 0
        self.hum_dbfs: dict[int, float] = {}
        self.silent: set[int] = set()
        self.play(rest_s)

    def play(self, seconds: float, *channels: int, peak: float = 0.2) -> Heard:
        """So much time passes, with a plucked tone on some channels; what is heard by then."""
        frames = round(seconds * self.rate)
        t = np.arange(self.at, self.at + frames) / self.rate
        sound = (self.rng.standard_normal((frames, LINES)) * 10 ** (-93 / 20)).astype(np.float32)
        pluck = peak * np.cos(2 * np.pi * 330 * (t - t[0])) * np.exp(-6 * (t - t[0]))
        for channel in channels:
            sound[:, channel] += pluck
        for channel, level in self.hum_dbfs.items():
            tones = [np.sin(2 * np.pi * 50.02 * k * t) * a for k, a in ((1, 1.0), (3, 0.25), (5, 0.07))]
            sound[:, channel] += 10 ** (level / 20) * np.sum(tones, axis=0) / np.sqrt(1 + 0.0625 + 0.0049)
        for channel in self.silent:
            sound[:, channel] = 0.0
        for first in range(0, frames, 1_024):
            self.listener.feed(Block(sound[first : first + 1_024], self.at + first))
        self.at += frames
        return self.listener.now()

    def sounded(self, name: str, *channels: int, peak: float = 0.2) -> Heard:
        """The input sounds on these channels and is left alone."""
        self.listener.begin(name)
        self.play(4.0, *channels, peak=peak)
        return self.listener.end()


def test_the_right_channel_at_the_right_level_is_good() -> None:
    stage = Stage()
    stage.listener.begin("in 3")
    assert stage.listener.now().verdict == NOT_YET
    assert stage.play(0.5, 2).verdict == NOT_YET  # it has not rested yet
    heard = stage.play(3.0)
    assert heard.verdict == GOOD, heard.reason
    assert heard.level_dbfs == pytest.approx(20 * np.log10(0.2), abs=0.02)
    assert heard.reason == "Channel 3 peaks at -14.0 dBFS, nothing wrong heard."
    assert stage.listener.end() == stage.listener.report().heard[0]
    assert stage.listener.now().input == ""


@pytest.mark.parametrize(
    ("channels", "peak", "verdict", "words"),
    [
        ((), 0.2, NOT_YET, "nothing"),
        ((6,), 0.2, WRONG_CHANNEL, "channel 7"),
        ((2, 6), 0.2, AGAIN, "channels"),
        ((2,), 0.05, NOT_YET, "wanted at least -24"),
        ((2,), 0.26, TROUBLE, "wanted at most -12"),
    ],
)
def test_whatever_else_is_not_good(channels: tuple[int, ...], peak: float, verdict: str, words: str) -> None:
    heard = Stage().sounded("in 3", *channels, peak=peak)
    assert heard.verdict == verdict
    assert words.casefold() in heard.reason.casefold()


def test_nothing_is_good_before_enough_was_heard_to_tell_hum() -> None:
    stage = Stage(rest_s=0.5)
    heard = stage.sounded("in 1", 0)
    assert heard.verdict == NOT_YET
    assert "hum" in heard.reason
    stage.listener.begin("in 1")
    assert stage.play(LEAST_S, 0).verdict == GOOD


def test_a_line_that_never_rests_is_not_good() -> None:
    stage = Stage(rest_s=1.45)
    stage.listener.begin("in 1")
    for _ in range(46):
        stage.play(0.1, 0)
    heard = stage.listener.now()
    assert heard.verdict == NOT_YET
    assert "rest" in heard.reason
    assert stage.play(4.0).verdict == GOOD


@pytest.mark.parametrize(("level", "verdict"), [(-50.0, TROUBLE), (-66.0, TROUBLE), (-76.0, GOOD)])
def test_hum_keeps_a_line_from_being_good_above_its_limit_only(level: float, verdict: str) -> None:
    stage = Stage(rest_s=0.1)
    stage.hum_dbfs[0] = level
    stage.play(LEAST_S + 1)
    heard = stage.sounded("in 1", 0)
    assert heard.verdict == verdict, heard.reason
    assert [finding.kind for finding in heard.findings] == ["hum"]
    assert stage.sounded("in 2", 1).verdict == GOOD


def test_a_limit_of_ones_own_counts() -> None:
    calm = [replace(one, limits={"hum": Limit(-40.0)}) for one in INPUTS]
    stage = Stage(calm, rest_s=0.1)
    stage.hum_dbfs[0] = -50.0
    stage.play(LEAST_S + 1)
    assert stage.sounded("in 1", 0).verdict == GOOD


def test_hum_that_was_cured_is_forgotten_while_walking_and_kept_in_the_report() -> None:
    stage = Stage(rest_s=0.1)
    stage.hum_dbfs[0] = -50.0
    stage.play(20.0)
    stage.hum_dbfs.clear()
    stage.play(20.0)
    assert stage.sounded("in 1", 0).verdict == GOOD
    report = stage.listener.report()
    assert report.heard[0].verdict == TROUBLE
    assert [f.kind for f in report.channels[0].findings] == ["hum"]


def test_a_further_try_counts_alone() -> None:
    stage = Stage()
    assert stage.sounded("in 3", 4).verdict == WRONG_CHANNEL
    assert stage.sounded("in 3", 2).verdict == GOOD
    assert stage.sounded("in 1", 0, peak=0.6).verdict == TROUBLE
    assert stage.sounded("in 1", 0).verdict == GOOD


def test_a_muted_line_says_so_and_its_zeros_hide_no_hum() -> None:
    stage = Stage(rest_s=0.1)
    stage.silent.add(0)
    stage.play(LEAST_S + 1)
    heard = stage.sounded("in 1")
    assert heard.verdict == NOT_YET
    assert "zeros" in heard.reason
    stage.silent.clear()  # unmuted, and played on without a rest
    stage.listener.begin("in 1")
    for _ in range(8):
        heard = stage.play(0.2, 0)
        assert heard.verdict != GOOD


def played(digital: bool, *, gap_s: float = 0.0, hum: bool = False) -> list[Heard]:
    """A source that gives exact zeros when it does not play: what is heard while it plays, and when it rests again."""
    wanted = Wanted("playback", 1, 0, -24.0, -12.0, digital)
    listener, rng = Listener(RATE, 3, [wanted]), np.random.default_rng(4)
    sound = (rng.standard_normal((14 * RATE, 3)) * 10 ** (-93 / 20)).astype(np.float32)
    t = np.arange(3 * RATE) / RATE
    sound[:, 0] = 0.0
    sound[7 * RATE : 10 * RATE, 0] = 0.15 * np.cos(2 * np.pi * 330 * t) * (1 + 0.2 * np.sin(2 * np.pi * 3 * t))
    if hum:
        sound[: 13 * RATE, 0] += 10 ** (-62 / 20) * np.sin(2 * np.pi * 50.02 * np.arange(13 * RATE) / RATE)
    if gap_s:
        sound[8 * RATE : 8 * RATE + round(gap_s * RATE), 0] = 0.0
    found = []
    for first in range(0, len(sound), RATE // 10):
        if first == 6 * RATE + RATE // 2:
            listener.begin("playback")
        listener.feed(Block(sound[first : first + RATE // 10], first))
        if first > 7 * RATE:
            found.append(listener.now())
    return found


def test_a_digital_source_rests_in_exact_zeros_and_others_do_not() -> None:
    assert played(digital=True)[-1].verdict == GOOD
    assert GOOD not in {heard.verdict for heard in played(digital=False)}


def test_a_digital_source_that_breaks_off_or_hums_is_not_good() -> None:
    """Its zeros are no rest while something else is in the same second."""
    assert GOOD not in {heard.verdict for heard in played(digital=True, gap_s=0.1)}
    assert GOOD not in {heard.verdict for heard in played(digital=True, hum=True)}


@pytest.mark.parametrize(("digital", "verdict"), [(True, GOOD), (False, TROUBLE)])
def test_a_digital_source_may_stop_in_zeros_and_not_as_a_contact_does(digital: bool, verdict: str) -> None:
    wanted = Wanted("playback", 1, 0, -24.0, -12.0, digital)
    arrival = Arrival("playback", 0, 0, 40.0, "arrived", "It arrives.")
    span, rest = Span(RATE, RATE + 4_800, 1, 4_800, 4_800), Rest(20.0, -80.0, -80.0)
    ended = digital_gap(0, span, RATE, 1, UNLIKE)
    assert judge(wanted, arrival, -18.0, [ended], rest).verdict == verdict
    begun = digital_gap(0, span, RATE, 1, YOUNG)
    assert judge(wanted, arrival, -18.0, [begun], rest).verdict == (GOOD if digital else AGAIN)
    broken = sound_break(0, span, RATE, alike=False, shared=False)
    assert judge(wanted, arrival, -18.0, [broken], rest).verdict == AGAIN


@pytest.mark.parametrize(("level", "verdict"), [(-65.0, AGAIN), (-72.0, GOOD)])
def test_hum_that_was_claimed_once_and_not_proven_asks_for_another_tap(level: float, verdict: str) -> None:
    arrival = Arrival("in 1", 0, 0, 40.0, "arrived", "It arrives.")
    doubt = Finding("ripple", 0, level, 62.7, 0.5, 10.0, 0.75, "Hum of even lines.")
    heard = judge(INPUTS[0], arrival, -18.0, [], Rest(40.0, -64.0, -64.0, (doubt,)))
    assert heard.verdict == verdict
    assert heard.findings == ()


@pytest.mark.parametrize(("level", "sent"), [(-78.0, (1, 4)), (-72.0, (1, 4)), (-45.0, (1, 4)), (-78.0, (9, 13))])
def test_a_faint_phone_or_one_that_is_gone_hides_no_loose_contact(level: float, sent: tuple[int, int]) -> None:
    """GSM sends in one slot of eight in frames of 120/26 ms, every 26th is idle (3GPP TS 45.010)."""
    listener, rng = Listener(RATE, 2, INPUTS[:2]), np.random.default_rng(3)
    sound = (rng.standard_normal((14 * RATE, 2)) * 10 ** (-98 / 20)).astype(np.float32)
    t = np.arange(*(second * RATE for second in sent)) / RATE
    frame = t * 26 / 0.120
    bursts = ((frame % 1 < 1 / 8) & (np.floor(frame) % 26 != 25)) - 1 / 8
    sound[sent[0] * RATE : sent[1] * RATE, 0] += bursts * 10 ** (level / 20) / np.sqrt(2 * np.mean(bursts**2))
    played = 0.05 * rng.standard_normal(2 * RATE)
    for start in (RATE // 2, RATE):
        played[start : start + 3_000] *= 1e-3
    sound[10 * RATE : 12 * RATE, 0] += played
    for first in range(0, len(sound), RATE // 10):
        if first == 9 * RATE:
            listener.begin("in 1")
        listener.feed(Block(sound[first : first + RATE // 10], first))
    assert {"rf_buzz", "dropout"} <= {one.kind for one in listener.findings() if one.channel == 0}
    assert listener.end().verdict == TROUBLE


def test_what_was_plugged_in_with_the_sound_is_judged_first() -> None:
    stage = Stage(rest_s=18.0)
    stage.listener.begin("in 1")
    stage.hum_dbfs[0] = -64.0
    heard = stage.play(3.4, 0)
    assert heard.verdict == NOT_YET
    assert "rose" in heard.reason
    assert stage.play(14.0).verdict == TROUBLE


def test_an_input_that_nobody_listed_is_never_good() -> None:
    stage = Stage()
    heard = stage.sounded("Kazoo", 3)
    assert heard.verdict == NOT_YET
    assert heard.input == "Kazoo"


def test_a_channel_that_the_device_does_not_have_is_never_good() -> None:
    stage = Stage([Wanted("far", 40, 39, -24.0, -12.0)])
    assert stage.sounded("far").verdict == NOT_YET
    assert stage.sounded("far", 5).verdict != GOOD


def test_ending_what_was_not_begun_and_beginning_twice() -> None:
    stage = Stage()
    assert stage.listener.end().verdict == NOT_YET
    stage.listener.begin("in 1")
    stage.listener.begin("in 2")
    assert stage.play(4.0, 1).input == "in 2"
    assert stage.listener.end().verdict == GOOD


def walk(sound: Samples) -> tuple[Samples, list[Window]]:
    """Three inputs sound, four seconds apart, in noise that is given."""
    windows = []
    t = np.arange(RATE) / RATE
    for index in range(3):
        start = 7 + 4 * index
        sound[start * RATE : (start + 1) * RATE, index] += (
            0.2 * np.sin(2 * np.pi * 440 * t) * np.exp(-4 * t)
        ).astype("f")
        windows.append(Window(f"in {index + 1}", index, start - 0.5, start + 2.5))
    return sound, windows


def noise(seconds: int = 20, seed: int = 0) -> Samples:
    return (np.random.default_rng(seed).standard_normal((seconds * RATE, LINES)) * 3e-5).astype(np.float32)


def fed(sound: Samples, windows: Sequence[Window], size: int) -> Listener:
    listener = Listener(RATE, LINES, INPUTS, windows, [Pair(0, 1)])
    for first in range(0, len(sound), size):
        listener.feed(Block(sound[first : first + size], first))
    return listener


def test_a_planned_walk_says_the_same_for_any_size_of_block() -> None:
    sound, windows = walk(noise())
    reports = [fed(sound, windows, size).report() for size in (997, 4_096, len(sound))]
    assert [h.verdict for h in reports[0].heard] == [GOOD] * 3
    for report in reports:
        assert [(h.input, h.verdict, h.level_dbfs) for h in report.heard] == [
            (h.input, h.verdict, h.level_dbfs) for h in reports[0].heard
        ]
        assert [c.findings for c in report.channels] == [c.findings for c in reports[0].channels]
        assert report.seconds == 20.0


def test_frames_that_the_host_lost_are_counted_and_blamed_on_no_line() -> None:
    sound = walk(noise())[0]
    sound += (0.05 * np.sin(2 * np.pi * 500 * np.arange(len(sound)) / RATE))[:, None].astype("f")
    listener = Listener(RATE, LINES, INPUTS)
    at = 0
    for index, first in enumerate(range(0, len(sound), 1_000)):
        lost = 2_400 if index % 50 == 49 else 0
        at += lost
        listener.feed(Block(sound[first : first + 1_000], at, overflow=bool(lost)))
        at += 1_000
    assert listener.lost_frames == listener.report().lost_frames == 19 * 2_400
    assert not [f for f in listener.findings() if f.kind == "dropout"]


@pytest.mark.parametrize("rate", [LOWEST_RATE, 44_100, 96_000, HIGHEST_RATE])
def test_every_rate_is_listened_to(rate: int) -> None:
    stage = Stage(rate=rate)
    assert stage.sounded("in 3", 2).verdict == GOOD
    assert stage.sounded("in 4", 2).verdict == WRONG_CHANNEL


@pytest.mark.parametrize("channels", [1, 128])
def test_any_number_of_channels(channels: int) -> None:
    listener = Listener(RATE, channels, [Wanted("last", channels, channels - 1)])
    rng = np.random.default_rng(2)
    for first in range(0, 2 * RATE, 4_096):
        listener.feed(Block((rng.standard_normal((4_096, channels)) * 1e-4).astype(np.float32), first))
    assert len(listener.meters()) == len(listener.report().channels) == channels
    assert listener.report().channels[-1].input == "last"


def bad(kind: str) -> Samples:
    sound = noise(3)
    if kind == "square":
        sound[:, 0] = np.where(np.arange(len(sound)) // 50 % 2, 1.0, -1.0)
    elif kind == "direct voltage":
        sound += 0.5
    else:
        sound[::7] = {"nan": np.nan, "inf": np.inf, "-inf": -np.inf, "huge": 1e30, "zeros": 0.0}[kind]
    return sound


@pytest.mark.parametrize("kind", ["nan", "inf", "-inf", "huge", "zeros", "direct voltage", "square"])
def test_bad_samples_are_survived(kind: str) -> None:
    listener = Listener(RATE, LINES, INPUTS, pairs=[Pair(0, 1)])
    sound = bad(kind)
    listener.begin("in 1")
    for first in range(0, len(sound), 1_024):
        listener.feed(Block(sound[first : first + 1_024], first))
    assert listener.now().verdict != GOOD
    listener.end()
    for meter in listener.meters():
        assert np.isfinite([meter.peak_dbfs, meter.level_dbfs, meter.held_peak_dbfs]).all()
    assert ("clipping" in {f.kind for f in listener.findings() if f.channel == 0}) == (kind == "square")


def test_nothing_was_fed() -> None:
    listener = Listener(RATE, LINES, INPUTS)
    assert listener.report().seconds == 0.0
    assert listener.findings() == []
    listener.feed(Block(np.zeros((0, LINES), np.float32), 0))
    assert listener.now().verdict == NOT_YET
