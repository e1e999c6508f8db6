"""The tables that find notes by their words: derived from the entries, and made anew whenever they do not fit them.

A note is an entry with words: what was noted in a run, and the reason for an answer. It has a number, in the order of
writing. Which notes hold a word, or belong to a run, is kept as bits: bit n of a chunk stands for the note
`CHUNK * chunk + n`; the bytes of a chunk are little-endian and end with the last bit that is set.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

FORM = 1
"""Raised whenever words are folded or tables are filled in another way: what is of another form is made anew."""
CHUNK = 1024
"""Notes a chunk: a word of one note then costs 64 bytes on average, one of every note is read in few rows (our choice)."""

TABLES: tuple[str, ...] = (
    # Everything up to the entry `written` with this `id` has been gone through.
    """CREATE TABLE note_upto (
         form INTEGER NOT NULL,
         written INTEGER NOT NULL,
         id TEXT NOT NULL
       ) STRICT""",
    """CREATE TABLE note (
         number INTEGER PRIMARY KEY,
         written INTEGER NOT NULL UNIQUE,
         at TEXT NOT NULL,
         gone INTEGER NOT NULL DEFAULT 0
       ) STRICT""",
    "CREATE INDEX note_by_age ON note (at)",
    "CREATE INDEX note_gone ON note (gone) WHERE gone = 1",
    """CREATE TABLE note_word (
         number INTEGER PRIMARY KEY,
         word TEXT NOT NULL UNIQUE
       ) STRICT""",
    """CREATE TABLE note_with_word (
         word INTEGER NOT NULL,
         chunk INTEGER NOT NULL,
         bits BLOB NOT NULL,
         PRIMARY KEY (word, chunk)
       ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE note_of_run (
         run TEXT NOT NULL,
         chunk INTEGER NOT NULL,
         bits BLOB NOT NULL,
         PRIMARY KEY (run, chunk)
       ) STRICT, WITHOUT ROWID""",
    # Entries that were taken back before they came: halves of two logs may arrive in any order.
    "CREATE TABLE note_taken_back (id TEXT NOT NULL PRIMARY KEY) STRICT, WITHOUT ROWID",
)
"""What the third form of the log adds; never edited."""

NAMES = ("note_upto", "note", "note_word", "note_with_word", "note_of_run", "note_taken_back")


def to_bytes(bits: int) -> bytes:
    """The bits of a chunk as they are kept."""
    return bits.to_bytes((bits.bit_length() + 7) // 8, "little")


def joined(rows: Iterable[tuple[int, bytes]]) -> int:
    """The notes of chunks (number, bytes) as one number whose bit n stands for note n."""
    chunks: dict[int, int] = {}
    for chunk, held in rows:
        chunks[chunk] = chunks.get(chunk, 0) | int.from_bytes(held, "little")
    size = CHUNK // 8
    made = bytearray(size * (max(chunks, default=-1) + 1))
    for chunk, bits in chunks.items():
        made[size * chunk : size * (chunk + 1)] = bits.to_bytes(size, "little")
    return int.from_bytes(made, "little")


def numbers(bits: int) -> Iterator[int]:
    """The notes whose bits are set, ascending."""
    for place, byte in enumerate(bits.to_bytes((bits.bit_length() + 7) // 8, "little")):
        while byte:
            lowest = byte & -byte
            yield 8 * place + lowest.bit_length() - 1
            byte ^= lowest
