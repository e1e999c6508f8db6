"""Hands on the table of frequencies: move, type, hold, drop, add, and what is wished for."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from showday.errors import NotAllowed, RadioTrouble
from showday.radio.drawing import short
from showday.radio.units import band, frequency
from showday.radio.what_if import Table
from showday.radio.wishes import FIELDS, SELDOM, Wish
from showday.tui.lines import Line
from showday.tui.screens.entry import FieldModal
from showday.tui.screens.modals import ChoiceModal
from showday.tui.screens.radio_base import RadioBase
from showday.tui.screens.radio_move import MoveModal

SPARE, CARRIER, OTHER_ACT, BAND, OURS_ON, REST = "s", "c", "f", "b", "o", "m"
ADDED = (
    (SPARE, "add a spare"),
    (CARRIER, "add one more carrier of yours"),
    (OTHER_ACT, "add a carrier of another act: it makes products too"),
    (BAND, "add a band to stay out of"),
    (OURS_ON, "yours were on during the sweep"),
    (REST, "more: products of the sweep, edge, seventh order"),
)
"""What can be changed beside the wishes, by key."""
LONGER = {
    "third": "off third order",
    "fifth": "off fifth order",
    "seventh": "off seventh order",
    "edge": "off what is occupied",
}
"""Names of wishes that a list has room to say."""
MOST_MISSING = 9
"""Transmitters that can be chosen by a digit."""


def refusing(check: Callable[[str], object]) -> Callable[[str], object]:
    """A check for a field: what the radio refuses is said beside the field."""

    def run(text: str) -> object:
        try:
            return check(text)
        except RadioTrouble as trouble:
            raise ValueError(str(trouble)) from None

    return run


class Hands(RadioBase):
    """Everything that changes the table by hand."""

    def _marked(self) -> int:
        """The marked row's index; NotAllowed when there is none."""
        self.must_rest()
        if self.row >= len(self.held.table.rows):
            raise NotAllowed("There is no carrier here yet.", "x adds one, F9 plans them.")
        return self.row

    def _change(self, table: Table) -> None:
        self.held.change(table)
        self.look_at_row(self.row)

    def _move(self, steps: int) -> None:
        with self.saying_why():
            index = self._marked()
            row = self.held.table.rows[index]
            if row.hz is None:
                raise NotAllowed("It stands nowhere yet.", "Enter types its frequency, F9 plans it.")
            moved = self.held.table.move(index, steps)
            if moved.rows[index].hz == row.hz:
                raise NotAllowed(f"{row.name or 'It'} cannot be tuned any further.")
            if row.held:
                moved = moved.hold(index)
                self.showday.say("No longer held: you moved it.")
            self._change(moved)

    def action_lower(self) -> None:
        """One step down."""
        self._move(-1)

    def action_higher(self) -> None:
        """One step up."""
        self._move(1)

    def action_go_on(self) -> None:
        """Move the marked row, or type where it stands."""
        with self.saying_why():
            index = self._marked()
            before = self.held.table.rows[index].hz

            def told(table: Table | None) -> None:
                if table is not None and table.rows[index].hz != before:
                    self._change(table)

            self.showday.push_screen(MoveModal(self.held, index), told)

    def action_must(self) -> None:
        """Hold it, or let it go."""
        with self.saying_why():
            self._change(self.held.table.hold(self._marked()))
            row = self.held.table.rows[self.row]
            self.showday.say("Held: the next plan leaves it there." if row.held else "Let go.")

    def action_leave_out(self) -> None:
        """Take it out."""
        with self.saying_why():
            index = self._marked()
            row = self.held.table.rows[index]
            self.row = max(0, min(index, len(self.held.table.rows) - 2))
            self._change(self.held.table.drop(index))
            name = row.name or ("A spare" if row.spare else "A carrier")
            self.showday.say(f"{name} is taken out: u brings it back.")

    def action_undo(self) -> None:
        """Undo."""
        with self.saying_why():
            self.must_rest()
            if not self.held.take_back():
                raise NotAllowed("Nothing was changed here yet.")
            self.look_at_row(min(self.row, max(len(self.held.table.rows) - 1, 0)))
            self.showday.say("Taken back.")

    # -- what to plan, and adding ------------------------------------------------------------------------------

    def action_change(self) -> None:
        """Show every wish with its value, and what can be added; one key changes one thing."""
        with self.saying_why():
            self.must_rest()
            rows = self._numbered(FIELDS)
            on = "yes" if self.mine_on else "no"
            rows += [(key, f"{words}: {on}" if key == OURS_ON else words) for key, words in ADDED]
            lines = [Line("title", "Change what is planned, or add")]
            self.showday.push_screen(ChoiceModal(lines, rows), self._to_change)

    def _numbered(self, wishes: Sequence[Wish]) -> list[tuple[str, str]]:
        """Each wish with its value, by a digit."""
        shown = [self._said(wish, wish.shown(self.held.wishes) or "none") for wish in wishes]
        named = [LONGER.get(wish.name, wish.name) for wish in wishes]
        return [(str(n), f"{name}: {value}") for n, (name, value) in enumerate(zip(named, shown, strict=True), 1)]

    def _change_rest(self) -> None:
        """What is seldom changed."""

        def told(key: str | None) -> None:
            if key is None:
                self.action_change()
            else:
                self._ask_wish(SELDOM[int(key) - 1], then=self._change_rest)

        lines = [Line("title", "Seldom changed"), Line("about", self.held.sources.sentence)]
        self.showday.push_screen(ChoiceModal(lines, self._numbered(SELDOM)), told)

    def _to_change(self, key: str | None) -> None:
        if key is None:
            return
        if key.isdigit():
            self._ask_wish(FIELDS[int(key) - 1], then=self.action_change)
        elif key == REST:
            self._change_rest()
        elif key == BAND:
            self._add_band()
        elif key == OURS_ON:
            self.mine_on_or_off()
        elif key == CARRIER and self.held.table.missing:
            self._add_missing()
        else:
            self._add_at(key, "")

    def _add_missing(self) -> None:
        """Which carrier of ours: a transmitter that has no row, or one that the rig file does not have."""
        missing = self.held.table.missing[:MOST_MISSING]
        choices = [(str(n), f"{tuner.name}, a transmitter of the rig") for n, tuner in enumerate(missing, 1)]
        choices.append((CARRIER, "another one"))

        def chosen(key: str | None) -> None:
            if key is not None:
                self._add_at(CARRIER, missing[int(key) - 1].name if key.isdigit() else "")

        self.showday.push_screen(ChoiceModal([Line("title", "Which carrier of yours?")], choices), chosen)

    def _add_at(self, key: str, name: str) -> None:
        def told(text: str | None) -> None:
            if text is None:
                return
            with self.saying_why():
                at = frequency(text)
                if key == OTHER_ACT:
                    self.held.add_foreign(at)
                    self.show_all()
                    return
                self.held.change(self.held.table.add(at, name=name, spare=key == SPARE))
                rows = self.held.table.rows
                self.look_at_row(next(n for n in range(len(rows) - 1, -1, -1) if rows[n].hz == at))

        titles = {SPARE: "A spare at", CARRIER: "A carrier at", OTHER_ACT: "Another act's carrier at"}
        about = "MHz; the cursor's frequency unless you type another"
        at = short(round(self.cursor, -3))
        self.showday.push_screen(FieldModal(titles.get(key, f"{name} at"), about, at, refusing(frequency)), told)

    def _add_band(self) -> None:
        def told(text: str | None) -> None:
            if text is not None:
                with self.saying_why():
                    self.held.add_avoid(band(text))
                    self.show_all()

        about = "MHz from low to high, such as 610-611"
        self.showday.push_screen(FieldModal("Stay out of", about, "", refusing(band)), told)

    def _said(self, wish: Wish, shown: str) -> str:
        """A value with what it means when it is left as it is."""
        if wish.name == "carriers" and shown == "0":
            mains = sum(1 for row in self.held.table.rows if not row.spare)
            return f"{mains}, one for each row of the table"
        if wish.name == "ranges" and shown == "none":
            swept = " and was swept" if self.held.seen is not None else ""
            return f"wherever a transmitter reaches{swept}"
        if wish.name == "products of the sweep":
            return "not counted" if shown == "0" else f"of its {shown} strongest carriers"
        return f"{shown} kHz" if wish.name in ("spacing", *LONGER) else shown

    def _ask_wish(self, wish: Wish, then: Callable[[], None]) -> None:
        wishes = self.held.wishes

        def told(text: str | None) -> None:
            if text is not None:
                with self.saying_why():
                    changed = wish.put(wishes, text)
                    if changed != wishes:
                        self.held.wish(changed)
                    self.show_all()
            then()

        shown = wish.shown(wishes)
        check = refusing(lambda text: wish.put(wishes, text))
        self.showday.push_screen(FieldModal(wish.name.capitalize(), wish.hint, shown, check), told)
