"""The header of a WAV file and its 64-bit relatives, and where the sound truly stands when the header is wrong.

Chunks after the Multimedia Programming Interface 1.0 (RIFF, WAVE), EBU Tech 3306 (RF64) and ITU-R BS.2088 (BW64).
Recorders that lose their power leave a length of 0; programs that pass 4 GiB leave a length that is cut or wrapped.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import BinaryIO

MAGICS = (b"RIFF", b"RF64", b"BW64")
PCM, FLOAT, EXTENSIBLE = 0x0001, 0x0003, 0xFFFE
"""WAVE format tags; an extensible format holds the real tag in the first two bytes of its sub-format."""

UNKNOWN = 0xFFFFFFFF
"""The 32-bit size that says: see the ds64 chunk (EBU Tech 3306)."""

_MOST_CHUNKS = 1_000
"""Chunks looked at before the sound; a choice, against files full of zeros."""

_LARGEST_FORMAT = 4_096
"""Bytes of a format chunk that are read; the largest in use has 40."""

_LEAST_SURPLUS_S = 0.5
"""Seconds behind the stated end that are taken for sound the header forgot; a choice."""


@dataclass(frozen=True, slots=True)
class WaveHeader:
    """What the header of a WAV file says."""

    magic: bytes
    fmt: bytes
    """The format chunk, as it stands in the file."""
    tag: int
    channels: int
    rate: int
    """Frames per second."""
    frame_bytes: int
    stated: int | None
    """Bytes of sound by the header; None when it gives no length."""
    data_at: int
    """Offset of the first byte of sound."""
    file_bytes: int

    @property
    def linear(self) -> bool:
        """Whether frames have a fixed size, so that the file's size tells their number."""
        return self.tag in (PCM, FLOAT) and self.frame_bytes > 0

    def seconds(self, count: int) -> float:
        """How long `count` bytes of sound last."""
        return count / self.frame_bytes / max(1, self.rate)


@dataclass(frozen=True, slots=True)
class Extent:
    """Where the sound truly stands."""

    frames: int
    repaired: bool
    """Whether the header must not be used as it stands."""
    said: tuple[str, ...] = ()


def read_header(file: BinaryIO, file_bytes: int) -> WaveHeader | None:
    """The header of the file; None when it is no WAV file or ends before its sound begins."""
    file.seek(0)
    begin = file.read(12)
    if len(begin) < 12 or begin[:4] not in MAGICS or begin[8:] != b"WAVE":
        return None
    at, fmt, long_size = 12, b"", None
    for _ in range(_MOST_CHUNKS):
        file.seek(at)
        head = file.read(8)
        if len(head) < 8:
            return None
        name, size = head[:4], int.from_bytes(head[4:], "little")
        if name == b"data":
            return _header(begin[:4], fmt, _stated(size, long_size), at + 8, file_bytes)
        if name == b"ds64":
            long_size = int.from_bytes(file.read(16)[8:], "little")
        elif name == b"fmt ":
            fmt = file.read(min(size, _LARGEST_FORMAT))
        at += 8 + size + size % 2
    return None


def _stated(size: int, long_size: int | None) -> int | None:
    if size == UNKNOWN:
        size = long_size or 0
    return size if 0 < size < 2**63 else None


def _header(magic: bytes, fmt: bytes, stated: int | None, data_at: int, file_bytes: int) -> WaveHeader | None:
    if len(fmt) < 16:
        return None
    tag, channels, rate, _, frame_bytes, bits = struct.unpack("<HHIIHH", fmt[:16])
    if tag == EXTENSIBLE and len(fmt) >= 26:
        tag = int.from_bytes(fmt[24:26], "little")
    if channels and frame_bytes % channels:
        frame_bytes = 0
    frame_bytes = frame_bytes or channels * ((bits + 7) // 8)
    return WaveHeader(magic, fmt, tag, channels, rate, frame_bytes, stated, data_at, file_bytes)


def true_extent(file: BinaryIO, header: WaveHeader) -> Extent:
    """How many frames stand in the file, whatever its header says. Only for `linear` headers."""
    there = max(0, header.file_bytes - header.data_at)
    count, said = _bytes_of_sound(file, header, there)
    stated_frames = -1 if header.stated is None else header.stated // header.frame_bytes
    frames = count // header.frame_bytes
    repaired = frames != stated_frames or header.magic == b"BW64"
    return Extent(frames, repaired, said)


def _bytes_of_sound(file: BinaryIO, header: WaveHeader, there: int) -> tuple[int, tuple[str, ...]]:
    stated = header.stated
    if stated is None:
        if _only_chunks(file, header.data_at, header.file_bytes):
            return 0, ()
        length = f"all {header.seconds(there):.1f} s in the file are read"
        return there, (f"The header gives no length, as after a loss of power: {length}.",)
    if stated > there:
        if there // header.frame_bytes == stated // header.frame_bytes:
            return there, ()
        real, meant = header.seconds(there), header.seconds(stated)
        return there, (f"The file ends early: {real:.1f} s of the {meant:.1f} s in its header are there.",)
    found = _behind(file, header, there)
    if found == stated:
        return stated, ()
    real, meant = header.seconds(found), header.seconds(stated)
    return found, (f"The header says {meant:.1f} s, but the file holds {real:.1f} s: all of it is read.",)


def _behind(file: BinaryIO, header: WaveHeader, there: int) -> int:
    """Bytes of sound when the file holds more than its header states."""
    stated = header.stated or 0
    surplus = there - stated
    if _only_chunks(file, header.data_at + stated + stated % 2, header.file_bytes):
        return stated
    if there > UNKNOWN - header.data_at:
        for wrapped in range(stated + 2**32, there, 2**32):  # 32 bits counted past their end
            if _only_chunks(file, header.data_at + wrapped + wrapped % 2, header.file_bytes):
                return wrapped
        return there
    if header.seconds(surplus) < _LEAST_SURPLUS_S:
        return stated
    file.seek(header.data_at + stated)
    space_kept_free = not any(file.read(65_536))
    return stated if space_kept_free else there


def _only_chunks(file: BinaryIO, at: int, end: int) -> bool:
    """Whether the bytes from `at` to `end` are nothing but well-formed chunks."""
    for _ in range(_MOST_CHUNKS):
        if end - 1 <= at <= end + 1:
            return True
        file.seek(at)
        head = file.read(8)
        if len(head) < 8 or not all(0x20 <= code < 0x7F for code in head[:4]):
            return False
        size = int.from_bytes(head[4:], "little")
        at += 8 + size + size % 2
    return False


def sound_header(header: WaveHeader, frames: int) -> bytes:
    """A header that is right, to stand before the sound: RF64, whose lengths have 64 bits (EBU Tech 3306)."""
    length = frames * header.frame_bytes
    fmt = header.fmt + b"\0" * (len(header.fmt) % 2)
    body = b"fmt " + struct.pack("<I", len(header.fmt)) + fmt + b"data" + struct.pack("<I", UNKNOWN)
    riff = 4 + 36 + len(body) + length
    ds64 = b"ds64" + struct.pack("<IQQQI", 28, riff, length, frames, 0)
    return b"RF64" + struct.pack("<I", UNKNOWN) + b"WAVE" + ds64 + body
