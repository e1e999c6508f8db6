"""What the frequencies screen holds: the table, what a sweep shows, the wishes, the proof. No widget in it.

The table is judged anew with every change; the ones before are kept, so that each change can be taken back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from showday.errors import RadioTrouble
from showday.radio.drawing import Scene, Trace, around
from showday.radio.model import AVOID, Band, Occupied, Tuner, Widths
from showday.radio.occupancy import Occupancy, with_gaps
from showday.radio.plan_ask import Ask, Plan
from showday.radio.sources import Sources, sources_in
from showday.radio.verify import Air
from showday.radio.what_if import Row, Table, clearance_words, foreign_bands, limit_words, planned, table_of
from showday.radio.wishes import Wishes, measured_reach
from showday.rig.model import Rig
from showday.run.air import KeptCarrier, KeptPlan, KeptSweep
from showday.transmitters import carriers_of, tuners_of

EMPTY_WINDOW = Band(470_000_000, 694_000_000)
"""Shown when nothing at all is known: the UHF band that EN 300 422-1 transmitters share with television in Europe."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What a sweep shows."""

    trace: Trace
    bands: tuple[Occupied, ...]
    files: tuple[str, ...]
    own: tuple[tuple[str, int, bool], ...] = ()
    """The act's own transmitters that were on: name, Hz, whether they were seen."""
    id: str = ""
    """Of the sweep in the log; empty when it is not kept."""
    at: str = ""
    """When it was kept, as the log has it; empty for one of this sitting."""

    @classmethod
    def of_found(cls, found: Occupancy, id: str = "") -> Seen:
        """Of a sweep that was just read; what it left out counts as occupied, since nobody knows."""
        sweep = found.sweep
        own = tuple((each.name, each.at, each.seen is not None) for each in found.own)
        trace = Trace(sweep.hz, sweep.peak, found.floor_level, sweep.unit)
        return cls(trace, found.kept_off(), sweep.files, own, id)

    @classmethod
    def of_kept(cls, kept: KeptSweep) -> Seen | None:
        """Of a sweep of the log; None when its line is not there."""
        if len(kept.trace) < 2:
            return None
        trace = Trace.of_points(kept.trace, kept.floor, kept.unit)
        return cls(trace, with_gaps(kept.bands, trace.gaps()), kept.files, kept.own, kept.id, kept.at)

    @property
    def span(self) -> Band:
        """What was measured."""
        return self.trace.span


@dataclass(frozen=True, slots=True)
class Proof:
    """What is known of a plan; clearances in Hz. `rows` are the table's when it was made."""

    rows: tuple[Row, ...]
    clearance: int | None
    bound: int | None
    proved: bool
    asked: int
    found: int
    most: int = 0
    relax: tuple[str, ...] = ()


@dataclass
class Frequencies:
    """All that stands on the screen, but for the cursor."""

    tuners: tuple[Tuner, ...] = ()
    table: Table = field(default_factory=Table)
    wishes: Wishes = field(default_factory=Wishes)
    seen: Seen | None = None
    proof: Proof | None = None
    kept: tuple[Row, ...] | None = None
    """The rows as they are in the log; None when no plan of tonight is."""
    past: list[tuple[Table, Wishes, Proof | None]] = field(default_factory=list)

    @classmethod
    def of_rig(
        cls, rig: Rig, away: Sequence[str] = (), plan: KeptPlan | None = None, sweep: KeptSweep | None = None
    ) -> Frequencies:
        """Tonight's kept plan, or the rig as its file has it. `away` are transmitters that nobody needs tonight."""
        tuners = tuple(tuner for tuner in tuners_of(rig) if tuner.name not in away)
        carriers = [(name, at) for name, at in carriers_of(rig) if name not in away]
        named = [(each.name, None) for each in rig.transmitters if each.name not in away]
        made = cls(tuners, seen=Seen.of_kept(sweep) if sweep is not None else None)
        table = table_of(tuners, carriers, made._air())
        known = {row.name for row in table.rows}
        table = replace(table, rows=table.rows + tuple(Row(name, at) for name, at in named if name not in known))
        made.table = table
        if plan is not None:
            made._take_kept(plan)
        return made

    def _take_kept(self, plan: KeptPlan) -> None:
        by_name = {carrier.name: carrier for carrier in plan.carriers if carrier.name}
        rows = [
            replace(row, hz=plan.now(row.name), held=by_name[row.name].held)
            for row in self.table.rows
            if row.name in by_name
        ]
        tuned = {row.name for row in rows}
        rows += [Row(each.name, plan.now(each.name) or each.hz) for each in plan.carriers if each.name not in tuned]
        rows += [Row("", spare.hz, spare=True) for spare in plan.spares if not spare.used]
        self.table = replace(self.table, rows=tuple(rows))
        self.kept = self.table.rows
        self.wishes = replace(self.wishes, spares=len(plan.spares) or self.wishes.spares)
        if not plan.taken:
            count = len(rows)
            self.proof = Proof(self.table.rows, plan.clearance, plan.bound, plan.proved, count, count)

    def follow(self, plan: KeptPlan) -> None:
        """The kept plan as it stands now, after a spare was taken or given back; earlier changes cannot be had back."""
        self.past.clear()
        self.proof = None
        self._take_kept(plan)

    # -- what is so --------------------------------------------------------------------------------------------

    def _air(self) -> Air:
        return self.wishes.air(self.seen.bands if self.seen is not None else (), self.sources.at)

    @property
    def sources(self) -> Sources:
        """Which carriers of the sweep make products with ours."""
        if self.seen is None:
            return Sources()
        return sources_in(self.seen.bands, self.seen.trace.floor, self.wishes.foreign, self.wishes.sources)

    @property
    def by_hand(self) -> bool:
        """Whether the table is not what the proof is about."""
        return self.proof is None or _places(self.proof.rows) != _places(self.table.rows)

    @property
    def unkept(self) -> bool:
        """Whether there is something that the log does not have: a plan, or changes to one."""
        return _places(self.kept or ()) != _places(self.table.rows) and bool(self.past or self.proof)

    @property
    def scene(self) -> Scene:
        """What is drawn over the sweep."""
        return Scene(
            (*self.table.air.occupied, *foreign_bands(self.wishes.foreign)), self.table.marks, self.table.products()
        )

    def limits(self) -> Band:
        """The widest window there is anything to see in."""
        things = [self.seen.span] if self.seen is not None else []
        things += [Band(row.hz, row.hz) for row in self.table.rows if row.hz is not None]
        things += [*self.wishes.ranges, *self.wishes.avoid, *foreign_bands(self.wishes.foreign)]
        if self.seen is None:
            things += [Band(tuner.low, tuner.high) for tuner in self.tuners]
        return around(things, 0.0 if self.seen is not None else 0.03) or EMPTY_WINDOW

    def home(self) -> Band:
        """The window to begin with: where the transmitters can be, else everything."""
        ours = [Band(tuner.low, tuner.high) for tuner in self.tuners] or list(self.wishes.ranges)
        ours += [Band(row.hz, row.hz) for row in self.table.rows if row.hz is not None]
        return around(ours, 0.03) or self.limits()

    def with_table(self, table: Table) -> Frequencies:
        """The same with another table, to look at without changing anything."""
        return replace(self, table=table, past=[])

    # -- what changes it ---------------------------------------------------------------------------------------

    def change(self, table: Table, wishes: Wishes | None = None) -> None:
        """Another table, and other wishes where they change too; the ones before can be had back."""
        self.past.append((self.table, self.wishes, self.proof))
        if wishes is not None:
            self.wishes, self.proof = wishes, None
        self.table = replace(table, air=self._air())

    def wish(self, wishes: Wishes) -> None:
        """Other wishes; the table is judged by them at once."""
        self.change(self.table, wishes)

    def add_foreign(self, at: int) -> None:
        """A carrier of another act."""
        self.wish(replace(self.wishes, foreign=(*self.wishes.foreign, at)))

    def add_avoid(self, band: Band) -> None:
        """A band to stay out of."""
        self.wish(replace(self.wishes, avoid=(*self.wishes.avoid, replace(band, kind=AVOID))))

    def take_back(self) -> bool:
        """The table and the wishes before the last change; False when there is none."""
        if not self.past:
            return False
        table, self.wishes, self.proof = self.past.pop()
        self.table = replace(table, air=self._air())
        return True

    def look_at(self, seen: Seen | None) -> None:
        """Another sweep: the table is judged by it at once."""
        self.seen, self.proof = seen, None
        self.table = replace(self.table, air=self._air())

    def own_on(self) -> tuple[tuple[str, int], ...]:
        """The act's own transmitters where they stand now, Hz."""
        return tuple((row.name or "ours", row.hz) for row in self.table.rows if row.hz is not None and not row.spare)

    # -- planning ----------------------------------------------------------------------------------------------

    def ask(self) -> Ask:
        """What the planner is asked: the rows there are, or as many as are wished. RadioTrouble when it cannot be."""
        mains = [row for row in self.table.rows if not row.spare]
        count = self.wishes.count or len(mains)
        tuners = [row.tuner for row in mains if row.tuner is not None]
        tuners += list(self.table.missing)[: max(count - len(mains), 0)]
        wishes = replace(self.wishes, count=count)
        if not count:
            raise RadioTrouble("There is no transmitter to plan for.", "x, then 1, says how many carriers.")
        if not tuners and not wishes.ranges and self.seen is None:
            raise RadioTrouble("It is not known where to look.", "x, then 3, says which ranges.")
        if tuners and count > len(tuners):
            tuners += [self._borrowed(tuners)] * (count - len(tuners))
        measured = self.seen.span if self.seen is not None else None
        if measured is not None and not wishes.ranges and not measured_reach(tuners, measured):
            raise RadioTrouble("The sweep and your transmitters' ranges do not meet.", "t opens another sweep.")
        made = wishes.ask(
            tuners,
            held=self.table.held,
            occupied=self.seen.bands if self.seen is not None else (),
            found=self.sources.at,
            measured=measured,
        )
        made.check()
        return made

    def _borrowed(self, tuners: Sequence[Tuner]) -> Tuner:
        """What one more carrier than there are transmitters is taken to be: set on their finest step, anywhere that one of
        them reaches or is wished for."""
        steps = [tuner.step for tuner in tuners if tuner.step > 0]
        reach = [*(Band(tuner.low, tuner.high) for tuner in tuners), *self.wishes.ranges]
        low, high = min(band.low for band in reach), max(band.high for band in reach)
        return Tuner("", low, high, min(steps, default=0))

    def take_plan(self, plan: Plan, ask: Ask) -> None:
        """What the planner found, as the table."""
        self.change(planned(self.table, plan))
        found = len(plan.carriers) + len(plan.spares)
        self.proof = Proof(
            self.table.rows, plan.clearance, plan.bound, plan.proved, plan.asked, found, plan.most, plan.relax
        )

    def to_keep(self, reason: str) -> KeptPlan:
        """The table in the form that the log keeps. RadioTrouble when it holds nothing."""
        told = [each for each in self.table.told if each.row.hz is not None]
        if not told:
            raise RadioTrouble("There is no frequency to keep yet.", "F9 plans them.")
        signs = {mark.at: mark.sign for mark in self.table.marks}
        rows = [
            KeptCarrier(
                each.row.name,
                each.row.hz or 0,
                each.clearance,
                each.fault or limit_words(each.limit, signs, self.wishes.foreign),
                each.row.held,
                each.fits,
            )
            for each in told
        ]
        spares = [each.row.spare for each in told]
        proof = None if self.by_hand else self.proof
        plain = replace(self.table, air=replace(self.table.air, widths=Widths()))
        return KeptPlan(
            carriers=tuple(row for row, spare in zip(rows, spares, strict=True) if not spare),
            spares=tuple(row for row, spare in zip(rows, spares, strict=True) if spare),
            proved=proof is not None and proof.proved,
            clearance=self.table.clearance,
            bound=proof.bound if proof is not None else None,
            asked=self.wishes.words,
            reason=reason or self.reason(),
            sweep=self.seen.id if self.seen is not None else "",
            nearest=plain.clearance,
        )

    def reason(self) -> str:
        """Why this plan, in our own words, when the person gives none."""
        clearance = self.table.clearance
        smallest = "nothing limits it" if clearance is None else f"smallest clearance {clearance_words(clearance)}"
        if self.by_hand or self.proof is None:
            return f"set by hand, {smallest}"
        return f"proved best, {smallest}" if self.proof.proved else f"best found in time, {smallest}"


def _places(rows: Sequence[Row]) -> list[tuple[str, int | None, bool]]:
    return [(row.name, row.hz, row.spare) for row in rows]
