"""Real recordings that nobody here made: fetched once from Debian's packages into a folder outside of the repository.

What is used, and under which terms (each package's debian/copyright): sonic-pi-samples (CC0), alsa-utils' spoken phrases
(GPL-2), the ForzeeStereo kit of hydrogen-drumkits (GPL-2), bass and guitar notes of fluid-soundfont-gm (MIT). Nothing of
it is kept in the repository. Without apt or a network the tests that need them are skipped and say so.
"""

from __future__ import annotations

import functools
import os
import shutil
import struct
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from math import gcd
from pathlib import Path

import numpy as np
import pytest

from showday.sound.model import Samples

RATE = 48_000
FOLDER = Path(os.environ.get("SHOWDAY_RECORDINGS", Path(tempfile.gettempdir()) / "showday-recordings"))

REALLY_CLIPPED = ("drum_bass_hard", "drum_heavy_kick", "drum_tom_lo_hard")
"""Drum hits whose tops were cut when they were recorded."""
DRUMS, VOICE, GUITAR, BASS, KEYS = "drums", "voice", "guitar", "bass", "keys"


@dataclass(frozen=True, slots=True)
class Recording:
    """One sound, mono, 48 kHz, as [frames]."""

    name: str
    role: str
    samples: Samples


def unpacked(package: str) -> Path:
    """Where a Debian package lies unpacked; the test is skipped when it cannot be had."""
    where = FOLDER / package
    if where.is_dir():
        return where
    if not (shutil.which("apt-get") and shutil.which("dpkg-deb")):
        pytest.skip(f"{package} needs apt-get and dpkg-deb")
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=FOLDER) as name:
        made = Path(name)
        try:
            fetch = ["apt-get", "download", package]
            subprocess.run(fetch, cwd=made, check=True, capture_output=True, timeout=300)
            archive = next(made.glob("*.deb"))
            subprocess.run(["dpkg-deb", "-x", str(archive), "out"], cwd=made, check=True, capture_output=True)
        except (OSError, subprocess.SubprocessError, StopIteration) as error:
            pytest.skip(f"{package} cannot be fetched: {type(error).__name__}")
        if not where.is_dir():  # another process may have been quicker
            (made / "out").rename(where)
    return where


@functools.cache
def every() -> tuple[Recording, ...]:
    """Everything that may be played at an input."""
    return (*_sonic_pi(), *_voices(), *_kit(), *_soundfont())


@functools.cache
def loops() -> tuple[Recording, ...]:
    """Music as it runs in a changeover."""
    folder = unpacked("sonic-pi-samples") / "usr/share/sonic-pi/samples"
    return tuple(Recording(p.stem, "music", _read(p)) for p in sorted(folder.glob("loop_*.flac")))


@functools.cache
def hiss() -> Recording:
    """Eight seconds of a record's surface: real hiss with clicks."""
    folder = unpacked("sonic-pi-samples") / "usr/share/sonic-pi/samples"
    return Recording("vinyl_hiss", "hiss", _read(folder / "vinyl_hiss.flac"))


def _sonic_pi() -> Iterator[Recording]:
    folder = unpacked("sonic-pi-samples") / "usr/share/sonic-pi/samples"
    roles = {"drum_": DRUMS, "tabla_": DRUMS, "guit_": GUITAR, "ambi_piano": KEYS, "bass_": BASS, "perc_": DRUMS}
    for path in sorted(folder.glob("*.flac")):
        role = next((role for start, role in roles.items() if path.stem.startswith(start)), "")
        if role and path.stem not in REALLY_CLIPPED:
            yield Recording(path.stem, role, _read(path))


def _voices() -> Iterator[Recording]:
    folder = unpacked("alsa-utils") / "usr/share/sounds/alsa"
    for path in sorted(folder.glob("*.wav")):
        if path.stem != "Noise":
            yield Recording(path.stem, VOICE, _read(path))


def _kit() -> Iterator[Recording]:
    folder = unpacked("hydrogen-drumkits") / "usr/share/hydrogen/data/drumkits/ForzeeStereo"
    for path in sorted([*folder.glob("*.wav"), *folder.glob("*.flac")]):
        yield Recording(path.stem, DRUMS, _read(path))


def _read(path: Path) -> Samples:
    soundfile = pytest.importorskip("soundfile")
    samples, rate = soundfile.read(path, dtype="float32", always_2d=True)
    return at_48k(samples[:, 0], rate)


def at_48k(samples: Samples, rate: int) -> Samples:
    """The same sound at 48 kHz."""
    from scipy.signal import resample_poly

    if rate == RATE:
        return samples
    common = gcd(RATE, rate)
    return np.asarray(resample_poly(samples, RATE // common, rate // common), np.float32)


SF2_ROLES = {"bass": BASS, "fretless": BASS, "slap": BASS, "guitar": GUITAR, "nylon": GUITAR, "clean": GUITAR}


def _soundfont() -> Iterator[Recording]:
    """Bass and guitar notes: chunks `smpl` (16-bit samples) and `shdr` (46 bytes each) of SoundFont 2.04."""
    path = unpacked("fluid-soundfont-gm") / "usr/share/sounds/sf2/FluidR3_GM.sf2"
    data = np.memmap(path, np.uint8, "r")
    chunks = {}
    at, end = 12, len(data)
    while at + 8 <= end:
        kind, size = bytes(data[at : at + 4]), struct.unpack("<I", bytes(data[at + 4 : at + 8]))[0]
        if kind == b"LIST":
            at += 12
            continue
        chunks[kind] = (at + 8, size)
        at += 8 + size + size % 2
    start, _ = chunks[b"smpl"]
    heads, size = chunks[b"shdr"]
    for head in range(heads, heads + size - 46, 46):
        raw = bytes(data[head : head + 46])
        name = raw[:20].split(b"\0")[0].decode("ascii", "replace").strip()
        first, last, _, _, rate = struct.unpack("<5I", raw[20:40])
        other = any(word in name.casefold() for word in ("bassoon", "drum", "vibra"))
        role = next((role for word, role in SF2_ROLES.items() if word in name.casefold()), "")
        if role and not other and last - first > rate:
            note = np.asarray(data[start + 2 * first : start + 2 * last]).view("<i2") / np.float32(32_768)
            yield Recording(name, role, at_48k(note.astype(np.float32), rate))
