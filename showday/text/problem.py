"""A problem in a file is data: where, what, and the nearest right word."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

from showday.text.safe import one_line


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A position in a file; line and column count from 1."""

    line: int = 1
    column: int = 1


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in one place of one file."""

    file: str
    place: Place
    text: str
    meant: str = ""
    """The nearest right word, when there is one."""
    warning: bool = False
    """True when the file still works."""

    def __str__(self) -> str:
        meant = f" (did you mean {one_line(self.meant, 60)}?)" if self.meant else ""
        kind = "warning: " if self.warning else ""
        where = f"{one_line(self.file, 300)}:{self.place.line}:{self.place.column}"
        return f"{where}: {kind}{one_line(self.text, 400)}{meant}"


class Problems(list[Problem]):
    """The problems of one file, collected while it is read."""

    def __init__(self, file: str) -> None:
        super().__init__()
        self.file = file

    def add(self, place: Place, text: str, meant: str = "", *, warning: bool = False) -> None:
        """Note one problem at `place`."""
        self.append(Problem(self.file, place, text, meant, warning))

    @property
    def errors(self) -> list[Problem]:
        """Those that keep the file from being used."""
        return [p for p in self if not p.warning]

    def in_order(self) -> list[Problem]:
        """Sorted by place, errors before warnings in one place."""
        return sorted(self, key=lambda p: (p.place, p.warning))


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word most like `word`, or an empty text when none is like it."""
    if len(word) > 100:
        return ""
    found = difflib.get_close_matches(word.lower(), list(known), n=1, cutoff=0.6)
    return found[0] if found else ""
