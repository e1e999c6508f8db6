from __future__ import annotations

import os
import struct
import sys
from pathlib import Path

import numpy as np
import pytest

from showday.errors import FileTrouble, ShowdayError
from showday.sound.model import Samples
from showday.sound.source_file import SoundFile, open_sound
from tests.sound.made_waves import chunk, counted, ds64, fmt, packed, riff, sparse
from tests.support.sentences import broken

soundfile = pytest.importorskip("soundfile")

RATE = 48_000


def whole(sound: SoundFile, size: int = 1_000) -> Samples:
    blocks = list(sound.blocks(size))
    firsts = np.cumsum([0] + [len(block.samples) for block in blocks])
    assert [block.first for block in blocks] == firsts[:-1].tolist()
    return np.concatenate([block.samples for block in blocks])


def written(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


BODY = packed(counted(3_001, 3, 24), 24)
HEAD24 = fmt(3, RATE, 24)
EXTRA = chunk(b"bext", b"x" * 603) + chunk(b"JUNK", b"y" * 28)
AFTER = chunk(b"LIST", b"INFOISFT\x05\0\0\0abcd\0")

RIGHT = {
    "plain": riff(HEAD24, chunk(b"data", BODY)),
    "extensible": riff(fmt(3, RATE, 24, extensible=True), chunk(b"data", BODY)),
    "chunks before and after": riff(EXTRA, HEAD24, chunk(b"data", BODY), AFTER),
    "rf64": riff(ds64(len(BODY), 3_001), HEAD24, chunk(b"data", BODY, 2**32 - 1), magic=b"RF64", size=2**32 - 1),
    "bw64": riff(ds64(len(BODY), 3_001), HEAD24, chunk(b"data", BODY, 2**32 - 1), magic=b"BW64", size=2**32 - 1),
    "bw64 with chunks": riff(
        ds64(len(BODY), 3_001), EXTRA, HEAD24, chunk(b"data", BODY, 2**32 - 1), AFTER, magic=b"BW64", size=2**32 - 1
    ),
    "bw64 without ds64": riff(chunk(b"JUNK", b"\0" * 28), HEAD24, chunk(b"data", BODY), magic=b"BW64"),
    "padded with zeros": riff(HEAD24, chunk(b"data", BODY)) + b"\0" * 1_000_000,
    "followed by a few bytes": riff(HEAD24, chunk(b"data", BODY)) + b"TAG" + b"x" * 125,
}

LYING = {
    "size 0": (riff(HEAD24, chunk(b"data", BODY, 0), size=0), "no length"),
    "size 0, extensible": (riff(fmt(3, RATE, 24, extensible=True), chunk(b"data", BODY, 0), size=0), "no length"),
    "size FFFFFFFF": (riff(HEAD24, chunk(b"data", BODY, 2**32 - 1), size=2**32 - 1), "no length"),
    "rf64 of length 0": (
        riff(ds64(0, 0), HEAD24, chunk(b"data", BODY, 2**32 - 1), magic=b"RF64", size=2**32 - 1),
        "no length",
    ),
    "size of an earlier save": (
        riff(fmt(3, 8_000, 24), chunk(b"data", BODY * 3, len(BODY)), size=len(BODY) + 36),
        "holds 1.1 s",
    ),
}


@pytest.mark.parametrize("kind", RIGHT)
def test_every_layout_gives_the_same_samples(kind: str, tmp_path: Path) -> None:
    sound = open_sound(written(tmp_path / "take.wav", RIGHT[kind]))
    assert (sound.rate, sound.channels, sound.frames, sound.said) == (RATE, 3, 3_001, ())
    assert np.array_equal(whole(sound).astype(np.float64) * 2**23, counted(3_001, 3, 24))
    assert sound.said == ()


@pytest.mark.parametrize("kind", LYING)
def test_a_length_the_header_does_not_tell_comes_from_the_size_of_the_file(kind: str, tmp_path: Path) -> None:
    data, said = LYING[kind]
    sound = open_sound(written(tmp_path / "take.wav", data))
    frames = 9_003 if "earlier" in kind else 3_001
    assert sound.frames == frames
    got = whole(sound).astype(np.float64) * 2**23
    assert np.array_equal(got, np.tile(counted(3_001, 3, 24), (frames // 3_001, 1)))
    assert len(sound.said) == 1
    assert said in sound.said[0]
    assert list(broken(sound.said[0])) == []


@pytest.mark.parametrize("bits", [16, 24, 32])
@pytest.mark.parametrize("channels", [1, 2, 32, 128])
def test_integer_samples_are_left_justified(bits: int, channels: int, tmp_path: Path) -> None:
    values = counted(500, channels, bits)
    values[0], values[1] = 2 ** (bits - 1) - 1, -(2 ** (bits - 1))
    path = written(tmp_path / "take.wav", riff(fmt(channels, 96_000, bits), chunk(b"data", packed(values, bits))))
    sound = open_sound(path)
    got = whole(sound, 64)
    assert np.array_equal(got, (values / 2 ** (bits - 1)).astype(np.float32))
    assert got[0, 0] >= sound.full_scale
    assert sound.full_scale >= 1 - 2.0**-15
    assert sound.seconds == 500 / 96_000


@pytest.mark.parametrize("rate", [8_000, 11_025, 44_100, 192_000])
def test_floating_point_keeps_what_is_above_full_scale(rate: int, tmp_path: Path) -> None:
    values = np.array([[0.5, -2.25], [1.0, 3.0]], "<f4")
    sound = open_sound(written(tmp_path / "a.wav", riff(fmt(2, rate, 32, 3), chunk(b"data", values.tobytes()))))
    assert np.array_equal(whole(sound), values)
    assert sound.rate == rate


def test_what_is_no_number_counts_as_silence_and_is_said(tmp_path: Path) -> None:
    values = np.full((9_000, 2), 0.25, "<f4")
    values[5, 0], values[6, 0], values[7, 1], values[8_000, 1] = np.nan, np.inf, -np.inf, 1e30
    sound = open_sound(written(tmp_path / "a.wav", riff(fmt(2, RATE, 32, 3), chunk(b"data", values.tobytes()))))
    assert list(sound.said) == []
    for _ in range(2):
        got = whole(sound)
        assert np.argwhere(got == 0).tolist() == [[5, 0], [6, 0], [7, 1], [8_000, 1]]
        assert list(sound.said) == ["4 samples are not a number or infinite and count as silence."]


@pytest.mark.parametrize("kind", ["plain", "rf64", "bw64", "extensible"])
def test_a_file_cut_off_gives_what_is_there(kind: str, tmp_path: Path) -> None:
    whole_file = RIGHT[kind]
    sound = open_sound(written(tmp_path / "a.wav", whole_file[: len(whole_file) - 4_001 - len(whole_file) % 2]))
    assert 2_550 < sound.frames < 2_560
    assert np.array_equal(whole(sound).astype(np.float64) * 2**23, counted(3_001, 3, 24)[: sound.frames])
    assert len(sound.said) == 1
    assert sound.said[0].startswith("The file ends early: 0.1 s of")


def sparse_take(tmp_path: Path, name: str, stated: int, frames: int, after: bytes = b"") -> Path:
    """32 channels of 24 bits, all zero but for the last frame, whose samples are 1, 2, 3 …"""
    head = riff(fmt(32, RATE, 24), chunk(b"data", b"", stated), size=2**32 - 1)
    end = len(head) + frames * 96
    last = packed(np.arange(1, 33, dtype=np.int64).reshape(1, 32), 24)
    return sparse(tmp_path / name, head, {end - 96: last + after}, end + len(after))


@pytest.mark.parametrize(
    ("stated", "after"),
    [
        (4_294_967_232, b""),
        (45_600_000 * 96 - 2**32, b""),
        (45_600_000 * 96 - 2**32, AFTER),
        (0, b""),
        (2**32 - 1, b""),
    ],
    ids=["cut at 32 bits", "wrapped", "wrapped, with a chunk behind", "none", "all ones"],
)
def test_more_than_4_gib_in_a_plain_wav_is_read_to_its_true_end(stated: int, after: bytes, tmp_path: Path) -> None:
    sound = open_sound(sparse_take(tmp_path, "long.wav", stated, 45_600_000, after))
    assert sound.frames == 45_600_000
    assert len(sound.said) == 1
    assert "950.0 s" in sound.said[0]
    (last,) = (block.samples for block in sound.blocks(start=45_599_998))
    assert (last * 2**23).astype(int).tolist() == [[0] * 32, list(range(1, 33))]


@pytest.mark.parametrize("magic", [b"RF64", b"BW64"])
def test_more_than_4_gib_with_64_bit_sizes_is_read_without_a_word(magic: bytes, tmp_path: Path) -> None:
    frames = 45_600_000
    head = riff(
        ds64(frames * 96, frames), fmt(32, RATE, 24), chunk(b"data", b"", 2**32 - 1), magic=magic, size=2**32 - 1
    )
    end = len(head) + frames * 96
    last = packed(np.arange(1, 33, dtype=np.int64).reshape(1, 32), 24)
    sound = open_sound(sparse(tmp_path / "long.wav", head, {end - 96: last}, end))
    assert (sound.frames, list(sound.said)) == (frames, [])
    (found,) = (block.samples for block in sound.blocks(start=frames - 1))
    assert (found * 2**23).astype(int).tolist() == [list(range(1, 33))]


WRITTEN = [
    (kind, subtype)
    for kind in ("WAV", "WAVEX", "RF64", "FLAC")
    for subtype in ("PCM_16", "PCM_24", "PCM_32", "FLOAT")
    if soundfile.check_format(kind, subtype)
]


@pytest.mark.parametrize(("kind", "subtype"), WRITTEN)
@pytest.mark.parametrize("channels", [1, 8, 32])
def test_what_another_library_writes_is_read_as_it_reads_it(
    kind: str, subtype: str, channels: int, tmp_path: Path
) -> None:
    path, noise = tmp_path / "take", np.random.default_rng(1).uniform(-1, 1, (5_000, channels))
    if kind == "FLAC" and channels > 8:  # so a recording of more lines cannot come as FLAC
        with pytest.raises(soundfile.LibsndfileError):
            soundfile.write(path, noise, RATE, subtype, format=kind)
        return
    soundfile.write(path, noise, RATE, subtype, format=kind)
    sound = open_sound(path)
    assert (sound.rate, sound.channels, sound.frames, list(sound.said)) == (RATE, channels, 5_000, [])
    assert np.array_equal(whole(sound), soundfile.read(path, dtype="float32", always_2d=True)[0])


@pytest.mark.parametrize("bits", [16, 24, 32])
def test_direct_voltage_and_a_full_scale_square_are_read_as_they_are(bits: int, tmp_path: Path) -> None:
    most = 2 ** (bits - 1) - 1
    values = np.full((1_000, 2), most, np.int64)
    values[::2, 1] = -most - 1
    sound = open_sound(written(tmp_path / "a.wav", riff(fmt(2, RATE, bits), chunk(b"data", packed(values, bits)))))
    got = whole(sound)
    assert (np.abs(got) >= sound.full_scale).all()
    assert np.array_equal(np.sign(got), np.sign(values))


def test_flac_is_read_and_says_when_it_breaks_off(tmp_path: Path) -> None:
    noise = np.random.default_rng(1).integers(-(2**22), 2**22, (60_000, 8)).astype(np.int32) * 256
    path = tmp_path / "take.flac"
    soundfile.write(path, noise, RATE, subtype="PCM_24")
    sound = open_sound(path)
    assert (sound.frames, sound.channels) == (60_000, 8)
    assert np.array_equal(whole(sound), (noise / 2**31).astype(np.float32))
    data = path.read_bytes()
    cut = open_sound(written(tmp_path / "cut.flac", data[: len(data) // 2]))
    read = whole(cut)
    assert 0 < len(read) < 40_000
    assert np.array_equal(read, (noise[: len(read)] / 2**31).astype(np.float32))
    assert len(cut.said) == 1
    assert "rest of it is missing" in cut.said[0]


BAD = {
    "empty": (b"", "is empty"),
    "text": (b"Kick, Snare, Hat\n" * 100, "is not a sound file"),
    "no sound": (riff(HEAD24, chunk(b"data", b"")), "holds no sound"),
    "no sound, but a chunk behind": (riff(HEAD24, chunk(b"data", b""), AFTER), "holds no sound"),
    "no whole frame": (riff(HEAD24, chunk(b"data", b"123")), "holds no sound"),
    "magic only": (b"RIFF", "is cut off before its sound begins"),
    "cut in the header": (RIGHT["chunks before and after"][:300], "is cut off before its sound begins"),
    "zeros behind the magic": (b"RIFF\xff\xff\xff\xffWAVE" + b"\0" * 100_000, "is cut off before its sound begins"),
    "no channels": (riff(fmt(0, RATE, 24), chunk(b"data", b"\0" * 300)), "is not a sound file"),
    "rate 0": (riff(fmt(1, 0, 24), chunk(b"data", b"\0" * 300)), "is not a sound file|samples a second"),
    "rate 4 kHz": (riff(fmt(1, 4_000, 16), chunk(b"data", b"\0" * 300)), "has 4,000 samples a second"),
    "flac cut": (b"fLaC\0\0\0\x22" + b"\0" * 10, "is not a sound file"),
}


@pytest.mark.parametrize("kind", BAD)
@pytest.mark.parametrize("name", ["take.wav", "take.raw", "ta\x1bke"])
def test_what_is_no_recording_is_told_in_a_sentence(kind: str, name: str, tmp_path: Path) -> None:
    data, message = BAD[kind]
    with pytest.raises(FileTrouble, match=message) as caught:
        open_sound(written(tmp_path / name, data))
    assert str(caught.value).isprintable()
    assert list(broken(str(caught.value))) == []
    assert caught.value.hint


def test_what_is_no_file_is_told_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(FileTrouble, match=r"is a folder\. Name the recording"):
        open_sound(tmp_path)
    with pytest.raises(FileTrouble, match="is not there"):
        open_sound(tmp_path / "none.wav")
    with pytest.raises(FileTrouble, match="cannot be read"):
        open_sound("a\0b.wav")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(FileTrouble, match="is not a file"):
            open_sound(tmp_path / "pipe")


def test_without_the_decoder_it_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "soundfile", None)
    with pytest.raises(ShowdayError, match=r"pip install 'showday\[listen\]'"):
        open_sound(written(tmp_path / "take.wav", RIGHT["plain"]))


@pytest.mark.parametrize("seed", range(60))
def test_no_damage_to_a_header_is_a_crash(seed: int, tmp_path: Path) -> None:
    draw = np.random.default_rng(seed)
    data = bytearray(RIGHT[sorted(RIGHT)[seed % len(RIGHT)]][:20_000])
    for _ in range(int(draw.integers(1, 6))):
        at = int(draw.integers(0, 120))
        data[at : at + 4] = struct.pack("<I", int(draw.choice([0, 1, 2**31, 2**32 - 1, int(draw.integers(2**32))])))
    path = written(tmp_path / "take.wav", bytes(data))
    try:
        sound = open_sound(path)
    except FileTrouble as trouble:
        assert list(broken(str(trouble))) == []
    else:
        read = sum(len(block.samples) for block in sound.blocks())
        assert read == sound.frames or sound.said or not sound.frames
