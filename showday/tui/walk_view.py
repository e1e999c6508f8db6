"""What the fault walk's screen says, from the walk's state, its tree and the ask that the core chose."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from showday.fault.advise import Advice
from showday.fault.model import Tree
from showday.fault.walk import CANT_NOW, DONT_KNOW, HELP, NO_CHANGE, WORKED, Ask
from showday.run import events as ev
from showday.run.session import Session
from showday.run.state import WalkState
from showday.text.values import duration
from showday.tui.lines import GAP, Card, Choice, Line, say
from showday.tui.standing import clock_words

ANSWER_WORDS = {WORKED: "sound is back", NO_CHANGE: "no change", CANT_NOW: "can't now", DONT_KNOW: "don't know"}
"""What is shown for the answers that every tree has."""

KIND_WORDS = {"check": "LOOK", "fix": "TRY", "help": "CALL FOR HELP"}
LEAST_SHOWN = 0.01
"""Causes under this chance are only counted."""
MOST = 9
"""Causes to choose from by digit."""

Words = Callable[[str], str]
"""The sentence of a node by its id."""


def title_of(walk: WalkState) -> str:
    """`FAULT: No signal | input 2, Voice`."""
    return f"FAULT: {walk.title}" + (f" | {walk.about}" if walk.about else "")


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
    there = "" if left is None else f" ({left} there)" if left else " (NONE left)"
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


def reason_lines(advice: Advice | None, hurry: str, goal: str) -> list[Line]:
    """Why this step comes now: one line, and one more when time is short or the answers contradict each other."""
    lines = [Line("warning", f"! {advice.trouble}")] if advice is not None and advice.trouble else []
    if advice is None:
        lines.append(Line("reason", "in the author's order (F3 computes it)"))
    else:
        lines.append(Line("reason", f"{advice.reason} | {goal}"))
    if hurry:
        lines.append(Line("warning", f"F5 {hurry}"))
    return lines


def goal_words(restore_first: bool) -> str:
    """Which goal is followed."""
    return "sound first" if restore_first else "cause first, no workarounds"


def odds_rows(advice: Advice, width: int) -> list[str]:
    """The causes still possible as bars, and why it is not the author's order."""
    length = max(6, min(20, width // 5))
    rows = []
    for likely in advice.likely:
        if likely.chance < LEAST_SHOWN:
            continue
        bar = "#" * max(1, round(length * likely.chance))
        seen = f" (here {likely.here}, in all {likely.anywhere})" if likely.anywhere else ""
        rows.append(f"{round(100 * likely.chance):3d}% {bar:<{length}} {likely.what}{seen}")
    rest = sum(1 for likely in advice.likely if likely.chance < LEAST_SHOWN)
    rows += [f"     and {rest} more, each under {LEAST_SHOWN:.0%}"] if rest else []
    rows.append(f"about {duration(advice.seconds)} to sound, on average")
    rows += [f"Why not in the author's order: {advice.instead}"] if advice.instead else []
    return rows


def answered_lines(walk: WalkState, words: Words, most: int) -> list[Line]:
    """What was answered so far, newest first."""
    lines = []
    for node, answer in list(reversed(walk.answers))[:most]:
        lines.append(Line("done", f"x {words(node)} = {ANSWER_WORDS.get(answer, answer)}"))
    return [GAP, *lines] if lines else []


def ask_choices(ask: Ask, *, ready: bool, see: str) -> list[Choice]:
    """The answers as rows. `see` is the title of another tree that goes on from here."""
    if ask.irreversible and not ready:
        return [Choice("y", "Go ahead: everyone is ready for it", "yes", "strong")]
    if ask.kind == "check":
        return [Choice(str(n), answer, f"choose({n})", "strong") for n, answer in enumerate(ask.answers, 1)]
    rows = [Choice("1", "Sound is back", "choose(1)", "strong"), Choice("2", "No change", "choose(2)", "strong")]
    return [*rows, Choice("4", f"Go on with: {see}", "choose(4)")] if see else rows


def other_choices(ask: Ask, *, ready: bool) -> list[Choice]:
    """The answers that are always possible, beside each other."""
    rows = []
    if ask.kind == "check" and (ready or not ask.irreversible):
        rows.append(Choice("d", "don't know", "dont_know"))
    if ask.kind != "help":
        rows.append(Choice("c", "can't now", "cant_now"))
    if ask.kind == "check":
        rows.append(Choice("g", "sound came back by itself", "good"))
    else:
        rows.append(Choice("3", "sound was back before", "choose(3)"))
    return rows


def cause_card(walk: WalkState, words: Words) -> Card:
    """Sound is back; whether the cause is known is another question."""
    before = [Line("big", "SOUND IS BACK"), Line("about", f"by: {words(walk.by)}" if walk.by else "by itself")]
    if walk.workaround:
        before.append(Line("warning", "! By a workaround: it is kept on the to-fix list."))
    if walk.uses:
        before.append(Line("warning", f"! Used up: {walk.uses}"))
    return Card(tuple(before), (Line("do", "Is the cause known for certain?"),))


def cause_candidates(tree: Tree, ask: Ask | None) -> list[tuple[str, str]]:
    """Causes to choose from, (id, words): those of what brought sound back, else every cause of the tree."""
    if ask is not None and ask.causes:
        return list(ask.causes)
    return [(str(name), str(cause.what)) for name, cause in tree.causes]


def cause_choices(candidates: Sequence[tuple[str, str]]) -> list[Choice]:
    """That it is not known, which is no shame, and the causes as rows."""
    rows = [Choice(str(n), what, f"choose({n})") for n, (_, what) in enumerate(candidates[:MOST], 1)]
    return [Choice("d", "Not known", "dont_know", "strong"), *rows]


def list_rows(walk: WalkState, words: Words, here: str) -> list[tuple[str, str]]:
    """(node id, row) of everything in the tree: what stands on the screen, what is left, what was answered, help."""
    said = dict(walk.answers)
    left = [(node, f". {words(node)}") for node in remaining(walk) if node not in (HELP, here)]
    done = [(n, f"x {words(n)} = {ANSWER_WORDS.get(a, a)}") for n, a in said.items() if n not in (HELP, here)]
    last = [(HELP, f". {words(HELP)}")] if here != HELP else []
    return [(here, f"> {words(here)}"), *left, *done, *last]
