"""Sweep files that lie about: where a person's exports usually end up, newest first."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from pathlib import Path

from showday import paths

SUFFIXES = (".csv", ".txt", ".tsv", ".dat", ".asc")
"""Endings of text files that analysers and receivers write (common practice)."""
MOST = 40
"""Files that are offered; an older one is opened by typing its path (a choice of this program)."""
MOST_LOOKED_AT = 2_000
"""Entries of one folder that are looked at (a choice of this program)."""


def own_sweeps() -> Path:
    """The folder for the person's own sweep files, beside the playbooks."""
    return paths.config_folder() / "sweeps"


def usual_folders(example: bool = False) -> list[Path]:
    """Where to look: one's own folder, the current one, the downloads; those of the example act for `example`."""
    folders = [own_sweeps(), Path.cwd()]
    if example:
        from showday.library import shipped

        folders.insert(0, shipped("examples") / "sweeps")
    with contextlib.suppress(RuntimeError):  # nobody's home is known
        folders.append(Path.home() / "Downloads")
    return folders


def sweep_files(folders: Iterable[Path]) -> list[Path]:
    """Text files of these folders that may be sweeps, newest first; what cannot be looked at is passed over."""
    found: dict[Path, float] = {}
    for folder in folders:
        with contextlib.suppress(OSError):
            for _, path in zip(range(MOST_LOOKED_AT), folder.iterdir(), strict=False):
                if path.suffix.lower() in SUFFIXES and not path.name.startswith(".") and path.is_file():
                    found.setdefault(path.absolute(), path.stat().st_mtime)
    return sorted(found, key=lambda path: (-found[path], str(path)))[:MOST]


def typed_file(text: str) -> Path | None:
    """The file that a typed path names; None when there is none."""
    typed = text.strip().strip("'\"")
    if not typed:
        return None
    with contextlib.suppress(OSError, RuntimeError, ValueError):
        path = Path(typed).expanduser()
        if path.is_file():
            return path
    return None
