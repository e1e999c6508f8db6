"""What a step is worth: the harm it keeps away, in thousandths of a show.

Risk removed = chance that something is wrong · harm when it is · chance that the step finds it. People say words; the
figures behind them are threefold steps like those of the odds of causes, and only set sizes side by side.
"""

from __future__ import annotations

from collections.abc import Mapping

WRONG_WORDS: Mapping[str, float] = {"rare": 0.01, "occasional": 0.03, "common": 0.09}
"""Chance that the step finds something wrong on one evening: a choice of this program."""
HARM_WORDS: Mapping[str, float] = {"harmless": 1 / 27, "annoying": 1 / 9, "bad": 1 / 3, "show-stopping": 1.0}
"""Harm of what it would have found, as a share of the show: a choice of this program."""
USUAL_WRONG, USUAL_HARM, MUST_HARM = "occasional", "annoying", "show-stopping"
"""Words of a step whose author gave none; a must keeps the show from stopping."""
FINDS = 0.9
"""Chance that the step finds what is wrong: as far as an answer is trusted elsewhere. A choice of this program."""
WRONG_RUNS = 3.0
"""How many runs the author's word is worth beside what the log has counted."""


def chance_wrong(word: str, found: int = 0, times: int = 0) -> float:
    """Chance that something is wrong at a step, from the author's word and the log: `found` faults in `times` runs.

    Posterior mean of a Beta whose prior mean is the word's chance, worth three runs.
    """
    prior = WRONG_WORDS.get(word, WRONG_WORDS[USUAL_WRONG])
    return (WRONG_RUNS * prior + min(found, times)) / (WRONG_RUNS + times)


def risk_removed(wrong: float, harm: str, finds: float = FINDS) -> float:
    """Thousandths of a show that doing the step saves on average."""
    return 1000.0 * wrong * HARM_WORDS.get(harm, HARM_WORDS[USUAL_HARM]) * finds
