"""A small screen of cells: what a terminal shows after the bytes a program has written.

Only what the screens and line prompts use: text, cursor moves, erasing, the alternate screen and the cursor's
showing (ECMA-48; the private modes as xterm has them). Colours are passed over.
"""

from __future__ import annotations

import codecs
import re

from rich.cells import cell_len

_ESCAPE = re.compile(
    r"\x1b\[(?P<private>[?<>=]?)(?P<numbers>[\d;:]*)(?P<between>[ -/]*)(?P<final>[@-~])"  # control sequence
    r"|\x1b[\]PX^_].*?(?:\x07|\x1b\\)"  # a string to the terminal itself, such as its title
    r"|\x1b[ -/]*(?![\[\]PX^_])[0-~]",  # the short ones
    re.S,
)
_LONGEST = 4096
"""Characters of an escape sequence that may still be coming; a lone ESC behind which more stands is passed over."""


class Cells:
    """Rows of characters, a cursor, and the modes that must be put back at the end."""

    def __init__(self, rows: int, columns: int) -> None:
        self.rows, self.columns = rows, columns
        self.alternate = False
        """Whether the alternate screen is shown."""
        self.cursor_shown = True
        self.mouse = False
        """Whether the program is told of the mouse."""
        self._decode = codecs.getincrementaldecoder("utf-8")("replace").decode
        self._rest = ""
        self._kept: tuple[list[list[str]], int, int] | None = None
        self._clear()

    def _clear(self) -> None:
        self._cells = [[" "] * self.columns for _ in range(self.rows)]
        self._y = self._x = 0

    @property
    def lines(self) -> list[str]:
        """The rows as a person reads them, without blanks at their ends."""
        return ["".join(row).rstrip() for row in self._cells]

    @property
    def text(self) -> str:
        """All rows."""
        return "\n".join(self.lines)

    def feed(self, data: bytes) -> None:
        """Show what was written."""
        text = self._rest + self._decode(data)
        self._rest = ""
        at = 0
        while at < len(text):
            if text[at] != "\x1b":
                self._put(text[at])
                at += 1
            elif found := _ESCAPE.match(text, at):
                self._obey(found)
                at = found.end()
            elif len(text) - at < _LONGEST:
                self._rest = text[at:]
                return
            else:
                at += 1

    def _put(self, letter: str) -> None:
        if letter == "\r":
            self._x = 0
        elif letter == "\n":
            self._line_feed()
        elif letter == "\b":
            self._x = max(0, self._x - 1)
        elif letter >= " ":
            self._put_visible(letter)

    def _put_visible(self, letter: str) -> None:
        width = cell_len(letter)
        if not width:
            return
        if self._x + width > self.columns:
            self._x = 0
            self._line_feed()
        self._cells[self._y][self._x : self._x + width] = [letter, *[""] * (width - 1)]
        self._x += width

    def _line_feed(self) -> None:
        self._y += 1
        if self._y == self.rows:
            self._y -= 1
            self._cells = [*self._cells[1:], [" "] * self.columns]

    def _obey(self, found: re.Match[str]) -> None:
        final = found["final"]
        if final is None or found["between"]:
            return
        if found["private"]:
            if found["private"] == "?" and final in "hl":
                for mode in found["numbers"].split(";"):
                    self._set_mode(mode, final == "h")
            return
        numbers = [int(n) if n.isdigit() else 0 for n in found["numbers"].split(";")]
        self._move(final, numbers)

    def _move(self, final: str, numbers: list[int]) -> None:
        by = max(1, numbers[0])
        if final in "Hf":
            column = numbers[1] if len(numbers) > 1 else 1
            self._y, self._x = by - 1, max(1, column) - 1
        elif final in "AB":
            self._y += by if final == "B" else -by
        elif final in "CD":
            self._x += by if final == "C" else -by
        elif final == "G":
            self._x = by - 1
        elif final == "J" and numbers[0] == 2:
            self._cells = [[" "] * self.columns for _ in range(self.rows)]
        elif final == "K":
            self._erase_in_line(numbers[0])
        self._y = min(max(self._y, 0), self.rows - 1)
        self._x = min(max(self._x, 0), self.columns - 1)

    def _erase_in_line(self, how: int) -> None:
        first = self._x if how == 0 else 0
        last = self._x + 1 if how == 1 else self.columns
        self._cells[self._y][first:last] = [" "] * (last - first)

    def _set_mode(self, mode: str, on: bool) -> None:
        if mode == "25":
            self.cursor_shown = on
        elif mode in ("1000", "1002", "1003"):
            self.mouse = on
        elif mode == "1049" and on and not self.alternate:
            self._kept = self._cells, self._y, self._x
            self.alternate = True
            self._clear()
        elif mode == "1049" and not on and self.alternate and self._kept:
            self._cells, self._y, self._x = self._kept
            self.alternate = False
