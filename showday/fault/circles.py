"""Whether what comes after what goes round in a circle."""

from __future__ import annotations

from collections.abc import Mapping


def comes_back(start: str, edges: Mapping[str, tuple[str, ...]]) -> bool:
    """Whether a way along the edges leads back to where it began."""
    seen: set[str] = set()
    todo = list(edges.get(start, ()))
    while todo:
        at = todo.pop()
        if at == start:
            return True
        if at not in seen:
            seen.add(at)
            todo.extend(edges.get(at, ()))
    return False
