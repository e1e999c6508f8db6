"""Which transmitter can be set to which frequency."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from showday.radio.model import Tuner
from showday.radio.units import khz, mhz


def tuning_faults(own: Sequence[int], tuners: Sequence[Tuner]) -> Iterator[tuple[int, str, str]]:
    """For each carrier (Hz) that no transmitter reaches: the carrier, `range` or `step`, and a sentence.

    When every carrier is reached but not all at once, one more for each carrier that is left over. More carriers than
    transmitters are no fault: the rest are spares.
    """
    if not tuners:
        return
    lonely = [at for at in own if not any(tuner.reaches(at) for tuner in tuners)]
    for at in lonely:
        yield (at, *_why_not(at, tuners))
    if lonely or len(own) > len(tuners):
        return
    placed = assign(own, tuners)
    for at, place in zip(own, placed, strict=True):
        if place is None:
            yield at, "range", f"{mhz(at)} MHz: every transmitter that can be set to it is needed for another carrier"


def _why_not(at: int, tuners: Sequence[Tuner]) -> tuple[str, str]:
    inside = [tuner for tuner in tuners if tuner.low <= at <= tuner.high]
    if not inside:
        nearest = min(tuners, key=lambda tuner: max(tuner.low - at, at - tuner.high))
        reach = f"{nearest.name} reaches from {mhz(nearest.low)} to {mhz(nearest.high)} MHz"
        return "range", f"{mhz(at)} MHz is out of reach of every transmitter; {reach}"
    steps = sorted({tuner.step for tuner in inside})
    tuner = inside[0]
    below = tuner.low + (at - tuner.low) // tuner.step * tuner.step
    beside = " or ".join(mhz(near) for near in (below, below + tuner.step) if near <= tuner.high)
    named = " or ".join(map(khz, steps))
    return "step", f"{mhz(at)} MHz is between the steps of {named} kHz; {tuner.name} can be set to {beside} MHz"


def assign(own: Sequence[int], tuners: Sequence[Tuner]) -> list[int | None]:
    """A tuner's index for each carrier, no tuner twice, for as many carriers as can be; low carriers get early tuners."""
    order = sorted(range(len(own)), key=lambda index: (own[index], index))
    reached = [[place for place, tuner in enumerate(tuners) if tuner.reaches(own[index])] for index in order]
    seats: list[int | None] = [None] * len(own)
    for index, seat in zip(order, seated(reached, len(tuners)), strict=True):
        seats[index] = seat
    return seats


def seated(reached: Sequence[Sequence[int]], seats: int, before: int | None = None) -> list[int | None]:
    """A seat for each of those that reach these seats, no seat twice, for as many as can be; the first come first.

    As many as can be sit on the first `before` seats, if given. Augmenting paths (Kuhn 1955): one that finds its seat
    taken asks the holder to move; a seat that was taken stays so.
    """
    holder: list[int | None] = [None] * seats

    def seat(one: int, asked: set[int], among: int) -> bool:
        for place in sorted(reached[one], key=lambda place: holder[place] is not None):
            if place in asked or place >= among:
                continue
            asked.add(place)
            other = holder[place]
            if other is None or seat(other, asked, among):
                holder[place] = one
                return True
        return False

    for among in (seats,) if before is None else (before, seats):
        for one in range(len(reached)):
            if one not in holder:
                seat(one, set(), among)
    found: list[int | None] = [None] * len(reached)
    for place, one_or_none in enumerate(holder):
        if one_or_none is not None:
            found[one_or_none] = place
    return found
