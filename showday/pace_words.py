"""The forecast in words and signs: a range, a bar, and the cost of leaving something out. Pure, without colour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from showday.text.values import duration

if TYPE_CHECKING:
    from showday.pacing import Dropped, Outlook, Proposal

GONE, DONE_LIKELY, DONE_LATE, SPARE, END = ":", "#", "=", ".", "|"
"""Signs of the bar: gone since the run began, until even odds, until four evenings of five, time to spare, and the
moment it must be over."""
BAR = 20
"""Cells of the bar."""
BAR_SAYS = f"{GONE} gone, {DONE_LIKELY} as likely as not, {DONE_LATE} four evenings of five, {END} must be over"

NO_END = "Nothing says when it must be over, so nothing is proposed."


def span_words(low: float, high: float) -> str:
    """`40 to 60 s`, `6 to 8 min`, `1 h 5 min to 1 h 20 min`; one figure when both would read the same."""
    if high < 90:
        low, high = _tens(low), _tens(high)
        return f"{low:g} s" if low == high else f"{low:g} to {high:g} s"
    small, large = max(1, round(low / 60)), max(1, round(high / 60))
    if large < 90:
        return f"{large} min" if small == large else f"{small} to {large} min"
    return f"{duration(small * 60)} to {duration(large * 60)}"


def _tens(seconds: float) -> int:
    return max(10, round(seconds / 10) * 10)


def bar(p50: float, p80: float, left: float | None, cells: int = BAR, gone: float = 0.0) -> str:
    """The whole run as `[::#####===....|]`; the end stands inside when it will not fit, and where it was when it is past.

    What is still to come has one cell at least.
    """
    whole = max(gone + max(p80, left or 0.0), 1.0)
    now = min(cells - 1, round(cells * gone / whole))
    likely = max(now + 1, min(cells, round(cells * (gone + p50) / whole)))
    late = min(cells, round(cells * (gone + p80) / whole))
    signs = [GONE] * now + [DONE_LIKELY] * (likely - now) + [DONE_LATE] * (late - likely)
    signs += [SPARE] * (cells - len(signs))
    if left is not None:
        signs.insert(max(0, round(cells * (gone + left) / whole)), END)
    return f"[{''.join(signs)}]"


def chance_words(chance: float) -> str:
    """`over 99 %`, `82 %`, `under 1 %`."""
    percent = round(100 * chance)
    return "over 99 %" if percent > 99 else "under 1 %" if percent < 1 else f"{percent} %"


def outlook_words(outlook: Outlook, cells: int = BAR) -> str:
    """One line: `6 to 8 min more [::####==....|] 97 % in time`."""
    if not outlook.open:
        return f"what is left waits for {outlook.waits}" if outlook.waits else ""
    drawn = bar(outlook.p50, outlook.p80, outlook.left, cells, outlook.gone)
    said = f"{span_words(outlook.p50, outlook.p80)} more {drawn}"
    return said if outlook.chance is None else f"{said} {chance_words(outlook.chance)} in time"


def about_words(outlook: Outlook) -> str:
    """What the forecast rests on, in a sentence."""
    runs = f"{outlook.runs} past run{'s' if outlook.runs != 1 else ''}" if outlook.runs else "no past run"
    rest = f"From the playbook's usual times and {runs}, interruptions counted in."
    if outlook.work_p80 > 0:
        rest += f" Work alone: {span_words(outlook.work_p50, outlook.work_p80)}."
    if outlook.waits:
        rest += f" Steps that wait for {outlook.waits} are not counted."
    if outlook.slow >= 1.1:
        return f"{rest} Tonight goes {outlook.slow:.1f} times as slow as usual."
    return f"{rest} Tonight goes faster than usual." if outlook.slow <= 0.9 else rest


def risk_words(risk: float) -> str:
    """What a risk in thousandths of a show means: `one show in 250`."""
    return f"one show in {1000 / risk:,.0f}".replace(",", " ") if risk > 0.001 else "next to nothing"


def verdict_words(proposal: Proposal) -> str:
    """What the proposal comes to, in a sentence or two."""
    chance = chance_words(proposal.chance)
    if not proposal.dropped and not proposal.fits:
        return f"It does not fit: {chance} in time. All that is left are musts; each can only be left out by itself."
    if not proposal.dropped:
        return f"Everything fits: {chance} in time. Nothing needs to be left out."
    many = len(proposal.dropped)
    out = f"Without {'this one' if many == 1 else f'these {many}'}"
    cost = f"That accepts a spoilt show once in {1000 / proposal.accepted:,.0f}".replace(",", " ")
    if proposal.accepted <= 0.001:
        cost = "That accepts next to nothing"
    best = "" if proposal.exact else " Others may be a little better."
    if not proposal.fits:
        return f"{out} it is still {chance} in time: what is left are musts. {cost}.{best}"
    least = best or " No other choice accepts less."
    return f"{out} it fits: {chance} in time. {cost}, by the playbook's words and the log.{least}"


def dropped_lines(proposal: Proposal) -> list[str]:
    """A line for each step that would be left out, one for all that repeat it: the time saved, the risk accepted."""
    alike: dict[str, list[Dropped]] = {}
    for step in proposal.dropped:
        alike.setdefault(step.key.partition("@")[0], []).append(step)
    return [_dropped(steps) for steps in alike.values()]


def _dropped(steps: Sequence[Dropped]) -> str:
    first, more = steps[0], len(steps) - 1
    about = f" ({first.about})" if first.about else ""
    like = f" and {more} more like it" if more else ""
    seconds, risk = sum(step.seconds for step in steps), sum(step.risk for step in steps)
    return f"{first.do}{about}{like}: saves {_seconds(seconds)}, accepts {risk_words(risk)}"


def _seconds(seconds: float) -> str:
    return f"{max(1, round(seconds))} s" if seconds < 90 else f"{round(seconds / 60)} min"
