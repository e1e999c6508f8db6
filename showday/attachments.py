"""Files that belong to a venue, a show or a to-fix item: naming them, and saying whether they are there.

A path is kept and shown as text. No file is ever opened here.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from showday.errors import ShowdayError
from showday.run.attached import MISSING, Attached
from showday.text.safe import one_line

LONGEST = 1000
"""Characters of a path that are taken (a choice of this program)."""


def named(typed: str) -> str:
    """The path typed, absolute, with `~` as the home folder; ShowdayError when it can be no path."""
    words = typed.strip().strip("'\"")
    if not words or "\0" in words or len(words) > LONGEST:
        raise ShowdayError("That is no path of a file.", "Write where it is, such as ~/photos/supply.jpg.")
    return os.path.abspath(os.path.expanduser(words))  # noqa: PTH100, PTH111 (a link stays what it is)


def is_there(path: str) -> bool:
    """Whether the file is there. A path of another computer's share is not looked for: asking could take minutes."""
    if path.startswith(("//", "\\\\")):
        return False
    try:
        return Path(path).exists()
    except (OSError, ValueError):
        return False


def file_lines(files: Iterable[Attached]) -> list[str]:
    """One line a file: where it is, what is in it, whether it is missing."""
    lines = []
    for file in files:
        about = f": {file.about}" if file.about else ""
        gone = "" if is_there(file.path) else f" ({MISSING})"
        lines.append(one_line(f"{file.path}{about}{gone}", 400))
    return lines
