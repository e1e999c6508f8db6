"""`showday listen FILE`: what is printed, as text and as JSON, the exit status, and a sentence for every bad input."""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from showday.cli import main
from showday.sound.model import KINDS, Samples
from tests.cli.calling import Called, put
from tests.sound.made_waves import chunk, fmt, riff
from tests.support.earth import orders_to_defeat_earth
from tests.support.terminal import ROOT

soundfile = pytest.importorskip("soundfile", reason="the extra `listen` is not installed")

Call = Callable[..., Called]
RATE = 48_000
NAMES = ("Kick", "Snare", "Bass", "Keys left", "Keys right", "Voice")
RIG = "rig: rig\ninputs:\n" + "".join(
    f"  - {{number: {n}, name: {name}{', pair: 5' if n == 4 else ', pair: 4' if n == 5 else ''}}}\n"
    for n, name in enumerate(NAMES, 1)
)


def noise(seconds: float, channels: int, rate: int = RATE) -> Samples:
    """What a rack of microphone inputs gives when nobody plays: noise at -86 dBFS."""
    rng = np.random.default_rng(channels)
    return (5e-5 * rng.standard_normal((round(seconds * rate), channels))).astype(np.float32)


def played(order: tuple[int, ...], channels: int = 6) -> Samples:
    """Somebody strikes at input 1, 2, 3 … at 1 s, 2 s, 3 s …; the sound comes out on the channel (from 1) in `order`."""
    sound = noise(len(order) + 3, channels)
    rng = np.random.default_rng(1)
    for at, channel in enumerate(order, 1):
        time = np.arange(round(0.4 * RATE)) / RATE
        stroke = 0.2 * np.exp(-time / 0.05) * rng.uniform(-1, 1, len(time))
        sound[at * RATE : at * RATE + len(time), channel - 1] += stroke.astype(np.float32)
    return sound


@pytest.fixture
def wave(tmp_path: Path) -> Callable[..., str]:
    """Writes frames into a recording; gives its name."""

    def write(samples: Samples, rate: int = RATE, subtype: str = "PCM_24", name: str = "band.wav") -> str:
        path = tmp_path / name
        soundfile.write(path, samples, rate, subtype=subtype)
        return str(path)

    return write


@pytest.fixture
def walk(tmp_path: Path) -> str:
    """When the inputs were struck."""
    path = tmp_path / "walk.csv"
    lines = [f"{n - 0.1:.1f},{n + 0.7:.1f},{name}" for n, name in enumerate(NAMES, 1)]
    path.write_text("start_s,end_s,input\n" + "\n".join(lines) + "\n")
    return str(path)


@pytest.fixture
def rig(tmp_path: Path) -> str:
    path = tmp_path / "rig.yaml"
    path.write_text(RIG)
    return str(path)


def words(text: str) -> str:
    return " ".join(text.split())


# -- what is told ------------------------------------------------------------------------------------------------


def test_a_list_that_is_as_wanted(call: Call, wave: Callable[..., str], walk: str, rig: str) -> None:
    called = call("listen", wave(played((1, 2, 3, 4, 5, 6))), "--rig", rig, "--walk", walk)
    assert called.err == ""
    assert called.code == 0, called.out
    lines = called.out.splitlines()
    assert lines[0] == "band.wav: 6 channels, 48,000 Hz, 9.0 s"
    assert [line.split()[1] for line in lines if line[:3].strip().isdigit()] == [name.split()[0] for name in NAMES]
    assert "As wanted: 6 inputs arrive." in lines
    assert called.last == "Nothing to see to was heard."
    assert max(map(len, lines)) <= 60


@pytest.mark.parametrize(
    ("order", "said"),
    [
        ((1, 3, 2, 4, 5, 6), "Snare and Bass are swapped (channels 2 and 3)."),
        ((2, 3, 4, 5, 6, 1), "Inputs 1 to 6 are rotated by 1: 1 to 5 arrive 1 higher and 6 arrives 5 lower."),
        ((3, 4, 5, 6, 7, 8), "All of 1 to 6 arrive 2 higher (1 on 3, 6 on 8)."),
    ],
)
def test_swaps_and_shifts_are_told_and_are_status_1(
    call: Call, wave: Callable[..., str], walk: str, rig: str, order: tuple[int, ...], said: str
) -> None:
    called = call("listen", wave(played(order, 8)), "--rig", rig, "--walk", walk)
    assert called.code == 1
    assert said in words(called.out)
    assert called.last == "There is something to see to."


def test_the_facts_as_json(call: Call, wave: Callable[..., str], walk: str, rig: str) -> None:
    sound = played((1, 3, 2, 4, 5, 6))
    at = np.arange(len(sound)) / RATE
    for line, share in ((1, 1.0), (3, 0.5), (5, 0.25)):
        sound[:, 5] += (0.003 * share * np.sin(2 * np.pi * 50.03 * line * at)).astype(np.float32)
    called = call("listen", wave(sound), "--rig", rig, "--walk", walk, "--json")
    data = called.data
    assert called.code == 1
    assert called.out.isascii()
    assert list(data) == ["rate", "seconds", "mains_hz", "channels", "arrivals", "pairs"]
    assert (data["rate"], data["seconds"]) == (RATE, 9.0)
    assert data["mains_hz"] == pytest.approx(50.03, abs=0.03)
    assert [(each["channel"], each["input"]) for each in data["channels"]] == list(enumerate(NAMES, 1))
    assert {(each["input"], each["wanted"], each["found"]) for each in data["arrivals"][1:3]} == {
        ("Snare", 2, 3),
        ("Bass", 3, 2),
    }
    assert [(each["left"], each["right"]) for each in data["pairs"]] == [(4, 5)]
    found = data["channels"][5]["findings"]
    assert [each["kind"] for each in found] == ["hum"]
    # AES17: a sine of amplitude a has 20 log10 a dBFS; three lines add their powers.
    level = 10 * np.log10(0.003**2 * (1 + 0.5**2 + 0.25**2))
    assert found[0]["level_dbfs"] == pytest.approx(level, abs=1.0)
    assert list(found[0]) == ["kind", "level_dbfs", "f0_hz", "from_s", "to_s", "confidence"]
    assert {each["kind"] for channel in data["channels"] for each in channel["findings"]} <= set(KINDS)


def test_the_levels_are_those_of_aes17(call: Call, wave: Callable[..., str]) -> None:
    """AES17: full-scale sine 0.00 dBFS, square +3.01, a tenth of it -20.00."""
    at = np.arange(2 * RATE) / RATE
    sine = np.sin(2 * np.pi * 997 * at)
    sound = np.stack([sine, np.where(sine < 0, -1.0, 1.0), 0.1 * sine], axis=1)
    data = call("listen", wave(sound, subtype="FLOAT"), "--json").data
    assert [each["level_dbfs"] for each in data["channels"]] == [0.0, 3.0, -20.0]
    assert [each["peak_dbfs"] for each in data["channels"]] == [0.0, 0.0, -20.0]


@pytest.mark.parametrize(("full_scale", "level"), [("18", "-2.0"), ("24", "4.0"), ("", "")])
def test_dbu_only_where_the_rig_says_what_full_scale_is(
    call: Call, wave: Callable[..., str], tmp_path: Path, full_scale: str, level: str
) -> None:
    """EBU R68: 0 dBFS is +18 dBu; SMPTE RP155: +24 dBu. A sine of amplitude 0.1 is -20.00 dBFS by AES17."""
    rig = tmp_path / "rig.yaml"
    rig.write_text("rig: r\n" + (f"full_scale: {full_scale}\n" if full_scale else "") + "inputs: [Kick]\n")
    at = np.arange(2 * RATE) / RATE
    sine = (0.1 * np.sin(2 * np.pi * 997 * at)).astype(np.float32)
    called = call("listen", wave(sine[:, None]), "--rig", str(rig))
    assert ("dBu" in called.out) == bool(full_scale)
    assert not full_scale or f"Levels in dBu (the rig: full scale is +{full_scale} dBu): 1: {level}" in words(
        called.out
    )


def test_true_peaks_are_told_when_they_are_near_full_scale(call: Call, wave: Callable[..., str]) -> None:
    """A sine at a quarter of the rate, sampled between its peaks: BS.1770 reads 3.01 dB over the sample peak."""
    sine = np.sqrt(2) * 0.7 * np.sin(np.pi / 2 * np.arange(RATE) + np.pi / 4)
    called = call("listen", wave(np.stack([sine, 0.5 * sine], axis=1), subtype="FLOAT"))
    (line,) = [line for line in called.out.splitlines() if line.startswith("True peaks")]
    channel, peak = line.rpartition(": ")[0].rpartition(" ")[2], float(line.rpartition(" ")[2])
    assert channel == "1"
    # 20 log10(0.7 sqrt 2) = -0.09; EBU Tech 3341 allows +0.2 and -0.4 dB.
    assert -0.49 <= peak <= 0.11
    assert "  1 -                        -0.1    -3.1" in called.out


def test_channels_that_nobody_plugged_in_are_one_line_and_no_fault(call: Call, wave: Callable[..., str]) -> None:
    sound = np.concatenate([noise(4, 3), np.zeros((4 * RATE, 29), np.float32)], axis=1)
    called = call("listen", wave(sound))
    assert called.code == 0, called.out
    assert "Silent: 4-32" in called.out.splitlines()


def test_a_wanted_channel_that_is_exactly_silent_is_a_fault(call: Call, wave: Callable[..., str], rig: str) -> None:
    sound = noise(4, 6)
    sound[:, 1] = 0
    called = call("listen", wave(sound), "--rig", rig)
    assert called.code == 1
    assert "2 Snare: Exact zeros" in words(called.out)


def test_lines_on_which_nothing_happened_share_a_sentence(call: Call, wave: Callable[..., str], rig: str) -> None:
    out = words(call("listen", wave(played((1, 2))), "--rig", rig).out)
    assert "3-6: Only their own noise while other lines sounded" in out
    assert out.count("own noise") == 1
    out = words(call("listen", wave(played((1, 2, 3, 4))), "--rig", rig).out)
    assert "5 Keys right: Only its own noise" in out and "6 Voice: Only its own noise" in out


def test_no_sentence_touches_the_protective_earth(call: Call, wave: Callable[..., str], rig: str) -> None:
    sound = noise(6, 6)
    at = np.arange(len(sound)) / RATE
    sound[:, 1:4] += (0.01 * np.sign(np.sin(2 * np.pi * 50 * at)))[:, None].astype(np.float32)
    out = call("listen", wave(sound), "--rig", rig).out
    assert "To see to:" in out
    assert orders_to_defeat_earth(out) == []


def test_names_from_files_cannot_steer_the_terminal(call: Call, wave: Callable[..., str], tmp_path: Path) -> None:
    rig = tmp_path / "odd.yaml"
    rig.write_text('rig: rig\ninputs: [{number: 1, name: "[red]K\\u202eick"}]\n')
    called = call("listen", wave(noise(1, 1), name="a\x1b[31m.wav"), "--rig", str(rig))
    assert "[red]K" in called.out
    assert not set("\x1b\u202e") & set(called.out + called.err)


def test_progress_is_told_where_somebody_watches(
    call: Call, wave: Callable[..., str], monkeypatch: pytest.MonkeyPatch
) -> None:
    class Watched(io.StringIO):
        def isatty(self) -> bool:
            return True

    path, watched = wave(noise(2, 2)), Watched()
    monkeypatch.setattr("showday.commands.listening._EVERY", 0.0)
    monkeypatch.setattr(sys, "stderr", watched)
    assert main(["listen", path]) == 0
    shown = watched.getvalue().split("\r")
    assert any("100%" in part for part in shown)
    assert not shown[-1].strip()
    assert all(len(part) <= 59 for part in shown)


# -- what cannot be heard ----------------------------------------------------------------------------------------


def test_a_recording_that_breaks_off_is_heard_as_far_as_it_goes(call: Call, tmp_path: Path) -> None:
    body = (noise(2, 2) * 2**15).astype("<i2").tobytes()
    path = tmp_path / "cut.wav"
    path.write_bytes(riff(fmt(2, RATE, 16), chunk(b"data", body))[: len(body) // 2])
    called = call("listen", str(path))
    assert called.code == 0
    assert "About the sound itself:" in called.out
    assert ": 2 channels, 48,000 Hz, 0.9 s" in called.out


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("gone.wav", None, "is not there. Check the name"),
        ("empty.wav", b"", "is empty. Record again"),
        ("none.wav", riff(fmt(2, RATE, 16), chunk(b"data", b"")), "holds no sound."),
        ("words.txt", b"start_s,end_s,input\n", "is not a sound file that can be read."),
        ("slow.wav", riff(fmt(1, 7_999, 16), chunk(b"data", b"\0" * 800)), "has 7,999 samples a second."),
    ],
)
def test_a_sentence_and_status_2(call: Call, tmp_path: Path, name: str, content: bytes | None, said: str) -> None:
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    called = call("listen", str(path))
    assert (called.code, called.out) == (2, "")
    assert said in called.err
    assert len(called.err.splitlines()) == 1


def test_a_folder(call: Call, tmp_path: Path) -> None:
    called = call("listen", str(tmp_path))
    assert called.code == 2
    assert "is a folder. Name the recording in it." in called.err


@pytest.mark.parametrize(
    ("channels", "rate", "seconds"), [(1, 8_000, 1.0), (128, 8_000, 1.0), (2, 44_100, 1.0), (128, 192_000, 0.1)]
)
def test_any_size(call: Call, wave: Callable[..., str], channels: int, rate: int, seconds: float) -> None:
    data = call("listen", wave(noise(seconds, channels, rate), rate), "--json").data
    assert (data["rate"], len(data["channels"]), data["seconds"]) == (rate, channels, seconds)


def test_one_frame(call: Call, wave: Callable[..., str]) -> None:
    called = call("listen", wave(np.full((1, 2), 0.5, np.float32)))
    assert (called.code, called.err) == (0, "")


def odd(kind: str) -> Samples:
    sound = noise(2, 2)
    half = sound[RATE:, 1]
    if kind == "dc":
        half[:] = 1.0
    elif kind == "square":
        half[:] = np.sign(np.sin(2 * np.pi * 100 * np.arange(len(half)) / RATE) + 1e-9)
    else:
        half[::7] = {"nan": np.nan, "infinite": np.inf, "huge": 3e38}[kind]
    return sound


@pytest.mark.parametrize("kind", ["nan", "infinite", "huge", "dc", "square"])
def test_odd_samples_do_no_harm_to_the_others(call: Call, wave: Callable[..., str], kind: str) -> None:
    path = wave(odd(kind), subtype="FLOAT")
    called = call("listen", path, "--json")
    clean, other = called.data["channels"]
    assert clean["findings"] == []
    assert clean["peak_dbfs"] == pytest.approx(20 * np.log10(np.abs(odd("dc")[:, 0]).max()), abs=0.06)
    assert (other["peak_dbfs"] == 0.0) == (kind in ("dc", "square"))
    assert ("not a number or infinite" in called.err) == (kind not in ("dc", "square"))
    text = call("listen", path)
    assert "Traceback" not in text.err
    assert " nan" not in text.out


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ((), "What is to be heard is not said. Name a recording, or a device"),
        (("a.wav", "--device", "rack"), "Only one can be heard at a time."),
        (("--devices", "--device", "rack"), "Only one can be heard at a time."),
        (("a.wav", "--seconds", "3"), "--seconds is about a device."),
        (("a.wav", "--tone", "phones"), "--tone is about a device."),
        (("--walk", "walk.csv"), "What is to be heard is not said."),
    ],
)
def test_what_was_typed_does_not_fit_together(call: Call, typed: tuple[str, ...], said: str) -> None:
    called = call("listen", *typed)
    assert (called.code, called.out) == (2, "")
    assert said in called.err


def test_a_walk_that_cannot_be_used(call: Call, wave: Callable[..., str], tmp_path: Path) -> None:
    path = tmp_path / "walk.csv"
    path.write_text("start_s,end_s,input\nsoon,later,Kick\n")
    called = call("listen", wave(noise(1, 1)), "--walk", str(path))
    assert called.code == 2
    assert "'soon' is not a time" in called.err
    assert called.err.splitlines()[-1] == (
        "showday: There is no line in the walk that can be used. Write start_s,end_s,input."
    )


def test_a_rig_with_more_inputs_than_the_recording_has(call: Call, wave: Callable[..., str], rig: str) -> None:
    called = call("listen", wave(noise(4, 4)), "--rig", rig)
    assert called.code == 0, called.out
    assert called.err == "showday: 2 inputs of the rig are on channels above 4, which are not in this sound.\n"


def test_the_own_rig_names_the_channels(call: Call, wave: Callable[..., str], home: Path) -> None:
    put(home / "config", rig=RIG)
    data = call("listen", wave(noise(1, 6)), "--json").data
    assert [each["input"] for each in data["channels"]] == list(NAMES)


def test_without_soundfile_it_says_what_to_install(
    call: Call, wave: Callable[..., str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = wave(noise(0.1, 1))
    monkeypatch.setitem(sys.modules, "soundfile", None)
    called = call("listen", path)
    assert called.code == 2
    assert "soundfile is not installed. Install it with: pip install 'showday[listen]'" in called.err


def test_the_start_imports_nothing_of_it() -> None:
    """Whoever asks for the version, or for help, waits for no array and for no sound library."""
    for word in ("--version", "--help"):
        code = f"import sys; from showday.cli import main; main(['{word}']); print(*sys.modules)"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
        loaded = {name.partition(".")[0] for name in done.stdout.split()}
        assert "argparse" in loaded
        assert not loaded & {"numpy", "soundfile", "sounddevice", "_cffi_backend", "ctypes", "textual"}
