"""What the fault walk's screen says, from the walk's state, its tree and the ask that the core chose."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

from showday.counsel import InTime
from showday.fault.advise import Advice, rough
from showday.fault.model import Tree
from showday.fault.walk import CANT_NOW, DONT_KNOW, HELP, NO_CHANGE, WORKED, Ask
from showday.run import events as ev
from showday.run.session import Session
from showday.run.state import WalkState
from showday.text.safe import one_line
from showday.text.values import duration
from showday.tui.lines import GAP, Card, Choice, Line, say
from showday.tui.standing import clock_words
from showday.tui.widgets.pick_list import Row

ANSWER_WORDS = {WORKED: "sound is back", NO_CHANGE: "no change", CANT_NOW: "can't now", DONT_KNOW: "don't know"}
"""What is shown for the answers that every tree has."""

KIND_WORDS = {"check": "LOOK", "fix": "TRY", "help": "CALL FOR HELP"}
LEAST_SHOWN = 0.01
"""Causes under this chance are only counted."""
BAR = 10
"""Columns of a bar that means certainty."""
MOST = 9
"""Causes to choose from by digit."""

Words = Callable[[str], str]
"""The sentence of a node by its id."""


def title_of(walk: WalkState) -> str:
    """`FAULT: No signal | input 2, Voice`; `TO FIX:` when the cause of an item of that list is sought."""
    return f"{'TO FIX' if walk.item else 'FAULT'}: {walk.title}" + (f" | {walk.about}" if walk.about else "")


def count_words(session: Session) -> str:
    """How far the walk is: `2 answered | 1:20 on this fault`."""
    walk = session.state.walk
    opened = next((e for e in reversed(session.state.history) if isinstance(e.event, ev.WalkOpened)), None)
    if walk is None or opened is None:
        return ""
    return f"{len(walk.answers)} answered | {clock_words(session.elapsed - opened.elapsed)} on this fault"


def remaining(walk: WalkState) -> list[str]:
    """Ids of checks and fixes without an answer, help last."""
    said = {node for node, _ in walk.answers}
    return [node for node, _ in walk.outline if node not in said]


def caution_card(tree: Tree) -> Card:
    """The tree's cautions, before anything is touched."""
    lines = [Line("title", "Before you touch anything")]
    for text in tree.caution:
        lines += [GAP, Line("caution", f"! {text}")]
    return Card(tuple(lines))


def ask_card(
    ask: Ask, *, ready: bool, again: bool, reason: Sequence[Line] = (), left: int | None = None, small: bool = False
) -> Card:
    """One thing to look at or to do. `ready`: the second key was pressed; `again`: it was put off before.

    `reason` says why it comes now, on a `small` screen above, where it is never out of sight; `left` how many of the
    spare it uses there are.
    """
    kind = KIND_WORDS[ask.kind]
    if ask.workaround:
        kind = "WORKAROUND: sound comes back, the cause stays"
    there = "" if left is None else f" ({left} left)" if left else " (NONE left)"
    kind += f" | uses {ask.uses}{there}" if ask.uses else ""
    kind += f" | takes about {duration(ask.takes)}" if ask.takes else ""
    before = [Line("banner", "CAME BACK: you put this off")] if again else []
    before += [Line("about", kind), *(reason if small else ())]
    before += say("caution", f"! {ask.caution}" if ask.caution else "")
    if ask.irreversible:
        before += say("danger", f"! EVERYONE NOTICES: {ask.irreversible}")
        before += say("danger", "Go ahead now." if ready else "Wait for the right moment, then y.")
    before += say("opens", f"first: {ask.opens}" if ask.opens else "")
    core = [Line("do", ask.do)]
    core += [GAP, Line("until", f"until {ask.until}")] if ask.until else []
    after = [
        *(() if small else reason),
        *say("why", f"{ask.why} ({ask.basis})" if ask.why and ask.basis else ask.why),
    ]
    return Card(tuple(before), tuple(core), tuple(after))


def reason_lines(advice: Advice | None, hurry: InTime | None, *, stopgap: bool = False, width: int = 0) -> list[Line]:
    """Why this step comes now: one line, and one more when time is short or the answers contradict each other.

    `stopgap`: a workaround is left that is not offered while the cause comes first. `width` is that of a small screen, on
    which one row is all there is for what is quicker.
    """
    if advice is None:
        return [Line("reason", "the author's order; F3 computes one")]
    lines = [Line("warning", f"! {advice.trouble}")] if advice.trouble else []
    lines.append(Line("reason", advice.reason))
    if stopgap and advice.step == HELP:
        lines.append(Line("warning", "F4 offers a workaround that is left"))
    if hurry is not None:
        said = f"F5 {hurry.line(short=width > 0)}"
        lines.append(Line("warning", one_line(said, width - 3) if width else said))
    return lines


def mode_words(by_author: bool, restore_first: bool) -> str:
    """Which order or goal is followed, with the key that changes it."""
    if by_author:
        return "author's order (F3)"
    return "sound first (F4)" if restore_first else "cause first (F4)"


def odds_lines(advice: Advice) -> list[Line]:
    """What stands above the bars: how long it takes on average, and why it is not the author's order."""
    lines = [Line("title", f"Still likely | about {rough(advice.seconds)} to sound, on average")]
    return [*lines, *say("about", f"Why not the author's order: {advice.instead}" if advice.instead else "")]


def odds_rows(advice: Advice) -> list[Row]:
    """The causes still possible as bars, and how often the log has them."""
    here, anywhere = (sum(getattr(c, where) for c in advice.likely) for where in ("here", "anywhere"))
    rows = []
    for likely in advice.likely:
        if likely.chance < LEAST_SHOWN:
            continue
        bar = "#" * max(1, round(BAR * likely.chance))
        counts = [f"{likely.here} of {here} times here"] if likely.here else []
        counts += [f"{likely.anywhere} of {anywhere} in all"] if likely.anywhere else []
        seen = f" ({', '.join(counts)})" if counts else ""
        rows.append(Row(f"{likely.what}{seen}", lead=f"{round(100 * likely.chance):3d}% {bar:.<{BAR}}"))
    rest = sum(1 for likely in advice.likely if likely.chance < LEAST_SHOWN)
    return [*rows, Row(f"and {rest} more, each under {LEAST_SHOWN:.0%}", "dim")] if rest else rows


def answered_lines(walk: WalkState, words: Words, most: int, heard: Collection[str] = ()) -> list[Line]:
    """What was answered so far, newest first; `heard` are the checks that listening answered."""
    lines = []
    for node, answer in list(reversed(walk.answers))[:most]:
        by = " (HEARD; t answers it again)" if node in heard else ""
        lines.append(Line("done", f"x {words(node)} = {ANSWER_WORDS.get(answer, answer)}{by}"))
    return [GAP, *lines] if lines else []


def last_words(walk: WalkState, words: Words) -> str:
    """What was answered last, and the key that asks it again; empty when nothing was."""
    if not walk.answers:
        return ""
    node, answer = walk.answers[-1]
    return f"last was '{words(node)}' = {ANSWER_WORDS.get(answer, answer)}, u asks it again"


def ask_choices(ask: Ask, *, ready: bool, see: str) -> list[Choice]:
    """The answers as rows. `see` is the title of another tree that goes on from here."""
    if ask.irreversible and not ready:
        return [Choice("y", "Go ahead: everyone is ready for it", "yes", "strong")]
    if ask.kind == "check":
        return [Choice(str(n), answer, f"choose({n})", "strong") for n, answer in enumerate(ask.answers, 1)]
    rows = [Choice("1", "Sound is back", "choose(1)", "strong"), Choice("2", "No change", "choose(2)", "strong")]
    return [*rows, Choice("4", f"Go on with: {see}", "choose(4)")] if see else rows


def other_choices(ask: Ask) -> list[Choice]:
    """The answers that are always possible, beside each other: also before a second key, for they do nothing."""
    rows = []
    if ask.kind == "check":
        rows.append(Choice("d", "don't know", "dont_know"))
    if ask.kind != "help":
        rows.append(Choice("c", "can't now", "cant_now"))
    if ask.kind == "check":
        rows.append(Choice("g", "sound came back by itself", "good"))
    else:
        rows.append(Choice("3", "sound was back before", "choose(3)"))
    return rows


def cause_card(walk: WalkState, words: Words, left: int | None = None) -> Card:
    """Sound is back; whether the cause is known is another question, and it stands first, where no screen cuts it.

    `left`: how many of the spare are left.
    """
    lines = [Line("big", "SOUND IS BACK. Is the cause known for certain?")]
    if walk.workaround:
        lines.append(Line("warning", "! By a workaround: it is kept on the to-fix list."))
    if walk.uses:
        more = "" if left is None else f", {left or 'NONE'} left"
        lines.append(Line("warning", f"! Used up: {walk.uses}{more}"))
    return Card((*lines, Line("about", f"by: {words(walk.by)}" if walk.by else "by itself")))


def cause_candidates(tree: Tree, ask: Ask | None) -> list[tuple[str, str]]:
    """Causes to choose from, (id, words): those of what brought sound back, else every cause of the tree."""
    if ask is not None and ask.causes:
        return list(ask.causes)
    return [(str(name), str(cause.what)) for name, cause in tree.causes]


def cause_choices(candidates: Sequence[tuple[str, str]]) -> list[Choice]:
    """That it is not known, which is no shame, and the causes as rows."""
    rows = [Choice(str(n), what, f"choose({n})") for n, (_, what) in enumerate(candidates[:MOST], 1)]
    return [Choice("d", "Not known", "dont_know", "strong"), *rows]


def list_rows(walk: WalkState, words: Words, here: str, suggested: str = "") -> list[tuple[str, str]]:
    """(node id, row) of everything in the tree: what stands on the screen, what is left, what was answered, help.

    What is `suggested` and does not stand on the screen comes second.
    """
    said = dict(walk.answers)
    told = [(suggested, f"* suggested: {words(suggested)}")] if suggested not in ("", here) else []
    shown = (HELP, here, suggested)
    left = [(node, f". {words(node)}") for node in remaining(walk) if node not in shown]
    done = [(n, f"x {words(n)} = {ANSWER_WORDS.get(a, a)}") for n, a in said.items() if n not in shown]
    last = [(HELP, f". {words(HELP)}")] if HELP not in (here, suggested) else []
    return [(here, f"> {words(here)}"), *told, *left, *done, *last]
