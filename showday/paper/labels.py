"""Strips for the panel: short names, one piece a channel, to be cut along the lines."""

from __future__ import annotations

import re
from collections.abc import Sequence

from showday.paper.model import SMALL, Block, Label, Part, Sheet, Strip, Words
from showday.rig.model import Rig
from showday.rig.words import show

LONGEST = 8
"""Letters on a line; a piece of 22 by 16 mm has two: what is read from a step away (a choice of this program)."""
IN_A_ROW = 8
"""Pieces side by side: 8 of 22 mm fill the 182 mm between the margins of A4 (a choice of this program)."""
_SIDES = {"left": "L", "right": "R"}
_EMPTY = re.compile(r"\s+")


def label_sheet(rig: Rig) -> Sheet:
    """Strips for inputs, mixes and packs, as far as the rig has them."""
    inputs = [Label(show(line.number), short_name(line.name), "48 V" if line.phantom else "") for line in rig.inputs]
    mixes = [Label("MIX", short_name(mix.name), _figures(mix.output)) for mix in rig.mixes]
    packs = [Label("PACK", short_name(p.person or p.name), "spare" if p.spare else p.name) for p in rig.packs]
    parts = []
    for title, labels in (("Inputs", inputs), ("Mixes", mixes), ("Packs", packs)):
        if labels:
            rows = (labels[at : at + IN_A_ROW] for at in range(0, len(labels), IN_A_ROW))
            parts.append(Part(title, tuple(Strip(tuple(row)) for row in rows)))
    how: tuple[Block, ...] = (Words("Print at full size, cut along the lines, tape over them.", SMALL),)
    return Sheet("Label strips", (Part("", how), *parts))


def short_name(name: str) -> tuple[str, ...]:
    """A name in at most two lines of eight letters: sides as L and R, long words cut off with a full stop.

    What does not fit into two lines is left out from the middle: the last words tell most names apart.
    """
    words = [_SIDES.get(word.lower(), word) for word in _EMPTY.split(name.strip()) if word]
    cut = [word if len(word) <= LONGEST else f"{word[: LONGEST - 1]}." for word in words]
    first = _fitting(cut)
    rest = cut[first:]
    if not rest:
        return (" ".join(cut),) if cut else ()
    last = _fitting(rest[::-1])
    return " ".join(cut[:first]), " ".join(rest[-last:])


def _fitting(words: Sequence[str]) -> int:
    """How many of the words fit on one line, from the first on."""
    length, count = -1, 0
    for word in words:
        length += 1 + len(word)
        if length > LONGEST:
            break
        count += 1
    return count


def _figures(output: str) -> str:
    """`outputs 3 and 4` as `3 4`; the text itself when it has no figures."""
    return " ".join(re.findall(r"\d+", output)) or output[:LONGEST]
