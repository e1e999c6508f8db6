"""Lines of a sweep file that cannot be used: the first of them with their sentences, the others counted."""

from __future__ import annotations

from showday.text.problem import Place, Problems
from showday.text.safe import one_line

TOLD = 20
"""So many are told one by one; a choice of this program."""


class Faults:
    """Collects what is wrong in one file, line by line."""

    def __init__(self, file: str) -> None:
        self.problems = Problems(file)
        self.untold = 0
        self._last = 1

    def add(self, line: int, text: str, column: int = 1) -> None:
        """Note what is wrong in a line."""
        if len(self.problems) < TOLD:
            self.problems.add(Place(line, column), text)
        else:
            self.untold += 1
            self._last = max(self._last, line)

    def finish(self) -> Problems:
        """The problems by their lines, with a last one for those that were only counted."""
        self.problems.sort(key=lambda problem: problem.place)
        if self.untold:
            more = "1 more line" if self.untold == 1 else f"{self.untold:,} more lines"
            self.problems.add(Place(self._last), f"{more} up to here could not be used")
        return self.problems


def shown(text: str) -> str:
    """A piece of the file in quotes, made harmless."""
    return f"'{one_line(text, 40)}'"
