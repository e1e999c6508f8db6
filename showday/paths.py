"""Which folders and files are used, and how a file is put in its place whole.

`SHOWDAY_HOME` overrides every folder. Looking up makes nothing; a folder is made only when something is written.
"""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
from pathlib import Path

HOME_VARIABLE = "SHOWDAY_HOME"

REMOTE_TYPES = frozenset(
    ("9p", "afs", "ceph", "cifs", "coda", "davfs", "gfs2", "lustre", "ncpfs", "nfs", "nfs4", "ocfs2", "smb3", "smbfs")
)
"""File system types, as the kernel's mount table names them, that other machines may share (from memory)."""

_SYNCED = re.compile(r"(?<!a)sync|cloud|drive$|^mobile documents$|(?<!sand)(?<!mail)(?<!in)(?<!out)box$", re.I)
_ESCAPE = re.compile(r"\\([0-7]{3})")


def _folder(kind: str) -> Path:
    home = os.environ.get(HOME_VARIABLE, "").strip()
    if home:
        with contextlib.suppress(RuntimeError):  # a `~name` of nobody stays as it is
            return Path(home).expanduser().absolute() / kind
        return Path(home).absolute() / kind
    from platformdirs import PlatformDirs

    dirs = PlatformDirs("showday", appauthor=False)
    return {"data": dirs.user_data_path, "config": dirs.user_config_path, "state": dirs.user_state_path}[kind]


def data_folder() -> Path:
    """Where the log is."""
    return _folder("data")


def config_folder() -> Path:
    """Where the person's own playbooks, rig and settings are."""
    return _folder("config")


def state_folder() -> Path:
    """Where passing things are: answers that could not be written into the log."""
    return _folder("state")


def log_path() -> Path:
    """The log's file."""
    return data_folder() / "showday-log.sqlite"


def own_playbooks() -> Path:
    """The folder of the person's own playbooks."""
    return config_folder() / "playbooks"


def own_faults() -> Path:
    """The folder of the person's own fault trees."""
    return own_playbooks() / "faults"


def own_rig() -> Path:
    """The act's rig file."""
    return config_folder() / "rig.yaml"


def settings_path() -> Path:
    """The settings that the program remembers."""
    return config_folder() / "settings.json"


def unsaved_path(mark: str = "") -> Path:
    """Where what the log did not take is kept, by the mark of the sitting that keeps it."""
    return state_folder() / f"showday-unsaved{f'-{mark}' if mark else ''}.jsonl"


def unsaved_files() -> list[Path]:
    """Every such file of this and of earlier sittings."""
    return sorted(state_folder().glob("showday-unsaved*.jsonl"))


def file_system(path: Path, mounts: str | None = None) -> str:
    """The type of the file system that holds `path`; empty when it cannot be told.

    `mounts` is the text of a Linux mount table (fstab(5) fields); None reads the running system's.
    """
    if mounts is None:
        try:
            mounts = Path("/proc/self/mounts").read_text("utf-8", "surrogateescape")
        except OSError:
            return ""
    real = path.resolve()
    depth, found = -1, ""
    for line in mounts.splitlines():
        fields = line.split(" ")
        if len(fields) < 3:
            continue
        point = Path(_ESCAPE.sub(lambda m: chr(int(m.group(1), 8)), fields[1]))
        if len(point.parts) >= depth and real.is_relative_to(point):
            depth, found = len(point.parts), fields[2]
    return found


def may_be_remote(path: Path, mounts: str | None = None) -> bool:
    """Whether the file may be on another machine, or on a file system that a program answers for.

    SQLite's write-ahead log needs shared memory between all who use the file, which neither of these promises
    (sqlite.org/wal.html).
    """
    if str(path.absolute()).startswith(("\\\\", "//")):
        return True
    kind = file_system(path, mounts)
    return kind in REMOTE_TYPES or kind.startswith("fuse.")


def synced_folder_warning(path: Path, mounts: str | None = None) -> str:
    """One sentence when the log's place may spoil it; empty when nothing speaks against it.

    A program that copies a database while it is written makes copies without the last answers, or damaged ones.
    """
    move = f"keep the log in this computer's own folder (set {HOME_VARIABLE}) and copy it with `showday log backup`"
    if path.is_symlink() or path.parent.is_symlink():
        return f"The log's place is a link to somewhere else, where it may be copied while it is written; {move}."
    if may_be_remote(path, mounts):
        return f"The log is on a network or shared file system, where a lost connection can damage it; {move}."
    if any(_SYNCED.search(part) for part in path.resolve().parent.parts):
        return f"The log seems to be in a folder that is copied to other machines while it is written; {move}."
    return ""


def write_whole(path: Path, text: str) -> None:
    """Write a text file so that a reader finds either the old or the whole new one; OSError when it cannot be.

    Characters that are not Unicode text become question marks.
    """
    path = path.resolve()
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", errors="replace", newline="\n") as file:
            file.write(text)
        put_in_place(part, path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def put_in_place(part: Path, path: Path) -> None:
    """Rename a finished file over `path` so that it survives a power cut; both are in one folder."""
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    part.replace(path)
    if os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        except OSError:
            pass  # some file systems take no fsync of a folder; the rename itself is done
        finally:
            os.close(folder)
