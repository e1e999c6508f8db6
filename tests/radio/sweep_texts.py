"""Sweep files as texts: the same six bins in many spellings, and wide rows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from showday.radio.sweep import Sweep
from showday.radio.sweep_reader import read_sweep
from showday.text.problem import Problems

HZ = [470_000_000 + 25_000 * i for i in range(6)]
LEVELS = [-100.5, -99.25, -98.5, -97.0, -99.75, -101.5]
MHZ = 1_000_000


def columns(separator: str = ",", mark: str = ".", unit: float = 1e6, digits: int = 3, end: str = "\n") -> str:
    """Two columns."""
    rows = (f"{hz / unit:.{digits}f}{separator}{level:.2f}{end}" for hz, level in zip(HZ, LEVELS, strict=True))
    text = "".join(rows)
    return text if mark == "." else text.replace(".", mark)


def wide(low: int, levels: Sequence[float | str], *, bins: int = 0, width: int = MHZ, time: str = "12:00:00") -> str:
    """One wide row of so many bins; as many as levels when not said."""
    values = ", ".join(each if isinstance(each, str) else f"{each:.2f}" for each in levels)
    high = low + (bins or len(levels)) * width
    return f"2025-06-14, {time}, {low}, {high}, {width:.2f}, 512, {values}\n"


def read(content: str | bytes | Iterable[bytes], level: str = "") -> tuple[Sweep | None, Problems]:
    """The sweep of a text and its problems."""
    if isinstance(content, str):
        content = content.encode()
    return read_sweep([content] if isinstance(content, bytes) else content, "field.csv", level)


def sweep_of(content: str | bytes, level: str = "") -> Sweep:
    """The sweep of a text without problems."""
    sweep, problems = read(content, level)
    assert sweep is not None, problems
    assert problems == []
    return sweep


def told(content: str | bytes, level: str = "") -> list[str]:
    """The problems as sentences."""
    return [str(problem) for problem in read(content, level)[1]]
