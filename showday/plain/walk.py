"""A fault walk as line prompts: checks and fixes one by one, until the sound is back or the person leaves."""

from __future__ import annotations

from collections.abc import Sequence

from showday.counsel import Counsel, InTime
from showday.desk import Desk
from showday.errors import ShowdayError
from showday.fault.model import Tree
from showday.fault.walk import CANT_NOW, DONT_KNOW, HELP, NO_CHANGE, Ask
from showday.opening import end_walks
from showday.plain import words
from showday.plain.talk import Talk
from showday.rig.words import UNKNOWN
from showday.run import events as ev
from showday.run.session import Session
from showday.run.state import WalkState
from showday.run.touring import ToFixClosed
from showday.text.safe import one_line
from showday.text.sentence import fill
from showday.text.values import duration

LEAST_TOLD = 0.01
"""Causes under this chance are not told (a choice of this program)."""
_YES = ("yes", "y")


class WalkTalk:
    """The open fault walk of a session."""

    def __init__(self, desk: Desk, session: Session, talk: Talk) -> None:
        self._desk = desk
        self._session = session
        self._talk = talk
        self._agreed = True
        self._counsel: Counsel | None = None
        self._taken = ""
        """Id of a node taken out of turn, until it is answered."""
        self._hurry: InTime | None = None
        """What was said to be likelier to help in the time left."""

    def go(self) -> None:
        """Walk until this walk is over; one whose tree cannot be read is left, so that the run can go on."""
        opened = self._session.state.walk
        if opened is None:
            return
        try:
            tree = self._desk.tree_of(self._session.state)
        except ShowdayError as trouble:
            self._talk.say(str(trouble))
            self._session.end_walk()
            return
        self._begin(tree, opened)
        self._counsel = Counsel(self._desk, self._session.state, tree, by_author=self._desk.by_author)
        while (walk := self._session.state.walk) is not None and walk.walk == opened.walk:
            if walk.restored:
                self._cause(tree, walk)
            else:
                self._next(self._counsel)

    def _begin(self, tree: Tree, walk: WalkState) -> None:
        about = f", {walk.about}" if walk.about else ""
        self._talk.say()
        self._talk.part("Fault walk", f"{tree.title}{about}")
        if walk.item:
            self._talk.say("It looks for the cause of a to-fix item; workarounds are not offered.")
        for caution in tree.caution:
            self._talk.part("Caution", caution)
        if walk.answers:
            many = f"{len(walk.answers)} answers so far; it goes on behind them"
            self._talk.say(f"{many}." if len(walk.answers) > 1 else "1 answer so far; it goes on behind it.")

    def _next(self, counsel: Counsel) -> None:
        state = self._session.state
        taken = self._desk.ask_again(state, counsel.tree, self._taken) if self._taken else None
        ask, advice = (taken, None) if taken is not None else counsel.next(state)
        reason = advice.reason if advice is not None else "taken out of turn" if taken else "the author's order"
        self._hurry = counsel.in_time(state) if taken is None else None
        self._taken = ""
        if advice is not None and advice.trouble:
            self._talk.say(advice.trouble)
        if advice is not None and advice.step == HELP and counsel.stopgap_waits(state):
            reason += "; a workaround is left (answer goal)"
        self._one(ask, reason)

    # -- one check or fix --------------------------------------------------------------------------------------

    def _one(self, ask: Ask, reason: str) -> None:
        self._show(ask, reason)
        self._agreed = not ask.irreversible
        asked_again = True
        while asked_again:
            typed = self._talk.ask(*self._prompt(ask))
            try:
                asked_again = self._take(ask, typed)
            except ShowdayError as trouble:
                self._talk.say(str(trouble))

    def _show(self, ask: Ask, reason: str) -> None:
        talk = self._talk
        talk.say()
        talk.part("Caution", ask.caution)
        talk.part("First", ask.opens)
        talk.part({"check": "Check", "fix": "Do", "help": "Get help"}[ask.kind], ask.do)
        talk.part("Until", ask.until)
        talk.part("Why", f"{ask.why} ({ask.basis})" if ask.why and ask.basis else ask.why)
        talk.part("Why now", reason)
        talk.part("Still likely", self._likeliest())
        if self._hurry:
            talk.part("Time is short", f"{self._hurry.line()} (answer deadline)")
        talk.part("Uses up", self._uses(ask))
        talk.part("Usual time", duration(ask.takes) if ask.takes else "")
        if self._goes_on(ask):
            talk.part("Goes on in", f"{self._desk.library.trees[ask.see].title} (answer see)")
        talk.part("Cannot be taken back", ask.irreversible)

    def _likeliest(self) -> str:
        """The three likeliest causes; nothing in the author's order."""
        if self._counsel is None or self._counsel.by_author:
            return ""
        likely = self._counsel.likely(self._session.state).likely[:3]
        return ", ".join(f"{c.what} {round(100 * c.chance)}%" for c in likely)

    def _uses(self, ask: Ask) -> str:
        if not ask.uses or self._counsel is None:
            return ask.uses
        return f"{ask.uses} ({self._counsel.spares_left(ask.uses) or 'none'} left)"

    def _advise(self, said: str) -> bool:
        """One of the words about the advice; True while the same check or fix is still to be answered."""
        counsel, talk = self._counsel, self._talk
        if counsel is None:
            return True
        if said == words.ODDS:
            advice = counsel.likely(self._session.state)
            for c in advice.likely:
                if c.chance >= LEAST_TOLD:
                    seen = f" (here {c.here}, in all {c.anywhere})" if c.anywhere else ""
                    talk.say(f"{round(100 * c.chance)}% {c.what}{seen}")
            talk.part("Why not in the author's order", advice.instead)
            return True
        if said == words.DEADLINE:
            if self._hurry is None:
                talk.say("No other step is clearly likelier to help in time.")
                return True
            self._taken = self._hurry.step
            return False
        if said == words.ORDER:
            counsel.switch_order()
            self._desk.by_author = counsel.by_author
            talk.say("The author's order from here." if counsel.by_author else "The computed order from here.")
        elif counsel.by_author:
            talk.say("The author's order has no goal; answer order for one that is computed.")
            return True
        else:
            counsel.switch_goal()
            talk.say("Sound first." if counsel.restore_first else "Cause first: no workarounds are offered.")
        return False

    def _prompt(self, ask: Ask) -> tuple[str, str]:
        if not self._agreed:
            return f"yes {ask.id}", "Do it now?"
        return f"{'check' if ask.kind == 'check' else 'fix'} {ask.id}", f"{words.listed(ask.answers)}?"

    def _goes_on(self, ask: Ask) -> bool:
        return bool(ask.see) and ask.see in self._desk.library.trees

    def _possible(self, ask: Ask) -> list[words.Word]:
        """The words that may be typed beside the answers."""
        missing = {"check": set(), "fix": {DONT_KNOW}, "help": {DONT_KNOW, CANT_NOW}}[ask.kind]
        possible = [w for w in words.WALK_WORDS if w.word not in missing]
        if self._goes_on(ask):
            possible.append(words.Word(words.SEE, "", "leave this tree for the one that goes on from here"))
        return possible

    def _take(self, ask: Ask, typed: str) -> bool:
        """Take what was typed; True while the same check or fix is still to be answered."""
        if words.is_help(typed):
            self._help(ask)
            return True
        if note := words.walk_note(typed):
            walk = self._session.state.walk
            self._session.record(ev.NoteAdded(note, walk.step if walk else ""))
            self._talk.say("Noted.")
            return True
        if not self._agreed and words.fold(typed) in _YES:
            self._agreed = True
            return True
        possible = [w for w in self._possible(ask) if w.takes == words.ALONE]
        found = words.choose(typed, ask.answers, possible)
        if len(found) != 1:
            self._not_understood(ask, found)
            return True
        return self._answer(ask, found[0])

    def _answer(self, ask: Ask, said: str) -> bool:
        if said in ask.answers:
            return self._outcome(ask, said)
        if said in (DONT_KNOW, CANT_NOW):
            self._session.answer_walk(ask, said)
            self._talk.say(f"Noted: {said}.")
        elif said == words.RESTORED:
            self._session.restored_by_itself()
        elif said == words.BACK:
            self._back()
        elif said == words.SEE:
            self._change_to(ask.see)
        elif said in (words.ODDS, words.ORDER, words.GOAL, words.DEADLINE):
            return self._advise(said)
        else:
            self._end()
            self._talk.say("The fault walk is left.")
        return False

    def _outcome(self, ask: Ask, answer: str) -> bool:
        if not self._agreed:
            self._talk.say("It was not agreed to yet. Answer yes and do it, or can't now.")
            return True
        self._session.answer_walk(ask, answer)
        self._talk.part("Noted", answer)
        if ask.id == HELP and answer == NO_CHANGE:
            self._end()
            self._talk.say("Not solved; help was asked for. It stands on the to-fix list.")
        return False

    def _end(self, cause: str = "") -> None:
        """End the walk; what is still likely is kept with what is left to fix."""
        odds = self._counsel.odds(self._session.state, cause) if self._counsel else ()
        self._session.end_walk(cause, odds=odds)

    def _back(self) -> None:
        """Take back the last answer."""
        self._session.undo()
        self._talk.say("Taken back.")

    def _change_to(self, fault: str) -> None:
        walk = self._session.state.walk
        step = self._session.state.planned(walk.step) if walk and walk.step else None
        self._session.end_walk(moved_on=True)
        self._desk.open_walk(self._session, fault, step, item=walk.item if walk else "", like=walk)

    def _help(self, ask: Ask) -> None:
        self._talk.say("Answer with a number, or with the beginning of an answer, or with one of these words:")
        for line in words.help_lines(self._possible(ask)):
            self._talk.say(line)

    def _not_understood(self, ask: Ask, several: Sequence[str]) -> None:
        if several:
            self._talk.say(f"That could be any of these: {one_line('; '.join(several))}. Write more of it.")
            return
        others = ", ".join(w.word for w in self._possible(ask))
        first = "yes" if not self._agreed else words.listed(ask.answers)
        self._talk.say(f"Not understood. Answer: {first}; or {others}.")

    # -- sound is back: what was it? -----------------------------------------------------------------------------

    def _cause(self, tree: Tree, walk: WalkState) -> None:
        self._talk.say()
        self._talk.say("Sound is back." if walk.by else "Sound came back by itself.")
        if walk.workaround:
            used = f" Used up: {walk.uses}." if walk.uses else ""
            self._talk.say(f"It is a workaround, not a cure; it goes on the to-fix list.{used}")
        causes = self._causes(tree, walk)
        if not causes:
            self._end()
            return
        for number, (_, what) in enumerate(causes, 1):
            self._talk.part(f"Cause {number}", what)
        while not self._take_cause(causes, walk):
            pass

    def _take_cause(self, causes: Sequence[tuple[str, str]], walk: WalkState) -> bool:
        typed = self._talk.ask(f"cause {walk.by}", "Which cause is it: its number, or unknown?")
        if note := words.walk_note(typed):
            self._session.record(ev.NoteAdded(note, walk.step))
            self._talk.say("Noted.")
            return False
        if words.fold(typed) in (words.BACK, "b"):
            self._back()
            return True
        if words.fold(typed) in (words.UNKNOWN, "u", "dont know", "d"):
            self._end()
            self._talk.say("Restored; the cause is not known.")
            return True
        found = self._named(typed, causes)
        if found is None:
            self._talk.say("Answer with the number of a cause, or unknown, or back, or note and words.")
            return False
        self._end(found)
        self._talk.say("Restored; the cause is noted.")
        self._offer_to_close(walk, dict(causes)[found])
        return True

    def _offer_to_close(self, walk: WalkState, cause: str) -> None:
        """After a walk that sought the cause of a to-fix item, found it and cured it."""
        item = self._desk.book().items.get(walk.item)
        if item is None or item.closed or walk.workaround:
            return
        self._talk.part("To fix", item.text)
        if words.fold(self._talk.ask("yes item", "Is this item done: yes closes it, no leaves it open?")) in _YES:
            self._desk.record(item.id, ToFixClosed(cause))
            self._talk.say("Closed.")
        else:
            self._talk.say("It stays on the to-fix list.")

    @staticmethod
    def _named(typed: str, causes: Sequence[tuple[str, str]]) -> str | None:
        for texts in ([id for id, _ in causes], [what for _, what in causes]):
            found = words.choose(typed, texts)
            if len(found) == 1:
                return causes[texts.index(found[0])][0]
        return None

    def _causes(self, tree: Tree, walk: WalkState) -> Sequence[tuple[str, str]]:
        """What may have been cured: the fix's causes; after help any; nothing when it came back by itself."""
        if not walk.by:
            return ()
        if walk.by == HELP:
            known = self._desk.walk_fields(self._session.state)
            return tuple((str(id), fill(cause.what, known, UNKNOWN)) for id, cause in tree.causes)
        ask = self._desk.ask_again(self._session.state, tree, walk.by)
        return ask.causes if ask else ()


def walk_fault(desk: Desk, session: Session, talk: Talk) -> None:
    """Walk a run that holds nothing but a fault walk, to its end; Ended when the input ends before."""
    while session.state.walk is not None:
        WalkTalk(desk, session, talk).go()
    end_walks(session)


def walk_summary(walk: WalkState) -> str:
    """How a walk ended, in a few words."""
    how = {
        ev.RESTORED: "restored",
        ev.UNSOLVED: "not solved, help was asked for",
        ev.LEFT: "left without an end",
        ev.MOVED_ON: "looked for in another tree",
    }
    answers = f"{len(walk.answers)} answer{'' if len(walk.answers) == 1 else 's'}"
    return f"{walk.title}: {how.get(walk.outcome, 'not ended')}, {answers}"
