"""What makes a filled-in sentence look broken to the person who reads it."""

from __future__ import annotations

import re
from collections.abc import Iterator

_SIGNS = {
    "a brace": re.compile(r"[{}]"),
    "two spaces": re.compile(r"  "),
    "a gap before a stop": re.compile(r" [,.;:?!)](?!\d|\.)"),
    "a stop at the beginning": re.compile(r"^[,;:.?!)]"),
    "a part left open": re.compile(r"^\s|\s$|[,;:(]$|\(\)|\[\]"),
    "a word twice": re.compile(r"\b(the|an?|its|of|to|in|on|is|and|or|at|for|their|your|with|from) \1\b", re.I),
    "two stops": re.compile(r"[,;:][,;:.]|(?<!\.)\.\.(?!\.)(?!\d)"),
    "a value of the program": re.compile(r"\bNone\b(?! of)|\bTrue\b|\bFalse\b|Word\(|Place\("),
}


def broken(sentence: str) -> Iterator[str]:
    """Each sign of a broken sentence, in words."""
    for sign, pattern in _SIGNS.items():
        if sentence and pattern.search(sentence):
            yield f"{sign}: {sentence!r}"
