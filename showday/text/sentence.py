"""Sentences with fields: `Plug {input.name} [into {input.box}]`.

A part in square brackets that holds a field vanishes when the field is unknown; an unknown field elsewhere
becomes plain words. Nothing but a look-up in a flat table happens: no attributes, no calls, no format codes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

FIELD = re.compile(r"\{([a-z]+(?:\.[a-z_]+)?)\}")
_PART_OR_FIELD = re.compile(rf"\[([^\[\]]*)\]|{FIELD.pattern}")
_GAPS = re.compile(r" +([,.;:?!)])|( ) +")
_BRACE = re.compile(r"\{([^{}]*)\}|[{}]")


def fields_in(text: str) -> Iterator[str]:
    """Each field's name, in the text's order."""
    for found in FIELD.finditer(text):
        yield found.group(1)


def stray_braces(text: str) -> Iterator[str]:
    """What stands in braces and is no field, such as `{Input name}`; empty text for a lone brace."""
    for found in _BRACE.finditer(FIELD.sub("", text)):
        yield found.group(1) or ""


def fill(text: str, known: Mapping[str, str], words: Mapping[str, str]) -> str:
    """The sentence with its fields filled in.

    `known` maps field names to what the rig says (an empty text counts as unknown); `words` gives the plain
    words for an unknown field, by full name. A field in neither becomes its last part ("box"). One pass: what was
    filled in is never read again.
    """

    def value(name: str) -> str:
        otherwise = name.rpartition(".")[2].replace("_", " ")
        return known.get(name) or words.get(name, otherwise)

    def filled(found: re.Match[str]) -> str:
        inside, name = found.groups()
        if name is not None:
            return value(name)
        names = list(fields_in(inside))
        if not names:
            return found.group(0)
        return FIELD.sub(lambda m: value(m.group(1)), inside) if all(known.get(n) for n in names) else ""

    whole = _PART_OR_FIELD.sub(filled, text)
    return _GAPS.sub(lambda m: m.group(1) or m.group(2), whole).strip()
