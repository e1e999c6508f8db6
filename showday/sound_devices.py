"""The sound devices of this computer: which there are, which one is meant, and what is missing when there is none.

PortAudio is reached through the package sounddevice (extra `listen`), imported when a device is asked for.
"""

from __future__ import annotations

import ctypes
import importlib
import os
import sys
import threading
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any

from showday.errors import SoundTrouble
from showday.sound.model import HIGHEST_RATE, LOWEST_RATE
from showday.text.problem import nearest
from showday.text.safe import one_line

INPUT, OUTPUT = "input", "output"

MOST_CHANNELS = 128
"""Channels that are listened to at most."""

_TOLD = 6
"""Names told in one sentence; a choice."""

_RATE, _CHANNELS, _UNAVAILABLE = -9997, -9998, -9985
"""PaErrorCode of portaudio.h: paInvalidSampleRate, paInvalidChannelCount, paDeviceUnavailable."""

BY_FILE = "A recording works without: showday listen FILE."


@dataclass(frozen=True, slots=True)
class Device:
    """One device as the system names it."""

    number: int
    """The system's own, from 0; it changes when something is plugged in."""
    name: str
    host: str
    """The part of the system that reaches it."""
    inputs: int
    outputs: int
    rate: int
    """Samples a second that it prefers."""

    def channels(self, side: str) -> int:
        """How many channels it has on one side."""
        return self.inputs if side == INPUT else self.outputs


def library() -> Any:
    """The module sounddevice; SoundTrouble that says what to install when it or PortAudio is missing."""
    try:
        return importlib.import_module("sounddevice")
    except ImportError:
        raise SoundTrouble(
            "Sound devices cannot be reached: the package sounddevice is not installed.",
            "Install it with: pip install 'showday[listen]'",
        ) from None
    except OSError:
        raise SoundTrouble(
            "Sound devices cannot be reached: the system's library PortAudio is missing.",
            f"Install it (Debian and Ubuntu: apt install libportaudio2). {BY_FILE}",
        ) from None
    except Exception as error:  # PortAudio's own error, whose class is in the module that cannot be imported
        raise SoundTrouble(f"The sound system does not start: {one_line(str(error), 200)}.", BY_FILE) from None


def devices(*, again: bool = False) -> list[Device]:
    """Every device; SoundTrouble when there is no way to ask.

    PortAudio lists what was plugged in when it was first asked; `again` makes it look anew, which ends every open
    stream.
    """
    sound = library()
    try:
        if again:
            with quiet():
                sound._terminate()
                sound._initialize()
        hosts = [str(host["name"]) for host in sound.query_hostapis()]
        return [_device(number, each, hosts) for number, each in enumerate(sound.query_devices())]
    except sound.PortAudioError as error:
        raise SoundTrouble(f"The sound devices cannot be listed: {one_line(str(error), 200)}.", BY_FILE) from None


def _device(number: int, told: dict[str, Any], hosts: Sequence[str]) -> Device:
    return Device(
        number,
        str(told["name"]),
        hosts[int(told["hostapi"])],
        int(told["max_input_channels"]),
        int(told["max_output_channels"]),
        round(float(told["default_samplerate"])),
    )


def choose(wanted: str, side: str, known: Sequence[Device]) -> Device:
    """The device meant by a name, a part of a name, or a number; SoundTrouble when none or several can be meant."""
    fit = [each for each in known if each.channels(side)]
    if not fit:
        raise SoundTrouble(f"This computer has no sound {side}.", f"Plug the device in and switch it on. {BY_FILE}")
    word = " ".join(wanted.split()).casefold()
    if word.isdecimal():
        named = [each for each in fit if each.number == int(word[:9])]
    else:
        named = [each for each in fit if each.name.casefold() == word]
        named = named or [each for each in fit if word and word in f"{each.name}, {each.host}".casefold()]
    if not named:
        meant = nearest(wanted, [each.name for each in fit])
        guess = f"Did you mean {one_line(meant, 60)}? " if meant else ""
        raise SoundTrouble(f"No sound {side} is called '{one_line(wanted, 60)}'.", f"{guess}{_names(fit)}")
    if len({each.name for each in named}) > 1:
        raise SoundTrouble(f"'{one_line(wanted, 60)}' can be several devices.", _names(named))
    return max(named, key=lambda each: each.channels(side))  # one device that is reached in several ways


def _names(devices: Sequence[Device]) -> str:
    names = list(dict.fromkeys(one_line(each.name, 60) for each in devices))
    more = " and others: see `showday listen --devices`" if len(names) > _TOLD else ""
    return f"There is {', '.join(names[:_TOLD])}{more}."


def check(device: Device, side: str, channels: int, rate: int) -> None:
    """SoundTrouble that says what to choose when the device cannot do this."""
    sound, name = library(), one_line(device.name, 60)
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise SoundTrouble(
            f"{rate:,} samples a second cannot be used.", f"Choose from {LOWEST_RATE:,} to {HIGHEST_RATE:,}."
        )
    if not 1 <= channels <= MOST_CHANNELS:
        raise SoundTrouble(f"{channels} channels cannot be used.", f"Choose from 1 to {MOST_CHANNELS}.")
    has = device.channels(side)
    if channels > has:
        raise SoundTrouble(
            f"{name} has {has} {side} {'channel' if has == 1 else 'channels'}, and {channels} are needed.",
            "Choose another device, or set it to more channels in the system.",
        )
    ask = sound.check_input_settings if side == INPUT else sound.check_output_settings
    try:
        with quiet():
            ask(device=device.number, channels=channels, dtype="float32", samplerate=rate)
    except (sound.PortAudioError, ValueError) as error:
        raise trouble(device, channels, rate, error) from None


def trouble(device: Device, channels: int, rate: int, error: Exception) -> SoundTrouble:
    """What PortAudio's error means to a person."""
    name, code = one_line(device.name, 60), error.args[1] if len(error.args) > 1 else 0
    if code == _RATE:
        wish = f"Choose its own rate with --rate {device.rate}, or set the device to {rate}."
        return SoundTrouble(f"{name} does not run at {rate:,} samples a second.", wish)
    if code == _CHANNELS:
        return SoundTrouble(f"{name} does not give {channels} channels.", "Choose fewer, or another device.")
    if code == _UNAVAILABLE:
        return SoundTrouble(f"{name} is in use or was unplugged.", "Close what uses it, or plug it in again.")
    return SoundTrouble(
        f"{name} cannot be opened: {one_line(str(error), 200)}.", "Plug it in again, or choose another."
    )


_STREAMS = {"linux": "stderr", "darwin": "__stderrp"}
"""What the C library calls the stream that libraries complain on."""


class _Hush:
    """Turns the C library's stream for complaints away while anybody wants it quiet."""

    def __init__(self) -> None:
        self._lock, self._wanted = threading.Lock(), 0
        self._stream: ctypes.c_void_p | None = None
        self._before: int | None = None

    def __enter__(self) -> None:
        with self._lock:
            self._wanted += 1
            if self._wanted > 1:
                return
            try:
                clib = ctypes.CDLL(None)
                clib.fopen.restype = ctypes.c_void_p
                stream = ctypes.c_void_p.in_dll(clib, _STREAMS.get(sys.platform, ""))
                nowhere = clib.fopen(os.fsencode(os.devnull), b"w")
            except (AttributeError, OSError, TypeError, ValueError):
                return  # another kind of system: then they may talk
            if nowhere:
                self._stream, self._before = stream, stream.value
                stream.value = nowhere

    def __exit__(self, *error: object) -> None:
        with self._lock:
            self._wanted -= 1
            if not self._wanted and self._stream is not None:
                # The file that nothing comes out of stays open: a thread of the library may be writing just now.
                self._stream.value, self._stream = self._before, None


_hush = _Hush()


def quiet() -> AbstractContextManager[None]:
    """The sound system's libraries say nothing meanwhile: their lines would be written across the screen.

    Only the C library's stream is turned away. The file under it stays as it is, since the screens are drawn through it.
    """
    return _hush
