"""One invented evening, walked through the real engine: steps, readings, faults, breaks, and what was left out."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from showday.demo.air import Planned, Swept, planned, swept
from showday.desk import Desk
from showday.radio.units import HZ_PER_MHZ, band
from showday.radio_desk import keep_plan, keep_read_sweep
from showday.run import events as ev
from showday.run import touring as tour
from showday.run.air import KeptPlan
from showday.run.plan import PlannedStep
from showday.run.progress import current
from showday.run.session import Session
from showday.run.state import waiting
from showday.timekeeping import REASON
from tests.seasons.faults import Found, drawn, reason_of, walk_to
from tests.seasons.pace import Pace
from tests.seasons.places import LINE, LOAD_IN, SCAN, TEARDOWN, Night

BEGIN = {LOAD_IN: -330.0, SCAN: -240.0, LINE: -170.0, TEARDOWN: 95.0}
"""Minutes from the show's slot at which each run is begun."""
IN_A_HURRY = 25.0
"""Up to so many minutes of changeover the line check is made in the changeover itself."""
BREAK_RATE = 0.006
"""Chance that somebody calls the technician away at a step."""
CUES = ("van", "house", "door", "phone", "Lena", "Tomas", "stage manager")
LATER_RATE = 0.004
LOOKS_AT_THE_CLOCK = "pair"
"""The step at which this act looks whether the rest fits: every line has sounded once."""
CAN_GO = ("lights-half", "laptop-loop", "pair", "mix-sides", "all-still", "rest")
"""What this act leaves out first when time is short."""
WITHIN = {"peak": (-24, -12), "battery": (3, 5)}
"""What is outside of it is set right before it is noted."""
REMARKS = {
    "rest": ("Faint fan of the house desk, not ours", "Quiet once the fan was off"),
    "signal": ("Gain up two clicks", "Hotter than last time"),
    "mix-name": ("Asked for a little more click",),
    "pack-up": ("Likes it lower than last week",),
    "over-noise": ("Body in the way takes about 8 dB",),
    "house-lines": ("House wants playback 3 dB down",),
}
REMARK_RATE = 0.02
CURED = {
    "hum": "DI with transformer in the line, quiet with the supply in",
    "crackle": "Lead thrown away, a new one soldered",
    "rf-dropouts": "Antenna two metres higher, whole set without a gap",
    "one-ear": "New cable on the earphones",
    "dead-mic": "House stores its scene with our phantom now",
    "no-signal": "Plug cleaned and marked, ten minutes of wiggling without a gap",
}
OWNERS = ("Mira", "Tomas", "Jonas")


@dataclass
class EveningWalked:
    """A night with its desk and pace, while it is walked."""

    desk: Desk
    pace: Pace
    night: Night
    day: datetime
    """Midnight at the beginning of the show's day."""
    wrong: dict[str, Found] = field(default_factory=dict)
    """What is wrong in the run under way, by step key."""

    def slot(self) -> datetime:
        """Stage time."""
        hours, minutes = map(int, self.night.place.slot.split(":"))
        return self.day + timedelta(hours=hours, minutes=minutes)

    def walk(self, playbook: str) -> None:
        """One run, from its usual beginning to its end."""
        begin = BEGIN[playbook]
        if playbook == LINE and self.night.place.changeover <= IN_A_HURRY:
            begin = -self.night.place.changeover
        self.pace.clock.at = max(self.pace.clock.at + timedelta(minutes=2), self.slot() + timedelta(minutes=begin))
        session = self.desk.start_run(playbook)
        self.wrong = self.faults(session.state.plan.steps)
        while (step := current(session.state)) is not None:
            if playbook == LINE and step.id == LOOKS_AT_THE_CLOCK and self.leave_out(session):
                continue
            self.step(session, step)
        if self.night.note and playbook in (LINE, SCAN) and playbook == self.night.runs[-1]:
            session.record(ev.NoteAdded(self.night.note))
        self.pace.clock.wait(1)
        session.finish()

    def faults(self, steps: tuple[PlannedStep, ...]) -> dict[str, Found]:
        """What will be found at which step tonight: the place's own troubles, and the usual ones."""
        chance, trees = self.pace.chance, self.desk.library.trees
        keys = {step.key for step in steps}
        found = {step.key: seen for step in steps if (seen := drawn(step, trees, chance))}
        for trouble in self.night.place.troubles:
            if trouble.step in keys and chance.random() < trouble.chance:
                found[trouble.step] = (trouble.tree, trouble.cause)
        return found

    # -- steps -------------------------------------------------------------------------------------------------------

    def step(self, session: Session, step: PlannedStep) -> None:
        """One step: shown, perhaps broken off, done, and looked into when something is wrong."""
        chance, clock = self.pace.chance, self.pace.clock
        session.show_current()
        if chance.random() < BREAK_RATE:
            session.interrupt(chance.choice(CUES))
            clock.wait(round(chance.lognormvariate(4.3, 0.6)))
            session.resume_here()
        self.pace.wait(step.id, step.takes)
        if step.id == "absent":
            session.answer(ev.NOT_HERE)
        elif (found := self.wrong.pop(step.key, None)) is not None:
            session.answer(ev.FAULT, reason=reason_of(found, step))
            clock.wait(2)
            if walk_to(self.desk, session, step, found, self.pace):
                clock.wait(2)
                session.go_to(step.key)
                self.pace.wait(step.id, step.takes)
                self.good(session, step)
        elif step.id == "signal" and chance.random() < LATER_RATE:
            session.answer(ev.LATER, reason="not on stage yet")
        else:
            self.good(session, step)

    def good(self, session: Session, step: PlannedStep) -> None:
        """The step's reading, perhaps a remark, and the answer that all is as wanted."""
        self.air(session, step)
        if step.reading is not None:
            session.read(self.reading(step))
        if step.id in REMARKS and self.pace.chance.random() < REMARK_RATE:
            session.record(ev.NoteAdded(self.pace.chance.choice(REMARKS[step.id]), step.key))
        session.answer(ev.GOOD, confirmed=step.must)

    def leave_out(self, session: Session) -> bool:
        """Leave out what can go when the rest does not fit the changeover; whether anything was left out."""
        changeover = self.night.place.changeover
        if changeover > IN_A_HURRY:
            return False
        steps = [step for _, step in waiting(session.state)]
        need = sum(self.pace.usual(step.id, step.takes) for step in steps)
        left = changeover * 60 - session.elapsed
        gone: list[PlannedStep] = []
        for id in CAN_GO:
            if need <= left:
                break
            gone += (these := [step for step in steps if step.id == id and not step.must])
            need -= sum(self.pace.usual(step.id, step.takes) for step in these)
        if gone:
            keys = {step.key for step in gone}
            in_order = tuple(step.key for step in session.state.plan.steps if step.key in keys)
            session.record(ev.StepsLeftOut(in_order, REASON))
        return bool(gone)

    # -- numbers -----------------------------------------------------------------------------------------------------

    def reading(self, step: PlannedStep) -> float:
        """What is measured at a step of this place tonight."""
        place, chance = self.night.place, self.pace.chance
        name = step.reading.name if step.reading else ""
        if name == "frequency":
            plan = self.plan()
            return next(c.hz / HZ_PER_MHZ for c in plan.carriers if _slug(c.name) == step.thing)
        usual = {
            "peak": (place.peak, 1.3),
            "battery": (4.4, 0.6),
            "over noise": (place.over_noise, 2.0),
            "supply": (place.volts, 1.5),
            "supply loaded": (place.loaded, 2.0),
        }
        if name in usual:
            least, most = WITHIN.get(name, (0, 400))
            return float(min(max(round(chance.gauss(*usual[name])), least), most))
        fixed = {
            "sample rate": 48.0,
            "clearance": 300.0,
            "longest run": place.metres,
            "breaker": place.amperes,
            "cases": 14.0,
            "in the case": max(2.0, step.reading.low or 0.0) if step.reading else 2.0,
        }
        return fixed[name]

    def plan(self) -> KeptPlan:
        """The rig's frequencies, moved out of the way of this place's television."""
        moved = self.night.place.moved
        spares = (565.65, 559.9)
        low, high = 558 + moved, 566 + moved
        made = planned(
            Planned(spares, 300.0, f"4 carriers and 2 spares in {low:g}-{high:g} MHz", "Quiet in the scan"),
            self.desk.rig,
        )
        by = round(moved * HZ_PER_MHZ)
        return replace(
            made,
            carriers=tuple(replace(each, hz=each.hz + by) for each in made.carriers),
            spares=tuple(replace(each, hz=each.hz + by) for each in made.spares),
        )

    def air(self, session: Session, step: PlannedStep) -> None:
        """Keep the sweep and the plan where the scan makes them."""
        place = self.night.place
        if step.id == "sweep":
            television = tuple((name, band(text)) for name, text in place.television)
            file = f"{place.town.lower()}-{self.night.before}.csv"
            keep_read_sweep(self.desk, swept(Swept(band("542-590"), television, place.signals, file)), run=session)
        elif step.id == "least-trouble":
            keep_plan(self.desk, self.plan(), run=session)

    # -- afterwards --------------------------------------------------------------------------------------------------

    def day_after(self) -> None:
        """Who sees to what is open now, and by when: the next weekend."""
        self.pace.clock.at = self.day + timedelta(days=1, hours=11)
        due = (self.day + timedelta(days=7)).date().isoformat()
        for item in self.desk.book().open_items():
            if not item.owner:
                self.desk.record(item.id, tour.ToFixAssigned(self.pace.chance.choice(OWNERS), due))
                self.pace.clock.wait(20)

    def workshop(self) -> None:
        """Five days later what is open is mended."""
        self.pace.clock.at = self.day + timedelta(days=5, hours=17)
        for item in self.desk.book().open_items():
            self.pace.clock.wait(600)
            how = CURED.get(item.fault, "Looked at on the bench, nothing found, swapped")
            self.desk.record(item.id, tour.ToFixClosed(how, item.owner))


def _slug(name: str) -> str:
    return name.lower().replace(" ", "-")
