"""Which carriers that a sweep shows make products with ours: the strongest, as others' carriers that a person names do.

Levels are reckoned over the sweep's own floor, so that an uncalibrated receiver tells as much as a calibrated one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from showday.radio.model import CARRIER, Occupied
from showday.radio.occupancy import NEAR

STRONG = 15.0
"""dB over the floor from which on a carrier's products count. Two transmitters of ours 3 m from a receiver leave it some
-20.6 dBm each (50 mW EIRP at 600 MHz, ITU-R P.525); at an intercept point of -10 dBm their A+B-C with a carrier of P dBm is
P - 2 * 20.6 + 2 * 10 + 6 dBm, 15 dB under it (third order, three signals): from a weaker one it is lost in the noise."""
MOST_SOURCES = 12
"""The strongest that count when nobody says. Products of third order grow with the cube: 12 carriers make 792 among
themselves, one in every 76 kHz of a span of 60 MHz; 24 make 6,624, one in every 9 kHz, and a plan that heeds them all heeds
the weak ones as much as the strong. On a made festival of 22 in 30 MHz, eight of ours keep 90 kHz clear of the products of
8, 51 kHz of 12 and 33 kHz of 19."""
MOST_TAKEN = 60
"""More are not counted whoever asks: their 100,000 products of third order cover any band (a choice of this program)."""


@dataclass(frozen=True, slots=True)
class Sources:
    """The found carriers that count for products, in Hz, rising; how many were found at all, and how many are strong."""

    at: tuple[int, ...] = ()
    strong: int = 0
    found: int = 0

    @property
    def sentence(self) -> str:
        """How many are taken, and why not all; empty when none was found."""
        taken, found = len(self.at), f"{_carriers(self.found)} found in the sweep"
        if not self.found:
            return ""
        if not self.strong:
            return f"{found}: under {STRONG:.0f} dB over the floor, too weak for products that matter; kept off."
        if not taken:
            return f"{found}: kept off, {'its' if self.found == 1 else 'their'} products not counted."
        make = "makes" if taken == 1 else "make"
        if taken == self.found:
            return f"{found}: kept off, and {make} third-order products."
        if taken == self.strong:
            which = f"{taken} of {STRONG:.0f} dB or more over the floor {make} third-order products"
        else:
            which = f"{taken} strongest {make} third-order products: with more, hardly a place is left"
        return f"{found}, all kept off; the {which}."


def _carriers(count: int) -> str:
    return f"{count} carrier" if count == 1 else f"{count} carriers"


def sources_in(
    bands: Iterable[Occupied], floor: float | None, known: Iterable[int] = (), most: int = MOST_SOURCES
) -> Sources:
    """The `most` strongest of the narrow carriers among what is occupied, at least `STRONG` over the floor (dB).

    `known` are carriers (Hz) that a person named: what was found of one of these does not count twice. Without a floor
    every carrier is taken for strong.
    """
    named = tuple(known)
    carriers = [band for band in bands if band.kind == CARRIER]
    others = [band for band in carriers if all(abs(band.at - at) > NEAR for at in named)]
    strong = [band for band in others if floor is None or (band.level is not None and band.level >= floor + STRONG)]
    strong.sort(key=lambda band: (-(band.level or 0.0), band.at))
    taken = sorted({band.at for band in strong[: max(most, 0)]})
    return Sources(tuple(taken), len(strong), len(others))
