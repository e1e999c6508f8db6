"""Several sweeps as one: the strongest level and the mean power of each bin."""

from __future__ import annotations

from math import log10

import numpy as np
import pytest

from showday.radio.sweep import DBM, UNCALIBRATED, Sweep
from showday.radio.sweep_merge import merged


def sweep(hz: list[int], level: list[float], **more: object) -> Sweep:
    levels = np.array(level, dtype=float)
    return Sweep(np.array(hz), levels, levels, **more)  # type: ignore[arg-type]


BINS = [470_000_000, 470_025_000, 470_050_000]


def test_one_is_itself() -> None:
    one = sweep(BINS, [-100, -99, -98])
    assert merged([one]) is one


def test_by_maximum_and_by_mean_power() -> None:
    both = merged([sweep(BINS, [-100, -90, -98]), sweep(BINS, [-90, -100, -98])])
    assert both.peak.tolist() == [-90, -90, -98]
    assert both.mean.tolist() == pytest.approx([10 * log10((1e-10 + 1e-9) / 2)] * 2 + [-98])
    assert (both.passes, both.unit) == (2, DBM)
    assert "2 files are merged: the strongest and the mean of each bin are kept." in both.said


def test_a_sweep_weighs_as_much_as_it_has_passes() -> None:
    both = merged([sweep(BINS, [-100.0] * 3, passes=3), sweep(BINS, [-90.0] * 3)])
    assert both.mean.tolist() == pytest.approx([10 * log10((3e-10 + 1e-9) / 4)] * 3)
    assert both.passes == 4


def test_spans_that_only_meet_are_put_together() -> None:
    both = merged([sweep(BINS, [-100, -99, -98]), sweep([hz + 50_000 for hz in BINS], [-90, -91, -92])])
    assert both.hz.tolist() == [BINS[0] + 25_000 * i for i in range(5)]
    assert both.peak.tolist() == [-100, -99, -90, -91, -92]
    assert both.mean[3] == pytest.approx(-91)


def test_spans_far_apart_leave_a_gap() -> None:
    both = merged([sweep(BINS, [-100, -99, -98]), sweep([hz + 10_000_000 for hz in BINS], [-90, -91, -92])])
    assert both.gaps() == [(BINS[-1], BINS[0] + 10_000_000)]


def test_finer_bins_are_taken_together_in_the_coarser() -> None:
    fine = sweep([470_000_000 + 5_000 * i for i in range(11)], [-100.0 + (i == 6) * 30 for i in range(11)])
    both = merged([fine, sweep(BINS, [-101.0] * 3)])
    assert both.hz.tolist() == BINS
    assert both.peak.tolist() == [-100, -70, -100]
    assert any("cells of 25 kHz are used" in text for text in both.said)


def test_bins_half_way_between_fill_each_cell_once() -> None:
    """A receiver that gives the middles of its bins and an analyser that gives the ends lie half a bin apart."""
    ends = sweep([470_000_000 + 25_000 * i for i in range(40)], [-100.0] * 40)
    middles = sweep([470_012_500 + 25_000 * i for i in range(100)], [-90.0] * 100)
    both = merged([ends, middles])
    assert both.gaps() == []
    assert len(both.hz) == 100
    assert np.isfinite(both.peak).all()


@pytest.mark.parametrize("seed", range(20))
def test_no_level_is_lost(seed: int) -> None:
    rng = np.random.default_rng(seed)
    parts = []
    for _ in range(int(rng.integers(2, 5))):
        step, low = int(rng.integers(3_000, 60_000)), int(rng.integers(470_000_000, 480_000_000))
        hz = low + step * np.arange(int(rng.integers(2, 300)))
        levels = rng.uniform(-110, -30, len(hz))
        parts.append(Sweep(hz, levels, levels))
    both = merged(parts)
    assert (np.diff(both.hz) > 0).all()
    coarsest = max(part.step for part in parts)
    for part in parts:
        for hz, level in zip(part.hz, part.peak, strict=True):
            near = np.abs(both.hz - hz) <= 0.51 * coarsest + 1
            assert both.peak[near].max() >= level
    assert both.peak.max() == max(part.peak.max() for part in parts)


def test_unlike_units_are_taken_over_the_noise_and_asked_about() -> None:
    """A carrier that stands 30 dB over its own file's noise does so in the merged sweep, whatever the scales."""
    hz = [470_000_000 + 25_000 * i for i in range(100)]
    one = sweep(hz, [-70.0 if i == 20 else -100.0 for i in range(100)])
    other = sweep(hz, [-10.0 if i == 60 else -40.0 for i in range(100)], unit=UNCALIBRATED)
    both = merged([one, other])
    assert both.unit == UNCALIBRATED
    assert [(i, level) for i, level in enumerate(both.peak) if level] == [(20, 30.0), (60, 30.0)]
    assert both.asked == ("The files have levels in dB and dBm: are they comparable at all?",)


def test_what_was_said_and_asked_is_kept_once() -> None:
    both = merged([sweep(BINS, [1.0] * 3, said=("a",), asked=("b?",), files=(name,)) for name in ("x", "y")])
    assert (both.said[1:], both.asked, both.files) == (("a",), ("b?",), ("x", "y"))


def test_the_time_is_from_the_first_to_the_last() -> None:
    stamps = [("2025-06-14 20:10", "2025-06-14 20:12"), ("", ""), ("2025-06-14 12:00", "2025-06-14 12:01")]
    both = merged([sweep(BINS, [1.0] * 3, begun=begun, ended=ended) for begun, ended in stamps])
    assert (both.begun, both.ended) == ("2025-06-14 12:00", "2025-06-14 20:12")
