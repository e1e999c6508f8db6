"""Sentences with fields: `Plug {input.name} [into {input.box}]`.

A part in square brackets that holds a field vanishes when the field is unknown; an unknown field elsewhere
becomes plain words. Nothing but a look-up in a flat table happens: no attributes, no calls, no format codes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

FIELD = re.compile(r"\{([a-z]+(?:\.[a-z_]+)?)\}")
_PART = re.compile(r"\[([^\[\]]*)\]")
_GAPS = re.compile(r" +([,.;:?!)])|( ) +")


def fields_in(text: str) -> Iterator[tuple[str, int]]:
    """Each field's name and where its brace stands in the text (from 0)."""
    for found in FIELD.finditer(text):
        yield found.group(1), found.start()


def fill(text: str, known: Mapping[str, str], words: Mapping[str, str]) -> str:
    """The sentence with its fields filled in.

    `known` maps field names to what the rig says (an empty text counts as unknown); `words` gives the plain
    words for an unknown field, by full name. A field in neither becomes its last part ("box").
    """

    def value(name: str) -> str:
        return known.get(name) or words.get(name) or name.rpartition(".")[2].replace("_", " ")

    def part(found: re.Match[str]) -> str:
        inside = found.group(1)
        names = [name for name, _ in fields_in(inside)]
        if not names:
            return found.group(0)
        if any(not known.get(name) for name in names):
            return ""
        return FIELD.sub(lambda m: value(m.group(1)), inside)

    # Filled parts are set aside while the rest is filled, so that a value with braces in it is never read again.
    pieces: list[str] = []

    def keep(found: re.Match[str]) -> str:
        pieces.append(part(found))
        return f"\x00{len(pieces) - 1}\x00"

    rest = FIELD.sub(lambda m: value(m.group(1)), _PART.sub(keep, text.replace("\x00", "")))
    whole = re.sub(r"\x00(\d+)\x00", lambda m: pieces[int(m.group(1))], rest)
    return _GAPS.sub(lambda m: m.group(1) or m.group(2), whole).strip()
