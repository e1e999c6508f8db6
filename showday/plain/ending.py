"""What is said when a run is gone on with, asked about, and left."""

from __future__ import annotations

from showday.evening import ago
from showday.opening import moment
from showday.plain.talk import Talk
from showday.plain.walk import walk_summary
from showday.run import events as ev
from showday.run.phases import FINISHED
from showday.run.progress import completion_call, progress
from showday.run.session import Session
from showday.run.state import RunState
from showday.text.safe import one_line
from showday.text.values import duration


def say_going_on(talk: Talk, session: Session) -> None:
    """How long the run lay still and what was done last, when it is gone on with."""
    history = session.state.history
    if not history or not isinstance(history[-1].event, ev.RunResumed):
        return
    now = session.world.clock.now()
    gap = history[-1].event.gap
    left = f", left for {duration(gap)}" if gap >= 1 else ""
    talk.say(f"Going on with it: begun {ago(moment(history[0].at), now)}{left}.")
    for entry in reversed(history):
        event = entry.event
        if isinstance(event, ev.RunInterrupted) and event.cue:
            talk.part("You left with", event.cue)
        if isinstance(event, ev.StepAnswered):
            talk.part("Last done", f"{session.state.planned(event.step).do}: {event.result}")
            break


def say_list(talk: Talk, session: Session) -> None:
    """How far the run has come and what is owed."""
    state = session.state
    done = progress(state)
    talk.say(f"{done.counts()}. Worked {duration(session.elapsed)}; usual time left {duration(done.usual_left)}.")
    for key in done.owed:
        must = ", a must" if key in done.musts_owed else ""
        talk.part(f"Owed, {key}{must}", state.planned(key).do)
    for step in state.plan.steps:
        if state.step(step.key).result == ev.FAULT:
            talk.part(f"Fault, {step.key}", step.do)


def say_end(talk: Talk, session: Session) -> None:
    """The closing lines; the last one begins with `complete` or `stopped`."""
    state = session.state
    talk.say()
    if not state.plan.playbook:
        _say_end_of_walks(talk, state)
        return
    if state.phase == FINISHED:
        talk.part("Call", completion_call(state))
        talk.say(f"{state.outcome}: {progress(state).counts()}")
        return
    again = f"`showday run {state.plan.playbook} --plain` goes on with it"
    talk.say(one_line(f"stopped: {progress(state).counts()}; {again}", 600))


def _say_end_of_walks(talk: Talk, state: RunState) -> None:
    walks = [*state.walks, *([state.walk] if state.walk else [])]
    told = "; ".join(map(walk_summary, walks)) or "nothing was walked"
    if state.phase == FINISHED:
        talk.say(one_line(f"{state.outcome}: {told}", 600))
        return
    again = f"; `showday fault {walks[-1].fault} --plain` goes on with it" if walks else ""
    talk.say(one_line(f"stopped: {told}{again}", 600))
