"""WAV files written byte by byte from the published chunk layouts, right ones and broken ones."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]

SUBFORMAT_TAIL = bytes.fromhex("000000001000800000aa00389b71")
"""What follows the format tag in a KSDATAFORMAT_SUBTYPE identifier."""


def counted(frames: int, channels: int, bits: int) -> Whole:
    """Integer samples that name their own place: every channel and frame has its own value."""
    most = 2 ** (bits - 1) - 1
    values: Whole = (np.arange(frames * channels, dtype=np.int64) * 40_503 + 1) % (2 * most) - most
    return values.reshape(frames, channels)


def packed(values: Whole, bits: int) -> bytes:
    """Little-endian samples of `bits` bits."""
    wide = values.astype("<i4").reshape(-1, 1).view(np.uint8)
    return wide[:, : bits // 8].tobytes()


def fmt(channels: int, rate: int, bits: int, tag: int = 1, *, extensible: bool = False) -> bytes:
    """A format chunk."""
    width = channels * bits // 8
    body = struct.pack("<HHIIHH", 0xFFFE if extensible else tag, channels, rate, rate * width, width, bits)
    if extensible:
        body += struct.pack("<HHIH", 22, bits, 0, tag) + SUBFORMAT_TAIL
    return chunk(b"fmt ", body)


def chunk(name: bytes, body: bytes, size: int | None = None) -> bytes:
    """A chunk, padded to an even length; `size` is what its header claims."""
    claimed = len(body) if size is None else size
    return name + struct.pack("<I", claimed) + body + b"\0" * (len(body) % 2)


def riff(*chunks: bytes, magic: bytes = b"RIFF", size: int | None = None) -> bytes:
    """The whole file."""
    body = b"WAVE" + b"".join(chunks)
    return magic + struct.pack("<I", len(body) if size is None else size) + body


def ds64(data: int, frames: int) -> bytes:
    """The chunk of 64-bit sizes of RF64 and BW64."""
    return chunk(b"ds64", struct.pack("<QQQI", data + 100, data, frames, 0))


def sparse(path: Path, head: bytes, marks: dict[int, bytes], length: int) -> Path:
    """A file of `length` bytes that takes no room: the head, and a few bytes at the offsets of `marks`."""
    with path.open("wb") as file:
        file.write(head)
        for at, body in marks.items():
            file.seek(at)
            file.write(body)
        file.truncate(length)
    return path
