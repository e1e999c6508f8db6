"""What the log knows about the air of one place: which plans held, and how what is occupied changed between visits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from showday.radio.model import TELEVISION, Band, Occupied
from showday.radio.units import HZ_PER_KHZ, band_text, khz, mhz
from showday.run.air import AirBook, KeptPlan, KeptSweep, Taken
from showday.run.touring import Book
from showday.text.cautions import RADIO_LAW

SAME = 100_000
"""Hz: signals of two visits that are no farther apart are taken for the same one (half of a 200 kHz stage channel)."""
MOST_NAMED = 8
"""Carriers that are named one by one; of more only the count is told (a choice of this program)."""


@dataclass(frozen=True, slots=True)
class Night:
    """When something of a show was walked: a run's begin, or a walk about drop-outs."""

    show: str
    date: str
    at: str
    walk: str = ""
    """Id of the walk; empty for the begin of a run."""
    about: str = ""
    ended: str = ""


@dataclass(frozen=True, slots=True)
class AirTrouble:
    """A drop-out under a plan."""

    who: str
    """The transmitter, else what the walk was about, else empty."""
    at_hz: int | None
    """Where it stood; None when that is not known."""
    ended: str
    spare_hz: int | None = None
    """The spare that was used."""


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One plan that was in force here. All in Hz."""

    date: str
    carriers: tuple[tuple[str, int], ...]
    spares: tuple[int, ...]
    clearance: int | None
    proved: bool
    held: bool | None
    """No drop-outs were walked that night; None when nothing was walked after it."""
    troubles: tuple[AirTrouble, ...] = ()
    reason: str = ""


@dataclass(frozen=True, slots=True)
class SweepLine:
    """What was occupied at a visit. All in Hz."""

    date: str
    low: int
    high: int
    television: tuple[str, ...]
    signals: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AirChange:
    """What differs between the last two visits, where both measured."""

    since: str
    low: int
    high: int
    new: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Frequencies:
    """The air of one place, plans newest first."""

    plans: tuple[PlanLine, ...] = ()
    last_sweep: SweepLine | None = None
    change: AirChange | None = None
    advice: str = RADIO_LAW

    @property
    def known(self) -> bool:
        """Whether anything was kept here."""
        return bool(self.plans) or self.last_sweep is not None


def make_frequencies(book: Book, here: set[str], air: AirBook, nights: Sequence[Night]) -> Frequencies:
    """The air of the place whose venue ids are `here`; `nights` tells of its runs, in any order."""

    def at_home(kept: KeptPlan | KeptSweep) -> bool:
        return (book.shows[kept.show].venue if kept.show in book.shows else kept.venue) in here

    plans = sorted((p for p in air.plans.values() if at_home(p)), key=lambda p: (p.at, p.id), reverse=True)
    sweeps = sorted((s for s in air.sweeps.values() if at_home(s)), key=lambda s: (s.at, s.id), reverse=True)
    latest: dict[str, KeptSweep] = {}
    for sweep in sweeps:
        latest.setdefault(_night(book, sweep), sweep)
    visits = list(latest.values())
    return Frequencies(
        tuple(line for plan in plans if (line := _plan_line(book, plan, plans, nights)) is not None),
        _sweep_line(book, visits[0]) if visits else None,
        _change(book, visits[1], visits[0]) if len(visits) > 1 else None,
    )


def _date(book: Book, kept: KeptPlan | KeptSweep) -> str:
    show = book.shows.get(kept.show)
    return show.date if show else kept.at[:10]


def _night(book: Book, kept: KeptPlan | KeptSweep) -> str:
    return kept.show or _date(book, kept)


def _plan_line(book: Book, plan: KeptPlan, plans: Sequence[KeptPlan], nights: Sequence[Night]) -> PlanLine | None:
    """A plan as it went; None when another one took its place the same night before it had any trouble."""
    date = _date(book, plan)
    later = [p.at for p in plans if _night(book, p) == _night(book, plan) and (p.at, p.id) > (plan.at, plan.id)]
    until = min(later, default="")
    mine = [n for n in nights if (n.show == plan.show if plan.show else not n.show and n.date == date)]
    under = [n for n in mine if n.at > plan.at and not (until and n.at >= until)]
    troubles = tuple(_trouble(plan, night) for night in sorted(under, key=lambda n: n.at) if night.walk)
    if until and not troubles:
        return None
    return PlanLine(
        date,
        tuple((c.name, c.hz) for c in plan.carriers),
        tuple(s.hz for s in plan.spares),
        plan.clearance,
        plan.proved,
        not troubles if under else None,
        troubles,
        plan.reason,
    )


def _trouble(plan: KeptPlan, night: Night) -> AirTrouble:
    taken: Taken | None = next((t for t in plan.taken if t.walk == night.walk), None)
    named = next((c.name for c in plan.carriers if c.name and c.name in night.about), "")
    who = (taken.transmitter if taken else "") or named or night.about
    at = next((c.hz for c in plan.carriers if c.name and c.name == who), None)
    return AirTrouble(who, at, night.ended, taken.hz if taken else None)


def _sweep_line(book: Book, sweep: KeptSweep) -> SweepLine:
    tv = tuple(_named(band) for band in sweep.bands if band.kind == TELEVISION)
    others = tuple(_named(band) for band in sweep.bands if band.kind != TELEVISION)
    return SweepLine(_date(book, sweep), sweep.low, sweep.high, tv, others)


def _named(band: Occupied) -> str:
    """`TV 32`, `570.200 MHz`, `566.000-570.000 MHz`: to whole kHz, finer than any sweep tells."""
    if band.kind == TELEVISION and band.name:
        return band.name
    if band.kind != TELEVISION and band.peak is not None:
        return f"{mhz(_whole(band.at))} MHz"
    ends = band_text(Band(_whole(band.low), _whole(band.high)))
    return f"TV at {ends}" if band.kind == TELEVISION else ends


def _whole(at: int) -> int:
    """Hz to the nearest whole kHz."""
    return round(at / HZ_PER_KHZ) * HZ_PER_KHZ


def _change(book: Book, then: KeptSweep, now: KeptSweep) -> AirChange | None:
    """None when the two measured no common stretch."""
    low, high = max(then.low, now.low), min(then.high, now.high)
    if low >= high:
        return None
    before, after = ([b for b in s.bands if b.high > low and b.low < high] for s in (then, now))
    return AirChange(_date(book, then), low, high, _missing(after, before), _missing(before, after))


def _missing(these: Iterable[Occupied], those: Iterable[Occupied]) -> tuple[str, ...]:
    """The names of these that are not among those."""
    others = list(those)
    return tuple(_named(band) for band in these if not any(_same(band, other) for other in others))


def _same(one: Occupied, other: Occupied) -> bool:
    if one.kind != other.kind:
        return False
    if one.peak is not None and other.peak is not None:
        return abs(one.peak - other.peak) <= SAME
    return abs(one.low - other.low) <= SAME and abs(one.high - other.high) <= SAME


# -- in words ----------------------------------------------------------------------------------------------------


def frequency_lines(found: Frequencies) -> list[str]:
    """One line a plan, what was occupied last, what changed, and who decides; nothing when nothing was kept."""
    if not found.known:
        return []
    lines = [_plan_text(plan) for plan in found.plans]
    if found.last_sweep is not None:
        lines.append(_sweep_text(found.last_sweep))
    if found.change is not None:
        lines.append(_change_text(found.change))
    return [*lines, found.advice]


def _plan_text(plan: PlanLine) -> str:
    carriers = ", ".join(f"{name} {mhz(hz)}" if name else mhz(hz) for name, hz in plan.carriers)
    parts = [f"{carriers} MHz"]
    parts += [f"spares {', '.join(map(mhz, plan.spares))} MHz"] if plan.spares else ["no spares"]
    proof = "proved" if plan.proved else "not proved"
    parts.append(proof if plan.clearance is None else f"clearance {khz(plan.clearance)} kHz, {proof}")
    outcome = {True: "held all night", False: "", None: "nothing was walked after it"}[plan.held]
    parts += [outcome] if outcome else []
    for said, times in Counter(map(_trouble_text, plan.troubles)).items():
        parts.append(said if times == 1 else f"{said}, {times} times")
    return f"{plan.date}  {'; '.join(parts)}"


def _trouble_text(trouble: AirTrouble) -> str:
    who = trouble.who or "one of them"
    at = f" at {mhz(trouble.at_hz)} MHz" if trouble.at_hz is not None else ""
    ended = trouble.ended if trouble.spare_hz is None else f"spare {mhz(trouble.spare_hz)} MHz used"
    return f"TROUBLE: {who}{at}, {ended}"


def _sweep_text(sweep: SweepLine) -> str:
    span = f"{mhz(sweep.low)}-{mhz(sweep.high)} MHz"
    tv, others = _list(sweep.television) or "no TV", _list(sweep.signals) or "none"
    return f"{sweep.date}  swept {span}: {tv}; other signals: {others}"


def _change_text(change: AirChange) -> str:
    if not change.new and not change.gone:
        return f"since {change.since}: nothing new, nothing gone in {mhz(change.low)}-{mhz(change.high)} MHz"
    return f"since {change.since}: new {_list(change.new) or 'nothing'}; gone {_list(change.gone) or 'nothing'}"


def _list(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
