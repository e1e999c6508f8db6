"""When not all fit: which wish has to give way so that they do.

Each wish is let go by itself, a half first where there is a half; if none is enough, one after the other together.
Nothing here says that one may: an occupied band stays occupied, and a wider range needs a licence too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from showday.errors import RadioTrouble
from showday.radio.model import AVOID, Band
from showday.radio.plan import fits
from showday.radio.plan_ask import USUAL_STEP, Ask, KeepGoing, Plan, always
from showday.radio.products import kinds_of
from showday.radio.units import HIGHEST, HZ_PER_MHZ, band_text, khz

TURNS = 24
"""Turns of the search for each wish: the same on every machine, and seldom more than a second."""
MOST_BANDS = 12
"""With more occupied bands than this they are only let go together."""
WIDER = (1, 2, 4, 8)
"""MHz by which a range is made wider; 8 MHz is the widest TV channel (Rec. ITU-R BT.1306)."""
_WIDTHS = (
    ("spacing", "a spacing"),
    ("third", "a third-order width"),
    ("fifth", "a fifth-order width"),
    ("seventh", "a seventh-order width"),
    ("edge", "a distance from occupied bands"),
)
_ORDERS = {3: "third", 5: "fifth", 7: "seventh"}
NONE_FOUND = "No wish was found that makes all fit when it is relaxed."


@dataclass(frozen=True, slots=True)
class Wish:
    """One wish let go: how that is said after `with`, and what is asked for then."""

    name: str
    said: str
    relax: Callable[[Ask], Ask]
    ours: bool = True
    """Whether the act can let it go by itself; what others have on the air it cannot."""


def with_advice(plan: Plan, ask: Ask, keep_going: KeepGoing = always, turns: int = TURNS) -> Plan:
    """The plan; when not all fit, with a sentence for each wish that has to give way so that they do."""
    return plan if plan.fits else replace(plan, relax=relaxed(ask, keep_going, turns))


def relaxed(ask: Ask, keep_going: KeepGoing = always, turns: int = TURNS) -> tuple[str, ...]:
    """A sentence for each wish that makes all fit by itself, or one for those that do together; never none."""
    wishes = list(_wishes(ask))
    found: dict[str, str] = {}
    for wish in wishes:
        if wish.name not in found and keep_going() and _fits(wish.relax(ask), keep_going, turns):
            found[wish.name] = f"All would fit with {wish.said}."
    return tuple(found.values()) or (_together(ask, wishes, keep_going, turns) or NONE_FOUND,)


def _together(ask: Ask, wishes: list[Wish], keep_going: KeepGoing, turns: int) -> str:
    """The wishes let go one after the other, each as far as it goes, until all fit; empty when they never do."""
    furthest = {wish.name: wish for wish in wishes if wish.ours}
    now, said = ask, []
    for wish in furthest.values():
        now = wish.relax(now)
        said.append(wish.said)
        if not keep_going():
            break
        if len(said) > 1 and _fits(now, keep_going, turns):
            return f"No single wish is enough; all would fit with {', '.join(said[:-1])} and {said[-1]} together."
    return ""


def _fits(ask: Ask, keep_going: KeepGoing, turns: int) -> bool:
    try:
        return fits(ask, keep_going, turns) is True
    except RadioTrouble:
        return False


def _wishes(ask: Ask) -> Iterator[Wish]:
    """The wishes, each as often as there are degrees to let it go by, the smallest first."""
    yield from _smaller_widths(ask)
    yield from _fewer_orders(ask)
    yield from _finer_steps(ask)
    yield from _free_bands(ask)
    if ask.foreign:
        said = "the foreign carrier off" if len(ask.foreign) == 1 else "the foreign carriers off"
        yield Wish("foreign", said, lambda now: replace(now, foreign=()), ours=False)
    if ask.found:
        said = "the products of carriers found in the sweep not counted"
        yield Wish("found", said, lambda now: replace(now, found=()))
    yield from _wider_ranges(ask)


def _smaller_widths(ask: Ask) -> Iterator[Wish]:
    for name, said in _WIDTHS:
        asked = getattr(ask.widths, name)
        for less in dict.fromkeys((asked // 2_000 * 1_000, 0)):
            if less < asked:
                yield Wish(name, f"{said} of {khz(less)} kHz instead of {khz(asked)}", _width(name, less))


def _width(name: str, value: int) -> Callable[[Ask], Ask]:
    return lambda now: replace(now, widths=replace(now.widths, **{name: value}))


def _fewer_orders(ask: Ask) -> Iterator[Wish]:
    orders = sorted({kind.order for kind in ask.products})
    for keep in range(len(orders) - 1, 0, -1):
        named = " and ".join(f"{_ORDERS[order]}-order" for order in orders[:keep])
        yield Wish("orders", f"{named} products only", _only(tuple(orders[:keep])))


def _only(orders: tuple[int, ...]) -> Callable[[Ask], Ask]:
    def relax(now: Ask) -> Ask:
        left = tuple(kind for kind in now.products if kind.order in orders)
        return replace(now, orders=orders, kinds=None if left == kinds_of(orders) else left)

    return relax


def _finer_steps(ask: Ask) -> Iterator[Wish]:
    if ask.step > USUAL_STEP and ask.step % USUAL_STEP == 0:
        said = f"steps of {khz(USUAL_STEP)} kHz instead of {khz(ask.step)}"
        yield Wish("step", said, lambda now: replace(now, step=USUAL_STEP))


def _free_bands(ask: Ask) -> Iterator[Wish]:
    """What is to be avoided: one band of it, the narrowest first, or all of it."""
    met = sorted((band for band in ask.avoid if _matters(ask, band)), key=lambda band: (band.width, band.low))
    for band in met if len(met) <= MOST_BANDS else ():
        yield Wish("avoid", f"{_named(band)} free", _freed((band,)), ours=band.kind == AVOID)
    if len(met) > 1:
        ours = all(band.kind == AVOID for band in met)
        yield Wish("avoid", "every band free that is to be avoided", _freed(tuple(met)), ours)


def _freed(bands: tuple[Band, ...]) -> Callable[[Ask], Ask]:
    return lambda now: replace(now, avoid=tuple(band for band in now.avoid if band not in bands))


def _named(band: Band) -> str:
    named = " ".join(filter(None, (band.kind, band.name)))
    return f"{band_text(band)} ({named})" if named and band.kind != AVOID else band_text(band)


def _matters(ask: Ask, band: Band) -> bool:
    wide = Band(band.low - ask.widths.edge, band.high + ask.widths.edge)
    inside = ask.ranges or tuple(Band(tuner.low, tuner.high) for tuner in ask.tuners)
    return any(wide.meets(each) for each in inside)


def _wider_ranges(ask: Ask) -> Iterator[Wish]:
    """The highest range made wider at its upper end; what transmitters do not reach is of no use."""
    if not ask.ranges:
        return
    last = max(ask.ranges, key=lambda band: band.high)
    reach = max((tuner.high for tuner in ask.tuners), default=HIGHEST)
    for more in WIDER:
        wider = replace(last, high=last.high + more * HZ_PER_MHZ)
        if wider.high <= reach:
            said = f"{band_text(wider)} instead of {band_text(last)}"
            yield Wish("range", said, _instead(last, wider))


def _instead(old: Band, new: Band) -> Callable[[Ask], Ask]:
    return lambda now: replace(now, ranges=tuple(new if band == old else band for band in now.ranges))
