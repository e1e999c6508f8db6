"""What happens when a run or a playbook is taken from a list: the same on every screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.events import ScreenResume

from showday.errors import ShowdayError
from showday.evening import PlaybookGlance, RunGlance, evening
from showday.playbook.search import Entry as Findable
from showday.run import events as ev
from showday.run.phases import FINISHED
from showday.run.progress import current
from showday.run.state import WalkState, undo_target
from showday.run.to_fix import ToFixClosed, item_words
from showday.tui.lines import Line
from showday.tui.screens.modals import ChoiceModal

if TYPE_CHECKING:
    from showday.tui.app import ShowdayApp


def look_at(app: ShowdayApp, run: str, walk: str = "") -> None:
    """Show a run of the log, read only."""
    from showday.tui.screens.past_run import PastRunScreen

    app.push_screen(PastRunScreen(run, walk))


def leave_open_run(app: ShowdayApp, but: str = "") -> None:
    """Close the screens of the run that is open, unless it is the run `but`; it keeps its place in the log."""
    from showday.tui.screens.run import RunScreen
    from showday.tui.screens.walk import WalkScreen

    if app.session is None or app.session.state.run == but:
        return
    app.session = None
    while any(isinstance(screen, (RunScreen, WalkScreen)) for screen in app.screen_stack[2:]):
        app.pop_screen()


def open_found(app: ShowdayApp, found: Findable) -> None:
    """What was found: a fault is walked, a playbook opened, a step gone to when its run is open, a venue is shown,
    words are looked for in the notes."""
    if found.kind == "fault":
        app.open_walk(found.id)
    elif found.kind == "notes":
        app.open_notes(found.id)
    elif found.kind == "venue":
        app.open_brief(found.id)
    else:
        playbook, _, step = found.id.partition("/")
        if not _is_open(app, playbook):
            glance = next((p for p in evening(app.desk).playbooks if p.id == playbook), None)
            open_playbook(app, glance or PlaybookGlance(playbook, playbook, ""))
        elif step:
            _go_to(app, step)


def _is_open(app: ShowdayApp, playbook: str) -> bool:
    """Whether the run that is open is one of this playbook."""
    session = app.session
    return session is not None and session.state.plan.playbook == playbook and session.state.phase != FINISHED


def _go_to(app: ShowdayApp, step: str) -> None:
    """Go to a step of the open run: for the thing that is before the person, else to the first of its kind."""
    session = app.session
    if session is None:
        return
    now = current(session.state)
    of_kind = [s for s in session.state.plan.steps if s.id == step]
    here = [s for s in of_kind if now is not None and s.thing == now.thing]
    if of_kind:
        session.go_to((here or of_kind)[0].key)
        app.screen.post_message(ScreenResume())


def go_on_with(app: ShowdayApp, run: str) -> None:
    """Go on with an unfinished run; the one that is open already is shown as it stands."""
    session = app.session
    if session is not None and session.state.run == run and session.state.phase != FINISHED:
        app.open_run(session)
        return
    leave_open_run(app)
    app.resume_run(run)


def go_back_into(app: ShowdayApp, run: str) -> None:
    """Take back the end of a finished run and go on with it."""
    try:
        session = app.desk.resume_run(run)
        last = undo_target(session.state)
        if last is not None and isinstance(last.event, ev.RunFinished):
            session.undo()
        leave_open_run(app)
        app.open_run(session)
    except ShowdayError as trouble:
        app.say(str(trouble), warning=True)


def start(app: ShowdayApp, playbook: str) -> None:
    """Begin a new run of a playbook."""
    leave_open_run(app)
    app.start_playbook(playbook)


def open_playbook(app: ShowdayApp, glance: PlaybookGlance) -> None:
    """Begin a playbook, go on with tonight's run of it, or ask when that one is over."""
    if glance.run is None:
        start(app, glance.id)
    elif glance.run.unfinished:
        go_on_with(app, glance.run.record.id)
    else:
        ask_about_run(app, glance.run, again=glance.id)


def ask_about_run(app: ShowdayApp, glance: RunGlance, again: str = "") -> None:
    """A run that is over: look at it, go back into it, or run its playbook again."""
    run = glance.record.id
    lines = [Line("title", f"{glance.record.title} is over"), Line("about", glance.status)]
    lines += [Line("must", f"! MUST owed: {text}") for text in glance.owed[:4]]
    choices = [("1", "look at it"), ("2", "go back into it: its end is taken back")]
    choices += [("3", "run it again from the beginning")] if again else []

    def chosen(key: str | None) -> None:
        if key == "1":
            look_at(app, run)
        elif key == "2":
            go_back_into(app, run)
        elif key == "3":
            start(app, again)

    app.push_screen(ChoiceModal(lines, choices), chosen)


def ask_to_close(app: ShowdayApp, walk: WalkState, cause: str, then: Callable[[], None]) -> None:
    """After a walk that sought the cause of a to-fix item, found it and cured it: offer to close the item.

    `cause` in words. `then` is called in any case, last.
    """
    item = app.desk.book().items.get(walk.item) if cause and walk.restored and not walk.workaround else None
    if item is None or item.closed:
        then()
        return

    def told(answer: str | None) -> None:
        if answer == "1":
            try:
                app.desk.record(walk.item, ToFixClosed(cause))
            except ShowdayError as trouble:
                app.say(str(trouble), warning=True)
        then()

    lines = [Line("title", "Found and cured. Is this item done?"), Line("text", item_words(item))]
    choices = [("1", "yes: close it"), ("2", "no: leave it on the to-fix list")]
    app.push_screen(ChoiceModal(lines, choices, "leave it"), told)
