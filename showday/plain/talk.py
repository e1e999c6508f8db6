"""Lines in and lines out: whatever is said or typed is made harmless, and the end of input is an exception."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import BinaryIO, Protocol, TextIO

from showday.plain import words
from showday.text.safe import one_line, plain

MAX_LINE = 20_000
"""Characters of one typed line that are kept; more than anybody types."""


class Ended(Exception):
    """There is no more input."""


class Lines(Protocol):
    """Where lines come from and go to."""

    def read(self) -> str | None:
        """The next line typed; None at the end of input."""

    def write(self, line: str) -> None:
        """Show one line at once."""


class StreamLines:
    """Lines over two streams; bytes that are not UTF-8 become replacement characters."""

    def __init__(self, source: BinaryIO, target: TextIO) -> None:
        self._source = source
        self._target = target

    def read(self) -> str | None:
        """The next line; of one that is far too long the beginning."""
        raw = part = self._source.readline(4 * MAX_LINE)
        while part and not part.endswith(b"\n"):
            part = self._source.readline(4 * MAX_LINE)
        return raw.decode("utf-8", "replace") if raw else None

    def write(self, line: str) -> None:
        """Show one line at once."""
        self._target.write(line + "\n")
        self._target.flush()


class Talk:
    """The conversation: sentences, prompts with a tag in front, and the log's standing warning."""

    def __init__(self, lines: Lines) -> None:
        self._lines = lines
        self._warning: Callable[[], str] = str
        self._warned = False

    def watch(self, warning: Callable[[], str]) -> None:
        """Look at this standing warning before each prompt, and say when it comes and goes."""
        self._warning = warning

    def say(self, text: str = "") -> None:
        """One line; foreign text in it is made harmless."""
        self._lines.write(plain(text).replace("\n", " "))

    def part(self, label: str, text: str) -> None:
        """`Label: text` on one line, or nothing when there is no text."""
        if text:
            self.say(f"{label}: {one_line(text, 600)}")

    def ask(self, tag: str, question: str) -> str:
        """What is typed at a prompt `[tag] question`, folded to one harmless line; Ended when nothing comes."""
        self._tell_warning()
        self.say(f"[{one_line(tag, 200)}] {one_line(question, 2_000)}")
        typed = self._lines.read()
        if typed is None:
            raise Ended
        kept = one_line(typed, MAX_LINE)
        if len(kept) == MAX_LINE:
            self.say(f"That was very long; its first {MAX_LINE:,} characters are kept.")
        return kept

    def choose(self, tag: str, answers: Sequence[str], none: str) -> int | None:
        """The index of one of several; an empty line is the first; None for the word `none`."""
        question = f"{words.listed(answers)}; Enter for the first, or {none}?"
        while True:
            typed = self.ask(tag, question)
            if not typed:
                return 0
            if words.fold(typed) == none:
                return None
            found = words.choose(typed, answers)
            if len(found) == 1:
                return list(answers).index(found[0])
            self.say("Answer with a number or the beginning of one of these.")

    def _tell_warning(self) -> None:
        """Say when the log stops taking answers, and when it takes them again."""
        warning = self._warning()
        if warning and not self._warned:
            self.part("Warning", warning)
        if self._warned and not warning:
            self.say("Everything is saved again.")
        self._warned = bool(warning)
