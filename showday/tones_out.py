"""Short tones for the person who walks the stage: good, not yet, wrong channel, heard in their own pack.

Off unless an output is chosen. The level is limited here, whatever is asked for; how loud it is in an ear nobody can
know from here, so the caution is said each time before the first tone.
"""

from __future__ import annotations

import contextlib
from collections import deque
from collections.abc import Sequence
from typing import Any

import numpy as np

from showday.sound.model import Samples
from showday.sound.verdict import AGAIN, GOOD, NOT_YET, TROUBLE, WRONG_CHANNEL
from showday.sound_devices import OUTPUT, Device, check, choose, library, quiet, trouble

CAUTION = (
    "Tones go to {name}, output {channel}. Hearing: nobody can tell from here how loud they are in an ear. Turn the pack "
    "down before it goes in, and see that this output reaches no loudspeaker and not the house."
)

LEVEL_DBFS = -40.0
LOUDEST_DBFS = -26.0
"""Peak of a tone, and the most that can be asked for. Choices on the quiet side: 22 and 8 dB under the alignment level of
EBU R68 (-18 dBFS), around which music in the same ears is mixed."""

_RAMP_S = 0.015
"""Raised-cosine rise and fall, so that no tone begins or ends with a click; common practice."""

_LOW, _HIGH = 523.25, 783.99
"""Hz: C5 and the G a fifth above it, equal temperament on 440 Hz (ISO 16). Small earphones play both."""

PATTERNS: dict[str, tuple[tuple[float, float], ...]] = {
    GOOD: ((_LOW, 0.12), (_HIGH, 0.22)),
    NOT_YET: ((_LOW, 0.12),),
    AGAIN: ((_LOW, 0.12),),
    WRONG_CHANNEL: ((_HIGH, 0.12), (_LOW, 0.12), (_HIGH, 0.12), (_LOW, 0.12)),
    TROUBLE: ((_HIGH, 0.12), (_LOW, 0.35)),
}
"""Tones in Hz with their length in seconds: up is good, one low is not yet, up and down is the wrong channel, down is
trouble."""

_PAUSE_S = 0.06


def pattern(verdict: str, rate: int, level_dbfs: float = LEVEL_DBFS) -> Samples:
    """The tones of a verdict as [frames] at this rate (Hz); empty for one without tones. Never above LOUDEST_DBFS."""
    amplitude = 10 ** (min(level_dbfs, LOUDEST_DBFS) / 20)
    parts: list[Samples] = []
    for hertz, seconds in PATTERNS.get(verdict, ()):
        at = np.arange(round(seconds * rate)) / rate
        edge = np.minimum(at, at[-1] - at) / _RAMP_S
        shape = 0.5 - 0.5 * np.cos(np.pi * np.clip(edge, 0, 1))
        parts += [
            (amplitude * shape * np.sin(2 * np.pi * hertz * at)).astype(np.float32),
            np.zeros(round(_PAUSE_S * rate), np.float32),
        ]
    return np.concatenate(parts) if parts else np.zeros(0, np.float32)


class Tones:
    """Plays patterns into one channel of an output; between them it plays silence."""

    def __init__(self, device: Device, channel: int = 0, level_dbfs: float = LEVEL_DBFS) -> None:
        """`channel` counts from 0. SoundTrouble when the device has no such output."""
        check(device, OUTPUT, channel + 1, device.rate)
        self.caution = CAUTION.format(name=device.name, channel=channel + 1)
        self._device, self._channel = device, channel
        self._made = {verdict: pattern(verdict, device.rate, level_dbfs) for verdict in PATTERNS}
        self._waiting: deque[Samples] = deque(maxlen=1)
        self._now = np.zeros(0, np.float32)
        self._stream: Any = None
        self._hushed = contextlib.ExitStack()

    def open(self) -> None:
        """Begin to play silence; SoundTrouble when the device cannot be opened."""
        sound = library()
        self._hushed.enter_context(quiet())
        try:
            self._stream = sound.OutputStream(
                device=self._device.number,
                channels=self._channel + 1,
                samplerate=self._device.rate,
                dtype="float32",
                callback=lambda out, frames, times, status: self.fill(out),
            )
            self._stream.start()
        except (sound.PortAudioError, ValueError) as error:
            self.close()
            raise trouble(self._device, self._channel + 1, self._device.rate, error) from None

    def say(self, verdict: str) -> None:
        """Play the pattern of a verdict as soon as what is playing has ended; of several that wait, the latest."""
        samples = self._made.get(verdict)
        if samples is not None and len(samples):
            self._waiting.append(samples)

    @property
    def busy(self) -> bool:
        """Whether something is still to be played: a microphone may hear it."""
        return bool(len(self._now) or self._waiting) and self._stream is not None and bool(self._stream.active)

    def fill(self, out: Samples) -> None:
        """The next frames, into [frames, channels]; called by the sound system."""
        out[:] = 0.0
        if not len(self._now):
            with contextlib.suppress(IndexError):
                self._now = self._waiting.popleft()
        part = self._now[: len(out)]
        out[: len(part), self._channel] = part
        self._now = self._now[len(part) :]

    def close(self) -> None:
        """Stop at once; nothing that was waiting is played."""
        stream, self._stream = self._stream, None
        if stream is not None:
            with contextlib.suppress(Exception):  # a vanished output has nothing left to stop
                stream.abort(ignore_errors=True)
                stream.close(ignore_errors=True)
        self._hushed.close()


def open_tones(name: str, channel: int, known: Sequence[Device]) -> Tones:
    """Tones into the output that is meant, open; `channel` counts from 0. SoundTrouble when there is none."""
    tones = Tones(choose(name, OUTPUT, known), channel)
    tones.open()
    return tones
