"""A stage of 32 channels heard on one core beside the time it plays, and the start with and without the extra."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.bench.conftest import Compare, Pair
from tests.support.terminal import ROOT

SECONDS = 10
"""Length of the material."""
TIMES = 40
"""So many times faster than it plays is aimed at."""

# One core and one thread for linear algebra, in processor seconds: what else runs on the machine does not count.
HEARS = f"""
import os, sys, time
os.environ["OPENBLAS_NUM_THREADS"] = "1"
if hasattr(os, "sched_setaffinity"):
    os.sched_setaffinity(0, {{min(os.sched_getaffinity(0))}})
from tests.bench.stage import walked
from showday.sound.listener import Listener
blocks, inputs, walk, pairs = walked({SECONDS})
listener = Listener(48_000, 32, inputs, walk, pairs)
began = time.process_time()
for number, block in enumerate(blocks):
    listener.feed(block)
    if EACH and number % EACH == EACH - 1:
        listener.meters(), listener.findings()
report = listener.report()
took = time.process_time() - began
assert len(report.channels) == 32 and len(report.arrivals) == len(walk)
print(took)
"""

VERSION = "from showday.cli import main; main(['--version'])"
BARE = f"import sys; sys.modules.update(dict.fromkeys(('numpy', 'soundfile', 'sounddevice', '_cffi_backend'))); {VERSION}"


def told(code: str) -> str:
    """What a program of its own prints."""
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run([sys.executable, "-c", code], env=env, check=True, capture_output=True, text=True).stdout


def children(command: Sequence[str]) -> float:
    """Processor seconds of a program."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


@pytest.mark.parametrize(("asked", "each"), [("at the end", 0), ("once a second", 12), ("twice a second", 6)])
def test_a_stage_beside_the_time_it_plays(compare: Compare, asked: str, each: int) -> None:
    """A recording is asked at the end, a device goes on being asked. Ratio 1: 40 times faster than it plays."""
    pair = Pair(
        f"32 channels, asked {asked}, to 1/{TIMES} of time",
        1,
        lambda: float(told(f"EACH = {each}\n{HEARS}")),
        lambda: SECONDS / TIMES,
    )
    compare(pair, 4)


def test_the_start_beside_one_without_the_extra(
    compare: Compare, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`showday --version` with everything installed, beside a Python in which nothing of it can be imported."""
    monkeypatch.setenv("SHOWDAY_HOME", str(home))
    pair = Pair(
        "start, with beside without the extra listen",
        1.05,
        lambda: children([sys.executable, "-c", VERSION]),
        lambda: children([sys.executable, "-c", BARE]),
    )
    compare(pair, 12)
