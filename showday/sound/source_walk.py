"""The walk along the inputs, from a file."""

from __future__ import annotations

import os
from pathlib import Path

from showday.errors import FileTrouble
from showday.sound.walk_csv import WalkLine, read_walk
from showday.text.problem import Problems
from showday.text.safe import one_line

MOST_BYTES = 2_000_000
"""A walk of MOST_LINES lines has less; a choice."""


def open_walk(path: str | os.PathLike[str]) -> tuple[list[WalkLine], Problems]:
    """The lines of the walk at `path` and every line that cannot be used; FileTrouble when it cannot be read as text."""
    where, name = Path(path), one_line(str(path), 300)
    try:
        if where.is_dir():
            raise FileTrouble(f"{name} is a folder.", "Name the walk in it.")
        if where.exists() and not where.is_file():
            raise FileTrouble(f"{name} is not a file.", "Name a walk.")
        with where.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise FileTrouble(f"{name} is not there.", "Check the name and the folder.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error) or type(error).__name__
        raise FileTrouble(f"{name} cannot be read: {reason}.", "Check its permissions.") from None
    if len(data) > MOST_BYTES or b"\0" in data:
        raise FileTrouble(f"{name} is not a walk.", "A walk is a text file with lines of start_s,end_s,input.")
    return read_walk(data.decode("utf-8", "replace"), name)
