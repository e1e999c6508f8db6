"""Bundles: a log, or one venue's part of it, as one readable file that can be carried to another laptop.

The first line says what it is, then come snapshots and entries, one JSON object a line, and the last line holds their
numbers and the SHA-256 (FIPS 180-4) of every byte before it. Lines are ASCII. Nothing in a bundle is ever used as a
path or run, and nothing of it reaches the log before all of it was looked at.
"""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from showday.errors import FileTrouble
from showday.log.codec import Unknown
from showday.log.lines import read_line, to_line
from showday.log.records import Snapshot, snapshot_hash
from showday.run.events import Entry
from showday.text.safe import one_line

VERSION = 1
MARK = "showday-bundle"
DATABASE = b"SQLite format 3\0"
"""How a log's own file begins (sqlite.org/fileformat.html, section 1.3)."""
LONGEST_LINE = 8_000_000
"""Bytes; a choice of this program: a playbook of the largest size that is read is far smaller."""
_ID = re.compile(r"[0-9A-Za-z][0-9A-Za-z_.:-]{0,79}")
_KIND = re.compile(r"[a-z][a-z0-9-]{0,59}")
_HASH = re.compile(r"[0-9a-f]{64}")
_AT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,9})?Z")
_MOST_SEQ = 2**53
"""Whole numbers that every reader of JSON keeps exactly (RFC 8259, section 6)."""


class BundleRefused(FileTrouble):
    """This bundle is damaged or is no bundle; nothing was taken from it."""


@dataclass(frozen=True, slots=True)
class Head:
    """The first line of a bundle."""

    by: str
    """Id of the laptop that wrote it."""
    made: str
    """UTC."""
    about: str = ""
    """The venue's name; empty when the whole log is in it."""


@dataclass(frozen=True, slots=True)
class Foot:
    """The last line of a bundle."""

    entries: int
    snapshots: int
    sha256: str


def bundle_lines(head: Head, snapshots: Iterable[Snapshot], entries: Iterable[Entry]) -> Iterator[bytes]:
    """The lines of a bundle, each with its line end; the same content gives the same lines but for the head."""
    summed = hashlib.sha256()
    counts = {"entries": 0, "snapshots": 0}
    first = {MARK: VERSION, "about": head.about, "by": head.by, "made": head.made}
    yield _summed(summed, _json(first))
    for snapshot in snapshots:
        counts["snapshots"] += 1
        yield _summed(summed, to_line(snapshot))
    for entry in entries:
        counts["entries"] += 1
        yield _summed(summed, to_line(entry))
    yield (_json({"end": {**counts, "sha256": summed.hexdigest()}}) + "\n").encode("ascii")


def content_hash(lines: Iterable[bytes]) -> str:
    """SHA-256 of what a bundle holds, its first and last line apart, so that two of the same content agree."""
    summed = hashlib.sha256()
    held: bytes | None = None
    for number, line in enumerate(lines):
        if held is not None:
            summed.update(held)
        held = line if number else None
    return summed.hexdigest()


def read_bundle(lines: Iterable[bytes], file: str) -> Iterator[Head | Snapshot | Entry | Foot]:
    """What a bundle holds, in its order; BundleRefused, with the line, at the first that is not as it should be.

    Whoever takes something over must have come to the `Foot` first: only then is it known that all of it is whole.
    """
    summed = hashlib.sha256()
    entries = snapshots = 0
    begun = ended = False
    number = 0
    for number, line in enumerate(lines, 1):
        if ended:
            raise _refused(file, number, "something follows after its end")
        if len(line) > LONGEST_LINE or not line.endswith(b"\n"):
            raise _refused(
                file, number, "the line is cut off" if len(line) <= LONGEST_LINE else "the line is too long"
            )
        if not begun:
            yield _head(file, line)
            begun = True
        else:
            found = _content(file, number, line)
            if isinstance(found, Foot):
                if (found.entries, found.snapshots) != (entries, snapshots) or found.sha256 != summed.hexdigest():
                    raise _refused(file, number, "its check sum is not that of its lines, so something was changed")
                ended = True
            entries += isinstance(found, Entry)
            snapshots += isinstance(found, Snapshot)
            yield found
        summed.update(line)
    if not begun:
        raise BundleRefused(f"{file} is empty.", "Nothing was taken from it.")
    if not ended:
        raise _refused(file, number, "it ends here, without its last line")


def _head(file: str, line: bytes) -> Head:
    no_bundle = BundleRefused(f"{file} is not a bundle of a showday log.", "Nothing was taken from it.")
    if line.startswith(DATABASE):
        raise BundleRefused(
            f"{file} is a log or a backup of one, not a bundle.", "A backup is put back with `showday log restore`."
        )
    try:
        row = json.loads(line.decode("ascii"))
    except (ValueError, RecursionError):
        raise no_bundle from None
    if not isinstance(row, dict) or type(row.get(MARK)) is not int:
        raise no_bundle
    if row[MARK] != VERSION:
        raise BundleRefused(
            f"{file} is a bundle of form {row[MARK] if 0 < row[MARK] < 1000 else 'unknown'}; "
            f"this program reads form {VERSION}.",
            "Update showday on this laptop. Nothing was taken from it.",
        )
    if row.keys() != {MARK, "about", "by", "made"} or any(
        type(row[key]) is not str for key in ("about", "by", "made")
    ):
        raise _refused(file, 1, "its first line is damaged")
    if not _ID.fullmatch(row["by"]) or not _AT.fullmatch(row["made"]):
        raise _refused(file, 1, "its first line is damaged")
    return Head(row["by"], row["made"], row["about"])


def _content(file: str, number: int, line: bytes) -> Snapshot | Entry | Foot:
    try:
        text = line.decode("ascii")
        if text.startswith('{"end":'):
            return _foot(text)
        found = read_line(text)
    except (ValueError, RecursionError) as error:
        said = one_line(str(error), 80)
        raise _refused(file, number, said if said.startswith("'") else "this line cannot be read") from None
    if why := _not_usable(found):
        raise _refused(file, number, why)
    return found


def _foot(text: str) -> Foot:
    row = json.loads(text)
    values = row["end"] if isinstance(row, dict) and row.keys() == {"end"} else None
    if not isinstance(values, dict) or values.keys() != {"entries", "snapshots", "sha256"}:
        raise ValueError("foot")
    counts, sha = (values["entries"], values["snapshots"]), values["sha256"]
    if any(type(count) is not int for count in counts) or type(sha) is not str or _json(row) + "\n" != text:
        raise ValueError("foot")
    return Foot(*counts, sha)


def _not_usable(found: Snapshot | Entry) -> str:
    """Why this cannot go into a log; empty when it can."""
    if isinstance(found, Snapshot):
        if not _KIND.fullmatch(found.kind) or not _HASH.fullmatch(found.hash):
            return "the snapshot's kind or name is damaged"
        return "" if snapshot_hash(found.kind, found.text) == found.hash else "the snapshot is not what it says it is"
    if not _ID.fullmatch(found.id) or not _ID.fullmatch(found.stream):
        return "the entry's id is damaged"
    if not 0 <= found.seq <= _MOST_SEQ or not math.isfinite(found.elapsed):
        return "the entry's place in its story is damaged"
    if not _AT.fullmatch(found.at):
        return "the entry's time is damaged"
    if isinstance(found.event, Unknown) and not _KIND.fullmatch(found.event.kind):
        return "the entry's kind is damaged"
    return ""


def _refused(file: str, line: int, why: str) -> BundleRefused:
    return BundleRefused(f"{file}, line {line}: {why}.", "Nothing was taken from it; ask for the file again.")


def _json(row: dict[str, Any]) -> str:
    return json.dumps(row, sort_keys=True)


def _summed(summed: Any, line: str) -> bytes:
    made = (line.rstrip("\n") + "\n").encode("ascii")
    summed.update(made)
    return made
