"""A sweep of 200,000 rows read, and what it shows found, beside a bare reader of tables."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from showday.sweep_files import find_occupied, read_sweeps
from tests.bench.conftest import Compare, Pair

ROWS = 200_000


def timed(act: Callable[[], object]) -> float:
    """Seconds an act takes."""
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """470 to 694 MHz in steps of 1.12 kHz: noise, one TV channel, one carrier."""
    rng = np.random.default_rng(7)
    mhz = np.linspace(470, 694, ROWS)
    power = np.where(np.abs(mhz - 546) < 3.8, 1e-7, 1e-10) + np.where(np.abs(mhz - 561.8) < 0.1, 1e-6, 0)
    level = 10 * np.log10(power * rng.gamma(16, 1 / 16, ROWS))
    path = tmp_path_factory.mktemp("sweep") / "long.csv"
    path.write_text("".join(f"{at:.5f},{each:.2f}\n" for at, each in zip(mhz, level, strict=True)))
    return path


def show(path: Path) -> object:
    sweep, problems = read_sweeps([path])
    found = find_occupied(sweep, region="europe")
    assert (len(sweep.hz), problems) == (ROWS, [])
    assert [each.channel.number for each in found.television] == [30]
    assert [round(each.at / 1e6, 1) for each in found.carriers] == [561.8]
    return found


def test_a_sweep_beside_loadtxt(compare: Compare, file: Path) -> None:
    """Aimed at: read and understood in less than three times what the library's quick reader takes to read alone."""
    pair = Pair(
        "sweep, 200,000 rows, beside numpy.loadtxt",
        3,
        lambda: timed(lambda: show(file)),
        lambda: timed(lambda: np.loadtxt(file, delimiter=",")),
    )
    compare(pair, 9)


def test_a_sweep_beside_genfromtxt(compare: Compare, file: Path) -> None:
    """The library's forgiving reader, which takes bad rows as ours does, is pure Python."""
    pair = Pair(
        "sweep, 200,000 rows, beside numpy.genfromtxt",
        0.5,
        lambda: timed(lambda: show(file)),
        lambda: timed(lambda: np.genfromtxt(file, delimiter=",", invalid_raise=False)),
    )
    compare(pair, 3)
