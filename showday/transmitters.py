"""The rig's transmitters as the planner knows them; a rig file says MHz and kHz, the planner whole Hz."""

from __future__ import annotations

from collections.abc import Sequence

from showday.errors import RadioTrouble
from showday.radio.model import Tuner
from showday.radio.units import HZ_PER_KHZ, HZ_PER_MHZ, frequency, mhz, scaled
from showday.rig.model import Rig


def tuners_of(rig: Rig) -> tuple[Tuner, ...]:
    """What each transmitter that states a low and a high end can be set to, in the file's order; Hz."""
    return tuple(
        Tuner(
            each.name,
            _hertz(each.low),
            _hertz(each.high),
            _hertz(each.step, HZ_PER_KHZ),
            _hertz(each.width, HZ_PER_KHZ),
        )
        for each in rig.transmitters
        if each.low is not None and each.high is not None
    )


def carriers_of(rig: Rig) -> tuple[tuple[str, int], ...]:
    """Name and frequency (Hz) of every transmitter that states one, in the file's order."""
    return tuple((each.name, _hertz(each.frequency)) for each in rig.transmitters if each.frequency is not None)


def own_of(said: Sequence[str] | None, theirs: Sequence[tuple[str, int]]) -> tuple[tuple[str, int], ...]:
    """Names and Hz of the act's transmitters that a person says were on while it was swept.

    None: nobody said so, and none is. No frequency: all of `theirs`, those of the rig. RadioTrouble for what is no
    frequency.
    """
    if said is None:
        return ()
    if not said:
        if not theirs:
            raise RadioTrouble(
                "The rig says no frequency of your transmitters.", "Give them after --own, or name a rig with --rig."
            )
        return tuple(theirs)
    names = {at: name for name, at in theirs}
    return tuple((names.get(at, f"own {mhz(at)}"), at) for at in map(frequency, said))


def region_of(rig: Rig) -> str:
    """The rig's region; empty when its file names none."""
    return rig.region


def _hertz(number: float | None, hertz_per_unit: int = HZ_PER_MHZ) -> int:
    """Whole Hz of a number as its file wrote it, worked out on its decimals: 606.7 MHz are 606700000 Hz exactly."""
    return 0 if number is None else scaled(f"{number:.9f}", hertz_per_unit)
