"""Carrying the log elsewhere: bundles out and in, a folder that several laptops share, and putting a backup back.

A bundle is gone through twice: once to see that all of it is whole, once to take it over in one transaction, so that a
damaged file, a lost battery or a killed program never leaves half of it in the log.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from showday import paths
from showday.clockwork import SystemClock, new_id
from showday.errors import FileTrouble, LogTrouble, ShowdayError
from showday.log.bundle import LONGEST_LINE, Head, bundle_lines, content_hash, read_bundle
from showday.log.records import EntryRefused, Snapshot
from showday.log.selection import everything, of_venue
from showday.log.store import Log
from showday.run.events import Entry
from showday.run.touring import Book, Venue, fold_book
from showday.settings import remember, remembered
from showday.text.safe import one_line

ENDING = ".bundle.jsonl"
ANY = "*.bundle*.jsonl"
"""Bundles in a shared folder, those too that a file service has renamed: `x.bundle (1).jsonl`."""
LAPTOP, SYNCED = "laptop", "synced"
"""Names of settings."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What one bundle brought."""

    file: str
    entries: int
    """Entries in it."""
    new: int
    """Those of them that were not here yet."""
    last: tuple[str, str] = ("", "")
    """Stream and id of its last entry."""
    same_as_before: bool = False


def export(log: Log, path: Path, venue: Venue | None = None) -> tuple[int, str]:
    """Write a bundle of the whole log, or of what belongs to a venue; how many entries, and the file as shown."""
    if path.is_dir():
        raise FileTrouble(f"{_shown(path)} is a folder.", "Add a file name for the bundle.")
    if path.exists() and not _is_bundle(path):
        raise FileTrouble(f"{_shown(path)} is another file, not a bundle.", "Choose another name.")
    book = fold_book(log.touring())
    picked = everything(log) if venue is None else of_venue(log, book, venue)
    head = Head(laptop(), _now(), venue.name if venue else "")
    count = 0

    def counted() -> Iterator[Entry]:
        nonlocal count
        for entry in picked.entries():
            count += 1
            yield entry

    _write(path, bundle_lines(head, picked.snapshots(), counted()))
    return count, _shown(path)


def take_in(log: Log, path: Path) -> Taken:
    """Take a bundle into the log: all of it or nothing. Taking it twice changes nothing."""
    shown = _shown(path)
    for _ in read_bundle(_lines(path), shown):
        pass
    before, total = log.count(), 0
    last = ("", "")

    def entries() -> Iterator[Entry]:
        nonlocal total, last
        for found in read_bundle(_lines(path), shown):
            if isinstance(found, Entry):
                total, last = total + 1, (found.stream, found.id)
                yield found

    snapshots = (found for found in read_bundle(_lines(path), shown) if isinstance(found, Snapshot))
    log.append(entries(), snapshots)
    with suppress(LogTrouble):  # what was taken in is in the log; its words can wait until notes are searched
        while log.make_words_ready():
            pass
    return Taken(shown, total, log.count() - before, last)


@dataclass(frozen=True, slots=True)
class Synced:
    """What came of one look into the shared folder."""

    written: bool
    """Whether this laptop's file was written anew."""
    taken: tuple[Taken, ...]
    refused: tuple[str, ...]
    """Why some of the files were not taken, as sentences."""


def sync(log: Log, folder: Path) -> Synced:
    """Read every bundle in a folder, then write this laptop's own, when there is anything new in it.

    This laptop's own file is read too when it is not as it was left here: a copy of this laptop may write it as well,
    and after a backup was put back it is what brings the newer entries. One that cannot be taken is kept beside the new.
    """
    if not folder.is_dir():
        raise FileTrouble(f"{_shown(folder)} is not a folder.", "Make it, or name the one that the others use.")
    own = folder / f"showday-{laptop()}{ENDING}"
    taken, refused = [], []
    for path in sorted(path for path in folder.glob(ANY) if not path.name.startswith(".")):
        try:
            found = _take_in_once(log, path)
        except (FileTrouble, EntryRefused) as trouble:
            refused.append(f"{trouble} It is kept as {_set_aside(path)}." if path == own else str(trouble))
            continue
        if path != own or found.new:
            taken.append(found)
    written = _write_own(log, own)
    return Synced(written, tuple(taken), tuple(refused))


def _set_aside(own: Path) -> str:
    """Where this laptop's own file is kept before it is written anew: it may hold what is in no log."""
    aside = own.with_name(f"{own.name}.{new_id()[:8]}.refused")
    try:
        own.replace(aside)
    except OSError as error:
        raise _unreadable(own, error) from None
    return _shown(aside)


def _take_in_once(log: Log, path: Path) -> Taken:
    """Take a bundle in, unless this very file was taken into this very log before."""
    mark = _mark(path)
    before, *last = _marks().get(path.name, "").split(" ")
    if before == mark and len(last) == 2 and (not last[1] or any(e.id == last[1] for e in log.entries(last[0]))):
        return Taken(_shown(path), 0, 0, same_as_before=True)
    found = take_in(log, path)
    _remember_mark(path, mark, found.last)
    return found


def _mark(path: Path) -> str:
    """What tells a bundle from any other: its size, and its check sum, which stands at its end."""
    try:
        with path.open("rb") as file:
            size = file.seek(0, os.SEEK_END)
            file.seek(max(size - 100, 0))
            end = file.read()
    except OSError as error:
        raise _unreadable(path, error) from None
    return f"{size}:{hashlib.sha256(end).hexdigest()}"


def _marks() -> dict[str, str]:
    """Mark, stream and id of the last entry of each file that was taken in, by its name."""
    try:
        held = json.loads(remembered(SYNCED) or "{}")
    except (ValueError, RecursionError):
        return {}
    return {k: v for k, v in held.items() if isinstance(v, str)} if isinstance(held, dict) else {}


def _remember_mark(path: Path, mark: str, last: tuple[str, str]) -> None:
    remember(SYNCED, json.dumps({**_marks(), path.name: " ".join((mark, *last))}, sort_keys=True))


def _write_own(log: Log, own: Path) -> bool:
    picked = everything(log)
    head = Head(laptop(), _now())
    if own.exists():
        try:
            held = content_hash(_lines(own))
        except FileTrouble:
            held = ""
        if held == content_hash(bundle_lines(head, picked.snapshots(), picked.entries())):
            return False
    _write(own, bundle_lines(head, picked.snapshots(), picked.entries()))
    streams = log.all_streams()
    _remember_mark(own, _mark(own), (streams[-1], log.entries(streams[-1])[-1].id) if streams else ("", ""))
    return True


def restore(log: Log, path: Path) -> str:
    """Put a backup in the log's place, after it was checked; where the log as it was until now is kept."""
    if _is_bundle(path):
        raise FileTrouble(f"{_shown(path)} is a bundle, no backup.", "Take it in with `showday log import`.")
    kept = log.restore(path)
    remember(SYNCED, "")  # what was taken in since that backup has to be taken in again
    return _shown(kept)


def alike(book: Book) -> list[tuple[Venue, Venue]]:
    """Pairs of places that may be one and the same, by name and town."""
    from rapidfuzz import fuzz

    from showday.text.folded import bare

    places = book.places()
    named = [(venue, bare(venue.name), bare(venue.town)) for venue in places]
    found = []
    for index, (venue, name, town) in enumerate(named):
        for other, other_name, other_town in named[index + 1 :]:
            if town and other_town and fuzz.ratio(town, other_town) < 80:
                continue
            if fuzz.token_sort_ratio(name, other_name) >= 88:
                found.append((venue, other))
    return found


def laptop() -> str:
    """This laptop's id, made once."""
    held = remembered(LAPTOP)
    if held:
        return held
    made = new_id()[:8]
    remember(LAPTOP, made)
    if remembered(LAPTOP) != made:
        raise ShowdayError(
            "This laptop's name for sharing cannot be kept.", "Look whether the settings can be written."
        )
    return made


def _now() -> str:
    return f"{SystemClock().now():%Y-%m-%dT%H:%M:%SZ}"


def _is_bundle(path: Path) -> bool:
    try:
        next(read_bundle(_lines(path), ""))
    except (FileTrouble, StopIteration):
        return False
    return True


def _lines(path: Path) -> Iterator[bytes]:
    """The file's lines as bytes; a line without end is handed on in a piece that the reader refuses."""
    try:
        with path.open("rb") as file:
            while line := file.readline(LONGEST_LINE + 1):
                yield line
    except OSError as error:
        raise _unreadable(path, error) from None


def _unreadable(path: Path, error: OSError) -> FileTrouble:
    said = one_line(error.strerror or type(error).__name__)
    return FileTrouble(f"{_shown(path)} cannot be read ({said}).", "Look whether it is there.")


def _write(path: Path, lines: Iterable[bytes]) -> None:
    """Write a file so that a reader finds either the old or the whole new one."""
    try:
        handle, name = tempfile.mkstemp(dir=path.absolute().parent, prefix=f".{path.name}.", suffix=".part")
        part = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.writelines(lines)
            paths.put_in_place(part, path)
        except BaseException:
            part.unlink(missing_ok=True)
            raise
    except OSError as error:
        said = one_line(error.strerror or type(error).__name__)
        raise FileTrouble(f"{_shown(path)} cannot be written ({said}).", "Choose another place.") from None


def _shown(path: Path) -> str:
    return one_line(str(path), 300)
