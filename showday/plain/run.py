"""A run as line prompts: one step after the other, every answer written before the next prompt shows."""

from __future__ import annotations

from collections.abc import Callable

from showday.desk import Desk
from showday.errors import NotAllowed, ShowdayError
from showday.memory import last_time
from showday.opening import faults_like, people_named
from showday.plain import words
from showday.plain.ending import say_going_on, say_list
from showday.plain.talk import Ended, Talk
from showday.plain.time import TimeTalk
from showday.plain.to_fix import MOST_TOLD, close_item, say_items, say_of_step
from showday.plain.walk import WalkTalk
from showday.radio_desk import notice_kept
from showday.review.before import HereBefore, differs
from showday.run import events as ev
from showday.run.phases import FAULT_WALK, FINISHED
from showday.run.plan import PlannedStep
from showday.run.progress import current, pause_reached, progress, returning
from showday.run.session import Session
from showday.run.state import undo_target
from showday.text.problem import nearest
from showday.text.safe import one_line
from showday.text.values import duration

RADIO = "radio"
"""The tool that a step about frequencies opens."""
RADIO_COMMANDS = "showday radio sweep FILE --keep; showday radio plan --rig FILE --spares 2 --keep"


class RunTalk:
    """One run of a playbook, from where it stands to where the person ends or leaves it."""

    def __init__(self, desk: Desk, session: Session, talk: Talk) -> None:
        self._desk = desk
        self._session = session
        self._talk = talk
        self._time = TimeTalk(desk, session, talk)
        self._section = -1
        self._agreed = True
        """False while an irreversible step was not agreed to."""
        self._judge = True
        """False while a reading is asked for before the result."""
        self._before = HereBefore()

    def walk(self) -> None:
        """Ask step after step; Ended when the input ends before the run does."""
        self._begin()
        while self._session.state.phase != FINISHED:
            if self._session.state.phase == FAULT_WALK:
                WalkTalk(self._desk, self._session, self._talk).go()
                continue
            step = current(self._session.state)
            if step is None:
                self._end()
            else:
                self._session.show_current()
                self._step(step)

    def _begin(self) -> None:
        plan = self._session.state.plan
        self._before = last_time(self._desk, self._session)
        self._talk.part("Playbook", plan.title)
        self._talk.part("To be over", plan.pause)
        for caution in plan.caution:
            self._talk.part("Caution", caution)
        say_going_on(self._talk, self._session)
        say_items(self._talk, self._desk, MOST_TOLD)
        self._talk.say("Answers: good, fault, later, left out, not here, note, undo, stop; help explains them.")

    # -- showing a step ----------------------------------------------------------------------------------------

    def _show(self, step: PlannedStep) -> None:
        talk, state = self._talk, self._session.state
        if self._section != step.section:
            self._turn_to(step.section)
        said = state.step(step.key)
        about = f", {step.about}" if step.about else ""
        back = ", put off before" if returning(state, step) else ", to look at again" if said.recheck else ""
        talk.say()
        talk.say(one_line(f"Step {state.plan.steps.index(step) + 1} of {len(state.plan.steps)}{about}{back}."))
        shown = self._desk.shown(step)
        talk.part("Caution", shown.caution)
        talk.part("Do", shown.do)
        talk.part("Until", shown.until)
        talk.part("Why", f"{shown.why} ({shown.basis})" if shown.why and shown.basis else shown.why)
        self._tool(step)
        say_of_step(talk, self._desk, step)
        talk.part("Usual time", duration(step.takes) if step.takes else "")
        if step.reading and said.reading is not None:
            talk.part("Noted before", _verdict(step, said.reading, said.inside))
        self._compare(step)
        talk.part("Cannot be taken back", step.irreversible)

    def _compare(self, step: PlannedStep) -> None:
        """What is other here than at earlier visits."""
        self._talk.part("Here before", differs(self._before, self._session.state, step))

    def _tool(self, step: PlannedStep) -> None:
        """At a step about frequencies: the commands for another window, and what was kept there meanwhile."""
        if step.opens == RADIO:
            self._talk.part("Frequencies, in another window", RADIO_COMMANDS)
            for told in notice_kept(self._desk, self._session):
                self._talk.part("Noted", told)

    def _turn_to(self, section: int) -> None:
        talk, state = self._talk, self._session.state
        talk.say()
        talk.part("Pause point", pause_reached(state))
        now = state.plan.sections[section]
        talk.say(one_line(f"Section {section + 1} of {len(state.plan.sections)}: {now.title} ({now.mode})"))
        if self._section < 0:  # nothing is computed before the first answer; the word time does it at once
            left = progress(state).usual_left
            talk.part("Usual time left", duration(left) if left else "")
        else:
            talk.part("Forecast", self._time.line())
        for caution in now.caution:
            talk.part("Caution", caution)
        self._section = section

    # -- asking for its answer -----------------------------------------------------------------------------------

    def _step(self, step: PlannedStep) -> None:
        before = self._session.state.step(step.key).reading
        self._show(step)
        self._agreed = not step.irreversible
        self._judge = step.reading is None or self._session.state.step(step.key).reading != before
        asked_again = True
        while asked_again:
            typed = self._talk.ask(*self._prompt(step))
            try:
                asked_again = self._take(step, typed)
            except ShowdayError as trouble:
                self._talk.say(str(trouble))

    def _prompt(self, step: PlannedStep) -> tuple[str, str]:
        if not self._agreed:
            return f"yes {step.key}", "Do it now?"
        if step.reading and not self._judge:
            name = step.reading.name or "reading"
            wanted = "" if str(step.reading.wanted) == "any" else f", wanted {step.reading.wanted}"
            return f"reading {step.key} {step.reading.unit}", f"{name}{wanted}?"
        return (f"must {step.key}", "Confirm?") if step.must else (f"step {step.key}", "Result?")

    def _take(self, step: PlannedStep, typed: str) -> bool:
        """Take what was typed; True while the same step is still to be answered."""
        if words.is_help(typed):
            self._help(step)
            return True
        if not self._agreed and words.fold(typed) in ("yes", "y"):
            self._agreed = True
            return True
        number = words.reading(typed, step.reading.unit) if step.reading else None
        found = words.step_word(typed)
        if number is None and found is None:
            self._not_understood(step)
            return True
        if not self._agreed and (
            number is not None or (found and found[0] in (words.GOOD, words.CONFIRM, words.FAULT))
        ):
            self._talk.say("It was not agreed to yet. Answer yes and do it, or later, left out, not here.")
            return True
        if number is not None:
            return self._number(step, number)
        assert found is not None
        return self._act(step, *found, in_full=len(typed) > 1)

    def _act(self, step: PlannedStep, word: str, rest: str, in_full: bool) -> bool:
        if word == words.STOP:
            return not self._stop(in_full)
        return _ACTIONS[word](self, step, rest)

    def _help(self, step: PlannedStep) -> None:
        if step.reading:
            self._talk.say(f"A number is noted as the reading, in {one_line(step.reading.unit, 40)}.")
        self._talk.say("Answer with one of these words, or its letter:")
        for line in words.help_lines(words.STEP_WORDS):
            self._talk.say(line)

    def _not_understood(self, step: PlannedStep) -> None:
        first = "yes, " if not self._agreed else f"{words.CONFIRM}, " if step.must else f"{words.GOOD}, "
        number = "a number, " if step.reading else ""
        self._talk.say(
            f"Not understood. Answer {number}{first}fault, later, left out, not here, note and words, undo or stop; "
            "help explains them."
        )

    # -- the answers ---------------------------------------------------------------------------------------------

    def _number(self, step: PlannedStep, value: float) -> bool:
        self._session.read(value)
        inside = self._session.state.step(step.key).inside
        self._talk.say(one_line(_verdict(step, value, inside)))
        self._compare(step)
        self._judge = True
        if not inside or step.must:
            return True
        self._session.answer(ev.GOOD)
        return False

    def _good(self, step: PlannedStep, rest: str) -> bool:
        if step.must:
            self._talk.say("This step is a must. When it is as wanted, answer confirm.")
            return True
        return self._result(step, ev.GOOD, "")

    def _confirm(self, step: PlannedStep, rest: str) -> bool:
        self._session.answer(ev.GOOD, confirmed=step.must)
        self._talk.say("Noted: confirmed.")
        return False

    def _fault(self, step: PlannedStep, rest: str) -> bool:
        self._result(step, ev.FAULT, rest)
        trees = [t for t in self._desk.trees_for(step) if t.fault in step.if_wrong]
        if trees:
            self._talk.say("Which fault tree?")
            chosen = self._talk.choose(f"tree {step.key}", [str(t.title) for t in trees], words.NONE)
            if chosen is not None:
                self._desk.open_walk(self._session, str(trees[chosen].fault), step)
        return False

    def _later(self, step: PlannedStep, rest: str) -> bool:
        self._session.answer(ev.LATER, reason=rest)
        due = self._session.state.step(step.key).due
        sections = self._session.state.plan.sections
        where = f"it comes back behind '{sections[due].title}'" if due is not None else "it stays owed to the end"
        self._talk.say(one_line(f"Noted: later; {where}."))
        return False

    def _result(self, step: PlannedStep, result: str, reason: str) -> bool:
        self._session.answer(result, reason=reason)
        self._talk.say(f"Noted: {result}.")
        if result == ev.FAULT:
            self._compare(step)
        return False

    def _note(self, step: PlannedStep | None, rest: str) -> bool:
        self._session.record(ev.NoteAdded(rest, step.key if step else ""))
        self._talk.say("Noted.")
        return True

    def _undo(self, step: PlannedStep | None, rest: str) -> bool:
        target = undo_target(self._session.state)
        self._session.undo()
        self._talk.say(f"Taken back: {_named(target.event)}." if target else "Taken back.")
        return False

    def _wrong(self, step: PlannedStep | None, rest: str) -> bool:
        found = [self._desk.library.trees[id] for id in faults_like(self._desk, rest)]
        if not found:
            self._talk.say(f"No fault tree sounds like '{one_line(rest, 60)}'. Use other words.")
            return True
        chosen: int | None = 0
        if len(found) > 1:
            chosen = self._talk.choose("tree", [str(t.title) for t in found], words.NONE)
        if chosen is None:
            return True
        self._desk.open_walk(self._session, str(found[chosen].fault))
        return False

    def _came_back(self, step: PlannedStep | None, rest: str) -> bool:
        walks = [w for w in self._session.state.walks if w.restored and not w.came_back]
        if not walks:
            raise NotAllowed("No fault walk of this run has restored anything.", "Use wrong and what you hear.")
        chosen: int | None = 0
        if len(walks) > 1:
            titles = [f"{w.title}, {w.about}" if w.about else w.title for w in walks]
            chosen = self._talk.choose("walk", titles, words.NONE)
        if chosen is None:
            return True
        walk = walks[chosen]
        self._session.record(ev.CameBack(walk.walk))
        self._talk.say("Noted: it came back; it stands on the to-fix list. Its walk begins again.")
        at = self._session.state.planned(walk.step) if walk.step else None
        self._desk.open_walk(self._session, walk.fault, at)
        return False

    def _away(self, step: PlannedStep | None, rest: str) -> bool:
        names = () if words.fold(rest) in ("nobody", "none") else people_named([rest], self._desk.rig)
        self._desk.set_away(names, self._session)
        self._talk.say(f"Noted: not here are {', '.join(names)}." if names else "Noted: all are here.")
        return False

    def _go(self, step: PlannedStep | None, rest: str) -> bool:
        keys = [s.key for s in self._session.state.plan.steps]
        if rest not in keys:
            meant = nearest(rest, keys)
            raise NotAllowed(
                f"There is no step '{one_line(rest, 60)}' in this run.", f"Did you mean {meant}?" if meant else ""
            )
        self._session.go_to(rest)
        return False

    def _list(self, step: PlannedStep | None, rest: str) -> bool:
        say_list(self._talk, self._session)
        return True

    def _say_time(self, step: PlannedStep | None, rest: str) -> bool:
        return not self._time.talk_over()

    def _to_fix(self, step: PlannedStep | None, rest: str) -> bool:
        say_items(self._talk, self._desk)
        return True

    def _cured(self, step: PlannedStep | None, rest: str) -> bool:
        close_item(self._talk, self._desk, rest)
        return True

    def _interrupt(self, step: PlannedStep | None, rest: str) -> bool:
        self._session.interrupt(rest)
        raise Ended

    def _stop(self, in_full: bool) -> bool:
        """End the run; a single letter needs a yes while anything is open or owed, for letters slip."""
        done = progress(self._session.state)
        if not in_full and (done.open or done.owed):
            self._talk.say(one_line(f"So far: {done.counts()}."))
            if words.fold(self._talk.ask("yes stop", "End the run here for good?")) not in ("yes", "y", words.STOP):
                self._talk.say("Not stopped.")
                return False
        self._session.finish(ev.STOPPED)
        return True

    # -- the end -------------------------------------------------------------------------------------------------

    def _end(self) -> None:
        """Nothing is left to ask: complete, unless a must is owed."""
        state = self._session.state
        self._talk.say()
        self._talk.part("Pause point", pause_reached(state))
        done = progress(state)
        if done.can_complete:
            self._session.finish(ev.COMPLETE)
            return
        for key in done.musts_owed:
            self._talk.part(f"Must owed, {key}", state.planned(key).do)
        typed = self._talk.ask("end", "Go to which step, or stop?")
        try:
            self._take_end(typed)
        except ShowdayError as trouble:
            self._talk.say(str(trouble))

    def _take_end(self, typed: str) -> None:
        word, rest = words.step_word(typed) or ("", typed)
        if word == words.STOP:
            self._stop(in_full=True)
        elif word in _ANYWHERE:
            _ANYWHERE[word](self, None, rest)
        elif any(s.key == typed for s in self._session.state.plan.steps):
            self._session.go_to(typed)
        else:
            self._talk.say("Not understood. Answer with the ID of a step, stop, undo, list, or note and words.")


_Action = Callable[[RunTalk, PlannedStep, str], bool]
_ANYWHERE: dict[str, Callable[[RunTalk, PlannedStep | None, str], bool]] = {
    words.NOTE: RunTalk._note,
    words.UNDO: RunTalk._undo,
    words.WRONG: RunTalk._wrong,
    words.CAME_BACK: RunTalk._came_back,
    words.AWAY: RunTalk._away,
    words.GO: RunTalk._go,
    words.LIST: RunTalk._list,
    words.TIME: RunTalk._say_time,
    words.TO_FIX: RunTalk._to_fix,
    words.CURED: RunTalk._cured,
    words.INTERRUPT: RunTalk._interrupt,
}
_ACTIONS: dict[str, _Action] = {
    words.GOOD: RunTalk._good,
    words.CONFIRM: RunTalk._confirm,
    words.FAULT: RunTalk._fault,
    words.LATER: RunTalk._later,
    words.LEFT_OUT: lambda talk, step, rest: talk._result(step, ev.LEFT_OUT, rest),
    words.NOT_HERE: lambda talk, step, rest: talk._result(step, ev.NOT_HERE, rest),
    **_ANYWHERE,
}


def _verdict(step: PlannedStep, value: float, inside: bool | None) -> str:
    assert step.reading is not None
    number = f"{value:g} {step.reading.unit}"
    if inside is None:
        return f"{number} noted."
    return f"{number}: {'inside' if inside else 'OUTSIDE of'} {step.reading.wanted}."


def _named(event: ev.Event) -> str:
    if isinstance(event, ev.StepAnswered):
        return f"{event.result} at {event.step}"
    if isinstance(event, ev.ReadingTaken):
        return f"the reading at {event.step}"
    if isinstance(event, ev.WalkEnded):
        return "the end of the fault walk"
    return "the note" if isinstance(event, ev.NoteAdded) else "the last entry"
