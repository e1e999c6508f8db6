"""What a plan is wished to be, as a person types it field by field, and the ask that follows from it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from showday.errors import RadioTrouble
from showday.radio.model import AVOID, Band, Tuner, Widths
from showday.radio.plan_ask import MOST_ASKED, USUAL_STEP, Ask
from showday.radio.products import USUAL_ORDERS, kinds_of
from showday.radio.sources import MOST_SOURCES, MOST_TAKEN
from showday.radio.units import band, band_text, frequency, khz, mhz, width
from showday.radio.verify import Air
from showday.text.safe import one_line

MOST_SPARES = 20
"""More spares than this are a mistake of typing; a choice of this program."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """Everything that can be wished; all in Hz. A count of 0 means one carrier for each transmitter."""

    count: int = 0
    spares: int = 1
    ranges: tuple[Band, ...] = ()
    avoid: tuple[Band, ...] = ()
    foreign: tuple[int, ...] = ()
    widths: Widths = field(default_factory=Widths)
    orders: tuple[int, ...] = USUAL_ORDERS
    step: int = 0
    sources: int = MOST_SOURCES
    """How many of a sweep's carriers make products at most."""

    def air(self, occupied: Sequence[Band] = (), found: Sequence[int] = ()) -> Air:
        """What carriers are judged by, with what a sweep shows as occupied, and which carriers it `found` make products."""
        return Air(
            (*self.foreign, *found),
            kinds_of(self.orders),
            self.widths,
            (*occupied, *self.avoid),
            self.ranges,
            found=frozenset(found) - {*self.foreign},
        )

    def ask(
        self,
        tuners: Sequence[Tuner],
        *,
        held: Sequence[int] = (),
        occupied: Sequence[Band] = (),
        found: Sequence[int] = (),
        measured: Band | None = None,
    ) -> Ask:
        """What the planner is asked. Without ranges it looks where was `measured`, as far as a transmitter reaches."""
        ranges = self.ranges or measured_reach(tuners, measured)
        return Ask(
            self.count or len(tuners),
            self.spares,
            ranges,
            self.step or (0 if tuners else USUAL_STEP),
            self.orders,
            self.widths,
            (*occupied, *self.avoid),
            self.foreign,
            tuple(held),
            tuple(tuners),
            found=tuple(found),
        )

    @property
    def words(self) -> str:
        """The wishes in one sentence, for the log."""
        parts = [f"{self.count or 'all'} carriers", f"{self.spares} spare{'' if self.spares == 1 else 's'}"]
        parts += [f"in {', '.join(map(band_text, self.ranges))}"] if self.ranges else []
        named = ("spacing", "third", "fifth", "seventh", "edge")
        widths = [(name, getattr(self.widths, name)) for name in named]
        parts += [f"{name} {khz(value)} kHz" for name, value in widths if value]
        parts.append(f"orders {', '.join(map(str, self.orders))}")
        parts += [f"out of {', '.join(map(band_text, self.avoid))}"] if self.avoid else []
        parts += [f"other acts on {', '.join(map(mhz, self.foreign))} MHz"] if self.foreign else []
        return "; ".join(parts)


def measured_reach(tuners: Sequence[Tuner], measured: Band | None) -> tuple[Band, ...]:
    """Where the sweep and the transmitters meet, each from one of its own steps on; nothing when nowhere, or when
    nothing was measured."""
    if measured is None:
        return ()
    if not tuners:
        return (measured,)
    met = sorted((_first_step(t, measured.low), min(t.high, measured.high)) for t in tuners)
    joined: list[Band] = []
    for low, high in met:
        if low > high:
            continue
        if joined and low <= joined[-1].high:
            joined[-1] = Band(joined[-1].low, max(joined[-1].high, high))
        else:
            joined.append(Band(low, high))
    return tuple(joined)


def _first_step(tuner: Tuner, least: int) -> int:
    """The lowest frequency at or over `least` (Hz) that the transmitter can be set to, its upper end left aside."""
    beyond = max(least - tuner.low, 0)
    return tuner.low + (-(-beyond // tuner.step) * tuner.step if tuner.step > 0 else beyond)


# -- the fields of the form --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Wish:
    """One field: how it is called, what to type, what stands in it, and the wishes with something else in it."""

    name: str
    hint: str
    shown: Callable[[Wishes], str]
    put: Callable[[Wishes, str], Wishes]
    """RadioTrouble, one sentence, for what cannot be used."""


def _split(text: str) -> list[str]:
    return [part for part in re.split(r"[;\s]+|,(?!\d)", text.strip()) if part]


def _whole(text: str, most: int, what: str, least: int = 0) -> int:
    typed = text.strip()
    if not typed.isascii() or not typed.isdigit() or not least <= int(typed[:6]) <= most:
        shown = one_line(typed, 20)
        raise RadioTrouble(f"'{shown}' is not a number of {what}.", f"Type a number from {least} to {most}.")
    return int(typed)


def bands_of(text: str, kind: str = "") -> tuple[Band, ...]:
    """Ranges in MHz with blanks between them, such as `606-614 630-636`; none for no text."""
    close = re.sub(r"\s*(-|–|—|\.\.)\s*", r"\1", text)
    return tuple(band(part, kind=kind) for part in _split(close))


def _ranges(text: str) -> tuple[Band, ...]:
    found = bands_of(text)
    if narrow := next((each for each in found if not each.width), None):
        raise RadioTrouble(f"{mhz(narrow.low)} is one frequency, not a range.", "Type MHz from low to high: 606-614.")
    return found


def _orders(text: str) -> tuple[int, ...]:
    found = tuple(sorted({_whole(part, 7, "an order", 3) for part in re.split(r"[,;\s]+", text.strip()) if part}))
    kinds_of(found)
    if not found:
        raise RadioTrouble("No order is named.", "Type 3, or 3 5, or 3 5 7.")
    return found


def _shown_bands(bands: Sequence[Band]) -> str:
    return " ".join(band_text(each).removesuffix(" MHz") for each in bands)


def _with_width(name: str) -> Callable[[Wishes, str], Wishes]:
    def put(wishes: Wishes, text: str) -> Wishes:
        made = width(text, name) if text.strip() else 0
        return replace(wishes, widths=replace(wishes.widths, **{name: made}))

    return put


def _width_shown(name: str) -> Callable[[Wishes], str]:
    return lambda wishes: khz(getattr(wishes.widths, name))


FIELDS = (
    Wish(
        "carriers",
        "how many; 0 is one for each transmitter",
        lambda w: str(w.count),
        lambda w, text: replace(w, count=_whole(text or "0", MOST_ASKED, "carriers")),
    ),
    Wish(
        "spares",
        "how many to keep ready",
        lambda w: str(w.spares),
        lambda w, text: replace(w, spares=_whole(text or "0", MOST_SPARES, "spares")),
    ),
    Wish(
        "ranges",
        "MHz, such as 606-614 630-636; empty: wherever the transmitters reach",
        lambda w: _shown_bands(w.ranges),
        lambda w, text: replace(w, ranges=_ranges(text)),
    ),
    Wish(
        "stay out of",
        "MHz, bands or single ones, such as 610-611 613.5",
        lambda w: _shown_bands(w.avoid),
        lambda w, text: replace(w, avoid=bands_of(text, AVOID)),
    ),
    Wish(
        "other acts",
        "MHz of their carriers, such as 607.4 611.9",
        lambda w: " ".join(map(mhz, w.foreign)),
        lambda w, text: replace(w, foreign=tuple(frequency(part) for part in _split(text))),
    ),
    Wish("spacing", "kHz between any two carriers, at least", _width_shown("spacing"), _with_width("spacing")),
    Wish("third", "kHz to stay off products of third order", _width_shown("third"), _with_width("third")),
    Wish("fifth", "kHz to stay off products of fifth order", _width_shown("fifth"), _with_width("fifth")),
    Wish(
        "orders",
        "which products are looked at: 3, or 3 5, or 3 5 7",
        lambda w: " ".join(map(str, w.orders)),
        lambda w, text: replace(w, orders=_orders(text)),
    ),
)
"""In the order of the form."""
SELDOM = (
    Wish(
        "products of the sweep",
        "how many of its carriers make products, the strongest; 0: none",
        lambda w: str(w.sources),
        lambda w, text: replace(w, sources=_whole(text or "0", MOST_TAKEN, "carriers")),
    ),
    Wish("edge", "kHz to stay off what is occupied", _width_shown("edge"), _with_width("edge")),
    Wish("seventh", "kHz to stay off products of seventh order", _width_shown("seventh"), _with_width("seventh")),
)
"""What is seldom changed, on a form of its own."""
