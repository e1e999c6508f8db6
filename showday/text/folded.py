"""Text with everything left out by which the same word is spelt in several ways."""

from __future__ import annotations

import re
import unicodedata

_NO_WORD = re.compile("[^0-9a-z]+")


def bare(text: str) -> str:
    """Lower case without accents and punctuation, for comparing names; words are kept apart by one space."""
    if text.isascii():  # the same, thirty times quicker: every note of twenty years passes through here
        return " ".join(_NO_WORD.sub(" ", text.lower()).split())
    apart = unicodedata.normalize("NFKD", text.casefold())
    kept = (c if c.isalnum() else " " for c in apart if not unicodedata.combining(c))
    return " ".join("".join(kept).split())
