"""Sound devices without hardware: the ALSA file plugin, and a PulseAudio null sink in real time.

Both run as processes of their own with a home of the test's. Where a part of the system is missing the test is skipped
and says which.
"""

from __future__ import annotations

import ctypes.util
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest

from showday.sound.model import Samples
from tests.cli.calling import Called

SIDES = "front-left,front-right,rear-left,rear-right,front-center,lfe,side-left,side-right"
IN_ORDER = ",".join([SIDES, *(f"aux{n}" for n in range(24))])
"""The map of 32 channels by which the ALSA plugin asks: eight places, then auxiliary channels."""
ALL_AUX = ",".join(f"aux{n}" for n in range(32))
"""A map that looks as good: by name, aux0 is the ninth channel of the other one."""

SHOWDAY = (sys.executable, "-m", "showday.cli")


def needs(**parts: bool) -> None:
    """Skip unless every part is there."""
    missing = [name.replace("_", " ") for name, there in parts.items() if not there]
    if missing:
        pytest.skip(f"not on this system: {', '.join(missing)}")


def has_portaudio() -> bool:
    return importlib.util.find_spec("sounddevice") is not None and bool(ctypes.util.find_library("portaudio"))


@dataclass
class Place:
    """A home in which `showday` hears certain devices."""

    home: Path
    more: dict[str, str] = field(default_factory=dict)

    @property
    def env(self) -> dict[str, str]:
        """The environment of a program here."""
        kept = {name: value for name, value in os.environ.items() if not name.startswith(("ALSA", "PULSE", "XDG_"))}
        return {**kept, "HOME": str(self.home), "SHOWDAY_HOME": str(self.home / "showday"), **self.more}

    def call(self, *words: str) -> Called:
        """Call `showday`; a command that hangs fails the test."""
        done = subprocess.run(
            [*SHOWDAY, *words], env=self.env, capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=120
        )
        return Called(done.returncode, done.stdout, done.stderr)

    def begin(self, *words: str) -> subprocess.Popen[str]:
        """Start `showday` and leave it running."""
        pipe = subprocess.PIPE
        return subprocess.Popen([*SHOWDAY, *words], env=self.env, stdin=pipe, stdout=pipe, stderr=pipe, text=True)


@pytest.fixture
def file_device(tmp_path: Path) -> Callable[[Samples], Place]:
    """A device `showday_file` that plays these frames as fast as they are taken, over and over."""
    needs(sounddevice_and_PortAudio=has_portaudio(), ALSA=bool(ctypes.util.find_library("asound")))

    def make(samples: Samples) -> Place:
        raw = tmp_path / "frames.raw"
        samples.astype("<f4").tofile(raw)
        (tmp_path / ".asoundrc").write_text(
            "pcm.null_slave { type null }\n"
            f'pcm.showday_file {{ type file slave.pcm null_slave file /dev/null infile "{raw}" format raw }}\n'
        )
        return Place(tmp_path)

    return make


@dataclass
class Band(Place):
    """A PulseAudio server with a sink `band` of 32 channels that is heard as the device `pulse`, and a sink `ears`."""

    map: str = IN_ORDER

    def play(self, samples: Samples, sink: str = "band") -> None:
        """Play [frames, channels] at 48 kHz to the end, in real time."""
        raw = self.home / "played.raw"
        samples.astype("<f4").tofile(raw)
        command = [*self._player(sink, samples.shape[1], 500), str(raw)]
        subprocess.run(command, env=self.env, check=True, timeout=60, capture_output=True)

    @contextmanager
    def noise(self, dbfs: float = -80.0) -> Iterator[None]:
        """Meanwhile every channel of the band has the noise that every microphone input has."""
        rng, scale = np.random.default_rng(3), np.float32(10 ** (dbfs / 20) / np.sqrt(2))
        player = subprocess.Popen(
            self._player("band", 32, 1_000), env=self.env, stdin=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
        pipe = player.stdin
        assert pipe is not None

        def fill() -> None:
            with suppress(OSError, ValueError):
                while True:  # until the player ends
                    pipe.write((scale * rng.standard_normal((4_800, 32), np.float32)).astype("<f4").tobytes())

        threading.Thread(target=fill, daemon=True).start()
        try:
            yield
        finally:
            player.kill()
            player.wait()

    def _player(self, sink: str, channels: int, milliseconds: int) -> list[str]:
        shape = [f"--channels={channels}", "--rate=48000", "--format=float32le", f"--latency-msec={milliseconds}"]
        named = [f"--channel-map={self.map}"] if channels == 32 else []
        return ["pacat", "--playback", f"--device={sink}", "--raw", *shape, *named]

    def kill(self) -> None:
        """End the server, as a device ends whose plug is pulled."""
        with suppress(OSError, ValueError):
            os.kill(int((self.home / "pulse" / "pid").read_text()), signal.SIGKILL)


class Ears:
    """What comes out of the sink `ears`, from now on."""

    def __init__(self, server: Band) -> None:
        shape = ["--channels=2", "--rate=48000", "--format=float32le", "--raw", "--latency-msec=50"]
        command = ["parec", "--device=ears.monitor", *shape]
        self._process = subprocess.Popen(
            command, env=server.env, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, bufsize=0
        )
        self._came = threading.Condition()
        self._bytes = bytearray()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self._process.stdout is not None
        while piece := self._process.stdout.read(8_192):
            with self._came:
                self._bytes += piece
                self._came.notify_all()

    @property
    def samples(self) -> Samples:
        """Everything so far."""
        whole = len(self._bytes) // 8 * 8
        return np.frombuffer(bytes(self._bytes[:whole]), "<f4").reshape(-1, 2)

    def wait(self, enough: Callable[[Samples], bool]) -> Samples:
        """Everything until it is enough; a failure when that does not come."""
        with self._came:
            assert self._came.wait_for(lambda: enough(self.samples), timeout=60)
            return self.samples

    def close(self) -> None:
        self._process.kill()
        self._process.wait()


@pytest.fixture
def band(tmp_path: Path) -> Iterator[Callable[[str], Band]]:
    """Starts a server whose sink has this map of channels."""
    needs(
        sounddevice_and_PortAudio=has_portaudio(),
        pulseaudio=bool(shutil.which("pulseaudio")),
        pacat=bool(shutil.which("pacat")),
        the_ALSA_plugin_of_pulseaudio=any(Path("/usr/lib").glob("**/alsa-lib/libasound_module_pcm_pulse.so")),
    )
    made: list[Band] = []

    def start(map: str) -> Band:
        here = {"XDG_RUNTIME_DIR": str(tmp_path), "PULSE_SINK": "ears", "PULSE_SOURCE": "band.monitor"}
        server = Band(tmp_path, here, map)
        made.append(server)
        sinks: Sequence[str] = (
            f"module-null-sink sink_name=band rate=48000 channels=32 format=float32le channel_map={map}",
            "module-null-sink sink_name=ears rate=48000 channels=2 format=float32le",
        )
        loads = [f"--load={module}" for module in ("module-native-protocol-unix", *sinks)]
        command = ["pulseaudio", "-n", "--daemonize=yes", "--exit-idle-time=-1", "--log-target=null", *loads]
        started = subprocess.run(command, env=server.env, capture_output=True, text=True, timeout=60)
        if started.returncode:
            pytest.skip(f"pulseaudio does not start here: {started.stderr.strip()[-200:]}")
        return server

    yield start
    for server in made:
        server.kill()


def levels(channels: int, frames: int, rate: int = 48_000) -> Samples:
    """Channel n, counted from 0, holds a sine that peaks at -10-n dBFS, each at a frequency of its own."""
    at = np.arange(frames)[:, None] / rate
    number = np.arange(channels)[None, :]
    return (10 ** (-(10 + number) / 20) * np.sin(2 * np.pi * (400 + 25 * number) * at)).astype(np.float32)
