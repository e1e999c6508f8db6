"""`when` and `where`: small conditions that a musician can write."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from showday.rig.model import Thing
from showday.rig.words import show


def holds(conditions: Iterable[str], facts: Mapping[str, bool]) -> bool:
    """Whether all of `when` may hold; an unknown fact counts as holding, so that nothing is hidden by ignorance."""
    for condition in conditions:
        word, wanted = _split(condition)
        if facts.get(word, wanted) != wanted:
            return False
    return True


def _split(condition: str) -> tuple[str, bool]:
    words = condition.split()
    if len(words) == 2 and words[0] == "not":
        return words[1], False
    return condition.strip(), True


def condition_word(condition: str) -> str:
    """The bare word of a `when` condition."""
    return _split(condition)[0]


def where_parts(condition: str) -> tuple[str, str | None, bool]:
    """(field, value or None, wanted) of `phantom`, `not spare`, `source is di`, `source is not di`."""
    words = condition.split()
    if words and words[0] == "not":
        return " ".join(words[1:]), None, False
    if words[1:3] == ["is", "not"]:
        return words[0], " ".join(words[3:]), False
    if words[1:2] == ["is"]:
        return words[0], " ".join(words[2:]), True
    return condition.strip(), None, True


def fits(conditions: Iterable[str], thing: Thing) -> bool:
    """Whether a thing of the rig passes every `where`; unknown fields count as "no"."""
    for condition in conditions:
        name, value, wanted = where_parts(condition)
        held = getattr(thing, name, None)
        met = bool(held) if value is None else show(held).lower() == value.lower()
        if met != wanted:
            return False
    return True
