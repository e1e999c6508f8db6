"""What no plan can do: numbers of clean carriers on an even raster, as mathematics knows them.

Exact hits only. No 2A-B on a carrier means no three carriers evenly apart, and r3(N) of N places are the most without
(OEIS A003002). No 2A-B and no A+B-C means that all differences differ, a Golomb ruler; n marks take A003022(n) + 1
places, which agrees up to n = 8 with the channels that Babcock counts (Bell System Technical Journal, January 1953).
"""

from __future__ import annotations

import pytest

from showday.radio.model import Band
from showday.radio.plan import plan
from showday.radio.plan_ask import Ask, Plan
from showday.radio.products import KINDS, Kind, kinds_of
from showday.radio.verify import Air, verify

STEP = 400_000
A003002 = [0, 1, 2, 2, 3, 4, 4, 4, 4, 5, 5, 6, 6, 7, 8, 8, 8, 8, 8, 8, 9, 9, 9, 9, 10, 10, 11, 11, 11, 11, 12]
A003002 += [12, 13, 13, 13, 13, 14, 14, 14, 14, 15]
"""r3(N) for N = 0 … 40 (oeis.org/A003002)."""
A003022 = {2: 1, 3: 3, 4: 6, 5: 11, 6: 17, 7: 25, 8: 34, 9: 44}
"""Marks: length of the shortest ruler (oeis.org/A003022)."""
TWO_SIGNAL, THIRD = KINDS[:1], kinds_of((3,))
QUICK = (*range(1, 13), 16, 20, 26, 40)


def planned(kinds: tuple[Kind, ...], places: int, count: int) -> Plan:
    """The most carriers, up to `count`, on so many places in a row."""
    band = Band(470_000_000, 470_000_000 + (places - 1) * STEP)
    return plan(Ask(count, 0, (band,), STEP, kinds=kinds))


def is_exactly(found: Plan, most: int, kinds: tuple[Kind, ...]) -> bool:
    """Whether so many were found, all clean, and no more are claimed."""
    own = [each.at for each in found.carriers]
    return (len(own), found.most, found.proved) == (most, most, True) and verify(own, Air(kinds=kinds)).clean


@pytest.mark.parametrize("places", QUICK)
def test_two_signals_alone_leave_room_for_r3(places: int) -> None:
    most = A003002[places]
    assert is_exactly(planned(TWO_SIGNAL, places, most + 1), most, TWO_SIGNAL)


@pytest.mark.slow
@pytest.mark.parametrize("places", sorted({*range(1, 41)} - {*QUICK}))
def test_two_signals_alone_leave_room_for_r3_everywhere(places: int) -> None:
    most = A003002[places]
    assert is_exactly(planned(TWO_SIGNAL, places, most + 1), most, TWO_SIGNAL)


@pytest.mark.parametrize("count", A003022)
def test_third_order_leaves_room_for_a_golomb_ruler_and_no_more(count: int) -> None:
    length = A003022[count]
    assert is_exactly(planned(THIRD, length + 1, count + 1), count, THIRD)
    if count > 2:
        assert is_exactly(planned(THIRD, length, count), count - 1, THIRD)


@pytest.mark.parametrize(
    ("mhz", "step", "most"), [(6, 400_000, 5), (6, 200_000, 7), (8, 400_000, 6), (8, 200_000, 8)]
)
def test_third_order_clean_carriers_in_one_television_channel(mhz: int, step: int, most: int) -> None:
    """The places of one channel, its upper end left to the next: 15 or 30 in 6 MHz, 20 or 40 in 8 MHz."""
    band = Band(606_000_000, 606_000_000 + mhz * 1_000_000 - step)
    assert is_exactly(plan(Ask(most + 1, 0, (band,), step, kinds=THIRD)), most, THIRD)
