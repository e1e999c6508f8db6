"""A carrier in trouble on the frequencies screen: a spare takes over, or gives it back, without a fault walk."""

from __future__ import annotations

from showday.errors import NotAllowed
from showday.radio.units import mhz
from showday.radio_desk import tonight_plan
from showday.run.air import KeptPlan
from showday.spares import give_back, missing_words, spares_for, take_spare
from showday.tui.lines import Line
from showday.tui.screens.modals import ChoiceModal
from showday.tui.screens.radio_base import RadioBase

BACK = "b"
"""Key of giving the spare back; a digit takes one."""
MOST_SHOWN = 9
"""Spares that can be chosen by a digit."""


class SparesByHand(RadioBase):
    """The key of a carrier that is in trouble."""

    def action_fault(self) -> None:
        """Which spare takes over from the marked carrier."""
        with self.saying_why():
            plan, name = self._in_trouble()
            free = spares_for(plan, self.desk.rig, name)[:MOST_SHOWN]
            taken = [each for each in plan.taken if each.transmitter == name]
            if not free and not taken:
                raise NotAllowed(missing_words(plan, name), "Make a new plan.")
            rows = [(str(n), f"{mhz(spare.hz)} MHz takes over") for n, spare in enumerate(free, 1)]
            rows += [(BACK, f"{mhz(taken[-1].hz)} MHz is given back")] if taken else []
            stands = plan.now(name)
            about = Line("about", missing_words(plan, name) if not free else "Its packs have to follow.")

            def chosen(key: str | None) -> None:
                if key is not None:
                    with self.saying_why():
                        self._set(name, free[int(key) - 1].hz if key != BACK else None)

            title = f"{name} in trouble" + (f" at {mhz(stands)} MHz" if stands is not None else "")
            self.showday.push_screen(ChoiceModal([Line("title", title), about], rows), chosen)

    def _in_trouble(self) -> tuple[KeptPlan, str]:
        """Tonight's plan and the marked transmitter. NotAllowed when a spare cannot be used for it."""
        self.must_rest()
        if self.held.unkept:
            raise NotAllowed("What stands here is not in the log yet.", "g keeps it, u takes it back.")
        plan = tonight_plan(self.desk)
        if plan is None:
            raise NotAllowed(missing_words(None, ""), "F9 plans, g keeps it.")
        rows = self.held.table.rows
        row = rows[self.row] if self.row < len(rows) else None
        if row is None or row.spare or not row.name:
            raise NotAllowed("Mark one of your transmitters first.", "j and k go up and down.")
        return plan, row.name

    def _set(self, name: str, hz: int | None) -> None:
        run = self.run_to_note
        plan = give_back(self.desk, name, run=run) if hz is None else take_spare(self.desk, name, hz=hz, run=run)
        self.held.follow(plan)
        rows = self.held.table.rows
        self.look_at_row(next((n for n, row in enumerate(rows) if row.name == name), 0))
        stands = plan.now(name)
        if stands is not None:
            self.showday.say(f"Set {name} and its packs to {mhz(stands)} MHz.")
