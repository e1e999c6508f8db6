"""Foreign text made harmless to show: no control codes, no direction tricks, no surprises in length."""

from __future__ import annotations

import re
import unicodedata

_LINES = re.compile(r"\r\n?|[\u2028\u2029\x85\x0b\x0c]")
_SPACES = re.compile(r"\s+")


def _visible(char: str) -> str:
    code = ord(char)
    if code < 0x20:
        return chr(0x2400 + code)  # the Control Pictures block shows a picture of each code
    if code == 0x7F:
        return "\u2421"
    return "\ufffd"


def plain(text: str, limit: int = 20_000) -> str:
    """The text with every control, format and surrogate character made visible; newlines and tabs kept as space.

    Escape sequences cannot reach the terminal, because ESC itself becomes a picture of it. Right-to-left
    overrides and zero-width characters (Unicode category Cf) become the replacement character, except the
    joiners that emoji and many scripts need.
    """
    if len(text) > limit:
        text = text[: limit - 1] + "…"
    if text.isascii() and text.isprintable():
        return text
    text = _LINES.sub("\n", text).replace("\t", " ")
    out = []
    for char in text:
        if char == "\n" or char in "\u200c\u200d\ufe0f":
            out.append(char)
        elif unicodedata.category(char) in ("Cc", "Cf", "Cs", "Co", "Cn"):
            out.append(_visible(char))
        else:
            out.append(char)
    return "".join(out)


def one_line(text: str, limit: int = 200) -> str:
    """`plain`, folded into one line of at most `limit` characters; a cut is marked with an ellipsis."""
    folded = _SPACES.sub(" ", plain(text, max(limit * 4, 80))).strip()
    return folded if len(folded) <= limit else folded[: limit - 1] + "…"
