"""The line check by ear, as lines: each input in turn is asked for, and ticked when it is right.

Hands free: the next input is asked for by itself when one is good. With a keyboard near, Enter goes on without it.
"""

from __future__ import annotations

import contextlib
import math
import os
import queue
import re
import sys
import threading
from collections.abc import Callable, Sequence
from typing import Protocol

from showday.sound.activity import LEAST_DB, RISE_DB
from showday.sound.listener import Listener
from showday.sound.verdict import GOOD, WRONG_CHANNEL, Heard, Wanted
from showday.sound_live import LOOKS_EVERY, Live
from showday.text.safe import one_line

ASKS_EVERY = 0.3
"""Seconds between two looks at the verdict; a choice: it changes with every half second of sound at most."""

RESTS_S = 0.7
RESTS_WITHIN_S = 5.0
"""Seconds of rest on the channel that was heard before the next input is asked for, so that a last stroke is not taken
for it, and how long that is waited for: a line that never rests must not stop the walk. Choices."""

KEYS = "Enter: the next input. again and Enter: this one anew. end and Enter: stop."

_NEXT, _AGAIN, _END = "", "again", "end"
_SIGNS = {WRONG_CHANNEL: "WRONG CHANNEL"}

Say = Callable[[str], None]


class SaysVerdict(Protocol):
    """Lets the person hear a verdict."""

    @property
    def busy(self) -> bool:
        """Whether something is still being played."""

    def say(self, verdict: str) -> None:
        """Play what stands for it."""


class Keys:
    """Lines typed while something else is waited for; none where nobody can type."""

    def __init__(self) -> None:
        self._typed: queue.SimpleQueue[str] = queue.SimpleQueue()
        self.closed = threading.Event()
        """Nobody can type any more."""
        try:
            place = sys.stdin.fileno()
        except (AttributeError, OSError, ValueError):
            self.closed.set()
            return
        threading.Thread(target=self._read, args=(place,), name="showday reads keys", daemon=True).start()

    def _read(self, place: int) -> None:
        # Not through sys.stdin: its lock, held by a thread that waits, would keep the program from ending.
        rest = b""
        with contextlib.suppress(OSError):
            while piece := os.read(place, 4_096):
                *lines, rest = (rest + piece).split(b"\n")
                for line in lines:
                    self._typed.put(one_line(line.decode("utf-8", "replace"), 80).casefold())
        self.closed.set()

    def take(self) -> str | None:
        """The next line, or None when none was typed."""
        with contextlib.suppress(queue.Empty):
            return self._typed.get_nowait()
        return None


def walk(
    live: Live[Listener],
    inputs: Sequence[Wanted],
    keys: Keys,
    say: Say,
    tones: SaysVerdict | None = None,
    done: Callable[[Heard], Sequence[str]] = lambda heard: (),
) -> None:
    """Ask for every input in turn, until all were walked, somebody ends it, or the sound ends.

    `done` is told what was heard of each input when its turn is over, and gives sentences to be said.
    """
    if not keys.closed.is_set():
        say(KEYS)
    for number, wanted in enumerate(inputs, 1):
        asked = _AGAIN
        while asked == _AGAIN:
            if not _quiet(live, tones):
                return
            live.ask(lambda listener, name=wanted.input: listener.begin(name))  # type: ignore[misc]
            say(f"{number} of {len(inputs)}  {wanted.input}{_where(wanted)}: make a sound.")
            asked = _one(live, keys, say, tones)
            heard = live.ask(lambda listener: listener.end())
            for sentence in done(heard):
                say(f"    {sentence}")
            if asked != _END and heard.arrival is not None and heard.arrival.found is not None:
                _rest(live, heard.arrival.found)
        if asked == _END:
            return


def _where(wanted: Wanted) -> str:
    return "" if wanted.channel is None else f", channel {wanted.channel + 1}"


def _quiet(live: Live[Listener], tones: SaysVerdict | None) -> bool:
    """Wait until no tone is in the air that a microphone could take for the next input; whether it still listens."""
    while live.running and tones is not None and tones.busy:
        live.wait(ASKS_EVERY)
    return live.running


def _gist(heard: Heard) -> tuple[str, str]:
    """What has to change before a line is worth reading: not the level that moves with every stroke."""
    return heard.verdict, re.sub(r"[\d.]+", "", heard.reason)


def _rest(live: Live[Listener], channel: int) -> None:
    """Wait until this channel has come to rest."""
    began = last = live.seconds
    while live.wait(LOOKS_EVERY) and live.seconds < began + RESTS_WITHIN_S and live.seconds < last + RESTS_S:
        meter = live.ask(lambda listener: listener.meters())[channel]
        floor = meter.floor_dbfs if math.isfinite(meter.floor_dbfs) else -math.inf
        if meter.peak_dbfs > max(LEAST_DB, floor + RISE_DB):
            last = live.seconds


def _one(live: Live[Listener], keys: Keys, say: Say, tones: SaysVerdict | None) -> str:
    """Until this input is good, or until what somebody types; `end` when the sound has ended."""
    before = live.ask(lambda listener: listener.now())
    while live.wait(ASKS_EVERY):
        heard = live.ask(lambda listener: listener.now())
        if _gist(heard) != _gist(before):
            say(f"    {_SIGNS.get(heard.verdict, heard.verdict)}: {heard.reason}")
        if tones is not None and heard.verdict != before.verdict:
            tones.say(heard.verdict)
        before = heard
        if heard.verdict == GOOD:
            return _NEXT
        typed = keys.take()
        if typed in (_END, "q"):
            return _END
        if typed is not None:
            return _AGAIN if typed in (_AGAIN, "a") else _NEXT
    return _END
