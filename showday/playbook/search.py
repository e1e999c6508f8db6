"""Finding what a stressed person types: symptoms first, then titles, then steps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

LEAST = 60.0
"""Likeness in percent below which nothing is offered (a choice of this program)."""


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that can be found: where it leads, what to show, and the words it is found by."""

    kind: str
    """`fault`, `playbook`, `step`, `venue` …"""
    id: str
    title: str
    words: tuple[str, ...]
    weight: float = 0.0
    """Points added to the likeness, so that faults win over steps."""


@dataclass(frozen=True, slots=True)
class Hit:
    """A found entry, with the words that matched best."""

    entry: Entry
    score: float
    by: str


def search(entries: Iterable[Entry], query: str, limit: int = 12) -> list[Hit]:
    """Entries like the query, best first; all of them in their order when the query is empty.

    Whole words and beginnings of words win over letters inside of other words: "hum" finds hum, not thumb.
    """
    from rapidfuzz import fuzz, utils

    asked = utils.default_process(query)
    if not asked:
        return [Hit(entry, 0.0, entry.title) for entry in list(entries)[:limit]]
    hits = []
    for entry in entries:
        best, by = 0.0, entry.title
        for words in (entry.title, *entry.words):
            text = utils.default_process(words)
            if not text:
                continue
            score = fuzz.token_set_ratio(asked, text) * 0.6 + fuzz.partial_ratio(asked, text) * 0.4
            score += _whole_words(asked, text)
            if score > best:
                best, by = score, words
        if best >= LEAST:
            hits.append(Hit(entry, best + entry.weight, by))
    hits.sort(key=lambda hit: (-hit.score, hit.entry.title, hit.entry.id))
    return hits[:limit]


def _whole_words(asked: str, text: str) -> float:
    """Up to 30 points for asked words that stand as words in the text, half for their beginnings."""
    have = text.split()
    words = asked.split()
    points = 0.0
    for word in words:
        if word in have:
            points += 1.0
        elif len(word) > 1 and any(other.startswith(word) for other in have):
            points += 0.5
    return 30.0 * points / len(words)
