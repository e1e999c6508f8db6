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
    """A tuner's index for each carrier, no tuner twice, for as many carriers as can be; low carriers get early tuners.

    Augmenting paths (Kuhn 1955): a carrier that finds its tuner taken asks the holder to move.
    """
    holder: list[int | None] = [None] * len(tuners)

    def seat(carrier: int, asked: set[int]) -> bool:
        reached = [place for place, tuner in enumerate(tuners) if tuner.reaches(own[carrier])]
        for place in sorted(reached, key=lambda place: holder[place] is not None):
            if place in asked:
                continue
            asked.add(place)
            other = holder[place]
            if other is None or seat(other, asked):
                holder[place] = carrier
                return True
        return False

    for carrier in sorted(range(len(own)), key=lambda index: (own[index], index)):
        seat(carrier, set())
    places: list[int | None] = [None] * len(own)
    for place, carrier_or_none in enumerate(holder):
        if carrier_or_none is not None:
            places[carrier_or_none] = place
    return places
