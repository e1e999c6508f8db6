"""The words of the plain front: what may be typed at a step, at a fault walk, and how it is understood. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from showday.fault.walk import CANT_NOW, DONT_KNOW
from showday.text import values
from showday.text.safe import one_line

ALONE, WORDS_MAY, WORDS_MUST = 0, 1, 2
"""Whether further words may stand behind a word."""


@dataclass(frozen=True, slots=True)
class Word:
    """One word that may be typed."""

    word: str
    letter: str
    """Its short form; empty when it has none."""
    help: str
    takes: int = ALONE


GOOD, CONFIRM, FAULT, LATER = "good", "confirm", "fault", "later"
LEFT_OUT, NOT_HERE, NOTE, UNDO, STOP = "left out", "not here", "note", "undo", "stop"
YES, INTERRUPT, WRONG, GO, AWAY = "yes", "interrupt", "wrong", "go", "away"
LIST, CAME_BACK, NONE, UNKNOWN = "list", "came back", "none", "unknown"
BACK, RESTORED, LEAVE, SEE = "back", "restored", "leave", "see"
TIME, TO_FIX, CURED = "time", "to fix", "cured"
ODDS, ORDER, GOAL, DEADLINE = "odds", "order", "goal", "deadline"

STEP_WORDS = (
    Word(GOOD, "g", "it is as wanted"),
    Word(CONFIRM, "c", "a must step is as wanted; the only way to say so"),
    Word(
        FAULT, "f", "it is not as wanted; words behind it are kept, and the fault trees for it are offered", WORDS_MAY
    ),
    Word(LATER, "l", "put it off; it stays owed and comes back at a pause point", WORDS_MAY),
    Word(LEFT_OUT, "o", "leave it out for good; the reason stands behind it", WORDS_MAY),
    Word(NOT_HERE, "h", "it does not apply here", WORDS_MAY),
    Word(NOTE, "n", "write the words behind it into the log", WORDS_MUST),
    Word(UNDO, "u", "take back the last answer, reading or note"),
    Word(WRONG, "w", "something else is wrong: the fault tree for the words behind it", WORDS_MUST),
    Word(CAME_BACK, "", "what a fault walk had restored has failed again"),
    Word(AWAY, "a", "who is not here, as names with commas; `away nobody` when all are here", WORDS_MUST),
    Word(GO, "", "go to the step whose ID stands behind it, to answer it now or again", WORDS_MUST),
    Word(LIST, "", "say how far it has come and what is owed"),
    Word(TIME, "", "say when it will be over, and offer what to leave out when it will not fit"),
    Word(TO_FIX, "", "say what is still to be fixed, of all shows"),
    Word(CURED, "", "close an item of the to-fix list: its number, then how it was cured", WORDS_MUST),
    Word(INTERRUPT, "i", "leave now and go on later at the same step; a word behind it is kept", WORDS_MAY),
    Word(STOP, "s", "end the run, whatever is still owed"),
)
"""What may be typed at a step."""

WALK_WORDS = (
    Word(DONT_KNOW, "d", "no answer to this check; the walk looks at all that may follow"),
    Word(CANT_NOW, "c", "not possible now; it is offered again before help"),
    Word(RESTORED, "r", "the sound came back by itself (at a fix: it worked)"),
    Word(ODDS, "", "what is still likely, and why not the author's order"),
    Word(ORDER, "", "change between the computed order and the author's"),
    Word(GOAL, "", "change between sound first and cause first"),
    Word(DEADLINE, "", "take the step that is likelier to help in the time left"),
    Word(BACK, "b", "take back the last answer of this walk"),
    Word(NOTE, "n", "write the words behind it into the log", WORDS_MUST),
    Word(LEAVE, "l", "leave this fault walk without an end"),
)
"""What may be typed in a fault walk, beside the answers of the check or fix."""


def fold(text: str) -> str:
    """Typed words for comparing: small letters, single spaces, one kind of apostrophe or none."""
    return " ".join(text.casefold().replace("’", "").replace("'", "").split())


def step_word(typed: str) -> tuple[str, str] | None:
    """(word, words behind it) of what was typed at a step; None when it is none of the words.

    A word that takes none behind it is not understood with some: nothing a person adds may get lost.
    """
    return _word(typed, STEP_WORDS)


def walk_note(typed: str) -> str:
    """The words behind `note` in a fault walk; empty when it is no note."""
    found = _word(typed, [w for w in WALK_WORDS if w.word == NOTE])
    return found[1] if found else ""


def _word(typed: str, words: Sequence[Word]) -> tuple[str, str] | None:
    parts = typed.split()
    for word in words:
        for form in filter(None, (word.word, word.letter)):
            size = len(form.split())
            if fold(" ".join(parts[:size])) != fold(form):
                continue
            rest = " ".join(parts[size:])
            if (word.takes == ALONE and rest) or (word.takes == WORDS_MUST and not rest):
                continue
            return word.word, rest
    return None


def reading(typed: str, unit: str) -> float | None:
    """The number typed, with or without its unit; None when it is no number."""
    text = typed.strip().replace("\u2212", "-").replace("\u2013", "-")
    if unit and text.casefold().endswith(unit.casefold()):
        text = text[: -len(unit)]
    try:
        return values.number(text.replace("- ", "-"))
    except ValueError:
        return None


def numbered(answers: Sequence[str]) -> bool:
    """Whether the answers go by number too: not when one begins with a figure itself."""
    return not any(answer[:1].isdigit() for answer in answers)


def listed(answers: Sequence[str]) -> str:
    """The answers in one line, with their numbers."""
    shown = [one_line(answer, 100) for answer in answers]
    if numbered(answers):
        shown = [f"{number} {answer}" for number, answer in enumerate(shown, 1)]
    return "; ".join(shown)


def choose(typed: str, answers: Sequence[str], words: Sequence[Word] = ()) -> list[str]:
    """What was meant: an answer by number, in full or by its beginning, or a word in full or by its letter.

    One item is an answer; none or several mean that it was not understood.
    """
    asked = fold(typed)
    if not asked:
        return []
    if numbered(answers) and asked.isdecimal() and asked.isascii() and len(asked) < 4:
        number = int(asked)
        return [answers[number - 1]] if 1 <= number <= len(answers) else []
    whole = [answer for answer in answers if fold(answer) == asked]
    whole = whole or [word.word for word in words if fold(word.word) == asked]
    if whole:
        return whole[:1]
    found = [answer for answer in answers if fold(answer).startswith(asked)]
    found += [word.word for word in words if word.letter == asked]
    return list(dict.fromkeys(found))


def help_lines(words: Sequence[Word]) -> list[str]:
    """One line a word."""
    lines = []
    for word in words:
        behind = "" if word.takes == ALONE else " …"
        short = f" or {word.letter}" if word.letter else ""
        lines.append(f"  {word.word}{behind}{short}: {word.help}")
    return lines


def is_help(typed: str) -> bool:
    """Whether the list of words was asked for."""
    return fold(typed) in ("help", "?")
