"""What if: carriers moved, dropped, added or held, and the whole set judged anew each time.

A table never changes; every hand laid on it makes another one, so that taking back is keeping the one before.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from showday.errors import RadioTrouble
from showday.radio.drawing import SIGNS, SPARE_SIGNS, Mark, what_is
from showday.radio.model import FOREIGN, FOUND_ORDER, Band, Tuner
from showday.radio.plan_ask import USUAL_STEP, Plan
from showday.radio.products import MOST_CARRIERS, Ints, products
from showday.radio.tuning import assign, tuning_faults
from showday.radio.units import HZ_PER_KHZ, checked_frequency, khz, mhz
from showday.radio.verify import Air, Judged, Trouble, Verdict, verify


@dataclass(frozen=True, slots=True)
class Row:
    """One carrier or spare. `hz` is None while nobody knows where it stands."""

    name: str
    """The transmitter, empty for a spare and for a carrier of none."""
    hz: int | None
    held: bool = False
    spare: bool = False
    tuner: Tuner | None = None


@dataclass(frozen=True, slots=True)
class Told:
    """What is to be said about one row. Widths in Hz."""

    row: Row
    sign: str
    judged: Judged | None = None
    fault: str = ""
    """Why it cannot be used where it stands, one sentence without a full stop."""
    fits: tuple[str, ...] = ()
    """Of a spare: the transmitters that can be set to it."""

    @property
    def clearance(self) -> int | None:
        """Hz; None when nothing limits it or nothing is known."""
        return None if self.judged is None else self.judged.clearance

    @property
    def limit(self) -> Trouble | None:
        """What it is nearest to."""
        return None if self.judged is None else self.judged.limit

    @property
    def hit(self) -> bool:
        """Whether its nearest trouble is too near."""
        return self.limit is not None and self.limit.hits

    @property
    def usable(self) -> bool:
        """Nothing speaks against it."""
        return self.row.hz is not None and not self.hit and not self.fault


@dataclass(frozen=True)
class Table:
    """Every carrier and spare, judged with everything on. `air` names no tuners: each row has its own."""

    rows: tuple[Row, ...] = ()
    tuners: tuple[Tuner, ...] = ()
    air: Air = field(default_factory=Air)
    step: int = USUAL_STEP
    """Hz, for rows whose transmitter has no step of its own."""

    # -- what is so --------------------------------------------------------------------------------------------

    @cached_property
    def verdict(self) -> Verdict:
        """Of the rows that stand somewhere, in their order."""
        return verify([row.hz for row in self.rows if row.hz is not None], self.air)

    @cached_property
    def told(self) -> tuple[Told, ...]:
        """One for each row."""
        judged = iter(self.verdict.carriers)
        outside = {fault.at: fault.sentence for fault in self.verdict.faults}
        made = []
        for row, sign in zip(self.rows, self.signs, strict=True):
            at = row.hz
            if at is None:
                made.append(Told(row, sign, fault="not set yet"))
                continue
            fits = tuple(tuner.name for tuner in self.tuners if tuner.reaches(at)) if row.spare else ()
            fault = self._unreached(row, at) or outside.get(at, "")
            made.append(Told(row, sign, next(judged), fault, fits))
        return tuple(made)

    def _unreached(self, row: Row, at: int) -> str:
        tuners = (row.tuner,) if row.tuner is not None else self.tuners if row.spare else ()
        return next((sentence for _, _, sentence in tuning_faults([at], tuners)), "")

    @property
    def signs(self) -> tuple[str, ...]:
        """What each row is called on the drawing: carriers by number, spares by small letter."""
        numbers, letters = iter(SIGNS), iter(SPARE_SIGNS)
        return tuple(next(letters if row.spare else numbers, "+") for row in self.rows)

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Every row that stands somewhere, for the drawing."""
        return tuple(Mark(r.hz, sign) for r, sign in zip(self.rows, self.signs, strict=True) if r.hz is not None)

    @property
    def clearance(self) -> int | None:
        """The smallest clearance of all rows, Hz; None when nothing limits any."""
        known = [told.clearance for told in self.told if told.clearance is not None]
        return min(known, default=None)

    @property
    def clean(self) -> bool:
        """Every row stands somewhere, nothing hits, and each can be set where it stands."""
        return self.verdict.clean and all(told.usable for told in self.told)

    def products(self) -> tuple[tuple[int, Ints], ...]:
        """Where the products of everything that is on fall: pairs of order and Hz."""
        ours = [row.hz for row in self.rows if row.hz is not None]
        named = [at for at in self.air.foreign if at not in self.air.found]
        made = []
        for kind in self.air.kinds:
            on = [*ours, *(self.air.foreign if kind.order <= FOUND_ORDER else named)]
            made.append((kind.order, products(on, kind).at))
        return tuple(made) if len(ours) + len(self.air.foreign) > 1 else ()

    # -- what a hand does --------------------------------------------------------------------------------------

    def with_row(self, index: int, row: Row) -> Table:
        """The same with another row in this place."""
        return replace(self, rows=(*self.rows[:index], row, *self.rows[index + 1 :]))

    def step_of(self, index: int) -> int:
        """Hz of one step of this row."""
        tuner = self.rows[index].tuner
        return tuner.step if tuner is not None and tuner.step > 0 else self.step

    def move(self, index: int, steps: int) -> Table:
        """The row so many steps higher (or lower, below 0), on its transmitter's own steps, not beyond its ends."""
        row = self.rows[index]
        if row.hz is None or not steps:
            return self
        step = self.step_of(index)
        base = row.tuner.low if row.tuner is not None else 0
        whole, rest = divmod(row.hz - base, step)
        if rest and steps < 0:
            whole += 1  # from between two steps the first move down ends on the lower one
        at = base + (whole + steps) * step
        if row.tuner is not None:
            last = row.tuner.low + (row.tuner.high - row.tuner.low) // step * step
            at = min(max(at, row.tuner.low), last)
        return self.put(index, max(at, step))

    def put(self, index: int, at: int) -> Table:
        """The row at a frequency (Hz), whether its transmitter can be set there or not; RadioTrouble for none at all."""
        return self.with_row(index, replace(self.rows[index], hz=checked_frequency(at)))

    def hold(self, index: int) -> Table:
        """The row held where it is, or let go again."""
        row = self.rows[index]
        if row.hz is None:
            raise RadioTrouble("It stands nowhere yet.", "Enter types its frequency.")
        if row.spare:
            raise RadioTrouble("A spare cannot be held: the next plan looks for spares anew.")
        return self.with_row(index, replace(row, held=not row.held))

    def drop(self, index: int) -> Table:
        """The same without this row."""
        return replace(self, rows=(*self.rows[:index], *self.rows[index + 1 :]))

    def add(self, at: int | None, *, name: str = "", spare: bool = False) -> Table:
        """One more row: a spare at the end, a carrier after the carriers; `name` is its transmitter."""
        if len(self.rows) + len(self.air.foreign) >= MOST_CARRIERS:
            raise RadioTrouble(f"More than {MOST_CARRIERS} carriers are not looked at.")
        hertz = None if at is None else checked_frequency(at)
        tuner = next((tuner for tuner in self.tuners if tuner.name == name), None)
        row = Row(name, hertz, spare=spare, tuner=tuner)
        if spare:
            return replace(self, rows=(*self.rows, row))
        mains = [each for each in self.rows if not each.spare]
        return replace(self, rows=(*mains, row, *(each for each in self.rows if each.spare)))

    @property
    def missing(self) -> tuple[Tuner, ...]:
        """Transmitters of the rig that have no row."""
        named = {row.name for row in self.rows}
        return tuple(tuner for tuner in self.tuners if tuner.name not in named)

    @property
    def held(self) -> tuple[int, ...]:
        """Frequencies that stay, Hz."""
        return tuple(row.hz for row in self.rows if row.held and row.hz is not None and not row.spare)


def table_of(tuners: Sequence[Tuner], carriers: Iterable[tuple[str, int]], air: Air, step: int = 0) -> Table:
    """The rig as it stands: a row for each transmitter, where its file says it is (Hz), or nowhere yet."""
    stated = dict(carriers)
    by_name = {tuner.name: tuner for tuner in tuners}
    names = dict.fromkeys([*by_name, *stated])
    rows = tuple(Row(name, stated.get(name), tuner=by_name.get(name)) for name in names)
    return Table(rows, tuple(tuners), air, step or USUAL_STEP)


def planned(table: Table, plan: Plan) -> Table:
    """The table as a plan has it, transmitters in their old order, spares after them.

    What is held stays with its transmitter, and a transmitter that is tuned to a frequency of the plan already keeps
    it: there is less to set. Where that leaves another one without any, the plan's own assignment is taken.
    """
    left = [each.at for each in plan.carriers]
    names = {row.name for row in table.rows if not row.spare}
    places: dict[str, int] = {}
    for row in sorted(table.rows, key=lambda row: not row.held):
        if row.name and row.hz in left and not row.spare and (row.held or row.tuner is not None):
            places[row.name] = row.hz
            left.remove(row.hz)
    names |= {each.tuner for each in plan.carriers}
    free = [tuner for tuner in table.tuners if tuner.name in names and tuner.name not in places]
    seats = assign(left, free)
    if None in seats and table.tuners and any(each.tuner for each in plan.carriers):
        places = {each.tuner: each.at for each in plan.carriers if each.tuner}
        left = [each.at for each in plan.carriers if not each.tuner]
    else:
        places |= {free[seat].name: at for at, seat in zip(left, seats, strict=True) if seat is not None}
        left = [at for at, seat in zip(left, seats, strict=True) if seat is None]
    return replace(table, rows=tuple(_rows(table, plan, places, left)))


def _rows(table: Table, plan: Plan, places: dict[str, int], left: list[int]) -> Iterable[Row]:
    held = set(table.held)
    by_name = {tuner.name: tuner for tuner in table.tuners}
    others = {row.hz for row in table.rows if not row.name}
    for row in table.rows:
        if row.spare:
            continue
        at = places.get(row.name) if row.name else _taken(left, row, others)
        if at is not None or row.name:
            yield replace(row, hz=at, held=row.held and at in held)
    known = {row.name for row in table.rows}
    for name in sorted(set(places) - known, key=lambda name: list(by_name).index(name)):
        yield Row(name, places[name], tuner=by_name[name])
    for at in left:
        yield Row("", at)
    for spare in plan.spares:
        yield Row("", spare.at, spare=True)


def _taken(left: list[int], row: Row, others: set[int | None]) -> int | None:
    """Where a carrier of no transmitter goes: where it is, when the plan has that, else where none of its like is."""
    at = row.hz if row.hz in left else next((at for at in left if at not in others), None)
    if at is not None:
        left.remove(at)
    return at


def limit_words(trouble: Trouble | None, signs: dict[int, str], foreign: Iterable[int] = ()) -> str:
    """What limits a carrier, in as few words as a table has room for: `2A-B of 1, 3`, `TV 32`, `beside 4`."""
    if trouble is None:
        return "nothing"
    if trouble.band is not None:
        return what_is(trouble.band).replace("a carrier of others", "others")
    said = dict.fromkeys(foreign, " (another act)") | dict.fromkeys(trouble.found, " (found)")
    makers = [signs.get(at) or f"{mhz(at)}{said.get(at, '')}" for at in trouble.makers]
    if trouble.order == 1:
        return f"beside {makers[0]}"
    return f"{trouble.kind} of {', '.join(makers)}"


def foreign_bands(foreign: Iterable[int]) -> tuple[Band, ...]:
    """Carriers of other acts as bands of no width, for the drawing."""
    return tuple(Band(at, at, "", FOREIGN) for at in foreign)


def clearance_words(clearance: int | None) -> str:
    """`275 kHz`, in whole kHz and never more than it is; under 10 kHz exactly; `clear` when nothing limits it."""
    if clearance is None:
        return "clear"
    whole = abs(clearance) >= 10 * HZ_PER_KHZ
    return f"{khz(clearance // HZ_PER_KHZ * HZ_PER_KHZ if whole else clearance)} kHz"
