"""Listening to a device: the callback only copies, a thread of its own listens, and what was lost is counted and said.

Overruns are the computer's doing and are told as that; they never reach anybody as a fault of a line.
"""

from __future__ import annotations

import atexit
import contextlib
import threading
import time
from collections.abc import Callable
from typing import Any, Generic, Protocol, TypeVar

from showday.errors import ShowdayError, SoundTrouble
from showday.sound.model import Block, Samples
from showday.sound.ring import Ring, frames_to_hold
from showday.sound_devices import INPUT, Device, check, library, quiet, trouble
from showday.text.safe import one_line

STARTS_WITHIN = 6.0
STALLS_AFTER = 3.0
"""Seconds without a frame, at the start and later, after which a device counts as gone; choices: buffers of up to two
seconds are seen before the first frame comes."""

LOOKS_EVERY = 0.02
"""Seconds between two looks into the ring; a choice: meters are drawn less often."""

TAKES = 4_096
"""Frames listened to in one go; a choice: whoever asks meanwhile waits no longer than for these."""

_CLOSES_WITHIN = 2.0

Put = Callable[[Samples, bool], None]
"""Takes frames as [frames, channels], and whether the host lost some just before them."""


class Source(Protocol):
    """Where frames come from while they sound."""

    name: str
    rate: int
    channels: int

    def open(self, put: Put, ended: Callable[[], None]) -> None:
        """Begin; SoundTrouble when it cannot. `put` and `ended` are called from a thread of the source."""

    def close(self) -> None:
        """End, whatever state it is in."""


class DeviceSource:
    """An input device by PortAudio."""

    def __init__(self, device: Device, channels: int, rate: int) -> None:
        """SoundTrouble when the device cannot do this."""
        check(device, INPUT, channels, rate)
        self.name, self.rate, self.channels = one_line(device.name, 60), rate, channels
        self._device = device
        self._stream: Any = None
        self._hushed = contextlib.ExitStack()

    def open(self, put: Put, ended: Callable[[], None]) -> None:
        """Begin to listen."""
        sound = library()

        def copy(samples: Samples, frames: int, times: object, status: Any) -> None:
            put(samples, bool(status.input_overflow))

        self._hushed.enter_context(quiet())
        try:
            self._stream = sound.InputStream(
                device=self._device.number,
                channels=self.channels,
                samplerate=self.rate,
                dtype="float32",
                latency="high",  # meters can wait for a tenth of a second, lost frames cannot be had again
                callback=copy,
                finished_callback=ended,
            )
            self._stream.start()
        except (sound.PortAudioError, ValueError) as error:
            self.close()
            raise trouble(self._device, self.channels, self.rate, error) from None

    def close(self) -> None:
        """Stop listening. A driver whose device is gone may never answer: it is not waited for."""
        stream, self._stream = self._stream, None
        if stream is not None:
            closing = threading.Thread(target=_close, args=(stream,), name="showday closes a device", daemon=True)
            closing.start()
            closing.join(_CLOSES_WITHIN)
            if closing.is_alive():
                atexit.unregister(library()._exit_handler)  # it would wait for this driver when the program ends
        self._hushed.close()


def _close(stream: Any) -> None:
    with contextlib.suppress(Exception):  # whatever a vanished device answers, there is nothing left to do
        stream.abort(ignore_errors=True)
        stream.close(ignore_errors=True)


class Hears(Protocol):
    """What listens to blocks."""

    def feed(self, block: Block) -> None:
        """Take the next block."""


L = TypeVar("L", bound=Hears)
T = TypeVar("T")


class Live(Generic[L]):
    """A source and whoever listens to it, in a thread of its own between `start` and `stop`."""

    def __init__(
        self,
        source: Source,
        listener: L,
        *,
        seconds: float | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """`seconds` of sound are listened to, or as long as the source sounds; `clock` tells seconds."""
        self.source = source
        self.trouble: ShowdayError | None = None
        """Why it stopped by itself, when it did."""
        self._listener, self._clock = listener, clock
        self._most = None if seconds is None else max(1, round(seconds * source.rate))
        self._ring = Ring(source.channels, frames_to_hold(source.rate, source.channels))
        self._lock = threading.Lock()
        self._stopping, self._ended = threading.Event(), threading.Event()
        self._thread: threading.Thread | None = None
        self._frames, self._begun, self._last = 0, False, clock()

    @property
    def running(self) -> bool:
        """Whether it still listens."""
        return not self._stopping.is_set()

    @property
    def seconds(self) -> float:
        """Seconds listened to, lost ones included."""
        return (self._frames + self._ring.lost_frames) / self.source.rate

    @property
    def lost_frames(self) -> int:
        """Frames that the computer was too slow to take, as far as they can be counted."""
        return self._ring.lost_frames

    @property
    def overruns(self) -> int:
        """Times that the sound system said it had lost frames, how many nobody knows."""
        return self._ring.overflows

    def said(self) -> tuple[str, ...]:
        """What was lost, in sentences that blame nobody's cable; nothing when nothing was."""
        told = []
        if self.lost_frames:
            seconds = self.lost_frames / self.source.rate
            told.append(f"The computer was too slow: {self.lost_frames:,} frames ({seconds:.2f} s) were not heard.")
        if self.overruns:
            times = "once" if self.overruns == 1 else f"{self.overruns:,} times"
            told.append(f"The sound system lost frames {times} before they came here.")
        if told:
            told.append("Gaps from this are the computer's, not a line's: close other programs.")
        return tuple(told)

    def start(self) -> None:
        """Begin; SoundTrouble when the source cannot."""
        self._last = self._clock()
        self.source.open(self._ring.put, self._ended.set)
        self._thread = threading.Thread(target=self._work, name="showday listens", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End; what has come in is still listened to. Calling it again does nothing."""
        self._stopping.set()  # before the source ends, or its end would be taken for a device that vanished
        if self._thread is not None:
            self._thread.join()
        self.source.close()

    def wait(self, seconds: float) -> bool:
        """Wait so long, or until it stops by itself; whether it still runs."""
        return not self._stopping.wait(seconds)

    def ask(self, question: Callable[[L], T]) -> T:
        """The listener's answer, between two blocks."""
        with self._lock:
            return question(self._listener)

    def step(self) -> None:
        """Listen to everything that has come in, and see whether the source still sounds."""
        ended = self._ended.is_set()  # asked first: what came before the end is then in the ring
        came = self._drain()
        now = self._clock()
        if came:
            self._last, self._begun = now, True
        quiet_for = now - self._last
        if self._most is not None and self._frames >= self._most:
            self._stopping.set()
        elif not self._stopping.is_set() and (ended or quiet_for > (STALLS_AFTER if self._begun else STARTS_WITHIN)):
            self._lost_it()

    def _drain(self) -> bool:
        came = False
        while self._most is None or self._frames < self._most:
            block = self._ring.take(TAKES if self._most is None else min(TAKES, self._most - self._frames))
            if block is None:
                break
            came = True
            self._frames += len(block.samples)
            with self._lock:
                self._listener.feed(block)
        return came

    def _lost_it(self) -> None:
        name = self.source.name
        if self._begun:
            message = f"{name} stopped after {self.seconds:.0f} s: it was unplugged, switched off, or taken away."
        else:
            message = f"No sound comes from {name}."
        self.trouble = SoundTrouble(
            message, "Check its cable and its power and start listening again, or go on by hand."
        )
        self._stopping.set()

    def _work(self) -> None:
        try:
            while not self._stopping.is_set():
                self.step()
                self._stopping.wait(LOOKS_EVERY)
            self.step()
        except Exception as error:  # the walk must go on by hand, whatever went wrong in here
            reason = one_line(f"{type(error).__name__}: {error}", 200)
            self.trouble = SoundTrouble(
                f"Listening failed: {reason}.", "Go on by hand; the log is not touched by it."
            )
            self._stopping.set()
