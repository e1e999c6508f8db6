"""Made line checks of real recordings: what was put in against what was heard, and decoys that are no fault at all."""

from __future__ import annotations

import numpy as np
import pytest

from showday.sound.listener import Listener
from showday.sound.model import Block
from showday.sound.verdict import GOOD
from tests.sound import recordings
from tests.sound.confusion import Counts, count, listened, walked
from tests.sound.labelled import LEAD_S, line_check
from tests.sound.recordings import BASS, GUITAR, KEYS, RATE, Recording

pytestmark = pytest.mark.slow

SEEDS = range(13)
F0_HZ, LEVEL_DB, WRONG_SHARE = 0.03, 1.0, 0.01
"""What is demanded: frequency of hum that does not wander, level of a noise, share of channels with a wrong label."""
GENUINE = {"HiHatOpen-0", "perc_bell"}
"""Recordings that hold mains themselves: 49.999 Hz in the tail of a kit that was recorded on a 50 Hz grid, and a steady
line at 119.95 Hz under a bell."""
TONES = {"hum", "buzz", "ripple", "rf_buzz", "clock_tone"}
"""What music must not be called. A drone or a roll may be told as hiss: it is a steady noise."""


@pytest.fixture(scope="module")
def counts() -> Counts:
    made = Counts()
    for seed in SEEDS:
        one = line_check(recordings.every(), recordings.loops(), seed)
        count(made, one, listened(one), walked(one))
    return made


def test_no_line_is_called_good_that_is_not(counts: Counts, capsys: pytest.CaptureFixture[str]) -> None:
    with capsys.disabled():
        print(f"\n\n{counts.table()}\n")
    assert not counts.false_good


def test_most_lines_that_are_good_are_called_so(counts: Counts) -> None:
    good = counts.verdicts[GOOD, GOOD]
    assert good >= 0.8 * sum(n for (true, _), n in counts.verdicts.items() if true == GOOD)


def test_swapped_and_shifted_lines_are_named_exactly(counts: Counts) -> None:
    assert counts.swaps >= 10
    assert not counts.wrong_patch


def test_labels_are_right(counts: Counts) -> None:
    assert len(counts.wrong_labels) <= WRONG_SHARE * counts.channels, counts.wrong_labels


def test_frequencies_and_levels_are_right(counts: Counts) -> None:
    assert len(counts.f0_errors) >= 5
    assert max(counts.f0_errors) < F0_HZ
    assert len(counts.level_errors) >= 10
    assert max(counts.level_errors) < LEVEL_DB
    assert max(counts.peak_errors) < 0.1


def together(sounds: list[Recording], seconds: int = 12) -> Listener:
    """All of them at once, each on a channel of its own, over preamplifier noise, each again and again with pauses."""
    rng = np.random.default_rng(3)
    made = (rng.standard_normal((seconds * RATE, len(sounds))) * 2e-5).astype(np.float32)
    for channel, one in enumerate(sounds):
        sound = np.concatenate([0.2 * one.samples / np.abs(one.samples).max(), np.zeros(RATE // 2, np.float32)])
        made[:, channel] += np.resize(sound, len(made))
    listener = Listener(RATE, len(sounds), [])
    for first in range(0, len(made), RATE):
        listener.feed(Block(made[first : first + RATE], first))
    return listener


def test_no_note_of_bass_guitar_or_keys_and_no_music_is_called_hum() -> None:
    sounds = [one for one in recordings.every() if one.role in (BASS, GUITAR, KEYS)]
    sounds += [*recordings.loops(), recordings.hiss()]
    found = together(sounds).findings()
    assert not [(sounds[f.channel].name, f.kind, f.f0_hz) for f in found if f.kind in TONES]


def test_no_drum_or_voice_is_called_hum() -> None:
    sounds = [one for one in recordings.every() if one.role in ("drums", "voice") and one.name not in GENUINE]
    found = together(sounds[::2]).findings()
    assert not [(sounds[2 * f.channel].name, f.kind, f.f0_hz) for f in found if f.kind in TONES]


def test_the_same_seed_makes_the_same_line_check() -> None:
    one, other = (line_check(recordings.every(), recordings.loops(), 1, lines=6) for _ in range(2))
    assert np.array_equal(one.sound, other.sound)
    assert one.walk[0].start_s == LEAD_S
