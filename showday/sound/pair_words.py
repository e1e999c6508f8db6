"""What is known of a pair of channels, in one sentence; channels are counted from 1 in it."""

from __future__ import annotations

from dataclasses import dataclass

SAME, INVERTED, EXPECTED, CANT_TELL = "same", "inverted", "expected inverted", "can't tell"

AIR_CM_PER_MS = 34.3
"""Sound in air of 20 °C: 343 m/s."""

_NO_DELAY_MS = 0.05


@dataclass(frozen=True, slots=True)
class PairVerdict:
    """What is known of two channels, counted from 0."""

    left: int
    right: int
    polarity: str
    """same, inverted, expected inverted or can't tell."""
    lag_ms: float | None
    """How much later the right one is; None when it cannot be told."""
    sentence: str


def sentence_of(
    polarity: str, left: int, right: int, lag_ms: float | None, sounds: int, *, wanted_inverted: bool
) -> str:
    """The sentence for one pair of which `sounds` sounds were compared."""
    who = f"Channels {left + 1} and {right + 1}"
    if polarity == SAME and wanted_inverted:
        said = f"{who} move alike, though one should be upside down: check the polarity switches and the placing"
    elif polarity == SAME:
        said = f"{who} move alike"
    elif polarity == EXPECTED:
        said = f"{who} are upside down to each other, as expected: turn one over for the mix"
    elif polarity == INVERTED:
        said = f"{who} look upside down to each other: check the polarity switches and the cables, and listen to both"
    elif not sounds:
        said = f"{who} have heard no sound together yet: make one that both hear"
    else:
        said = f"{who}: polarity can't be told from what was heard; hit a drum or say a word where both hear it"
    return f"{said}{_delay(left, right, lag_ms)}."


def _delay(left: int, right: int, lag_ms: float | None) -> str:
    if lag_ms is None or abs(lag_ms) < _NO_DELAY_MS:
        return ""
    later = right if lag_ms > 0 else left
    return f"; {later + 1} is {abs(lag_ms):.2f} ms later ({abs(lag_ms) * AIR_CM_PER_MS:.0f} cm of air)"
