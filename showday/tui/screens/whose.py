"""What is asked before a fault walk begins: which thing it is about, and whether it is the same fault again."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from showday.rig.model import KINDS
from showday.rig.words import named_things, people_of
from showday.run import events as ev
from showday.run.plan import PlannedStep, about_words
from showday.run.session import Session
from showday.tui.lines import Line
from showday.tui.screens.modals import ChoiceModal, ListModal

if TYPE_CHECKING:
    from showday.tui.app import ShowdayApp

NOTHING = ("", "")
UNKNOWN = "not known yet: go on"
BY_DIGIT = 9

Then = Callable[[tuple[str, str]], None]
"""Given the kind and the id of the thing; both empty when it is not known, or the step says it."""


def ask_first(app: ShowdayApp, session: Session, fault: str, step: PlannedStep | None, then: Then) -> None:
    """Ask what is not known yet, then go on; without an answer it goes on too, for sound comes first."""

    def told(thing: tuple[str, str]) -> None:
        _ask_if_same_again(app, session, fault, step, thing, lambda: then(thing))

    _ask_which(app, fault, step, told)


def _ask_which(app: ShowdayApp, fault: str, step: PlannedStep | None, then: Then) -> None:
    """Whose pack, which input: so that the sentences, the next show and the to-fix list can name it."""
    tree, rig = app.desk.library.tree(fault), app.desk.rig
    kind = str(tree.concerns) if tree and not (step and step.kind) else ""
    things = named_things(kind, rig) if kind in KINDS else []
    if tree is None or len(things) < 2:
        then((kind, things[0][0]) if things else NOTHING)
        return
    rows = []
    for _, thing in things:
        about, people = about_words(kind, thing), sorted(people_of(kind, thing, rig))
        rows.append(f"{about} ({', '.join(people)})" if people else about)
    title = f"{tree.title}: which {kind}?"

    def picked(index: int | None) -> None:
        then(NOTHING if index is None else (kind, things[index][0]))

    if len(things) <= BY_DIGIT:
        choices = [(str(n), row) for n, row in enumerate(rows, 1)]
        modal = ChoiceModal([Line("title", title)], choices, UNKNOWN)
        app.push_screen(modal, lambda key: picked(int(key) - 1 if key else None))
    else:
        app.push_screen(ListModal(title, [UNKNOWN, *rows], 0), lambda index: picked(index - 1 if index else None))


def _ask_if_same_again(
    app: ShowdayApp,
    session: Session,
    fault: str,
    step: PlannedStep | None,
    thing: tuple[str, str],
    then: Callable[[], None],
) -> None:
    """The same fault at the same place was restored before: ask whether it came back."""
    key = step.key if step else ""
    before = [w for w in session.state.walks if (w.fault, w.step, w.restored) == (fault, key, True)]
    before = [w for w in before if thing == NOTHING or w.thing in (thing, NOTHING)]
    if not before or before[-1].came_back:
        then()
        return

    def told(answer: str | None) -> None:
        if answer == "1":
            app.or_say(lambda: session.record(ev.CameBack(before[-1].walk)))
        then()

    last = before[-1]
    lines = [Line("title", "This was restored before. The same again?")]
    lines.append(Line("about", f"{last.title} | {last.about}" if last.about else last.title))
    choices = [("1", "It came back: keep that on the to-fix list"), ("2", "Another one")]
    app.push_screen(ChoiceModal(lines, choices, "go on without saying"), told)
