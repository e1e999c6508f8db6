"""The brief: what to know about a venue before going back, and what to add to it."""

from __future__ import annotations

from asyncio import sleep
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType

from showday.evening import ago
from showday.log.records import RunRecord
from showday.memory import brief_of, past_run, runs_at
from showday.opening import moment, place
from showday.review.brief import Brief
from showday.review.past import PastRun
from showday.review.telling import title
from showday.run.touring import TOPICS, Venue, VenueMerged, VenueNoted, VenueRenamed, VenueUnmerged
from showday.text.safe import one_line
from showday.tui import brief_view as view
from showday.tui import commands as cmd
from showday.tui.lines import Line
from showday.tui.screens import choosing, fixing
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.entry import FieldModal, VenueMeant, VenueModal, a_name
from showday.tui.screens.listing import PAGE_UP, Listing, choice
from showday.tui.screens.modals import ChoiceModal, TextModal
from showday.tui.tonight_view import To
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList, Row


class BriefScreen(Listing, ShowdayScreen[None]):
    """One venue, by its id; a venue that was merged shows the one it is part of."""

    WHERE = cmd.BRIEF
    AUTO_FOCUS = "PickList"
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.BRIEF), PAGE_UP]

    def __init__(self, venue: str) -> None:
        super().__init__()
        self._venue = venue
        self._brief: Brief | None = None
        self._unfolded: set[str] = set()
        self._cured: list[str] = []

    @property
    def venue(self) -> Venue | None:
        """The venue as the log has it now."""
        return self.desk.book().venue(self._venue)

    def compose(self) -> ComposeResult:
        """The venue's name, the sections, keys."""
        yield Lines(id="standing")
        yield PickList(id="list")
        yield Lines(id="said")
        yield KeyBar(rows=2, id="keys")

    def on_mount(self) -> None:
        """Show that it is being read."""
        self.list.show([Row("Reading the log …", "dim")])

    def on_screen_resume(self) -> None:
        """On the screen, for the first time or again: read the log anew."""
        self._show_head()
        self._show_keys()
        self.read()

    @work(exclusive=True, group="brief")
    async def read(self) -> None:
        """Read the venue's runs one by one, so that keys are taken between them.

        The log belongs to the thread that opened it, so it cannot be read in another one.
        """
        desk, venue = self.desk, self.venue
        if venue is None:
            self.list.show([Row("This venue is not in the log.", "warning")])
            return
        book = desk.book()
        records: list[RunRecord] = []
        runs: list[PastRun] = []
        with self.saying_why():
            records = runs_at(desk.keeper, book, venue)
        for record in records:
            with self.saying_why():
                run = past_run(desk.keeper, record, desk.plan_of)
                runs += [run] if run else []
            await sleep(0)
        with self.saying_why():
            self._brief = brief_of(desk.keeper, book, venue, runs, desk.plan_of)
        self._show_list()

    def _show_list(self) -> None:
        if self._brief is not None:
            self.list.show(view.rows(self._brief, self._unfolded))
            self._show_head()

    def _show_head(self) -> None:
        venue = self.venue
        brief = self._brief
        lines = [Line("title", title(Brief(venue)) if venue else "Unknown venue")]
        if brief is not None:
            shows = len(brief.shows)
            parts = [f"{shows} shows" if shows != 1 else "one show"]
            last = next((run.started for show in brief.shows for run in show.runs), "")
            parts += [f"last run {ago(moment(last), self.desk.world.clock.now())}"] if last else []
            parts += [f"{len(brief.to_fix_here)} to fix from here"] if brief.to_fix_here else []
            lines.append(Line("count", " | ".join(parts)))
        self.query_one("#standing", Lines).show(lines)

    def _show_keys(self) -> None:
        keys = [
            choice("go-on", "take it"),
            choice("note"),
            choice("change", "name, merge"),
            choice("look-back", "runs"),
        ]
        keys += [choice("undo")] if self._cured else []
        keys += [
            choice("more", "page"),
            choice("notes"),
            choice("find"),
            choice("light"),
            choice("help"),
            choice("back"),
        ]
        self.query_one(KeyBar).show(keys)

    # -- taking a row ------------------------------------------------------------------------------------------

    def take(self, value: object) -> None:
        """A row was taken: fold, an item of the to-fix list, or a run."""
        if not isinstance(value, To) or self._brief is None:
            return
        if value.kind == view.FOLD:
            self._unfolded ^= {value.id}
            self._show_list()
        elif value.kind == view.RUN:
            choosing.look_at(self.showday, value.id)
        elif value.kind == view.FIX:
            items = (*self._brief.to_fix_here, *self._brief.to_fix_elsewhere)
            item = next((i for i in items if i.id == value.id), None)
            if item is not None:
                fixing.ask_about_item(self.showday, item, self._fixed)

    def _fixed(self, closed: str) -> None:
        if closed:
            self._cured.append(closed)
        self._show_keys()
        self.read()

    # -- commands ----------------------------------------------------------------------------------------------

    def action_look_back(self) -> None:
        """The runs at this venue."""
        from showday.tui.screens.past import PastScreen

        self.showday.push_screen(PastScreen(self._venue))

    def action_undo(self) -> None:
        """Open again what was closed here."""
        if fixing.reopen(self.showday, self._cured):
            self._show_keys()
            self.read()

    def action_note(self) -> None:
        """Note something about the venue, by topic."""
        if self.venue is None:
            self.showday.say("This venue is not in the log.", warning=True)
            return

        def chosen(key: str | None) -> None:
            if key is not None:
                topic = TOPICS[int(key) - 1]
                about = view.TOPIC_WORDS.get(topic, topic)
                self.showday.push_screen(TextModal(f"Note: {topic}", about), lambda words: self._noted(topic, words))

        modal = ChoiceModal([Line("title", "What is the note about?")], view.topic_choices())
        self.showday.push_screen(modal, chosen)

    def _noted(self, topic: str, words: str | None) -> None:
        venue = self.venue
        if words and venue is not None:
            with self.saying_why():
                self.desk.record(venue.id, VenueNoted(topic, words))
                self.read()

    def action_change(self) -> None:
        """Give the venue another name or town, or say that it is the same place as another one."""
        venue = self.venue
        if venue is None:
            self.showday.say("This venue is not in the log.", warning=True)
            return
        choices = [
            ("1", f"name: {venue.name}"),
            ("2", f"town: {venue.town or 'not entered'}"),
            ("3", f"country: {venue.country or 'not entered'}"),
            ("4", "it is the same place as another venue"),
            ("5", "add a photo or another file"),
        ]
        if self.desk.book().parts(venue.id):
            choices.append(("6", "take it apart: places that were merged into it"))
        asks = {"1": self._ask_name, "2": self._ask_town, "3": self._ask_country, "4": self._ask_same}
        asks |= {"5": self._ask_file, "6": self._ask_part}
        modal = ChoiceModal([Line("title", "Change the venue"), Line("about", place(venue))], choices)

        def chosen(key: str | None) -> None:
            if key is not None:
                asks[key](venue)

        self.showday.push_screen(modal, chosen)

    def _ask_name(self, venue: Venue) -> None:
        modal = FieldModal("Name", "The old name still finds it", venue.name, a_name)
        self.showday.push_screen(modal, lambda typed: self._rename(venue, typed or "", venue.town, venue.country))

    def _ask_town(self, venue: Venue) -> None:
        modal = FieldModal("Town", one_line(venue.name), venue.town, a_name)
        self.showday.push_screen(modal, lambda typed: self._rename(venue, venue.name, typed or "", venue.country))

    def _ask_country(self, venue: Venue) -> None:
        modal = FieldModal("Country", one_line(venue.name), venue.country, a_name)
        self.showday.push_screen(modal, lambda typed: self._rename(venue, venue.name, venue.town, typed or ""))

    def _rename(self, venue: Venue, name: str, town: str, country: str) -> None:
        now = (name.strip() or venue.name, town.strip() or venue.town, country.strip() or venue.country)
        if now != (venue.name, venue.town, venue.country):
            with self.saying_why():
                self.desk.record(venue.id, VenueRenamed(*now))
                self.read()

    def _ask_same(self, venue: Venue) -> None:
        book = self.desk.book()

        def told(meant: VenueMeant | None) -> None:
            other = book.venue(meant.id) if meant and meant.id else None
            if other is not None:
                self._ask_merge(venue, other)

        self.showday.push_screen(
            VenueModal("Which venue is the same place?", book, new=False, without=venue.id), told
        )

    def _ask_merge(self, venue: Venue, other: Venue) -> None:
        lines = [
            Line("title", "Are these one place?"),
            Line("text", f"{place(venue)} becomes part of {place(other)}, with all its notes and runs."),
            Line("about", "Nothing of either is lost; x on the brief takes them apart again."),
        ]

        def told(key: str | None) -> None:
            if key == "y":
                with self.saying_why():
                    self.desk.record(venue.id, VenueMerged(other.id))
                    self.showday.say(f"One place now: {place(other)}.")
                    self._brief = None
                    self.read()

        self.showday.push_screen(ChoiceModal(lines, [("y", "yes, one place")]), told)

    def _ask_file(self, venue: Venue) -> None:
        def kept() -> None:
            self.read()

        fixing.ask_file(self.showday, venue.id, place(venue), kept)

    def _ask_part(self, venue: Venue) -> None:
        """Which of the places that were merged into this one is a place of its own after all."""
        parts = self.desk.book().parts(venue.id)[:9]
        choices = [(str(n), place(part)) for n, part in enumerate(parts, 1)]
        lines = [
            Line("title", "Which is a place of its own?"),
            Line("about", "Its shows, runs and notes go with it."),
        ]

        def told(key: str | None) -> None:
            if key is not None:
                part = parts[int(key) - 1]
                with self.saying_why():
                    self.desk.record(part.id, VenueUnmerged())
                    self.showday.say(f"A place of its own again: {place(part)}.")
                    self.read()

        self.showday.push_screen(ChoiceModal(lines, choices), told)
