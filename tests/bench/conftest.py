"""Speeds side by side: ours and the barest program that does the same, in turns, as the ratio of their medians.

    python -m pytest tests/bench --benchmark-enable

Times differ from machine to machine and are never asserted; a ratio is printed beside the one that is aimed at.
Without the option each pair runs once and only its facts are asserted.
"""

from __future__ import annotations

import compileall
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from typing import Any

import pytest

from tests.bench.act import make_home
from tests.support.terminal import ROOT

_TABLE: pytest.StashKey[list[Pair]] = pytest.StashKey()


@dataclass
class Pair:
    """Two ways to do one thing; each way does it once and says how many seconds it took."""

    what: str
    goal: float
    """The ratio of the medians that is aimed at."""
    ours: Callable[[], float]
    bare: Callable[[], float]
    times: list[tuple[float, float]] = field(default_factory=list)
    """(ours, bare) in seconds."""

    def once(self) -> None:
        """Do both, each first in every other turn."""
        if len(self.times) % 2:
            bare = self.bare()
            self.times.append((self.ours(), bare))
        else:
            ours = self.ours()
            self.times.append((ours, self.bare()))

    @property
    def medians(self) -> tuple[float, float]:
        """Of ours and of the bare one, in seconds, without the first turn, which finds cold caches."""
        warm = self.times[1:] or self.times
        return median(ours for ours, _ in warm), median(bare for _, bare in warm)


Compare = Callable[[Pair, int], None]


@pytest.fixture
def compare(benchmark: Any, request: pytest.FixtureRequest) -> Compare:
    """Runs a pair so many times, or once when speeds are not asked for."""

    def run(pair: Pair, rounds: int) -> None:
        benchmark.pedantic(pair.once, rounds=rounds, warmup_rounds=1)
        if benchmark.enabled:
            request.config.stash.setdefault(_TABLE, []).append(pair)
            ours, bare = pair.medians
            benchmark.extra_info.update(ours=ours, bare=bare, ratio=ours / bare, goal=pair.goal)

    return run


@pytest.fixture(scope="session")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the example act's rig and log, for a program that is compiled as an installed one is."""
    compileall.compile_dir(ROOT / "showday", quiet=2)
    return make_home(tmp_path_factory.mktemp("act"))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """The table of ratios."""
    pairs = config.stash.get(_TABLE, [])
    if not pairs:
        return
    terminalreporter.section("side by side, medians")
    terminalreporter.write_line(f"{'':<44}{'ours ms':>9}{'bare ms':>9}{'ratio':>7}{'goal':>7}")
    for pair in pairs:
        ours, bare = pair.medians
        numbers = f"{ours * 1e3:>9.2f}{bare * 1e3:>9.2f}{ours / bare:>7.2f}{pair.goal:>7.2f}"
        missed = "" if ours / bare <= pair.goal else "  over"
        terminalreporter.write_line(f"{pair.what:<44}{numbers}{missed}")
