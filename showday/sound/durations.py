"""How short lengths of time are told."""

from __future__ import annotations


def length(seconds: float) -> str:
    """`0.06 ms`, `1.5 ms`, `12.5 ms`, `1.2 s`."""
    if seconds >= 1:
        return f"{seconds:,.1f} s"
    return f"{1_000 * seconds:.2g} ms" if seconds < 0.01 else f"{1_000 * seconds:.3g} ms"
