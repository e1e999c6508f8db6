"""What can be done with an item of the to-fix list, and with files that belong to something: the same on every screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from showday.attachments import file_lines, is_there, named
from showday.errors import ShowdayError
from showday.opening import show_day
from showday.playbook.model import TO_FIX
from showday.run import events as ev
from showday.run.attached import FileAttached
from showday.run.plan import PlannedStep
from showday.run.to_fix import (
    ToFix,
    ToFixAssigned,
    ToFixClosed,
    ToFixNoted,
    ToFixOpened,
    ToFixReopened,
    item_words,
)
from showday.tui.lines import Line
from showday.tui.screens.choosing import look_at
from showday.tui.screens.entry import FieldModal, a_day_or_nothing
from showday.tui.screens.modals import ChoiceModal, TextModal

if TYPE_CHECKING:
    from showday.tui.app import ShowdayApp

After = Callable[[str], None]
"""Given the id of an item that was closed, or an empty text when something else was written."""


def write(app: ShowdayApp, stream: str, event: ev.Event, said: str) -> bool:
    """Write one event and say so; False when the log refuses it."""
    try:
        app.desk.record(stream, event)
    except ShowdayError as trouble:
        app.say(str(trouble), warning=True)
        return False
    app.say(said)
    return True


def ask_about_item(app: ShowdayApp, item: ToFix, after: After) -> None:
    """An item of the to-fix list: cured, a note, who and when, a file, the run it came from, its cause."""
    files = file_lines(app.desk.book().files_of(item.id))
    lines = [Line("title", "To fix"), Line("text", item_words(item))]
    lines += [Line("about", f"file: {file}") for file in files]
    first = ("1", "it is not cured after all: open it again") if item.closed else ("1", "it is cured: close it")
    choices = [first, ("2", "write a note about it")]
    choices += [("3", "look at the run it came from")] if item.run else []
    choices += [("4", "look for its cause, from what was found out then")] if item.walk and not item.closed else []
    choices += [] if item.closed else [("5", "who sees to it, and by when")]
    choices += [("6", "add a photo or another file")]

    def wrote(event: ev.Event, said: str, closed: str = "") -> None:
        if write(app, item.id, event, said):
            after(closed)

    def noted(words: str | None) -> None:
        if words:
            wrote(ToFixNoted(words), "Noted.")

    def reopened(why: str | None) -> None:
        if why is not None:
            wrote(ToFixReopened(why), "Opened again.")

    def chosen(key: str | None) -> None:
        if key == "1" and item.closed:
            app.push_screen(TextModal("Why is it open again?", "Enter alone opens it without words"), reopened)
        elif key == "1":
            _ask_how(app, lambda how, by: wrote(ToFixClosed(how, by), "Closed. u opens it again.", item.id))
        elif key == "2":
            app.push_screen(TextModal("Note about it", item.text, needed=True), noted)
        elif key == "3":
            look_at(app, item.run, item.walk)
        elif key == "4":
            app.open_hunt(item)
        elif key == "5":
            _ask_who(app, item, lambda who, due: wrote(ToFixAssigned(who, due), "Noted."))
        elif key == "6":
            ask_file(app, item.id, item.text, lambda: after(""))

    app.push_screen(ChoiceModal(lines, choices), chosen)


def open_of_step(app: ShowdayApp, step: PlannedStep, after: Callable[[], None]) -> bool:
    """What a step is about on the to-fix list: one item, or the whole list; False when it is about neither."""
    item = app.desk.item_of(step)
    if item is not None:
        ask_about_item(app, item, lambda closed: after())
    elif step.opens == TO_FIX:
        app.open_to_fix()
    return item is not None or step.opens == TO_FIX


def _ask_how(app: ShowdayApp, then: Callable[[str, str], None]) -> None:
    """How an item was cured, then by whom when the rig names anybody."""

    def told(how: str | None) -> None:
        if how is None:
            return
        if not app.desk.rig.people:
            then(how, "")
            return
        _ask_person(app, "Who cured it?", lambda who: then(how, who))

    app.push_screen(TextModal("How was it cured?", "Enter alone closes it without words"), told)


def _ask_person(app: ShowdayApp, title: str, then: Callable[[str], None]) -> None:
    """One of the rig's people by digit; none of them gives an empty name."""
    people = [str(person.name) for person in app.desk.rig.people][:9]
    choices = [(str(n), name) for n, name in enumerate(people, 1)]

    def told(key: str | None) -> None:
        then(people[int(key) - 1] if key else "")

    app.push_screen(ChoiceModal([Line("title", title)], choices, "nobody is named"), told)


def _ask_who(app: ShowdayApp, item: ToFix, then: Callable[[str, str], None]) -> None:
    today = show_day(app.desk.world.clock.now())

    def due(who: str) -> None:
        def told(day: str | None) -> None:
            if day is not None:
                then(who, a_day_or_nothing(day, today))

        about = "in how many days, such as 3, or YYYY-MM-DD; Enter alone when there is no day"
        app.push_screen(
            FieldModal("By which day?", about, item.due, lambda text: a_day_or_nothing(text, today)), told
        )

    def by_hand(who: str | None) -> None:
        if who is not None:
            due(who)

    if app.desk.rig.people:
        _ask_person(app, "Who sees to it?", due)
    else:
        app.push_screen(TextModal("Who sees to it?", "Enter alone for nobody"), by_hand)


def ask_file(app: ShowdayApp, stream: str, about: str, after: Callable[[], None]) -> None:
    """Attach a file to a venue, a show or an item: its path, then what is to be seen in it."""

    def told(typed: str | None) -> None:
        if typed is None:
            return
        try:
            path = named(typed)
        except ShowdayError as trouble:
            app.say(str(trouble), warning=True)
            return
        app.push_screen(TextModal("What is to be seen in it?", path), lambda words: kept(path, words))

    def kept(path: str, words: str | None) -> None:
        if words is None:
            return
        gone = "" if is_there(path) else " It is not there now."
        if write(app, stream, FileAttached(path, words), f"The path is kept; the file stays where it is.{gone}"):
            after()

    app.push_screen(TextModal("Where is the photo or file?", about, needed=True), told)


def ask_new_item(app: ShowdayApp, after: Callable[[], None]) -> None:
    """A new item of the to-fix list, of tonight's show when there is one."""

    def told(words: str | None) -> None:
        if not words:
            return
        show = app.desk.tonight()
        opened = ToFixOpened(words, venue=show.venue if show else "", show=show.id if show else "")
        if write(app, app.desk.world.new_id(), opened, "On the to-fix list."):
            after()

    app.push_screen(TextModal("What is to be fixed?", "in a few words", needed=True), told)


def reopen(app: ShowdayApp, closed: list[str]) -> bool:
    """Open the item closed last again; False when none was closed here."""
    if not closed:
        app.say("Nothing was closed here.", warning=True)
        return False
    if not write(app, closed[-1], ToFixReopened(), "Opened again."):
        return False
    closed.pop()
    return True
