from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from showday.sound.arrivals import Arrival, Arrivals, shuffles
from tests.sound.made_checks import RATE, blocks, line_check
from tests.support.sentences import broken


def arrived(found: Mapping[int, int | None], *, unsure: tuple[int, ...] = ()) -> list[Arrival]:
    """Inputs by their wanted channel, both counted from 1 as in the sentences."""
    made = []
    for wanted, at in found.items():
        verdict = "nothing" if at is None else "arrived" if at == wanted else "elsewhere"
        verdict = "unsure" if wanted in unsure else verdict
        channel = None if at is None else at - 1
        made.append(Arrival(f"In {wanted}", wanted - 1, channel, 20.0, verdict, ""))
    return made


BANK = " A bank of channels or a multicore in the wrong place?"

TOLD: dict[str, tuple[dict[int, int | None], list[str]]] = {
    "all right": ({n: n for n in range(1, 33)}, []),
    "nothing heard": (dict.fromkeys(range(1, 33)), []),
    "a swap": ({1: 1, 2: 4, 3: 3, 4: 2}, ["In 2 and In 4 are swapped (channels 2 and 4)."]),
    "two swaps": (
        {1: 2, 2: 1, 7: 9, 8: 8, 9: 7},
        ["In 1 and In 2 are swapped (channels 1 and 2).", "In 7 and In 9 are swapped (channels 7 and 9)."],
    ),
    "one line alone is told elsewhere": ({1: 1, 2: 9, 3: 3}, []),
    "two neighbours may be two plugs": ({1: 3, 2: 4, 5: 5}, []),
    "a ring": (
        {1: 4, 2: 1, 4: 2, 3: 3},
        ["3 lines stand in a ring on each other's channels: In 1 on 4, In 4 on 2, In 2 on 1."],
    ),
    "all lower, the first silent": (
        {n: n - 8 if n > 8 else None for n in range(1, 33)},
        ["All of 9 to 32 arrive 8 lower (9 on 1, 32 on 24)." + BANK],
    ),
    "a row with a dead line in it": (
        {9: 1, 10: 2, 11: None, 12: 4},
        ["3 of the inputs 9 to 12 arrive 8 lower (9 on 1, 12 on 4)." + BANK],
    ),
    "rotated by 8": (
        {n: (n - 9) % 32 + 1 for n in range(1, 33)},
        ["Inputs 1 to 32 are rotated by 8: 9 to 32 arrive 8 lower and 1 to 8 24 higher." + BANK],
    ),
    "rotated by 1": (
        {1: 2, 2: 3, 3: 4, 4: 1},
        ["Inputs 1 to 4 are rotated by 1: 1 to 3 arrive 1 higher and 4 arrives 3 lower." + BANK],
    ),
    "banks exchanged": (
        {**{n: n + 16 for n in range(1, 9)}, **{n: n - 16 for n in range(17, 25)}, 12: 12},
        ["1 to 8 and 17 to 24 are exchanged for each other." + BANK],
    ),
    "a row and a swap": (
        {1: 2, 2: 1, **{n: n + 4 for n in range(9, 13)}},
        [
            "In 1 and In 2 are swapped (channels 1 and 2).",
            "All of 9 to 12 arrive 4 higher (9 on 13, 12 on 16)." + BANK,
        ],
    ),
}


@pytest.mark.parametrize("kind", TOLD)
def test_the_whole_list_is_told_in_any_order_of_the_walk(kind: str) -> None:
    found, sentences = TOLD[kind]
    every = arrived(found)
    assert shuffles(every) == sentences
    assert [sign for sentence in sentences for sign in broken(sentence)] == []
    for seed in range(5):
        order = np.random.default_rng(seed).permutation(len(every))
        assert shuffles([every[i] for i in order]) == sentences


def test_what_is_unsure_is_no_proof() -> None:
    assert shuffles(arrived({1: 2, 2: 1}, unsure=(2,))) == []
    assert shuffles(arrived({9: 1, 10: 2, 11: 3}, unsure=(10, 11))) == []


def test_an_input_without_a_wanted_channel_is_left_out() -> None:
    assert shuffles([Arrival("Spare", None, 3, 20.0, "unsure", "")]) == []
    assert shuffles([]) == []


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("silenced", [False, True])
def test_32_channels_that_arrive_8_lower_are_heard_as_such(seed: int, silenced: bool) -> None:
    """What an all-auxiliary channel map of a sound server does to 32 channels."""
    sent_to = [None if silenced and i < 8 else (i - 8) % 32 for i in range(32)]
    samples, walk = line_check(sent_to, 32, seed=seed, each_s=0.5)
    arrivals = Arrivals(RATE, 32, walk)
    for block in blocks(samples):
        arrivals.feed(block)
    said = shuffles(arrivals.result())
    assert len(said) == 1
    assert ("All of 9 to 32 arrive 8 lower" if silenced else "Inputs 1 to 32 are rotated by 8") in said[0]
