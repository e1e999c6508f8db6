"""The thread that listens: it takes what comes, says what was lost, and sees when the device is gone."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import numpy as np
import pytest

from showday.errors import SoundTrouble
from showday.sound.model import Samples
from showday.sound.ring import frames_to_hold
from showday.sound_live import STALLS_AFTER, STARTS_WITHIN, TAKES, Live
from tests.live.made_source import Breaks, Collector, MadeSource, StillClock

BY_HAND = "go on by hand"


@pytest.fixture
def source() -> MadeSource:
    return MadeSource()


@pytest.fixture
def clock() -> StillClock:
    return StillClock()


@pytest.fixture
def live(source: MadeSource, clock: StillClock) -> Iterator[Live[Collector]]:
    """Opened, but without its thread: the test takes the steps."""
    made = Live(source, Collector(), clock=clock)
    source.open(made._ring.put, made._ended.set)
    yield made
    made.stop()


def noise(frames: int, channels: int = 2) -> Samples:
    return np.random.default_rng(frames).uniform(-1, 1, (frames, channels)).astype(np.float32)


def test_the_thread_hears_everything_in_order(source: MadeSource) -> None:
    live, sound = Live(source, Collector()), noise(20_000)
    live.start()
    for part in np.array_split(sound, 23):
        source.put(part)
    live.stop()
    heard = live.ask(lambda collector: collector.samples)
    assert np.array_equal(heard, sound)
    assert live.ask(lambda collector: max(len(block.samples) for block in collector.blocks)) <= TAKES
    assert (live.trouble, live.said(), source.is_open, live.running) == (None, (), False, False)
    assert live.seconds == 20_000 / source.rate


def test_so_many_seconds_are_heard_to_the_frame(source: MadeSource) -> None:
    live = Live(source, Collector(), seconds=1.5)
    live.start()
    source.put(noise(16_000))
    while live.wait(1):
        pass
    live.stop()
    assert len(live.ask(lambda collector: collector.samples)) == 12_000
    assert live.trouble is None


def test_lost_frames_are_counted_and_nobodys_cable_is_blamed(live: Live[Collector], source: MadeSource) -> None:
    room = frames_to_hold(source.rate, source.channels)
    source.silence(room + 800)
    source.silence(200)
    live.step()
    source.silence(100, overflow=True)
    source.silence(100)
    live.step()
    assert (live.lost_frames, live.overruns) == (1_000, 1)
    blocks = live.ask(lambda collector: collector.blocks)
    assert [block.first for block in blocks if block.overflow] == [room + 1_000]
    assert live.seconds == (room + 1_200) / source.rate
    assert live.said() == (
        "The computer was too slow: 1,000 frames (0.12 s) were not heard.",
        "The sound system lost frames once before they came here.",
        "Gaps from this are the computer's, not a line's: close other programs.",
    )
    assert "cable" not in " ".join(live.said())


def test_a_device_that_vanishes_says_so_and_nothing_heard_is_lost(live: Live[Collector], source: MadeSource) -> None:
    source.silence(40_000)
    live.step()
    source.silence(8_000)
    source.vanish()
    live.step()
    assert not live.running
    assert len(live.ask(lambda collector: collector.samples)) == 48_000
    assert str(live.trouble).startswith("Rack stopped after 6 s: it was unplugged, switched off, or taken away.")
    assert BY_HAND in str(live.trouble)


@pytest.mark.parametrize(
    ("begun", "most", "said"),
    [(False, STARTS_WITHIN, "No sound comes from Rack."), (True, STALLS_AFTER, "Rack stopped")],
)
def test_a_device_that_falls_silent_without_a_word_counts_as_gone(
    live: Live[Collector], source: MadeSource, clock: StillClock, begun: bool, most: float, said: str
) -> None:
    if begun:
        source.silence(100)
    live.step()
    clock.now += most
    live.step()
    assert live.running
    clock.now += 0.1
    live.step()
    assert not live.running
    assert str(live.trouble).startswith(said)


def test_stopping_it_is_no_trouble(source: MadeSource) -> None:
    live = Live(source, Collector())
    live.start()
    live.stop()
    live.stop()
    assert live.trouble is None


def test_a_source_that_cannot_begin_starts_no_thread() -> None:
    before = threading.active_count()
    live = Live(MadeSource(trouble="Rack is in use or was unplugged."), Collector())
    with pytest.raises(SoundTrouble, match="in use"):
        live.start()
    assert threading.active_count() == before
    live.stop()


def test_a_listener_that_breaks_ends_the_listening_with_a_sentence(source: MadeSource) -> None:
    live = Live(source, Breaks())
    live.start()
    source.silence(10)
    while live.wait(1):
        pass
    live.stop()
    assert str(live.trouble).startswith("Listening failed: ZeroDivisionError: no such number.")
    assert BY_HAND in str(live.trouble).casefold()
