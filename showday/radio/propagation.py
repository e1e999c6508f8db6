"""How radio waves get weaker on their way: through the air, through cable, past a body, into the neighbour's antenna.

Frequencies in Hz, lengths in m, powers in dBm or mW, losses in dB and positive. Every constant names its source.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log10, pi, sqrt

LIGHT = 299_792_458
"""Metres per second in empty space, exact (SI Brochure, 9th edition)."""
BOLTZMANN = 1.380649e-23
"""Joules per kelvin, exact (SI Brochure, 9th edition)."""
KELVIN = 290.0
"""The temperature noise is reckoned at (standard noise temperature, IEEE Std 161, also ITU-R P.372)."""
OHMS = 50.0
"""What antenna sockets and their cables are built for; common practice."""
DIPOLE_GAIN = 2.15
"""dB from ERP to EIRP (ITU Radio Regulations Nos. 1.161 and 1.162): the gain of a half-wave dipole, 10 log 1.64."""
CLEAR_PART = 0.6
"""The part of the first Fresnel radius that is to stay clear when all of it cannot; common practice."""
DOUBLING = 20 * log10(2)
"""dB that each doubling of a distance takes off in free space; follows from ITU-R P.525."""

BODY_LOSS = (5.0, 20.0)
"""dB that a body in the way takes off, from little to facing away; from memory, measured values differ widely."""
CONNECTORS = (0.1, 0.5)
"""dB of a pair of connectors; from memory."""
RECEIVER_FALL = 3.0
"""dB by which a 2A-B made in a receiver falls for each dB taken off both carriers; textbook, from memory."""
TRANSMITTER_FALL = 1.0
"""dB, about, by which a 2A-B made in a transmitter falls for each dB less between the two; textbook, from memory."""


def dbm(power: float) -> float:
    """dBm of a power in mW; ValueError when it is not more than 0."""
    return 10 * log10(power)


def milliwatts(level: float) -> float:
    """mW of a level in dBm."""
    return float(10 ** (level / 10))


def dbuv(level: float, ohms: float = OHMS) -> float:
    """dBuV of a level in dBm across so many ohms: 106.99 more at 50 ohms, because U = sqrt(P R)."""
    return level + 90 + 10 * log10(ohms)


def eirp_of_erp(level: float) -> float:
    """EIRP of an ERP, both dBm: a half-wave dipole's gain more."""
    return level + DIPOLE_GAIN


def wavelength(at: int) -> float:
    """Metres from crest to crest."""
    return LIGHT / at


def half_wave(at: int) -> float:
    """Half a wavelength in m."""
    return wavelength(at) / 2


def free_space_loss(at: int, distance: float) -> float:
    """dB between two antennas without gain, 20 log(4 pi d f / c): ITU-R P.525, whose 32.4 is rounded from 32.448."""
    return 20 * log10(4 * pi * distance / wavelength(at))


def field_strength(eirp: float, distance: float) -> float:
    """dBuV/m at a distance in the open, from an EIRP in dBm: E = sqrt(30 P) / d, ITU-R P.525."""
    return eirp + 90 + 10 * log10(30) - 20 * log10(distance)


def fresnel_radius(at: int, near: float, far: float) -> float:
    """Radius in m of the first Fresnel zone, so far from one end of the path and from the other: ITU-R P.526.

    The Recommendation's 550 in sqrt(d1 d2 / ((d1 + d2) f)) for m, km and MHz is rounded from 547.5.
    """
    return sqrt(wavelength(at) * near * far / (near + far))


def thermal_noise(bandwidth: float, kelvin: float = KELVIN) -> float:
    """dBm of the noise that no receiver escapes, kTB (ITU-R P.372), in a bandwidth in Hz."""
    return dbm(BOLTZMANN * kelvin * bandwidth * 1_000)


def level_at_neighbour(at: int, eirp: float, distance: float) -> float:
    """dBm that one transmit antenna leaves in another without gain, so far away; free space, ITU-R P.525."""
    return eirp - free_space_loss(at, distance)


@dataclass(frozen=True, slots=True)
class Cable:
    """A generic kind of coaxial cable; its loss in dB per 30.48 m is root x sqrt(f) + straight x f, f in MHz.

    That form is the one of the MIL-C-17 slash sheets. Two pairs, because published tables of one kind differ.
    """

    kind: str
    title: str
    low: tuple[float, float]
    """Root and straight part of the least loss that is published."""
    high: tuple[float, float]
    """The same of the most."""
    source: str


SHEET = 30.48
"""Metres that the tables are made for: 100 ft, exact."""
CABLES_FROM, CABLES_TO = 50_000_000, 1_000_000_000
"""Hz between which the tables give values; beyond, the fit is drawn on."""
CABLES = (
    Cable(
        "rg58",
        "5 mm RG-58",
        (10.6 / sqrt(450), 0.0),
        (0.0, 0.024),
        "published nominal 10.6 dB at 450 and 24 dB at 1000 MHz per 100 ft, rest between them",
    ),
    Cable(
        "rg58-limit",
        "5 mm RG-58 at the limit of its standard",
        (0.4736, 0.01302),
        (0.4736, 0.01302),
        "limits of MIL-C-17/28, 4 dB at 50 and 28 dB at 1000 MHz per 100 ft",
    ),
    Cable(
        "rg213",
        "10 mm RG-213 or RG-8",
        (0.2019, 0.00181),
        (0.2019, 0.00181),
        "published 5.1 dB at 450 and 8.2 dB at 1000 MHz per 100 ft",
    ),
    Cable(
        "foam6",
        "6 mm low-loss foam with foil",
        (5.3 / sqrt(450), 0.0),
        (5.3 / sqrt(450), 0.0),
        "published 5.3 dB at 450 MHz per 100 ft, drawn on by sqrt f",
    ),
    Cable(
        "foam10",
        "10 mm low-loss foam with foil",
        (0.1159, 0.00054),
        (0.1159, 0.00054),
        "published 2.7 dB at 450 MHz per 100 ft, the fit of the kind",
    ),
)
"""Thinnest first. Tables of different origin differ by 10 to 20 %, so what is shown is rounded to half a dB."""


def cable_loss(cable: Cable, at: int, length: float) -> tuple[float, float]:
    """Least and most dB of a cable of so many m, without its connectors."""
    megahertz = at / 1_000_000
    least, most = (
        (root * sqrt(megahertz) + straight * megahertz) * length / SHEET for root, straight in (cable.low, cable.high)
    )
    return min(least, most), max(least, most)


def half_decibels(loss: float) -> float:
    """The loss rounded to half a dB, as cable tables deserve."""
    return round(loss * 2) / 2
