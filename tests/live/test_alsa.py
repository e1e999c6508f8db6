"""32 channels through PortAudio from the ALSA file plugin, and what the command says of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from showday.sound.model import Samples
from tests.live.conftest import Place, levels

Devices = Callable[[Samples], Place]
HEAR = ("listen", "--device", "showday_file", "--channels", "32", "--rate", "48000")


def test_the_devices_are_listed_without_a_word_from_the_libraries(file_device: Devices) -> None:
    called = file_device(levels(2, 100)).call("listen", "--devices")
    assert (called.code, called.err) == (0, "")
    assert any("showday_file (ALSA)" in line for line in called.out.splitlines())


def test_32_channels_arrive_in_order(file_device: Devices) -> None:
    called = file_device(levels(32, 96_000)).call(*HEAR, "--seconds", "2", "--json")
    data = called.data
    assert (data["rate"], data["seconds"]) == (48_000, 2.0)
    assert [each["channel"] for each in data["channels"]] == list(range(1, 33))
    assert [each["peak_dbfs"] for each in data["channels"]] == pytest.approx([-10 - n for n in range(32)], abs=0.11)


def test_a_device_and_a_recording_of_it_are_heard_alike(file_device: Devices, tmp_path: Path) -> None:
    soundfile = pytest.importorskip("soundfile")
    rng = np.random.default_rng(5)
    sound = (levels(8, 144_000) * rng.uniform(0.5, 1, (144_000, 8))).astype(np.float32)
    sound[:, 3] += 0.02 * np.sin(2 * np.pi * 50.02 * np.arange(144_000) / 48_000)
    path = tmp_path / "same.wav"
    soundfile.write(path, sound, 48_000, subtype="FLOAT")
    place = file_device(sound)
    words = ("listen", "--device", "showday_file", "--channels", "8", "--rate", "48000", "--seconds", "3", "--json")
    live, recorded = place.call(*words), place.call("listen", str(path), "--json")
    assert live.data == recorded.data
    assert live.code == recorded.code


def test_what_is_no_number_counts_as_silence(file_device: Devices) -> None:
    sound = levels(32, 48_000)
    sound[100:200, 4], sound[300, 5], sound[301, 6] = np.nan, np.inf, -np.inf
    data = file_device(sound).call(*HEAR, "--seconds", "1", "--json").data
    assert [each["peak_dbfs"] for each in data["channels"]] == pytest.approx([-10 - n for n in range(32)], abs=0.11)


def test_overruns_are_said_and_no_cable_is_blamed(file_device: Devices) -> None:
    """The plugin delivers about a hundred times faster than sound is: more than any listener takes."""
    seconds = 12
    called = file_device(levels(32, 48_000)).call(*HEAR, "--seconds", str(seconds), "--json")
    data = called.data
    assert "The computer was too slow: " in called.err
    assert "Gaps from this are the computer's, not a line's" in called.err
    assert data["seconds"] > seconds
    found = {each["kind"] for channel in data["channels"] for each in channel["findings"]}
    assert not found & {"dropout", "digital_silence", "dead"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--channels", "129"), "129 channels cannot be used. Choose from 1 to 128."),
        (("--rate", "4000"), "4,000 samples a second cannot be used. Choose from 8,000 to 192,000."),
        (("--seconds", "soon"), "--seconds: 'soon' is not a time."),
        (("--tone", "nobody"), "No sound output is called 'nobody'."),
    ],
)
def test_one_sentence_and_status_2_for_what_cannot_be(
    file_device: Devices, words: tuple[str, ...], said: str
) -> None:
    called = file_device(levels(2, 100)).call("listen", "--device", "showday_file", *words)
    assert (called.code, called.out) == (2, "")
    assert said in called.err
    assert len(called.err.splitlines()) == 1


def test_a_device_that_is_not_there(file_device: Devices) -> None:
    called = file_device(levels(2, 100)).call("listen", "--device", "shoday_file")
    assert (called.code, called.out) == (2, "")
    assert called.err.startswith(
        "showday: No sound input is called 'shoday_file'. Did you mean showday_file? There is "
    )


@pytest.mark.parametrize(("channels", "rate"), [(1, 8_000), (128, 8_000), (2, 192_000)])
def test_the_smallest_and_the_largest(file_device: Devices, channels: int, rate: int) -> None:
    sound = np.tile(levels(1, rate, rate), (1, channels)).astype(np.float32)
    words = ("listen", "--device", "showday_file", "--channels", str(channels), "--rate", str(rate), "--seconds", "1")
    data = file_device(sound).call(*words, "--json").data
    assert (data["rate"], len(data["channels"])) == (rate, channels)
    assert {each["peak_dbfs"] for each in data["channels"]} <= {-10.0, -10.1}
