"""The first screen: tonight's show, what to go on with, the day's playbooks, what is owed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType

from showday.evening import Evening, change_show, evening, glances, shows_of
from showday.opening import show_day
from showday.run.touring import Show
from showday.tui import commands as cmd
from showday.tui import tonight_view as view
from showday.tui.lines import Line
from showday.tui.screens import choosing, fixing
from showday.tui.screens.away import ask_who_is_away
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.entry import FactsModal, FieldModal, VenueMeant, a_date, a_slot, ask_venue, minutes
from showday.tui.screens.listing import PAGE_UP, Listing, choice
from showday.tui.screens.modals import ChoiceModal
from showday.tui.screens.problems import file_problems
from showday.tui.tools import PAINTED, PAUSE
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList

NO_RIG = "! No rig is read, so no line and no pack is asked; `showday where` says where its file goes"
AGAIN = 20.0
"""Seconds after which what depends on the clock is shown anew."""


class TonightScreen(Listing, ShowdayScreen[None]):
    """Tonight. Everything on it is read from the log each time it comes up."""

    WHERE = cmd.TONIGHT
    AUTO_FOCUS = "PickList"
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.TONIGHT), *cmd.digit_bindings(), PAGE_UP]

    def __init__(self) -> None:
        super().__init__()
        self._evening = Evening(())
        self._cured: list[str] = []
        self._broken = 0
        self._leaving = False
        self._next: view.To | None = None

    def compose(self) -> ComposeResult:
        """The show above, the list, keys below."""
        yield Lines(id="standing")
        yield PickList(id="list")
        yield Lines(id="said")
        yield KeyBar(rows=2, id="keys")

    def on_mount(self) -> None:
        """Follow the clock."""
        self.set_interval(AGAIN, self._tick)

    def on_screen_resume(self) -> None:
        """On the screen, for the first time or again: read everything anew."""
        self._leaving = False
        if not self.showday.whole:
            self._show_titles()
            self.set_timer(PAINTED, self._make_desk)
        elif self.desk.library.is_read:
            self._broken = self._count_broken()
            self.show_all()
        else:
            self.show_all()
            self.set_timer(PAINTED, self._look_at_files)

    def _make_desk(self) -> None:
        """Once the titles stand, make the rest of the desk; a key that comes between and needs it waits for that."""
        with self.saying_why():
            if self.showday.make_some():
                self.set_timer(PAUSE, self._make_desk)
                return
        self.show_all()
        self._look_at_files()

    def _look_at_files(self) -> None:
        """Once the screen stands, read what is left of the files, one at a time; then say how many have problems."""
        if self.desk.library.read_some():
            self.set_timer(PAUSE, self._look_at_files)
        elif self._broken != (broken := self._count_broken()):
            self._broken = broken
            self.show_all()

    def _count_broken(self) -> int:
        return sum(1 for found in file_problems(self.desk) if found.errors)

    # -- what it says ------------------------------------------------------------------------------------------

    @property
    def today(self) -> str:
        """The day that tonight belongs to."""
        return show_day(self.desk.world.clock.now()).isoformat()

    def show_all(self) -> None:
        """Read the evening and show it. The mark goes to what comes next when that has changed, else it stays."""
        with self.saying_why():
            desk = self.desk
            self._evening = evening(desk)
            book, now = desk.book(), desk.world.clock.now()
            first = not book.venues and not desk.keeper.runs(limit=1)
            made = view.rows(self._evening, book, desk.tonight(), shows_of(desk, self.today), first, now)
            with self.showday.batch_update():
                self._show_head()
                comes = None if first else view.next_of(self._evening)
                self.list.show(made, comes if comes != self._next else None)
                self._next = comes
                self._show_keys(first)

    def _show_titles(self) -> None:
        """What is known before the example act's log is written."""
        self._evening = Evening(glances(self.showday.titles))
        self.query_one("#standing", Lines).show(view.coming_lines())
        self._next = view.next_of(self._evening)
        self.list.show(view.title_rows(self._evening.playbooks), self._next)
        self.query_one(KeyBar).show(
            [choice("go-on", "take it"), choice("wrong"), choice("help"), choice("back", "quit")]
        )

    def _show_head(self) -> None:
        desk = self.desk
        lines = view.head_lines(desk.tonight(), desk.book(), desk.away(), desk.world.clock.now(), self.today)
        if desk.example:
            lines.append(Line("warning", "! The example act: nothing of it is kept"))
        if desk.rig_source is None:
            lines.append(Line("warning", NO_RIG))
        if self._broken:
            files = "One file has" if self._broken == 1 else f"{self._broken} files have"
            lines.append(Line("warning", f"! {files} problems: p"))
        if desk.keeper.warning:
            lines.append(Line("warning", f"! {desk.keeper.warning} {desk.keeper.hint}".strip()))
        self.query_one("#standing", Lines).show(lines)

    def _show_keys(self, first: bool) -> None:
        show = self.desk.tonight()
        keys = [choice("go-on", "take it"), choice("wrong")]
        keys += [choice("change", "show" if show else "enter venue")]
        keys += [choice("venue")] if show else []
        keys += [choice("away")] if self.desk.rig.people else []
        keys += [choice("problems")] if self._broken else []
        keys += [choice("undo")] if self._cured else []
        keys += [
            choice("show-list", "to fix"),
            choice("look-back", "past runs"),
            choice("notes"),
            choice("find"),
            *([choice("radio")] if self.desk.rig.transmitters else []),
            choice("light"),
            choice("help"),
            choice("back", "quit"),
        ]
        self.query_one(KeyBar).show(keys)

    def _tick(self) -> None:
        if self.desk.keeper.pending:
            self.desk.keeper.retry()
        if self.is_current:
            self._show_head()

    # -- taking a row ------------------------------------------------------------------------------------------

    def action_choose(self, digit: int) -> None:
        """The playbook of that number."""
        if digit <= len(self._evening.playbooks):
            with self.saying_why():
                choosing.open_playbook(self.showday, self._evening.playbooks[digit - 1])

    def take(self, value: object) -> None:
        """A row was taken."""
        if isinstance(value, view.To):
            with self.saying_why():
                self._takes[value.kind](self, value.id)

    def _take_run(self, run: str) -> None:
        choosing.go_on_with(self.showday, run)

    def _take_playbook(self, id: str) -> None:
        glance = next((p for p in self._evening.playbooks if p.id == id), None)
        if glance is not None:
            choosing.open_playbook(self.showday, glance)

    def _take_fix(self, id: str) -> None:
        item = next((i for i in self._evening.to_fix if i.id == id), None)
        if item is not None:
            fixing.ask_about_item(self.showday, item, self._fixed)

    def _fixed(self, closed: str) -> None:
        if closed:
            self._cured.append(closed)
        self.show_all()

    def _take_owed(self, id: str) -> None:
        run = id.split()[0]
        glance = next((p.run for p in self._evening.playbooks if p.run and p.run.record.id == run), None)
        if glance is None or glance.unfinished:
            choosing.go_on_with(self.showday, run)
        else:
            choosing.ask_about_run(self.showday, glance, again=glance.record.playbook)

    def _take_show(self, id: str) -> None:
        self.desk.show = id
        self.show_all()

    _takes: ClassVar[dict[str, Callable[[Any, str], None]]] = {
        view.RUN: _take_run,
        view.PLAYBOOK: _take_playbook,
        view.FIX: _take_fix,
        view.OWED: _take_owed,
        view.SHOW: _take_show,
        view.CHANGE: lambda screen, _: screen.action_change(),
        view.DEMO: lambda screen, _: screen.showday.open_demo(),
        view.VENUE: lambda screen, _: screen.action_venue(),
        view.PAST: lambda screen, _: screen.action_look_back(),
    }

    # -- commands ----------------------------------------------------------------------------------------------

    def action_venue(self) -> None:
        """What is known of tonight's venue."""
        show = self.desk.tonight()
        if show is None:
            self.showday.say("No venue is entered: x enters it.", warning=True)
        else:
            self.showday.open_brief(show.venue)

    def action_look_back(self) -> None:
        """Runs of the past."""
        self.showday.open_past()

    def action_show_list(self) -> None:
        """The whole to-fix list."""
        self.showday.open_to_fix()

    def action_problems(self) -> None:
        """What is wrong in files."""
        self.showday.open_problems()

    def action_away(self) -> None:
        """Who is not here."""
        if self.desk.tonight() is None:
            self.showday.say("Enter tonight's venue first: x.", warning=True)
            return
        ask_who_is_away(self.showday, None, self.show_all)

    def action_undo(self) -> None:
        """Open again what was closed here."""
        if fixing.reopen(self.showday, self._cured):
            self.show_all()

    def action_back(self) -> None:
        """Quit, but only with the key pressed twice: one too many on the way back must not end the evening."""
        if self._leaving:
            self.showday.go_back()
        else:
            self.showday.say("Everything is saved. Once more quits.")
            self._leaving = True

    def on_key(self, event: events.Key) -> None:
        """Any other key means to stay."""
        super().on_key(event)
        self._leaving = self._leaving and event.key in cmd.command("back").keys

    # -- tonight's show ----------------------------------------------------------------------------------------

    def action_change(self) -> None:
        """Enter tonight's show, or change one thing of it."""
        show = self.desk.tonight()
        if show is None:
            self._ask_venue("Where do you play tonight?", self._new_show)
            return
        venue = self.desk.book().venue(show.venue)
        changeover = f"{show.changeover:g} min" if show.changeover else "not entered"
        choices = [
            ("1", f"venue: {venue.name if venue else 'unknown'}"),
            ("2", f"date: {show.date}"),
            ("3", f"stage time: {show.slot or 'not entered'}"),
            ("4", f"changeover: {changeover}"),
            ("5", f"facts: {', '.join(show.facts) or 'none'}"),
            ("6", "another show, at another place or day"),
            ("7", "add a photo or another file of it"),
        ]
        asks: dict[str, Callable[[], None]] = {
            "1": lambda: self._ask_venue("Which venue is it?", self._other_venue),
            "2": self._ask_date,
            "3": lambda: self._ask_slot(chain=False),
            "4": self._ask_changeover,
            "5": self._ask_facts,
            "6": lambda: self._ask_venue("Where is the other show?", self._other_show),
            "7": lambda: fixing.ask_file(self.showday, show.id, "of tonight's show", self.show_all),
        }
        modal = ChoiceModal([Line("title", "Change tonight's show")], choices)

        def chosen(key: str | None) -> None:
            if key is not None:
                asks[key]()

        self.showday.push_screen(modal, chosen)

    def _ask_venue(self, title: str, then: Callable[[str], None]) -> None:
        def told(meant: VenueMeant | None) -> None:
            if meant is not None:
                with self.saying_why():
                    then(meant.id or self.desk.add_venue(meant.name))

        ask_venue(self.showday, title, told)

    def _new_show(self, venue: str) -> None:
        self.desk.plan_show(venue, self.today)
        self.show_all()
        self._ask_slot(chain=True)

    def _other_venue(self, venue: str) -> None:
        self._write(venue=venue)

    def _other_show(self, venue: str) -> None:
        def told(day: str | None) -> None:
            if day is not None:
                with self.saying_why():
                    self.desk.plan_show(venue, a_date(day))
                    self.show_all()
                    self._ask_slot(chain=True)

        self.showday.push_screen(FieldModal("Which day?", "YYYY-MM-DD", self.today, a_date), told)

    def _write(self, **changed: Any) -> None:
        """Write tonight's show with something changed."""
        with self.saying_why():
            show: Show | None = self.desk.tonight()
            if show is not None:
                change_show(self.desk, replace(show, **changed))
            self.show_all()

    def _ask_date(self) -> None:
        show = self.desk.tonight()

        def told(day: str | None) -> None:
            if day is not None:
                self._write(date=a_date(day))

        self.showday.push_screen(FieldModal("Date", "YYYY-MM-DD", show.date if show else self.today, a_date), told)

    def _ask_slot(self, *, chain: bool) -> None:
        show = self.desk.tonight()

        def told(typed: str | None) -> None:
            if typed is not None:
                self._write(slot=a_slot(typed))
            if chain and typed is not None:
                self._ask_changeover()

        about = "HH:MM, such as 21:30; Enter alone when it is not known"
        self.showday.push_screen(FieldModal("Stage time", about, show.slot if show else "", a_slot), told)

    def _ask_changeover(self) -> None:
        show = self.desk.tonight()
        held = f"{show.changeover:g}" if show and show.changeover else ""

        def told(typed: str | None) -> None:
            if typed is not None:
                self._write(changeover=minutes(typed))

        about = "minutes you have on stage before you play; Enter alone when it is not known"
        self.showday.push_screen(FieldModal("Changeover", about, held, minutes), told)

    def _ask_facts(self) -> None:
        show = self.desk.tonight()

        def told(facts: tuple[str, ...] | None) -> None:
            if facts is not None:
                self._write(facts=facts)

        self.showday.push_screen(FactsModal(show.facts if show else ()), told)
