"""What the frequencies screen says, from what it holds alone."""

from __future__ import annotations

from collections.abc import Sequence

from showday.radio.drawing import short, what_is
from showday.radio.model import USUAL_WIDTH
from showday.radio.plan_ask import ADVISING, Progress
from showday.radio.sources import Sources
from showday.radio.units import band_text, khz, mhz
from showday.radio.verify import Trouble, overlap
from showday.radio.what_if import Told, clearance_words, limit_words
from showday.text.cautions import RADIO_LAW
from showday.text.safe import one_line
from showday.tui.lines import Line
from showday.tui.radio_state import Frequencies, Proof, Seen
from showday.tui.widgets.pick_list import Row

WIDEST_NAME = 14
"""Columns of a transmitter's name in the table; a longer one is cut (a choice of this program)."""
NO_SWEEP = "No sweep yet: t opens a sweep file"
ADVICE_LINE = Line("about", RADIO_LAW)
"""Stands on the screen always."""


def head_lines(held: Frequencies, place: str, time: Sequence[str]) -> list[Line]:
    """Where and when, then the verdict: what a first glance is for."""
    title = " | ".join(["Frequencies", *time, *([place] if place else [])])
    return [Line("title", title), verdict_line(held)]


def verdict_line(held: Frequencies) -> Line:
    """Whether all of it can be used, and how clear it is."""
    told = held.table.told
    if not told:
        return Line("count", "No transmitter here yet: x adds one and says what to plan")
    unset = sum(1 for each in told if each.row.hz is None)
    if unset == len(told):
        return Line("warning", "! No frequency is set yet: F9 plans them")
    bad = sum(1 for each in told if each.row.hz is not None and not each.usable)
    if bad:
        which = "1 of them is" if bad == 1 else f"{bad} of them are"
        return Line("warning", f"! NOT CLEAN: {which} hit or out of reach")
    if held.table.verdict.hits:
        return Line("warning", "! NOT CLEAN: another act's carrier is hit by ours")
    widths = held.wishes.widths
    asked = any((widths.spacing, widths.third, widths.fifth, widths.seventh, widths.edge))
    smallest = held.table.clearance
    words = "nothing limits it" if smallest is None else f"clearance {clearance_words(smallest)} or more"
    words += " beyond what was asked" if asked and smallest is not None else ""
    rest = f", {unset} not set" if unset else ""
    where = "CLEAN" if held.seen is not None else "CLEAN among your own"
    return Line("text", f"{where}: {words}{rest}")


# -- the table -----------------------------------------------------------------------------------------------------


def table_rows(held: Frequencies, headed: bool = True) -> list[Row]:
    """One row for each carrier and spare, its value the index in the table; a heading over them when `headed`."""
    table = held.table
    signs = {mark.at: mark.sign for mark in table.marks}
    names = [_name(each) for each in table.told]
    wide = min(max(map(len, names), default=0), WIDEST_NAME)
    head = f"{'':<{wide}} {'set to':>11} {'clearance':>9}  nearest trouble"
    rows = [Row(f"   {head}", "heading")] if headed and names else []
    for index, (each, name) in enumerate(zip(table.told, names, strict=True)):
        at = f"{mhz(each.row.hz)} MHz" if each.row.hz is not None else "-"
        clear = "" if each.row.hz is None else clearance_words(each.clearance)
        why = _why(each, signs, held)
        bad = not each.usable
        lead = f"{each.sign}{'!' if bad else ' '}"
        kind = "warning" if bad else "dim" if each.row.spare else "row"
        rows.append(Row(f"{name[:wide]:<{wide}} {at:>11} {clear:>9}  {why}", kind, lead, index))
    return rows or [Row("Nothing is planned yet.", "dim")]


def _name(told: Told) -> str:
    return one_line(told.row.name, 60) or ("spare" if told.row.spare else "carrier")


def _why(told: Told, signs: dict[int, str], held: Frequencies) -> str:
    if told.fault:
        return told.fault
    parts = ["held"] if told.row.held else []
    words = limit_words(told.limit, signs, held.wishes.foreign)
    parts.append(f"HIT: {words}" if told.hit else words)
    named = [tuner.name for tuner in held.tuners]
    if told.row.spare and told.fits and len(told.fits) < len(named):
        parts.append(f"for {', '.join(told.fits)}")
    return " | ".join(parts)


def detail_line(held: Frequencies, index: int | None) -> Line:
    """The marked row in full: what limits it, in a sentence."""
    told = held.table.told
    if index is None or index >= len(told):
        return Line("about", "")
    each = told[index]
    if each.fault:
        return Line("warning", f"{each.sign}: {each.fault}.")
    if each.limit is None:
        return Line("about", f"{each.sign}: nothing is near it.")
    return Line("warning" if each.hit else "about", f"{each.sign}: {_sentence(each.limit)}.")


def _sentence(limit: Trouble) -> str:
    """What limits a row; a band in use by the name that the drawing has for it."""
    band = limit.band
    if band is None:
        return limit.sentence
    where = "it lies in" if limit.distance <= 0 else f"{clearance_words(limit.distance)} away is"
    low, high = (short(round(end, -3)) for end in (band.low, band.high))
    asked = f" (asked: more than {khz(limit.asked)} kHz)" if limit.asked else ""
    return f"{where} {what_is(band)}{f', {low} to {high} MHz' if band.width else ''}{asked}"


def follow_lines(held: Frequencies, index: int) -> list[Line]:
    """What a move comes to: the verdict, the moved row in a sentence, and every clearance with its mark."""
    told = held.table.told
    every = [
        f"{each.sign} {clearance_words(each.clearance)}{'!' if not each.usable else ''}"
        for each in told
        if each.row.hz is not None
    ]
    return [verdict_line(held), detail_line(held, index), Line("about", " | ".join(every))]


# -- how far it is known -------------------------------------------------------------------------------------------


def state_lines(held: Frequencies, progress: Progress | None, proving: bool) -> list[Line]:
    """The proof, and what nobody knows yet."""
    proof = proving_line(progress) if proving else proof_line(held)
    return [proof, *crowded_lines(held), *unknown_lines(held)]


def crowded_lines(held: Frequencies) -> list[Line]:
    """That two carriers overlap, whatever spacing was wished."""
    marks = held.table.marks
    pair = overlap([mark.at for mark in marks])
    if pair is None:
        return []
    signs = sorted(mark.sign for mark in marks if mark.at in pair)[:2]
    apart, wide = khz(pair[1] - pair[0]), khz(USUAL_WIDTH)
    return [Line("warning", f"! {' and '.join(signs)} are {apart} kHz apart: each is some {wide} kHz wide (x, 6)")]


def proving_line(progress: Progress | None) -> Line:
    """The best so far and the bound that closes on it."""
    if progress is None:
        return Line("banner", "Proving | i stops")
    if progress.doing == ADVISING:
        return Line("banner", "Not all fit: which wish would help? | i stops, keeps the plan")
    best = "none yet" if progress.best is None else f"{clearance_words(progress.best)}"
    bound = "" if progress.bound is None else f", at most {clearance_words(progress.bound)}"
    doing = "Fitting" if progress.doing == "fitting" else "Proving"
    return Line("banner", f"{doing}: best {best}{bound} | i stops, keeps it")


def proof_line(held: Frequencies) -> Line:
    """What is known of the table as it stands."""
    proof = held.proof
    if held.by_hand or proof is None:
        if not held.table.rows:
            return Line("count", "No plan yet: F9 makes one.")
        if proof is not None and proof.clearance is not None:
            return Line("count", f"Changed by hand: the plan had {clearance_words(proof.clearance)}.")
        how = "Changed by hand" if held.past else "As kept" if held.kept is not None else "As in the rig file"
        return Line("count", f"{how}: F9 plans for what is known now.")
    if proof.found < proof.asked:
        return Line("warning", f"! Only {proof.found} of {proof.asked} fit{_most(proof)}")
    if proof.bound is None or proof.clearance is None:
        return Line("text", "Proved: nothing limits it." if proof.proved else "A plan of this sitting.")
    if proof.proved:
        return Line("text", f"Proved: no plan has more than {clearance_words(proof.clearance)}.")
    return Line(
        "warning",
        f"Not proved: best found {clearance_words(proof.clearance)}, at most {clearance_words(proof.bound)}.",
    )


def _most(proof: Proof) -> str:
    proved = ", proved" if proof.most == proof.found else f", at most {proof.most} could"
    return f"{proved}. {proof.relax[0]}" if proof.relax else f"{proved}."


def unknown_lines(held: Frequencies) -> list[Line]:
    """What is not known of the air, or else which sweep it is."""
    seen = held.seen
    if seen is None:
        return [Line("warning", "? No sweep: what others use here is not known.")]
    missed = unswept(held, seen)
    if missed:
        return [Line("warning", f"? Outside of the sweep ({band_text(seen.span)}): {', '.join(missed)}")]
    lost = [name for name, _, found in seen.own if not found]
    if lost:
        return [Line("warning", f"? Said to be on, and not seen in the sweep: {', '.join(lost)}")]
    return [Line("count", sweep_words(seen))]


def unswept(held: Frequencies, seen: Seen) -> list[str]:
    """Signs of the rows that stand where nothing was measured."""
    marks = held.table.marks
    return [mark.sign for mark in marks if not seen.span.holds(mark.at)]


def sweep_words(seen: Seen) -> str:
    """Which sweep it is."""
    files = ", ".join(file.replace("\\", "/").rsplit("/", 1)[-1] for file in seen.files)
    floor = "" if seen.trace.floor is None else f", floor {seen.trace.floor:.0f} {seen.trace.unit}"
    kept = f", of {one_line(seen.at, 16)}" if seen.at else ""
    return f"Sweep: {one_line(files, 60)}{kept}, {band_text(seen.span)}{floor}"


def found_words(seen: Seen, sources: Sources) -> str:
    """What a sweep shows, in one sentence for when it was just read; and which of it makes products."""
    tv = [band.name for band in seen.bands if band.kind == "television"]
    carriers = sum(1 for band in seen.bands if band.kind == "carrier")
    wide = sum(1 for band in seen.bands if band.kind == "wide signal")
    parts = [f"television on {_few(tv)}" if tv else "no television"]
    found = f"{carriers} carrier{'s' * (carriers != 1)} of others" if carriers else "no carrier of others"
    parts.append(f"{found} ({_source_words(sources)})" if sources.found else found)
    parts += [f"{wide} other wide signal{'s' * (wide != 1)}"] if wide else []
    return f"Seen: {', '.join(parts)}."


def _source_words(sources: Sources) -> str:
    """Which of the carriers found make products."""
    taken = len(sources.at)
    if not taken:
        return "products not counted" if sources.strong else "too weak for products"
    if taken == sources.found:
        return "products counted"
    return f"products of the {taken} {'strongest' if taken < sources.strong else 'strong ones'} counted"


def _few(names: Sequence[str]) -> str:
    numbers = [name.removeprefix("TV ") for name in names]
    return ", ".join(numbers[:6]) + (f" and {len(numbers) - 6} more" if len(numbers) > 6 else "")
