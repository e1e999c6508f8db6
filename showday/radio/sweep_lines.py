"""The bytes of a file as blocks of whole lines: one encoding, one kind of line end, one kind of minus."""

from __future__ import annotations

import codecs
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from showday.errors import FileTrouble

BLOCK = 2_000_000
"""Bytes handed on at once, about; a choice of this program."""
LONGEST = 4_000_000
"""A line longer than this is no line of a sweep: the longest known rows have some 20,000 values."""

_NOT_TEXT = (
    (b"PK\x03\x04", "a spreadsheet or an archive"),
    (b"\x1f\x8b", "a compressed file"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
)
"""First bytes of files that are picked by mistake (their formats' own definitions)."""
_UTF16 = ((codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))
_SPELLINGS = ((b"\xe2\x88\x92", b"-"), (b"\xe2\x80\x93", b"-"), (b"\xc2\xa0", b" "), (b"\xe2\x80\xaf", b" "))
"""In UTF-8: the minus sign, the dash that stands for one, and spaces that do not break."""


@dataclass(frozen=True, slots=True)
class Block:
    """Whole lines, each ended by one newline; `line` is the number of the first, from 1."""

    line: int
    text: bytes


def blocks(chunks: Iterable[bytes], file: str) -> Iterator[Block]:
    """The file's lines in blocks; FileTrouble when it is not text, or a line has no end."""
    line, rest = 1, b""
    for text in _one_break(_as_utf8(chunks, file)):
        text = rest + text
        cut = text.rfind(b"\n") + 1
        whole, rest = text[:cut], text[cut:]
        if whole:
            yield Block(line, whole)
            line += whole.count(b"\n")
        if len(rest) > LONGEST:
            raise FileTrouble(f"{file}, line {line}: this line does not end.", _SAVE)
    if rest:
        yield Block(line, rest + b"\n")


_SAVE = "Export the sweep as text: frequency and level in two columns."


def _as_utf8(chunks: Iterable[bytes], file: str) -> Iterator[bytes]:
    """The bytes without a byte-order mark, in UTF-8 or something that has ASCII digits."""
    decoder: codecs.IncrementalDecoder | None = None
    first = True
    for chunk in _even(chunks):
        if first:
            first = False
            for sign, what in _NOT_TEXT:
                if chunk.startswith(sign):
                    raise FileTrouble(f"{file} is {what}, not a sweep.", _SAVE)
            for sign, name in _UTF16:
                if chunk.startswith(sign):
                    decoder = codecs.getincrementaldecoder(name)("replace")
                    chunk = chunk[len(sign) :]
            chunk = chunk.removeprefix(codecs.BOM_UTF8)
        if decoder is not None:
            chunk = decoder.decode(chunk).encode("utf-8", "replace")
        if b"\0" in chunk:
            raise FileTrouble(f"{file} is not a text file.", _SAVE)
        yield chunk


def _even(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """The same bytes in pieces of at least 4 and at most BLOCK bytes, so that no mark is cut at the start."""
    rest = b""
    for chunk in chunks:
        rest += chunk
        while len(rest) >= BLOCK:
            yield rest[:BLOCK]
            rest = rest[BLOCK:]
    if rest:
        yield rest


def _one_break(texts: Iterable[bytes]) -> Iterator[bytes]:
    """The same with newlines only, and with every spelling of minus and space as ASCII has it."""
    held = b""
    for text in texts:
        text = held + text
        held = b""
        cut = _safe_cut(text)
        text, held = text[:cut], text[cut:]
        yield _plain(text)
    if held:
        yield _plain(held)


def _safe_cut(text: bytes) -> int:
    """Where to cut so that neither a CR LF nor a character of several bytes is torn."""
    for back in range(1, min(4, len(text)) + 1):
        if text[-back] == 0x0D or text[-back] >= 0xC0:
            return len(text) - back
        if text[-back] < 0x80:
            break
    return len(text)


def _plain(text: bytes) -> bytes:
    if b"\r" in text:
        text = text.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not text.isascii():
        for spelling, meant in _SPELLINGS:
            text = text.replace(spelling, meant)
    return text
