"""End to end in real time through a PulseAudio null sink: somebody plays, `showday listen` hears and ticks."""

from __future__ import annotations

import json
import subprocess
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from showday.sound.model import Samples
from showday.tones_out import CAUTION, LEVEL_DBFS
from tests.live.conftest import ALL_AUX, IN_ORDER, Band, Ears

pytestmark = pytest.mark.slow

RATE = 48_000
NAMES = ("Kick", "Snare", "Hi-hat", "Bass", "Guitar", "Keys")
PEAK = 0.126
"""-18 dBFS: in the middle of what a line check wants."""


def rig(folder: Path, names: tuple[str, ...]) -> str:
    """A rig whose inputs are on channels 1, 2, 3 …"""
    inputs = ", ".join(f"{{number: {n}, name: {name}}}" for n, name in enumerate(names, 1))
    path = folder / "rig.yaml"
    path.write_text(f"rig: rig\ninputs: [{inputs}]\n")
    return str(path)


def hit(channel: int, seconds: float = 0.7, channels: int = 32) -> Samples:
    """Somebody hits something at one input: short bursts of noise on one channel, counted from 0."""
    rng = np.random.default_rng(channel)
    at = np.arange(round(seconds * RATE))
    envelope = np.exp(-(at % (RATE // 4)) / (0.03 * RATE))
    sound = np.zeros((len(at), channels), np.float32)
    sound[:, channel] = PEAK * envelope * rng.uniform(-1, 1, len(at))
    return sound


class Walk:
    """A running `showday listen`, read line by line."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        assert process.stdout is not None
        assert process.stdin is not None
        self._out, self._in, self.process = process.stdout, process.stdin, process
        self.told: list[str] = []

    def until(self, *words: str) -> str:
        """The next line that holds one of these words; the test fails when the program ends before."""
        for line in self._out:
            self.told.append(line.rstrip("\n"))
            if any(word in line for word in words):
                return line.strip()
        _, err = self.process.communicate(timeout=60)
        pytest.fail(f"never said {words}: {self.told[-20:]}, {err[-2_000:]}")

    def type(self, line: str) -> None:
        self._in.write(f"{line}\n")
        self._in.flush()

    def end(self) -> tuple[int, str, str]:
        """Exit status, everything printed, and what was said beside it."""
        out, err = self.process.communicate(timeout=60)
        return self.process.returncode, "\n".join([*self.told, *out.splitlines()]), err


@contextmanager
def walking(band: Band, *words: str) -> Iterator[Walk]:
    """Between its lines the program has a minute and a half in all; one that hangs is ended, and the test fails."""
    process = band.begin("listen", "--device", "pulse", "--channels", "32", "--rate", str(RATE), *words)
    most = threading.Timer(90, process.kill)
    most.start()
    try:
        yield Walk(process)
    finally:
        most.cancel()
        process.kill()
        process.communicate()


def test_it_ticks_by_itself_as_one_walks(band: Callable[[str], Band], tmp_path: Path) -> None:
    """Nobody types: each good line is followed by the next, and its steps are answered in tonight's run."""
    server = band(IN_ORDER)
    with server.noise(), walking(server, "--rig", rig(tmp_path, NAMES[:2]), "--tick") as walk:
        for channel, name in enumerate(NAMES[:2]):
            assert f"{name}, channel {channel + 1}: make a sound." in walk.until("make a sound")
            heard = "again"
            while heard.startswith("again"):
                server.play(hit(channel, seconds=1.5))
                heard = walk.until("good:", "again:", "WRONG", "trouble:")
            assert heard.startswith("good: ")
        code, out, err = walk.end()
    assert "As wanted: 2 inputs arrive." in out
    assert (code, "Traceback" in err) == (0, False), out + err
    for name in NAMES[:2]:
        assert f"{name} heard good; it is a must and waits for your key." in out
        assert f"{name} ticked by ear." in out
    assert "So far: 2 good, 2 later" in err
    runs = json.loads(server.call("log", "runs", "--json").out)
    assert [(run["playbook"], run["answers"]) for run in runs] == [("line-check", 4)]


def test_the_map_that_shifts_by_8_is_caught(band: Callable[[str], Band], tmp_path: Path) -> None:
    """Every input arrives 8 channels higher: each is told, and the whole list is told as one shift."""
    server = band(ALL_AUX)
    with walking(server, "--rig", rig(tmp_path, NAMES[:5])) as walk:
        for channel in range(5):
            walk.until("make a sound")
            server.play(hit(channel))
            heard = walk.until("WRONG CHANNEL", "good:", "again:")
            assert f"arrives on channel {channel + 9}, wanted {channel + 1}" in heard
            walk.type("")
        code, out, err = walk.end()
    text = " ".join(out.split())
    assert "All of 1 to 5 arrive 8 higher (1 on 9, 5 on 13)." in text
    assert (code, "Traceback" in err) == (1, False)


def test_a_device_that_vanishes_mid_walk_loses_nothing(band: Callable[[str], Band], tmp_path: Path) -> None:
    server = band(IN_ORDER)
    with walking(server, "--rig", rig(tmp_path, NAMES[:4])) as walk:
        walk.until("make a sound")
        server.play(hit(1))
        assert "arrives on channel 2, wanted 1" in walk.until("WRONG CHANNEL")
        server.kill()
        code, out, err = walk.end()
    assert code == 2
    last = err.splitlines()[-1]
    assert last.startswith("showday: pulse stopped after ")
    assert last.endswith("Check its cable and its power and start listening again, or go on by hand.")
    assert "Kick arrives on channel 2, wanted 1" in " ".join(out.split())
    assert "Expression" not in err  # the library's own complaint


@pytest.mark.parametrize("words", [(), ("--tone", "pulse", "--tone-output", "2")], ids=["off by default", "on"])
def test_what_the_ears_hear(band: Callable[[str], Band], tmp_path: Path, words: tuple[str, ...]) -> None:
    """Nothing without --tone; with it the chosen channel alone, and as quiet as it is said to be."""
    server = band(IN_ORDER)
    ears = Ears(server)
    ears.wait(lambda heard: len(heard) > 0)
    try:
        with walking(server, "--rig", rig(tmp_path, NAMES[:2]), *words) as walk:
            walk.until("make a sound")
            server.play(hit(1))
            walk.until("WRONG CHANNEL")
            if words:
                ears.wait(lambda heard: bool(heard.any()))
            before = len(ears.samples)
            heard = ears.wait(lambda heard: len(heard) > before + RATE)
            walk.type("end")
            _, _, err = walk.end()
    finally:
        ears.close()
    assert (CAUTION.format(name="pulse", channel=2) in " ".join(err.split())) == bool(words)
    left, right = np.abs(heard).max(axis=0)
    assert left == 0
    assert (right == 0) == (not words)
    if words:
        assert 20 * np.log10(right) == pytest.approx(LEVEL_DBFS, abs=1.0)


def test_a_device_with_too_few_channels_says_what_to_choose(band: Callable[[str], Band], tmp_path: Path) -> None:
    path = tmp_path / "rig.yaml"
    path.write_text("rig: rig\ninputs: [{number: 40, name: Kick}]\n")
    called = band(IN_ORDER).call("listen", "--device", "pulse", "--rig", str(path))
    assert (called.code, called.out) == (2, "")
    assert called.err.startswith(
        "showday: pulse has 32 input channels, and the rig needs 40. Choose the mixer's device"
    )
