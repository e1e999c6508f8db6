"""Listening beside the screens: a device is opened, one input after the other is awaited, and what was heard is told.

Imported by nothing until somebody listens; arrays and the sound library are imported when a device is opened.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from showday.errors import SoundTrouble
from showday.rig.model import Rig
from showday.run.plan import Plan

if TYPE_CHECKING:
    from showday.fault.heard import Evidence
    from showday.sound.listener import Listener
    from showday.sound.model import Finding, Meter
    from showday.sound.spectrum import Spectrum
    from showday.sound.verdict import Heard, Wanted
    from showday.sound_devices import Device
    from showday.sound_live import Live, Source
    from showday.tones_out import Tones

T = TypeVar("T")
RECENT_S = 30.0
"""Seconds for which a finding that is over still counts when a fault walk begins; a choice: somebody heard it just now."""


RESTS_S, RESTS_WITHIN_S = 0.7, 5.0
"""Seconds of rest on the channel that was heard before another input is awaited, and the longest wait for it; choices."""
DEAD, SILENT = "dead", "digital_silence"
"""Kinds of the findings that a line did nothing while others sounded, and that it gives exact zeros."""
PATIENCE_S = 10.0
"""Seconds that a person is given to make a sound before its absence is spoken of; a choice."""


def _silent(heard: Heard) -> bool:
    return heard.arrival is None or heard.arrival.verdict == "nothing"


class Ears:
    """What listens while the screens are open. Closed until `open`; a device that vanishes leaves the run to the hands."""

    def __init__(self, rig: Rig) -> None:
        self._rig = rig
        self._live: Live[Listener] | None = None
        self._awaited = ""
        self._asked_at: float | None = None
        """Second at which another input was asked for while the last one still sounded; None when none was."""
        self._loud_at = 0.0
        self._asked: set[str] = set()
        """Every input that was awaited since the device was opened."""
        self._since = 0.0
        """Second of the sound at which it began to be awaited."""
        self._last: Heard | None = None
        self.tones: Tones | None = None
        self.hands_free = False
        """Whether good lines are ticked by themselves."""
        self.trouble = ""
        """Why it stopped by itself, in a sentence; empty when it did not."""

    # -- the device ----------------------------------------------------------------------------------------------

    @staticmethod
    def devices() -> list[Device]:
        """Every sound device; SoundTrouble that says what to install when there is no way to ask."""
        from showday.sound_devices import devices

        return devices()

    def open(self, device: Device, plan: Plan | None = None) -> None:
        """Listen to a device: as many channels as the rig has inputs, or all it has. SoundTrouble when it cannot."""
        # One thread for linear algebra: the matrices are small, and two threads take twice as long.
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        from showday.hearing import wanted_inputs
        from showday.sound_devices import MOST_CHANNELS
        from showday.sound_live import DeviceSource

        inputs = wanted_inputs(self._rig, plan)
        need = max((one.channel + 1 for one in inputs if one.channel is not None), default=0)
        if need > device.inputs:
            raise SoundTrouble(
                f"{device.name} has {device.inputs} input channels, and the rig needs {need}.",
                "Choose the mixer's device, or set it to more channels in the system.",
            )
        self.begin(DeviceSource(device, min(device.inputs, MOST_CHANNELS), device.rate), inputs)

    def begin(self, source: Source, inputs: Sequence[Wanted]) -> None:
        """Listen to a source; what was listened to before is closed."""
        from showday.hearing import pairs_of
        from showday.sound.listener import Listener
        from showday.sound_live import Live

        self.close()
        pairs = [pair for pair in pairs_of(self._rig) if max(pair.left, pair.right) < source.channels]
        live = Live(source, Listener(source.rate, source.channels, inputs, pairs=pairs))
        live.start()
        self._live, self.trouble = live, ""
        self._asked = set()  # of an earlier device, of which nothing is known any more

    def close(self) -> None:
        """Stop listening, and stop the tones."""
        live, self._live = self._live, None
        if live is not None:
            live.stop()
        if self.tones is not None:
            self.tones.close()
            self.tones = None
        self._awaited, self._last, self.hands_free = "", None, False

    @property
    def live(self) -> bool:
        """Whether something is listened to; notes why when it has stopped by itself."""
        if self._live is None:
            return False
        if not self._live.running:
            trouble = self._live.trouble
            self.trouble = str(trouble) if trouble else ""
            self.close()
            return False
        return True

    @property
    def title(self) -> str:
        """What is listened to: `Desk USB, 32 channels, 48,000 Hz`."""
        if self._live is None:
            return ""
        source = self._live.source
        return f"{source.name}, {source.channels} channels, {source.rate:,} Hz"

    def said(self) -> tuple[str, ...]:
        """What the computer lost, in sentences."""
        return self._live.said() if self._live else ()

    # -- one input after the other -------------------------------------------------------------------------------

    def await_input(self, name: str) -> None:
        """Wait for this input from now on, unless it is awaited already; none when the name is empty."""
        if self.live and name != self._awaited and self._rested():
            self._begin(name)

    def _rested(self) -> bool:
        """Whether the channel that was heard last has come to rest: a last stroke must not be taken for the next input."""
        live, arrival = self._live, self._last.arrival if self._last else None
        if live is None or arrival is None or arrival.found is None:
            return True
        from showday.sound.activity import LEAST_DB, RISE_DB

        now, meter = live.seconds, self.meters()[arrival.found]
        floor = meter.floor_dbfs if math.isfinite(meter.floor_dbfs) else -math.inf
        if self._asked_at is None:
            self._asked_at = self._loud_at = now
        if meter.peak_dbfs > max(LEAST_DB, floor + RISE_DB):
            self._loud_at = now
        return now >= self._loud_at + RESTS_S or now >= self._asked_at + RESTS_WITHIN_S

    def again(self) -> None:
        """Forget what was heard of the awaited input: a new sound is wanted."""
        if self.live:
            self._begin(self._awaited)

    def _begin(self, name: str) -> None:
        self._awaited, self._last = name, None
        self._asked.add(name)
        self._asked_at = None
        self._since = self._live.seconds if self._live else 0.0
        if name:
            self._ask(lambda listener: listener.begin(name))
        else:
            self._ask(lambda listener: listener.end())

    def heard(self) -> Heard | None:
        """What is heard of the awaited input so far; None when none is awaited. A change is played as tones."""
        if not self.live or not self._awaited or (self.tones is not None and self.tones.busy):
            return None
        heard = self._ask(lambda listener: listener.now())
        if _silent(heard) and self._live is not None and self._live.seconds < self._since + PATIENCE_S:
            heard = replace(heard, reason="Make a sound at it.")
        if self.tones is not None and (self._last is None or heard.verdict != self._last.verdict):
            self.tones.say(heard.verdict)
        self._last = heard
        return heard

    @property
    def last(self) -> Heard | None:
        """What was heard last of the awaited input."""
        return self._last

    # -- looking -------------------------------------------------------------------------------------------------

    def wanted(self) -> dict[int, Wanted]:
        """What is wanted on each channel, counted from 0."""
        if self._live is None:
            return {}
        every = self._ask(lambda listener: list(listener.wanted.values()))
        return {one.channel: one for one in every if one.channel is not None}

    def meters(self) -> list[Meter]:
        """The levels of every channel now."""
        return self._ask(lambda listener: listener.meters()) if self._live else []

    def findings(self) -> list[Finding]:
        """Everything found so far, by channel; that a line does nothing is told only when its input was asked for.

        Exact zeros are told before, unless a digital source rests in them.
        """
        if self._live is None:
            return []
        wanted = self.wanted()
        asked = {channel for channel, one in wanted.items() if one.input in self._asked}
        digital = {channel for channel, one in wanted.items() if one.digital}
        found = self._ask(lambda listener: listener.findings())

        def rests(one: Finding) -> bool:
            return one.kind == DEAD or (one.kind == SILENT and one.channel in digital)

        return [one for one in found if one.channel in asked or not rests(one)]

    def spectrum(self, channel: int) -> Spectrum | None:
        """The last second of a channel."""
        return self._ask(lambda listener: listener.spectrum(channel)) if self._live else None

    def mains_hz(self) -> float | None:
        """The mains that is heard, in Hz."""
        return self._ask(lambda listener: listener.mains_hz) if self._live else None

    def evidence(self, thing: tuple[str, str]) -> Evidence | None:
        """What was heard, as fault trees ask for it, for a thing of the rig; None when nothing is listened to."""
        if not self.live or self._live is None:
            return None
        from showday.hearing import evidence, input_of

        since = max(0.0, self._live.seconds - RECENT_S)
        about = input_of(self._rig, thing)
        return evidence(self.findings(), list(self.wanted().values()), about, self._last, since)

    # -- tones ---------------------------------------------------------------------------------------------------

    def sound_tones(self, device: Device, channel: int) -> str:
        """Play verdicts into one channel (from 0) of an output from now on; the caution to be shown before."""
        from showday.tones_out import Tones

        if self.tones is not None:
            self.tones.close()
        self.tones = Tones(device, channel)
        self.tones.open()
        return self.tones.caution

    def _ask(self, question: Callable[[Listener], T]) -> T:
        assert self._live is not None
        return self._live.ask(question)
