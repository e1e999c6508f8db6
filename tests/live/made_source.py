"""A source of sound that does what a test says, and a clock that stands still until it is moved."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from showday.errors import SoundTrouble
from showday.sound.model import Block, Samples
from showday.sound_live import Put


class MadeSource:
    """Sounds when `put` is called."""

    def __init__(self, name: str = "Rack", rate: int = 8_000, channels: int = 2, trouble: str = "") -> None:
        self.name, self.rate, self.channels = name, rate, channels
        self.is_open = False
        self._trouble = trouble

    def open(self, put: Put, ended: Callable[[], None]) -> None:
        if self._trouble:
            raise SoundTrouble(self._trouble)
        self.is_open = True
        self._put, self._ended = put, ended

    def put(self, samples: Samples, overflow: bool = False) -> None:
        self._put(samples, overflow)

    def silence(self, frames: int, overflow: bool = False) -> None:
        self.put(np.zeros((frames, self.channels), np.float32), overflow)

    def vanish(self) -> None:
        self._ended()

    def close(self) -> None:
        self.is_open = False


class StillClock:
    """Seconds that pass when told."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


class Collector:
    """Keeps every block."""

    def __init__(self) -> None:
        self.blocks: list[Block] = []

    def feed(self, block: Block) -> None:
        self.blocks.append(block)

    @property
    def samples(self) -> Samples:
        return np.concatenate([block.samples for block in self.blocks])


class Breaks:
    """Cannot listen."""

    def feed(self, block: Block) -> None:
        raise ZeroDivisionError("no such number")
