"""How listening answers checks: an author's few words per answer, and which answers what was heard gives.

`hum on 1 line`, `buzz or hiss`, `clipping on 4 lines or more`, `it arrives elsewhere`. Without a number the line in
question must have it. An answer is given only when its words hold and no other answer's do.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from showday.fault.model import Check, Tree

HEARD_SURE = 0.85
"""How far an answer that was heard is trusted: less than a person who looks (0.9), for a stage holds noises that no test
had; a choice of this program."""

NOISES: Mapping[str, str] = {
    "hum": "hum",
    "buzz": "buzz",
    "ripple": "ripple",
    "hiss": "hiss",
    "clipping": "clipping",
    "dropouts": "dropout",
    "phone buzz": "rf_buzz",
    "clock tone": "clock_tone",
    "digital silence": "digital_silence",
    "dead line": "dead",
}
"""The words for what can be wrong with a line, and its kind among the findings."""

ARRIVES, TOO_LOW, ELSEWHERE, NOTHING = "it arrives", "it arrives too low", "it arrives elsewhere", "nothing arrives"
ARRIVALS = (ARRIVES, TOO_LOW, ELSEWHERE, NOTHING)
"""The words for where a sound made at the line came out."""

_NOISE = "|".join(sorted(NOISES, key=len, reverse=True))
PATTERN = rf"(?:{'|'.join(ARRIVALS)}|(?:{_NOISE})(?: or (?:{_NOISE}))*(?: on [1-9][0-9]{{0,2}} lines?(?: or more)?)?)"
"""What an author may write, as a regular expression."""
_COUNT = re.compile(r" on (\d+) lines?( or more)?$")


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was heard, as far as fault trees ask for it."""

    lines: Mapping[str, frozenset[str]] = field(default_factory=dict)
    """Kind of finding → the lines on which it was heard; any names, as long as each line has its own."""
    line: str = ""
    """The line in question; empty: none in particular."""
    arrival: str = ""
    """One of ARRIVALS; empty while nobody sounded the line."""


@dataclass(frozen=True, slots=True)
class Words:
    """An author's words, understood."""

    kinds: frozenset[str] = frozenset()
    least: int | None = None
    """On how many lines; None: on the line in question, however many others."""
    more: bool = False
    arrival: str = ""

    def hold(self, evidence: Evidence) -> bool:
        """Whether this was heard."""
        if self.arrival:
            return evidence.arrival == self.arrival
        lines = frozenset().union(*(evidence.lines.get(kind, frozenset()) for kind in self.kinds))
        if not lines or (evidence.line and evidence.line not in lines):
            return False
        return self.least is None or (len(lines) >= self.least if self.more else len(lines) == self.least)


def understood(text: str) -> Words | None:
    """What an author's words mean; None when they mean nothing here."""
    text = " ".join(text.split())
    if not re.fullmatch(PATTERN, text):
        return None
    if text in ARRIVALS:
        return Words(arrival=text)
    count = _COUNT.search(text)
    kinds = frozenset(NOISES[noise] for noise in _COUNT.sub("", text).split(" or "))
    return Words(kinds, int(count[1]) if count else None, bool(count and count[2]))


def heard_answers(tree: Tree, evidence: Evidence) -> list[tuple[str, str]]:
    """(check, answer) for every check of the tree that what was heard answers, in the file's order."""
    found = []
    for node in tree.nodes():
        if not isinstance(node, Check):
            continue
        words = [(str(label), understood(text)) for label, text in node.heard]
        held = [label for label, said in words if said is not None and said.hold(evidence)]
        if len(held) == 1:
            found.append((str(node.id), held[0]))
    return found
