"""Verdicts and plans as lines of plain text that fit 60 columns, and as data for JSON."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from textwrap import TextWrapper
from typing import Any

from showday.radio.model import USUAL_WIDTH, Band
from showday.radio.plan_ask import USUAL_STEP, Ask, Plan, Planned, Progress
from showday.radio.units import band_text, khz, khz_number, mhz, mhz_number
from showday.radio.verify import Fault, Judged, Trouble, Verdict, overlap
from showday.text.cautions import RADIO_LAW
from showday.text.safe import one_line

COLUMNS = 60
MOST_HITS = 4
"""More hits than this on one carrier are only counted in text; JSON has them all."""
NOTHING_NEAR = "nothing is near it"
TIES_LEFT = "Not all with the same were compared by what comes after it."
_NAMES = {
    "spacing": "spacing",
    "third": "third order",
    "fifth": "fifth order",
    "seventh": "seventh order",
    "edge": "off what is occupied",
}


# -- as text -----------------------------------------------------------------------------------------------------


def verdict_lines(verdict: Verdict, said: Sequence[str] = (), found: frozenset[int] = frozenset()) -> list[str]:
    """What is to be said about carriers that were named, with the advice as the last line.

    `said` are sentences about the sweep, `found` the foreign carriers that it shows and nobody named.
    """
    lines = _folded(_judgement(verdict))
    said = [*said, *_crowded([judged.at for judged in verdict.carriers])]
    lines += [line for sentence in said for line in _folded(sentence)]
    lines += ["", "Carriers", *_rows(verdict.carriers, verdict.hits, found)]
    if any(judged.limit is not None for judged in verdict.foreign):
        lines += ["", "Foreign carriers, from what yours do to them"]
        lines += _rows(verdict.foreign, verdict.hits, found)
    if verdict.faults:
        lines += ["", "Tuning"]
        for fault in verdict.faults:
            lines += _folded(f"{one_line(fault.sentence, 300)}.", indent=2)
    return [*lines, "", RADIO_LAW]


def _crowded(places: Sequence[int]) -> list[str]:
    """A sentence when carriers overlap, whatever spacing was asked for."""
    pair = overlap(places)
    if pair is None:
        return []
    near = f"{mhz(pair[0])} and {mhz(pair[1])} MHz stand {khz(pair[1] - pair[0])} kHz apart"
    return [f"{near} and overlap: a stage carrier is some {khz(USUAL_WIDTH)} kHz wide. --spacing asks for more."]


def _judgement(verdict: Verdict) -> str:
    if verdict.clean:
        worst = verdict.worst
        if worst is None:
            return "Clean: nothing is near any carrier."
        return f"Clean. The smallest clearance is {khz(worst.clearance)} kHz, at {mhz(worst.carrier)} MHz."
    said = []
    if verdict.hits:
        said.append("1 hit" if len(verdict.hits) == 1 else f"{len(verdict.hits)} hits")
    if verdict.faults:
        count = len({fault.at for fault in verdict.faults})
        said.append(f"{_many(count, 'carrier')} that cannot be set")
    return f"Not clean: {' and '.join(said)}."


def plan_lines(plan: Plan, ask: Ask, said: Sequence[str] = (), *, stopped: bool = False) -> list[str]:
    """A plan for a person, with the advice as the last line; `said` are sentences about the sweep."""
    lines = _folded(_headline(plan, stopped=stopped)) + _folded(_asked(ask))
    said = [*said, *_crowded([each.at for each in (*plan.carriers, *plan.spares)])]
    lines += [line for sentence in said for line in _folded(sentence)]
    if plan.carriers:
        lines += ["", "Carriers", *_planned(plan.carriers, len(ask.tuners))]
    if plan.spares:
        lines += ["", "Spares, clean while everything is on", *_planned(plan.spares, len(ask.tuners))]
    if not plan.fits:
        lines += ["", *_folded(_how_many(plan))]
        for sentence in plan.relax:
            lines += _folded(sentence, indent=2)
    return [*lines, "", RADIO_LAW]


def _headline(plan: Plan, *, stopped: bool) -> str:
    if not plan.carriers:
        return "No carrier fits."
    what = _many(len(plan.carriers), "carrier")
    if plan.spares:
        what += f" and {_many(len(plan.spares), 'spare')}"
    if plan.clearance is None:
        return f"{what}; nothing is near any of them."
    least = f"{what}, smallest clearance {khz(plan.clearance)} kHz"
    if plan.proved:
        proved = f"{least}. Proved: no other choice of as many has more."
        return proved if plan.ties_proved else f"{proved} {TIES_LEFT}"
    end = "stopped, best found so far" if stopped else "best found so far"
    if plan.bound is None:
        return f"{least}; {end}."
    return f"{least}; {end}, no plan can have more than {khz(plan.bound)} kHz."


def _asked(ask: Ask) -> str:
    """The wishes in one sentence."""
    ranges = ask.ranges or tuple(Band(tuner.low, tuner.high) for tuner in ask.tuners)
    where = ", ".join(dict.fromkeys(band_text(band) for band in ranges))
    steps = sorted({tuner.step for tuner in ask.tuners} - {0}) or [ask.step or USUAL_STEP]
    orders = ", ".join(str(order) for order in sorted({kind.order for kind in ask.products}))
    wishes = [f"Asked: {where}", f"steps of {' and '.join(map(khz, steps))} kHz", f"products of order {orders}"]
    for name, said in _NAMES.items():
        if value := getattr(ask.widths, name):
            wishes.append(f"{said} {khz(value)} kHz")
    if ask.avoid:
        wishes.append(f"{_many(len(ask.avoid), 'band')} to keep off")
    if ask.foreign:
        wishes.append(_many(len(ask.foreign), "foreign carrier"))
    if ask.found:
        wishes.append(f"{_many(len(ask.found), 'carrier')} of the sweep as sources of products")
    return "; ".join(wishes) + "."


def _how_many(plan: Plan) -> str:
    fit = len(plan.carriers) + len(plan.spares)
    if plan.fewest_proved:
        return f"{fit} of {plan.asked} fit, and it is proved that no more do."
    if plan.most == plan.asked:
        return f"{fit} of {plan.asked} were found to fit; whether more do was not found out."
    return f"{fit} of {plan.asked} were found to fit; more than {plan.most} cannot."


def progress_line(progress: Progress) -> str:
    """How far a search is, in a few words."""
    if progress.best is None:
        return f"{progress.doing}: nothing yet"
    best = f"{progress.doing}: {khz(progress.best)} kHz so far"
    return best if progress.bound is None else f"{best}, at most {khz(progress.bound)} kHz"


def _rows(carriers: Iterable[Judged], hits: Iterable[Trouble], found: frozenset[int]) -> Iterator[str]:
    """Each carrier with what hits it, or else with what is nearest to it."""
    by_carrier: defaultdict[int, list[Trouble]] = defaultdict(list)
    for hit in dict.fromkeys(hits):
        by_carrier[hit.carrier].append(hit)
    for judged in carriers:
        mine = by_carrier[judged.at]
        if not mine:
            yield _row(judged, "found" if judged.at in found else "")
            yield from _folded(f"{_limit(judged)}.", indent=4)
            continue
        yield f"  {mhz(judged.at):>10} MHz  HIT{' (found)' if judged.at in found else ''}"
        for hit in mine[:MOST_HITS]:
            yield from _folded(f"{_capital(one_line(hit.sentence, 300))}.", indent=4)
        if len(mine) > MOST_HITS:
            yield f"    And {len(mine) - MOST_HITS} more."


def _planned(carriers: Sequence[Planned], tuners: int) -> Iterator[str]:
    for each in carriers:
        whom = f"for {one_line(each.tuner, 24)}" if each.tuner else ""
        yield _row(each.judged, ", ".join(filter(None, (whom, "held" if each.held else ""))))
        yield from _folded(f"{_limit(each.judged)}.", indent=4)
        if tuners and not each.tuner:
            named = ", ".join(one_line(name, 40) for name in each.fits)
            which = "every transmitter" if len(each.fits) == tuners else named or "no transmitter"
            yield from _folded(f"Fits {which}.", indent=4)


def _row(judged: Judged, more: str) -> str:
    clear = "free" if judged.clearance is None else f"{khz(judged.clearance):>6} kHz clear"
    return f"  {mhz(judged.at):>10} MHz {clear}  {more}".rstrip()


def _limit(judged: Judged) -> str:
    return _capital(NOTHING_NEAR if judged.limit is None else one_line(judged.limit.sentence, 300))


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def _many(count: int, thing: str) -> str:
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def _folded(text: str, indent: int = 0) -> list[str]:
    """Lines of the text; `A+B-C` and `606-614` stay whole."""
    pad = " " * indent
    folder = TextWrapper(COLUMNS, pad, pad, break_long_words=False, break_on_hyphens=False)
    return folder.wrap(text) or [""]


# -- as data -----------------------------------------------------------------------------------------------------


def verdict_data(verdict: Verdict, said: Sequence[str] = ()) -> dict[str, Any]:
    """A verdict for JSON, with what is `said` of the sweep.

    What cannot be set counts as a hit of order 0, of kind `range` or `step`, off by 0."""
    hits = [_hit(hit) for hit in verdict.hits] + [_fault(fault) for fault in verdict.faults]
    carriers = [_carrier(judged) for judged in verdict.carriers]
    return {"clean": verdict.clean, "carriers": carriers, "hits": hits, "advice": [*said, RADIO_LAW]}


def plan_data(plan: Plan, said: Sequence[str] = ()) -> dict[str, Any]:
    """A plan for JSON, with what is `said` of the sweep."""
    advice = [*said, *([_how_many(plan)] if not plan.fits else []), *plan.relax, RADIO_LAW]
    return {
        "carriers": [{**_carrier(each.judged), "transmitter": each.tuner or None} for each in plan.carriers],
        "spares": [{**_carrier(each.judged), "transmitter": list(each.fits) or None} for each in plan.spares],
        "clearance_khz": None if plan.clearance is None else khz_number(plan.clearance),
        "limited_by": None if plan.limit is None else plan.limit.sentence,
        "proved": plan.proved,
        "bound_khz": None if plan.bound is None else khz_number(plan.bound),
        "advice": advice,
    }


def _carrier(judged: Judged) -> dict[str, Any]:
    return {
        "mhz": mhz_number(judged.at),
        "clearance_khz": None if judged.clearance is None else khz_number(judged.clearance),
        "limited_by": None if judged.limit is None else judged.limit.sentence,
    }


def _hit(hit: Trouble) -> dict[str, Any]:
    return {
        "kind": hit.kind,
        "order": hit.order,
        "at_mhz": mhz_number(hit.at),
        "from_mhz": [mhz_number(maker) for maker in hit.makers],
        "carrier_mhz": mhz_number(hit.carrier),
        "off_khz": khz_number(hit.distance),
    }


def _fault(fault: Fault) -> dict[str, Any]:
    at = mhz_number(fault.at)
    return {"kind": fault.kind, "order": 0, "at_mhz": at, "from_mhz": [], "carrier_mhz": at, "off_khz": 0}
