"""What the listening screen says."""

from __future__ import annotations

import math

import numpy as np
import pytest

from showday.sound.model import Finding, Meter
from showday.sound.spectrum import columns, spectrum_of
from showday.sound.verdict import Heard, Wanted
from showday.tui import listen_view as view

QUIET = Meter(-77.0, -88.0, -88.0, -76.0, 0)
WANTED = {n: Wanted(f"Input {n + 1}", n + 1, n) for n in range(24)}


def rows(count: int, width: int, height: int, troubled: set[int] = frozenset(), **at: int) -> list[str]:  # type: ignore[assignment]
    awaited = at.get("awaited")
    meters = [QUIET] * count
    return view.meter_rows(
        meters, WANTED, set(troubled), marked=at.get("marked", 0), awaited=awaited, width=width, rows=height
    )


def test_32_channels_fit_80_by_24() -> None:
    made = rows(32, 78, 16)
    assert len(made) == 16
    assert all(len(row) <= 78 for row in made)
    assert made[0].split()[1] == "1" and "17 Input 17" in made[0]
    assert " 32 " in made[-1]


def test_at_60_columns_the_wanted_ones_are_there() -> None:
    made = rows(32, 58, 6, {20, 30}, marked=2, awaited=5)
    assert len(made) == 6
    assert all(len(row) <= 58 for row in made)
    shown = [int(row[2:5]) for row in made]
    assert {3, 6, 21, 31} <= set(shown)
    assert shown == sorted(shown)
    marks = {int(row[2:5]): row[:2] for row in made}
    assert (marks[6], marks[3], marks[21]) == ("* ", "> ", " !")


def test_of_128_channels_the_page_of_the_marked_one_is_shown() -> None:
    assert " 97 " in rows(128, 78, 16, marked=100)[0]


@pytest.mark.parametrize(
    ("level", "peak", "held", "clipped", "bar"),
    [
        (-60.0, -60.0, -60.0, 0, ".........."),
        (-30.0, -12.0, -12.0, 0, "#####:::.."),
        (-30.0, -30.0, -6.0, 0, "#####...|."),
        (0.0, 0.0, 0.0, 0, "##########"),
        (-30.0, -30.0, 0.0, 3, "#####....C"),
        (-math.inf, -math.inf, -math.inf, 0, ".........."),
        (math.nan, math.nan, math.nan, 0, ".........."),
    ],
)
def test_a_bar_says_level_peak_loudest_and_clipping(
    level: float, peak: float, held: float, clipped: int, bar: str
) -> None:
    line = view.meter_line(Meter(peak, level, math.nan, held, clipped), 0, None, "", 18 + view.NAME + 10)
    assert bar in line
    assert line.endswith("  --")


def test_the_verdict_stands_before_the_reason() -> None:
    heard = Heard("Kick", "wrong channel", "It came on 7.", -18.0)
    assert view.heard_words(heard, True) == "hands free: Kick: WRONG CHANNEL. It came on 7."
    assert view.heard_words(None, False) == "listening: no input is awaited at this step"


def test_of_several_findings_on_a_channel_what_goes_on_is_told() -> None:
    gap = Finding("dropout", 4, None, None, 3.0, 3.1, 1.0, "It broke off.")
    hum = Finding("hum", 4, -60.0, 50.0, 0.0, 3.0, 0.8, "It hums.")
    assert view.worst_of([hum, gap]) == view.worst_of([gap, hum]) == hum


def test_the_mains_lines_are_marked_where_they_stand() -> None:
    at = np.arange(6_000) / 6_000
    samples = sum(a * np.sin(2 * np.pi * k * 50 * at) for k, a in ((1, 0.1), (3, 0.03)))
    spectrum = spectrum_of(np.asarray(samples, np.float32), 6_000)
    made = columns(spectrum, 60, 50.0)
    assert len(made) == 60
    by_line = {column.mains: column for column in made if column.mains}
    assert by_line[1].dbfs == pytest.approx(-20.0, abs=0.1)  # AES17: an amplitude of 0.1 is -20 dBFS
    assert by_line[3].dbfs == pytest.approx(20 * math.log10(0.03), abs=0.1)
    assert by_line[1].low_hz <= 50 < by_line[1].high_hz
    drawn = view.spectrum_rows(made, 12)
    assert "M" in drawn[2] and "1" in drawn[-1] and "100" in drawn[-2]
    assert view.peak_words(spectrum, 50.0).startswith("strongest at 50 Hz, -20 dBFS | mains 50.00 Hz")
    assert "no mains heard" in view.peak_words(spectrum, None)
