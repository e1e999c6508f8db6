"""Where antennas go, in sentences with the numbers of the band that the rig is tuned to. Advice, never a permission."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from math import log1p, log10
from textwrap import wrap as fold
from typing import NamedTuple

from showday.errors import RadioTrouble
from showday.radio import propagation as wave
from showday.radio.model import Band, Tuner
from showday.radio.propagation import CABLES, Cable
from showday.radio.units import mhz
from showday.text.cautions import RADIO_LAW
from showday.text.problem import nearest
from showday.text.safe import one_line

DISTANCE = 30.0
"""Metres to the farthest player when nothing is said: a choice of this program."""
LENGTH = 10.0
"""Metres of antenna cable when nothing is said: a choice of this program."""
POWER = 50.0
"""mW EIRP that are reckoned with when nothing is said; a number to reckon with, it permits nothing."""
CHANNEL = 200_000
"""Hz of one carrier; common practice."""
FARTHEST, LONGEST, STRONGEST = 1_000.0, 200.0, 4_000.0
"""Bounds of what is taken for a distance (m), a cable (m) and a power (mW): a choice of this program."""

NOISE_FIGURE = (6.0, 12.0)
"""dB that a pack's receiver adds to the noise no receiver escapes; from memory."""
WANTED_OVER_NOISE = 12.0
"""dB over the noise below which the hiss begins; common practice, as in the RF scan."""
DIP = -10 * log10(-log1p(-0.01))
"""dB under the mean in 1 of 100 places when only reflections arrive: 1 - exp(-x) = 0.01, the Rayleigh distribution."""
STAND = 2.0
"""Metres from the antenna to the people nearest to it: a choice of this program."""


NO_BAND = "No transmitter says what it can be tuned to: give it low and high in the rig file."
_UNIT = re.compile(r"(?<=\d) (?=(?:m|mm|dB|dBm|dBuV|mW|kHz|MHz|%)(?![A-Za-z0-9]))")
_KEPT = "\N{NO-BREAK SPACE}"


class Advice(NamedTuple):
    """What to do, with numbers, and what it rests on."""

    title: str
    sentence: str
    basis: str


@dataclass(frozen=True, slots=True)
class Setup:
    """What the numbers are for: the band in Hz, lengths in m, power in mW EIRP at the transmitter's own socket."""

    low: int
    high: int
    distance: float = DISTANCE
    cable: Cable = CABLES[0]
    length: float = LENGTH
    power: float = POWER
    width: int = CHANNEL

    @property
    def middle(self) -> int:
        """The middle of the band in Hz."""
        return (self.low + self.high) // 2


class Link(NamedTuple):
    """What arrives at a pack, dBm; each pair from the worst to the best."""

    open: float
    """In the open, with the antenna on the transmitter itself."""
    level: tuple[float, float]
    """Behind the cable and with a body in the way."""
    needed: tuple[float, float]
    """What it takes for no hiss, from the most to the least."""

    @property
    def margin(self) -> tuple[float, float]:
        """dB of what arrives over what it takes."""
        return self.level[0] - self.needed[0], self.level[1] - self.needed[1]


def cable_of(kind: str) -> Cable:
    """The cable of this kind; RadioTrouble with the nearest name when there is none."""
    known = {cable.kind: cable for cable in CABLES}
    if kind in known:
        return known[kind]
    meant = nearest(kind, known)
    hint = f"Did you mean {meant}?" if meant else f"Known are {', '.join(known)}."
    raise RadioTrouble(f"'{one_line(kind, 40)}' is not a kind of cable.", hint)


def bands_of(tuners: Iterable[Tuner]) -> tuple[Band, ...]:
    """What the transmitters can be tuned to, rising; ranges that meet are joined."""
    joined: list[Band] = []
    for band in sorted((Band(each.low, each.high) for each in tuners), key=lambda band: band.low):
        if joined and joined[-1].meets(band):
            joined[-1] = Band(joined[-1].low, max(joined[-1].high, band.high))
        else:
            joined.append(band)
    return tuple(joined)


def link(setup: Setup) -> Link:
    """From the transmitter to a pack at the set distance: ITU-R P.525, cable, body, no gain of any antenna."""
    free = wave.dbm(setup.power) - wave.free_space_loss(setup.middle, setup.distance)
    least, most = wave.cable_loss(setup.cable, setup.middle, setup.length)
    light, heavy = wave.BODY_LOSS
    noise = wave.thermal_noise(setup.width) + WANTED_OVER_NOISE
    return Link(free, (free - most - heavy, free - least - light), (noise + NOISE_FIGURE[1], noise + NOISE_FIGURE[0]))


def advice(setup: Setup) -> tuple[Advice, ...]:
    """Every sentence for one band, what matters most first; RadioTrouble when a number cannot be used."""
    _check(setup)
    return (
        _above_heads(setup),
        _transmit(setup),
        _products(setup),
        _diversity(setup),
        _path(setup),
        _cable(setup),
        _bodies(),
        _budget(setup),
        _caution(setup),
    )


def antenna_fields(low_hz: int, high_hz: int, distance_m: float | None = None) -> dict[str, str]:
    """Numbers of a band for sentences, as `band.…`, each with its unit; RadioTrouble when one cannot be used.

    `halfwave` and `fresnel` are those of the low end, where they are longest; `clear` is 60 % of the Fresnel radius;
    `one_metre` and `three_metres` what POWER leaves in a transmit antenna so far away; `thin` and `thick` the loss of
    LENGTH of the thinnest and of the best cable at the high end, where it is most.
    """
    setup = Setup(low_hz, high_hz, DISTANCE if distance_m is None else distance_m)
    _check(setup)
    radius = wave.fresnel_radius(setup.low, setup.distance / 2, setup.distance / 2)
    return {
        "band.low": f"{_short(setup.low)} MHz",
        "band.high": f"{_short(setup.high)} MHz",
        "band.halfwave": _metres(wave.half_wave(setup.low), 2),
        "band.distance": _metres(setup.distance),
        "band.fresnel": _metres(radius, 1),
        "band.clear": _metres(radius * wave.CLEAR_PART, 1),
        "band.one_metre": _neighbour(setup, 1),
        "band.three_metres": _neighbour(setup, 3),
        "band.thin": _loss(wave.cable_loss(CABLES[0], setup.high, LENGTH)),
        "band.thick": _loss(wave.cable_loss(CABLES[-1], setup.high, LENGTH)),
    }


def antenna_lines(
    bands: Iterable[Tuner | Band],
    *,
    distance: float = DISTANCE,
    cable: Cable = CABLES[0],
    length: float = LENGTH,
    power: float = POWER,
    columns: int = 60,
) -> list[str]:
    """The advice for a rig's transmitters, or for bands, as lines of so many columns; the last one says who decides.

    Without any band there is one sentence that says what is missing. RadioTrouble when a number cannot be used.
    """
    lines: list[str] = []
    for band in bands_of(_as_tuner(each) for each in bands):
        setup = Setup(band.low, band.high, distance, cable, length, power)
        lines += [*_folded(heading(setup), columns), *_folded(supposed(setup), columns), ""]
        for each in advice(setup):
            lines += [each.title, *_folded(each.sentence, columns, "  ")]
            lines += _folded(f"Basis: {each.basis}.", columns, "  ", "    ")
        lines.append("")
    return [*(lines or _folded(NO_BAND, columns)), RADIO_LAW]


def _folded(text: str, columns: int, first: str = "", rest: str | None = None) -> list[str]:
    """The text in lines of so many columns; a number stays with its unit."""
    kept = _UNIT.sub(_KEPT, text)
    lines = fold(kept, columns, initial_indent=first, subsequent_indent=rest or first, break_on_hyphens=False)
    return [line.replace(_KEPT, " ") for line in lines]


def heading(setup: Setup) -> str:
    """What the advice is for."""
    return f"Antennas for {_ends(setup)}"


def supposed(setup: Setup) -> str:
    """What was reckoned with."""
    return (
        f"Reckoned with {_metres(setup.distance)} to the farthest player, {_metres(setup.length)} of "
        f"{setup.cable.title} and {setup.power:g} mW EIRP."
    )


def _as_tuner(each: Tuner | Band) -> Tuner:
    return each if isinstance(each, Tuner) else Tuner(each.name, each.low, each.high)


def _check(setup: Setup) -> None:
    if not 0 < setup.low <= setup.high:
        raise RadioTrouble("A band needs a low end and a high end.", "Write MHz from low to high: 606-614.")
    for value, what, unit, least, most in (
        (setup.distance, "A distance", "m", 1.0, FARTHEST),
        (setup.length, "A cable", "m", 0.0, LONGEST),
        (setup.power, "A power", "mW", 0.1, STRONGEST),
    ):
        if not least <= value <= most:
            raise RadioTrouble(f"{what} of {value:g} {unit} cannot be used.", f"Give {least:g} to {most:g} {unit}.")


# -- the sentences ---------------------------------------------------------------------------------------------


def _above_heads(setup: Setup) -> Advice:
    sentence = "Antennas out of the rack, above all heads, in plain view of every player's place."
    if setup.distance > 2 * STAND:
        over = wave.CLEAR_PART * wave.fresnel_radius(setup.low, STAND, setup.distance - STAND)
        sentence += f" People {_metres(STAND)} from one stay {_metres(over, 1)} below the line to the players."
    return Advice("Above heads", sentence, "ITU-R P.526 for the line; the height is common practice")


def _transmit(setup: Setup) -> Advice:
    return Advice(
        "Transmit antennas",
        f"Combine the transmitters into one antenna, or set theirs apart: {setup.power:g} mW leave "
        f"{_neighbour(setup, 1)} in a neighbour 1 m away, {_neighbour(setup, 3)} at 3 m. Each doubling of the distance "
        f"takes {wave.DOUBLING:.0f} dB off. Keep them metres away from receive antennas too.",
        "ITU-R P.525, antennas without gain; to combine or set apart is common practice",
    )


def _products(setup: Setup) -> Advice:
    apart = wave.level_at_neighbour(setup.middle, 0, 1) - wave.level_at_neighbour(setup.middle, 0, 3)
    return Advice(
        "Products",
        f"A 2A-B made in a transmitter falls about {wave.TRANSMITTER_FALL:g} dB for each dB less from its neighbour: "
        f"from 1 m to 3 m about {apart * wave.TRANSMITTER_FALL:.0f} dB. One made in a receiver falls "
        f"{wave.RECEIVER_FALL:g} dB for each dB taken off both carriers: half the power, "
        f"{wave.dbm(2) * wave.RECEIVER_FALL:.0f} dB less of it.",
        "textbook, from memory",
    )


def _diversity(setup: Setup) -> Advice:
    apart, least = (_metres(wave.half_wave(at), 2) for at in (setup.low, setup.high))
    if apart != least:
        apart += f" at {_short(setup.low)} MHz, {least} at {_short(setup.high)} MHz, so keep the longer"
    return Advice(
        "Receive antennas",
        f"Two antennas of one receiver at least half a wave apart: {apart}. Further is better.",
        "half a wave is c/2f; to keep it as the least is common practice",
    )


def _path(setup: Setup) -> Advice:
    radius = wave.fresnel_radius(setup.low, setup.distance / 2, setup.distance / 2)
    return Advice(
        "Free path",
        f"Over {_metres(setup.distance)} the first Fresnel zone reaches {_metres(radius, 1)} around the line, half way. "
        f"Plain view means nothing in it: keep at least 60 %, {_metres(radius * wave.CLEAR_PART, 1)}, free of people, "
        "truss and LED walls.",
        "ITU-R P.526; the 60 % are common practice",
    )


def _cable(setup: Setup) -> Advice:
    loss = _loss(wave.cable_loss(setup.cable, setup.high, setup.length))
    best = CABLES[-1]
    least, most = wave.CONNECTORS
    sentence = f"{_metres(setup.length)} of {setup.cable.title} takes {loss} at {_short(setup.high)} MHz"
    if setup.cable != best:
        sentence += f", of {best.title} {_loss(wave.cable_loss(best, setup.high, setup.length))}"
    sentence += f". Add {least:g} to {most:g} dB for each pair of connectors. 3 dB is half the power."
    basis = f"{setup.cable.source}; tables differ by 10 to 20 %; connectors from memory"
    if not wave.CABLES_FROM <= setup.high <= wave.CABLES_TO:
        basis += "; the band is outside of the tables, drawn on"
    return Advice("Cable", sentence, basis)


def _bodies() -> Advice:
    least, most = wave.BODY_LOSS
    return Advice(
        "Bodies",
        f"A body in the way takes {least:g} to {most:g} dB, most when its wearer faces away. Walk every place with "
        "the pack on the body, turning round. A second place for the antenna helps more than power.",
        "from memory; measured values differ widely",
    )


def _budget(setup: Setup) -> Advice:
    found = link(setup)
    worst, best = found.level
    field = wave.field_strength(wave.dbm(setup.power), setup.distance)
    low, high = found.margin
    return Advice(
        "What arrives",
        f"{setup.power:g} mW EIRP at {_metres(setup.distance)}: {_level(found.open)} in the open ({field:.0f} dBuV/m), "
        f"{_level(worst)} to {_level(best)} ({wave.dbuv(worst):.0f} to {wave.dbuv(best):.0f} dBuV) behind cable and "
        f"body. Without hiss it takes about {_level(found.needed[0])} to {_level(found.needed[1])}: a margin of "
        f"{low:.0f} to {high:.0f} dB. In 1 of 100 places reflections take {DIP:.0f} dB of it, and the noise of the site "
        "takes more: the sweep tells.",
        f"ITU-R P.525; thermal noise in {setup.width // 1_000} kHz; {WANTED_OVER_NOISE:g} dB over noise is common "
        "practice; body and receiver noise from memory; Rayleigh distribution for the dips",
    )


def _caution(setup: Setup) -> Advice:
    as_erp = wave.milliwatts(wave.eirp_of_erp(wave.dbm(setup.power)))
    return Advice(
        "Caution",
        "Keep to the transmitter's manual: the antennas it names, and its distance from people. Antenna gain counts "
        f"as power. Rules may say ERP: {setup.power:g} mW ERP are {as_erp:.3g} mW EIRP. No number here permits a power.",
        "the manual, ETSI EN 300 422-1 and the local rules; ERP by ITU Radio Regulations No. 1.162, 2.15 dB",
    )


# -- numbers as text -------------------------------------------------------------------------------------------


def _ends(setup: Setup) -> str:
    low, high = _short(setup.low), _short(setup.high)
    return f"{low} MHz" if low == high else f"{low} to {high} MHz"


def _short(hertz: int) -> str:
    return mhz(hertz).rstrip("0").rstrip(".")


def _metres(length: float, decimals: int | None = None) -> str:
    return f"{length:g} m" if decimals is None else f"{length:.{decimals}f} m"


def _level(level: float) -> str:
    return f"{level:.0f} dBm"


def _neighbour(setup: Setup, distance: float) -> str:
    return _level(wave.level_at_neighbour(setup.middle, wave.dbm(setup.power), distance))


def _loss(loss: tuple[float, float]) -> str:
    """A loss to half a dB, as one number when both ends round to the same."""
    least, most = (wave.half_decibels(each) for each in loss)
    if most == 0:
        return "less than 0.5 dB"
    return f"{most:g} dB" if least == most else f"{least:g} to {most:g} dB"
