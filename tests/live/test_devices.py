"""Choosing a device, and a sentence for everything that can be missing."""

from __future__ import annotations

import ctypes.util
import os
import subprocess
import sys
from types import SimpleNamespace
from typing import Any

import pytest

from showday.errors import SoundTrouble
from showday.sound_devices import INPUT, OUTPUT, Device, check, choose, devices, library, quiet

RACK = Device(0, "Rack mixer", "ALSA", 32, 32, 48_000)
SMALL = Device(1, "Built-in", "ALSA", 2, 2, 44_100)
AGAIN = Device(2, "Built-in", "Other", 1, 2, 44_100)
EARS = Device(3, "Rack phones", "ALSA", 0, 2, 48_000)
KNOWN = [RACK, SMALL, AGAIN, EARS]


@pytest.mark.parametrize(
    ("wanted", "side", "found"),
    [
        ("Rack mixer", INPUT, RACK),
        ("rack  MIXER", INPUT, RACK),
        ("rack", INPUT, RACK),
        ("rack phones", OUTPUT, EARS),
        ("0", INPUT, RACK),
        ("built-in", INPUT, SMALL),
        ("built-in, other", INPUT, AGAIN),
    ],
)
def test_a_device_is_meant_by_its_name_a_part_or_its_number(wanted: str, side: str, found: Device) -> None:
    assert choose(wanted, side, KNOWN) is found


@pytest.mark.parametrize(
    ("wanted", "side", "known", "said"),
    [
        ("rack", INPUT, [], "This computer has no sound input. Plug the device in"),
        ("rack", OUTPUT, KNOWN, "'rack' can be several devices. There is Rack mixer, Rack phones."),
        ("rak mixer", INPUT, KNOWN, "No sound input is called 'rak mixer'. Did you mean Rack mixer?"),
        ("3", INPUT, KNOWN, "No sound input is called '3'. There is Rack mixer, Built-in."),
        ("", INPUT, KNOWN, "No sound input is called ''. There is"),
        ("a\x1b[31m", INPUT, KNOWN, "No sound input is called 'a\u241b[31m'."),
    ],
)
def test_one_sentence_when_none_or_several_are_meant(wanted: str, side: str, known: list[Device], said: str) -> None:
    with pytest.raises(SoundTrouble) as trouble:
        choose(wanted, side, known)
    assert str(trouble.value).startswith(said)


def test_without_the_package_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)  # as Python marks a module that cannot be imported
    with pytest.raises(SoundTrouble, match=r"sounddevice is not installed\. Install it with: pip install"):
        devices()


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere PortAudio comes with the package")
def test_without_portaudio_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("cffi", reason="the extra `listen` is not installed")
    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(ctypes.util, "find_library", lambda name: None)
    with pytest.raises(SoundTrouble, match=r"PortAudio is missing\. Install it .*apt install libportaudio2"):
        library()


class RefusalError(Exception):
    """Stands for the module's own error: text and PaErrorCode."""

    def __str__(self) -> str:
        return f"{self.args[0]} [PaErrorCode {self.args[1]}]"


def refusing(*answer: Any) -> Any:
    def ask(**settings: Any) -> None:
        if answer:
            raise RefusalError(*answer)

    return SimpleNamespace(PortAudioError=RefusalError, check_input_settings=ask, check_output_settings=ask)


@pytest.mark.parametrize(
    ("device", "side", "channels", "rate", "answer", "said"),
    [
        (SMALL, INPUT, 22, 48_000, (), "Built-in has 2 input channels, and 22 are needed. Choose another device"),
        (AGAIN, INPUT, 2, 48_000, (), "Built-in has 1 input channel, and 2 are needed."),
        (EARS, OUTPUT, 3, 48_000, (), "Rack phones has 2 output channels, and 3 are needed."),
        (RACK, INPUT, 0, 48_000, (), "0 channels cannot be used. Choose from 1 to 128."),
        (RACK, INPUT, 129, 48_000, (), "129 channels cannot be used. Choose from 1 to 128."),
        (RACK, INPUT, 32, 7_999, (), "7,999 samples a second cannot be used. Choose from 8,000 to 192,000."),
        (RACK, INPUT, 32, 192_001, (), "192,001 samples a second cannot be used."),
        # PaErrorCode of portaudio.h
        (
            RACK,
            INPUT,
            32,
            96_000,
            ("no", -9997),
            "Rack mixer does not run at 96,000 samples a second. Choose its own",
        ),
        (RACK, INPUT, 32, 48_000, ("no", -9998), "Rack mixer does not give 32 channels. Choose fewer"),
        (RACK, INPUT, 32, 48_000, ("no", -9985), "Rack mixer is in use or was unplugged. Close what uses it"),
        (RACK, INPUT, 32, 48_000, ("odd\x1b", -9999), "Rack mixer cannot be opened: odd\u241b"),
    ],
)
def test_one_sentence_when_a_device_cannot_do_it(
    monkeypatch: pytest.MonkeyPatch,
    device: Device,
    side: str,
    channels: int,
    rate: int,
    answer: tuple[Any, ...],
    said: str,
) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", refusing(*answer))
    with pytest.raises(SoundTrouble) as trouble:
        check(device, side, channels, rate)
    assert str(trouble.value).startswith(said)


def test_a_device_that_can_do_it_is_not_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", refusing())
    check(RACK, INPUT, 32, 48_000)


COMPLAINS = """
import ctypes, os, sys
from showday.sound_devices import quiet
c = ctypes.CDLL(None)
def complain(text):
    stream = ctypes.c_void_p.in_dll(c, "stderr")
    c.fputs(text, stream); c.fflush(None)
complain(b"one ")
outer, inner = quiet(), quiet()
outer.__enter__(); complain(b"two ")
inner.__enter__(); complain(b"three ")
outer.__exit__(); complain(b"four ")
os.write(2, b"screen ")
inner.__exit__(); complain(b"five")
"""


@pytest.mark.skipif(sys.platform != "linux", reason="the C library's stream has another name elsewhere")
def test_libraries_are_quiet_as_long_as_anybody_wants_it_and_the_screen_is_not_touched() -> None:
    done = subprocess.run(
        [sys.executable, "-c", COMPLAINS], capture_output=True, text=True, check=True, env=os.environ
    )
    assert done.stderr == "one screen five"


def test_quiet_can_be_asked_for_again_and_again() -> None:
    for _ in range(3):
        with quiet(), quiet():
            pass
