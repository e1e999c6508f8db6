"""A real program on a pseudo-terminal, waited for by facts."""

from __future__ import annotations

import os
import re
import signal
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pexpect

from tests.support.screen import Cells

ROOT = Path(__file__).parents[2]
PATIENCE = 20.0
"""Seconds after which a fact that has not come true never will; nothing that works comes near it."""
_CUT = frozenset(("NO_COLOR", "LANG", "LC_ALL", "LC_CTYPE", "COLUMNS", "LINES", "TERM", "SHOWDAY_HOME"))


def environment(home: Path, more: Mapping[str, str] | None = None) -> dict[str, str]:
    """The surroundings of a program whose files all lie in `home`; `more` is put over them."""
    kept = {name: value for name, value in os.environ.items() if name not in _CUT}
    own = {"TERM": "xterm-256color", "LANG": "C.UTF-8", "SHOWDAY_HOME": str(home), "HOME": str(home)}
    return {**kept, **own, **(more or {})}


class Terminal:
    """One program and the terminal it runs in."""

    def __init__(self, arguments: Sequence[str], env: Mapping[str, str], size: tuple[int, int] = (24, 80)) -> None:
        """`arguments` are given to this Python; `size` is (rows, columns)."""
        self.raw = bytearray()
        """Everything the program has written."""
        self._cells, self._drawn = Cells(*size), 0
        self._program: pexpect.spawn[bytes] = pexpect.spawn(
            sys.executable, list(arguments), env=dict(env), cwd=str(ROOT), dimensions=size, timeout=PATIENCE
        )
        self._program.delaybeforesend = None
        self._program.delayafterclose = self._program.delayafterterminate = 0.01
        self._ended = False

    @classmethod
    def showday(
        cls, *arguments: str, home: Path, size: tuple[int, int] = (24, 80), env: Mapping[str, str] | None = None
    ) -> Terminal:
        """The program as a person starts it, with all its files in `home`."""
        return cls(["-m", "showday.cli", *arguments], environment(home, env), size)

    def __enter__(self) -> Terminal:
        return self

    def __exit__(self, *_: object) -> None:
        self._program.close(force=True)

    @property
    def cells(self) -> Cells:
        """What the terminal shows now."""
        self._cells.feed(bytes(self.raw[self._drawn :]))
        self._drawn = len(self.raw)
        return self._cells

    # -- waiting for facts -----------------------------------------------------------------------------------------

    def until(self, fact: Callable[[], object]) -> None:
        """Read what the program writes until a fact holds; fail with the screen when it never does."""
        deadline = time.monotonic() + PATIENCE
        while not fact():
            left = deadline - time.monotonic()
            if self._ended or left <= 0:
                why = "the program ended" if self._ended else "it never came true"
                raise AssertionError(f"{why}; the screen says:\n{self.cells.text}")
            self._read(left)

    def until_shows(self, *words: str) -> None:
        """Wait until all the words stand on the screen."""
        self.until(lambda: all(word in self.cells.text for word in words))

    def until_written(self, pattern: bytes, start: int = 0) -> int:
        """Wait until bytes of this pattern were written behind `start`; the place behind them. Nothing is drawn
        meanwhile, which would cost time."""
        found: re.Match[bytes] | None = None

        def written() -> bool:
            nonlocal found
            found = re.compile(pattern).search(self.raw, start)
            return found is not None

        self.until(written)
        assert found is not None
        return found.end()

    def until_quiet(self, seconds: float) -> None:
        """Read until the program has written nothing for so long."""
        while not self._ended and self._read(seconds):
            pass

    def _read(self, seconds: float) -> bool:
        """Read what comes within so many seconds; whether anything came."""
        try:
            data = self._program.read_nonblocking(65536, timeout=seconds)
        except pexpect.TIMEOUT:
            return False
        except pexpect.EOF:
            self._ended = True
            return False
        self.raw += data
        return True

    # -- acting ----------------------------------------------------------------------------------------------------

    def press(self, keys: str) -> None:
        """Type keys as the keyboard sends them."""
        self._program.send(keys)

    def enter(self, line: str) -> None:
        """Type a line and the Enter key."""
        self._program.send(f"{line}\r")

    def send_signal(self, number: signal.Signals) -> None:
        """Send the program a signal."""
        self._program.kill(number)

    def resize(self, size: tuple[int, int]) -> None:
        """Give the terminal (rows, columns); what stood on it is lost, as some terminals have it."""
        self._cells, self._drawn = Cells(*size), len(self.raw)
        self._program.setwinsize(*size)

    def end(self) -> int:
        """Wait until the program has ended by itself; its exit status, or minus the signal that ended it."""
        self.until(lambda: self._ended)
        self._program.wait()
        if self._program.signalstatus is not None:
            return -int(self._program.signalstatus)
        assert self._program.exitstatus is not None
        return int(self._program.exitstatus)
