"""Foreign text made harmless for paper that another program may open: a browser, or a spreadsheet."""

from __future__ import annotations

from showday.text.safe import one_line

LONGEST = 1_000
_FORMULA = ("=", "+", "-", "@")
"""What a spreadsheet takes for the beginning of a formula (OWASP, CSV Injection); tabs and line ends are gone by then."""


def harmless(text: str, limit: int = LONGEST) -> str:
    """The text in one line without codes; an apostrophe stands before what a spreadsheet would take for a formula."""
    line = one_line(text, limit)
    return f"'{line}" if line.startswith(_FORMULA) else line
