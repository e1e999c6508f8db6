"""A recording from the disk as a stream of blocks, with what had to be repaired told in sentences.

The decoding is the work of the soundfile package (extra `listen`), imported when a file is opened. Where a header is
wrong or its kind unknown there, a right header is shown in its place; the file itself is never changed.
"""

from __future__ import annotations

import importlib
import io
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np

from showday.errors import FileTrouble, ShowdayError
from showday.sound.model import HIGHEST_RATE, LOWEST_RATE, Block, Samples
from showday.sound.wave_header import MAGICS, read_header, sound_header, true_extent
from showday.text.safe import one_line

BLOCK = 4_096
"""Frames read at once unless told otherwise; a choice of this program."""

_LARGEST = np.float32(2.0**31)
"""Beyond this no sample value has a meaning: the widest integer scale written as floating-point numbers."""

_LONGEST = 2**48
"""More frames than any file holds: some formats answer with the largest number when they do not know."""

_FULL_SCALE_BITS = {"PCM_S8": 7, "PCM_U8": 7, "PCM_16": 15}
_FINEST_BITS = 23
"""Bits behind the sign; 32-bit and floating-point samples are judged like 24-bit ones."""

_KINDS = "WAV, RF64, BW64 and FLAC can be read."


class SoundFile:
    """A recording that can be read as often as wanted; made by `open_sound`."""

    def __init__(self, path: Path, sound: Any, frames: int, head: tuple[bytes, int] | None, said: tuple[str, ...]):
        self.path = path
        self.rate: int = int(sound.samplerate)
        """Frames per second."""
        self.channels: int = int(sound.channels)
        self.frames = frames
        """Frames that stand in the file, whatever its header says; 0 when only reading it tells."""
        self.full_scale = 1.0 - 2.0 ** -_FULL_SCALE_BITS.get(str(sound.subtype), _FINEST_BITS)
        """The largest positive sample of this depth: what is at or above it is at full scale."""
        self._inexact = str(sound.subtype) in ("FLOAT", "DOUBLE")
        self._head = head
        self._opened = said
        self._read: tuple[str, ...] = ()

    @property
    def seconds(self) -> float:
        """Length by `frames`."""
        return self.frames / self.rate

    @property
    def said(self) -> tuple[str, ...]:
        """What was repaired or passed over, one sentence each; what reading showed joins when it has ended."""
        return self._opened + self._read

    def blocks(self, size: int = BLOCK, start: int = 0) -> Iterator[Block]:
        """The sound from frame `start` on, `size` frames at a time. A file that breaks off ends early and says so."""
        self._read = ()
        first, bad = start, 0
        with _opened(self.path) as file, _decoded(self.path, file, self._head) as sound:
            if start:
                sound.seek(start)
            while True:
                samples, broken = _next(sound, size)
                if len(samples):
                    bad += self._silence_what_is_no_number(samples)
                    yield Block(samples, first)
                    first += len(samples)
                if broken or not len(samples):
                    break
        self._read = tuple(self._sentences(first, bad))

    def _silence_what_is_no_number(self, samples: Samples) -> int:
        if not self._inexact:
            return 0
        wrong = ~(np.abs(samples) <= _LARGEST)
        count = int(np.count_nonzero(wrong))
        if count:
            samples[wrong] = 0.0
        return count

    def _sentences(self, read: int, bad: int) -> Iterator[str]:
        if read < self.frames:
            yield f"The file cannot be read after {read / self.rate:.1f} s: the rest of it is missing."
        if bad:
            count, are = ("1 sample", "is") if bad == 1 else (f"{bad:,} samples", "are")
            yield f"{count} {are} not a number or infinite and {'counts' if bad == 1 else 'count'} as silence."


def open_sound(path: str | os.PathLike[str]) -> SoundFile:
    """The recording at `path`, its header checked against the file's size.

    ShowdayError when soundfile is not installed; FileTrouble when the path is a folder or not there, or the file is
    empty, no sound, cut off before its sound begins, or of a rate that cannot be judged.
    """
    where = Path(path)
    with _opened(where) as file:
        size = os.fstat(file.fileno()).st_size
        if not size:
            raise FileTrouble(f"{_name(where)} is empty.", "Record again, or name another file.")
        head, frames, said = _looked_through(where, file, size)
        with _decoded(where, file, head) as sound:
            if frames is None:
                frames = int(sound.frames) if 0 < sound.frames < _LONGEST else 0
            found = SoundFile(where, sound, frames, head, said)
            if not LOWEST_RATE <= found.rate <= HIGHEST_RATE:
                raise FileTrouble(
                    f"{_name(where)} has {found.rate:,} samples a second.",
                    f"Use a recording between {LOWEST_RATE:,} and {HIGHEST_RATE:,}.",
                )
            if not len(_next(sound, 1)[0]):
                raise FileTrouble(f"{_name(where)} holds no sound.", "Record again, or name another file.")
    return found


def _looked_through(
    path: Path, file: BinaryIO, size: int
) -> tuple[tuple[bytes, int] | None, int | None, tuple[str, ...]]:
    """The header to show instead and how many bytes of the file it replaces, the true frames, what to say."""
    header = read_header(file, size)
    if header is None:
        file.seek(0)
        if file.read(4) in MAGICS:
            raise FileTrouble(f"{_name(path)} is cut off before its sound begins.", "Copy it again, or record again.")
        return None, None, ()
    if not header.linear:
        return None, None, ()
    extent = true_extent(file, header)
    if not extent.frames:
        raise FileTrouble(f"{_name(path)} holds no sound.", "Record again, or name another file.")
    head = (sound_header(header, extent.frames), header.data_at) if extent.repaired else None
    return head, extent.frames, extent.said


@contextmanager
def _opened(path: Path) -> Iterator[BinaryIO]:
    try:
        if path.is_dir():
            raise FileTrouble(f"{_name(path)} is a folder.", "Name the recording in it.")
        if path.exists() and not path.is_file():
            raise FileTrouble(f"{_name(path)} is not a file.", "Name a recording.")
        file = path.open("rb")
    except FileNotFoundError:
        raise FileTrouble(f"{_name(path)} is not there.", "Check the name and the folder.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error) or type(error).__name__
        raise FileTrouble(f"{_name(path)} cannot be read: {reason}.", "Check its permissions.") from None
    with file:
        yield file


@contextmanager
def _decoded(path: Path, file: BinaryIO, head: tuple[bytes, int] | None) -> Iterator[Any]:
    """The open decoder over `file`; FileTrouble when it knows no such sound."""
    soundfile = _soundfile()
    file.seek(0)
    if head is None and path.suffix.lower() == ".raw":
        head = (b"", 0)  # the decoder asks for the layout of whatever is named so, and looks at its name alone
    shown: Any = file if head is None else io.BufferedReader(_WithHeader(file, *head), 1 << 20)
    try:
        sound = soundfile.SoundFile(shown)
    except (soundfile.SoundFileError, TypeError, ValueError, OSError):
        raise FileTrouble(f"{_name(path)} is not a sound file that can be read.", _KINDS) from None
    with sound:
        yield sound


def _next(sound: Any, size: int) -> tuple[Samples, bool]:
    """The next frames, and whether the file broke off there."""
    soundfile = _soundfile()
    try:
        samples: Samples = sound.read(size, dtype="float32", always_2d=True)
    except (soundfile.SoundFileError, OSError):
        return np.zeros((0, int(sound.channels)), np.float32), True
    return samples, False


def _soundfile() -> Any:
    try:
        return importlib.import_module("soundfile")
    except (ImportError, OSError):
        raise ShowdayError(
            "Sound files cannot be read: the package soundfile is not installed.",
            "Install it with: pip install 'showday[listen]'",
        ) from None


def _name(path: Path) -> str:
    return one_line(str(path), 300)


class _WithHeader(io.RawIOBase):
    """A file seen with another header: `head` stands where its first `replaced` bytes were."""

    def __init__(self, file: BinaryIO, head: bytes, replaced: int) -> None:
        self._file, self._head, self._shift = file, head, replaced - len(head)
        self._length = os.fstat(file.fileno()).st_size - self._shift
        self._at = 0

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def tell(self) -> int:
        return self._at

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        base = {os.SEEK_SET: 0, os.SEEK_CUR: self._at, os.SEEK_END: self._length}[whence]
        self._at = max(0, base + offset)
        return self._at

    def readinto(self, buffer: Any) -> int:
        view = memoryview(buffer).cast("B")
        if self._at < len(self._head):
            piece = self._head[self._at : self._at + len(view)]
        else:
            self._file.seek(self._at + self._shift)
            piece = self._file.read(len(view))
        view[: len(piece)] = piece
        self._at += len(piece)
        return len(piece)
