from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from showday.sound.alignment import WIDEST_S, Comparison
from showday.sound.model import Block, Floats, Samples
from showday.sound.pairs import Pair, Pairs, PairVerdict
from tests.sound import recordings
from tests.sound.made_checks import blocks
from tests.support.sentences import broken

RATE = 48_000


def delayed(sound: Floats, frames: int) -> Floats:
    """The sound so many frames later."""
    made = np.zeros_like(sound)
    if frames >= 0:
        made[frames:] = sound[: len(sound) - frames]
    else:
        made[:frames] = sound[-frames:]
    return made


def drum(seed: int, seconds: float = 0.9, rate: int = RATE) -> Floats:
    """A skin that rings at 60 to 140 Hz, with the click of the stick."""
    draw = np.random.default_rng(seed)
    time = np.arange(round(seconds * rate)) / rate
    skin = np.sin(2 * np.pi * draw.uniform(60, 140) * time) * np.exp(-time / draw.uniform(0.05, 0.15))
    click = draw.standard_normal(len(time)) * np.exp(-time / 0.01)
    made: Floats = 0.3 * skin + 0.1 * click
    return made


def heard(samples: Floats, pairs: list[Pair], size: int = 4_096, rate: int = RATE) -> list[PairVerdict]:
    found = Pairs(rate, samples.shape[1], pairs)
    for block in blocks(samples.astype(np.float32), size):
        found.feed(block)
    said = found.result()
    assert said == found.result()
    assert [sign for one in said for sign in broken(one.sentence)] == []
    return said


def hits(count: int, sign: int, lag: int, seed: int, noise_db: float = -80, rate: int = RATE) -> Floats:
    """Half a second of noise, then `count` hits: the second channel `lag` frames later, upside down with -1."""
    draw = np.random.default_rng(seed)
    every = [np.zeros(rate // 2), *(drum(10 * seed + i, rate=rate) for i in range(count)), np.zeros(rate // 2)]
    sound = np.concatenate(every)
    two = np.stack([sound, 0.6 * sign * delayed(sound, lag)], axis=1)
    return two + draw.standard_normal(two.shape) * 10 ** (noise_db / 20)


@pytest.mark.parametrize("lag", [-240, -37, -1, 0, 1, 100, 240])
@pytest.mark.parametrize("sign", [1, -1])
def test_the_delay_of_a_burst_is_that_of_the_plain_correlation(lag: int, sign: int) -> None:
    """scipy.signal.correlate on wide-band noise, where its peak is sharp, too."""
    draw = np.random.default_rng(abs(lag))
    frames = 16_384 - int(WIDEST_S * RATE)
    sound = signal.lfilter(*signal.butter(2, (200, 7_000), "band", fs=RATE), draw.standard_normal(frames))
    left = sound + 0.02 * draw.standard_normal(frames)
    right = sign * delayed(sound, lag) + 0.02 * draw.standard_normal(frames)
    plain = signal.correlate(right, left)
    at = int(np.abs(plain).argmax()) - (frames - 1)
    assert at == lag
    found = Comparison(RATE, frames).compare(left, right)
    assert found.lag_s == lag / RATE
    assert found.sign == np.sign(plain[at + frames - 1]) == sign


def test_a_pure_delay_has_a_peak_of_one_and_nothing_beside_it() -> None:
    impulse = np.zeros(8_000)
    impulse[4_000] = 1
    comparison = Comparison(RATE, len(impulse))
    one, other = (np.fft.rfft(each, 16_384)[: len(comparison.band)] for each in (impulse, -delayed(impulse, 48)))
    found = comparison.phase_transform(one, other)
    most = int(WIDEST_S * RATE)
    assert len(found) == 2 * most + 1
    assert int(np.abs(found).argmax()) == most + 48
    assert found[most + 48] == pytest.approx(-1.0, abs=1e-6)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("lag", [0, 30, -90])
def test_one_hit_and_more_tell_polarity_and_delay(seed: int, sign: int, lag: int) -> None:
    (found,) = heard(hits(1 + seed % 4, sign, lag, seed), [Pair(0, 1)])
    assert found.polarity == ("same" if sign > 0 else "inverted")
    assert found.lag_ms == pytest.approx(1_000 * lag / RATE, abs=0.03)
    later = None if not lag else "2 is 0.6" if lag > 0 else "1 is 1.8"
    assert (later or "Channels 1 and 2") in found.sentence


@pytest.mark.parametrize("size", [100, 48_000])
def test_the_answer_does_not_hang_on_the_size_of_the_blocks(size: int) -> None:
    samples = hits(3, -1, 30, 5)
    assert heard(samples, [Pair(0, 1)], size) == heard(samples, [Pair(0, 1)])


def test_microphones_that_face_each_other_are_expected_upside_down() -> None:
    pair = [Pair(0, 1, inverted=True)]
    (found,) = heard(hits(2, -1, 10, 1), pair)
    assert found.polarity == "expected inverted"
    assert "as expected" in found.sentence
    (found,) = heard(hits(2, 1, 10, 1), pair)
    assert found.polarity == "same"
    assert "though one should be upside down" in found.sentence


def test_spill_of_another_drum_with_the_other_sign_does_not_count() -> None:
    """The kick reaches the microphones above and below the snare alike, and 20 dB softer than the snare."""
    snare = hits(4, -1, 12, 3)
    spill = 0.1 * hits(4, 1, 0, 9)
    for order in ([snare, spill], [spill, snare]):
        (found,) = heard(np.concatenate(order), [Pair(0, 1)])
        assert found.polarity == "inverted"


@pytest.mark.parametrize("seed", range(10))
def test_what_is_not_alike_can_not_be_told(seed: int) -> None:
    draw = np.random.default_rng(seed)
    left, right = hits(4, 1, 0, seed)[:, 0], hits(4, 1, 0, seed + 50)[:, 0]
    (found,) = heard(np.stack([left, right], axis=1), [Pair(0, 1)])
    assert found.polarity == "can't tell"
    burst = np.repeat(draw.integers(0, 2, 12), RATE // 2)[:, None] * draw.standard_normal((6 * RATE, 2)) * 0.1
    (found,) = heard(burst + 1e-4 * draw.standard_normal(burst.shape), [Pair(0, 1)])
    assert (found.polarity, found.lag_ms) == ("can't tell", None)


@pytest.mark.parametrize("sign", [1, -1])
def test_hum_tones_and_silence_say_nothing_of_polarity(sign: int) -> None:
    time = np.arange(6 * RATE) / RATE
    noise = np.random.default_rng(1).standard_normal((len(time), 2)) * 1e-4
    hum = sum(np.sin(2 * np.pi * 50 * k * time) / k for k in range(1, 8)) * 0.05
    (found,) = heard(np.stack([hum, sign * hum], axis=1) + noise, [Pair(0, 1)])
    assert (found.polarity, found.lag_ms) == ("can't tell", None)
    beep = np.sin(2 * np.pi * 1_000 * time) * 0.1 * (time % 1 > 0.5)
    (found,) = heard(np.stack([beep, sign * delayed(beep, 100)], axis=1) + noise, [Pair(0, 1)])
    assert found.polarity in ("can't tell", "same" if sign > 0 else "inverted")  # its clicks may tell it
    (found,) = heard(noise, [Pair(0, 1)])
    assert (found.polarity, found.lag_ms) == ("can't tell", None)
    assert "have heard no sound together yet" in found.sentence


def test_a_stereo_line_with_one_side_turned_over_is_told_apart_from_a_right_one() -> None:
    """Keys: the middle on both sides, and a third of it different."""
    draw = np.random.default_rng(4)
    time = np.arange(6 * RATE) / RATE
    every = [np.sin(2 * np.pi * f * k * time) / k for f in (131.0, 164.8, 196.0) for k in range(1, 6)]
    chord = 0.03 * np.sum(every, axis=0) * (time % 1.5 > 0.5)
    sides = signal.lfilter(*signal.butter(1, 1_500, fs=RATE), draw.standard_normal((len(time), 2)), axis=0) * 0.002
    for sign, polarity in ((1, "same"), (-1, "inverted")):
        line = np.stack([chord, sign * chord], axis=1) + sides + draw.standard_normal(sides.shape) * 1e-4
        assert heard(line, [Pair(0, 1)])[0].polarity == polarity


def test_several_pairs_keep_the_order_given_and_channels_that_are_not_there_are_no_crash() -> None:
    samples = np.concatenate([hits(2, 1, 0, 1), hits(2, -1, 20, 2)], axis=1)
    found = heard(samples, [Pair(2, 3), Pair(0, 1), Pair(1, 9), Pair(3, 2)])
    assert [(one.left, one.right, one.polarity) for one in found] == [
        (2, 3, "inverted"),
        (0, 1, "same"),
        (1, 9, "can't tell"),
        (3, 2, "inverted"),
    ]
    assert found[0].lag_ms == pytest.approx(20 / 48, abs=0.03)
    assert found[3].lag_ms == pytest.approx(-20 / 48, abs=0.03)
    assert heard(samples, []) == []


def test_lost_frames_do_not_make_a_delay() -> None:
    samples: Samples = hits(6, 1, 0, 3).astype(np.float32)
    found = Pairs(RATE, 2, [Pair(0, 1)])
    for block in blocks(samples, 5_000):
        late = block.first >= 60_000
        found.feed(Block(block.samples, block.first + 777 * late, block.first == 60_000))
    assert [(one.polarity, one.lag_ms) for one in found.result()] == [("same", 0.0)]


@pytest.mark.parametrize("rate", [8_000, 44_100, 192_000])
def test_every_rate_works(rate: int) -> None:
    (found,) = heard(hits(3, -1, rate // 1_000, 2, rate=rate), [Pair(0, 1)], rate=rate)
    assert found.polarity == "inverted"
    assert found.lag_ms == pytest.approx(1.0, abs=0.13)


def test_no_numbers_are_no_crash() -> None:
    samples = hits(3, 1, 0, 1)
    samples[30_000:31_000, 0], samples[50_000:50_010, 1] = np.nan, np.inf
    heard(samples, [Pair(0, 1)])


def test_no_recorded_hit_of_a_drum_kit_is_surely_wrong_and_kicks_are_told() -> None:
    """A stereo kit whose two sides have the right polarity, as recorded and with one side turned over."""
    soundfile = pytest.importorskip("soundfile")
    folder = recordings.unpacked("hydrogen-drumkits") / "usr/share/hydrogen/data/drumkits/ForzeeStereo"
    told: dict[str, list[int]] = {}
    for path in sorted(folder.glob("*.wav")):
        samples, rate = soundfile.read(path, dtype="float64", always_2d=True)
        frames = 16_384 - int(WIDEST_S * rate)
        stretch = np.zeros((frames, 2))
        stretch[2_000 : 2_000 + len(samples)] = samples[: frames - 2_000]
        stretch += np.random.default_rng(0).standard_normal(stretch.shape) * 10 ** (-90 / 20)
        comparison = Comparison(rate, frames)
        for sign in (1, -1):
            found = comparison.compare(stretch[:, 0], sign * stretch[:, 1])
            assert not found.sure or found.sign == sign, path.name
            told.setdefault(path.name[:4], []).append(found.sign * sign * found.sure)
    assert sum(map(len, told.values())) >= 200
    assert all(told["Kick"])
