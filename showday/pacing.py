"""How the evening keeps time: the forecast of a run that is under way, and what to leave out when it will not fit.

Joins the run's plan and entries with the clock package and the show's slot. Nothing here reads a clock or a file: the
seconds, the past and the seed are handed in. Import it where a forecast is shown, for it brings arrays along.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from showday.clock.forecast import Forecast, Sample, UnderWay
from showday.clock.leave_out import Choice, Item, LeaveOut
from showday.clock.risk import MUST_HARM, USUAL_HARM, USUAL_WRONG, chance_wrong, risk_removed
from showday.clock.times import StepTime, learn_time
from showday.clock.totals import Totals
from showday.past_times import Past, lived, paced
from showday.run.plan import Plan, PlannedStep
from showday.run.state import RunState, waiting

SURE = 0.8
"""The chance that "it fits" means: the list is then late on one evening of five. A choice of this program."""
_WALKS = 0
"""Place of the fault walks among the breaks of a forecast."""
UNIT = 0.5
"""Seconds to which the steps are rounded up when some must be left out."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """When the run will be over, in seconds from now."""

    p50: float
    p80: float
    """With the interruptions and fault walks that usually come between, and with the rest of the walk that is open."""
    work_p50: float
    work_p80: float
    """Work alone."""
    left: float | None = None
    """Seconds until it must be over; None when that is not known."""
    chance: float | None = None
    """Chance to be over by then."""
    slow: float = 1.0
    """How many times the usual time things take tonight, as far as what is done says."""
    open: int = 0
    """Open steps that it counts."""
    gone: float = 0.0
    """Seconds since the run began, without those between its sittings."""
    waits: str = ""
    """What open steps wait for that it does not count; empty when there are none."""
    runs: int = 0
    """Past runs that it rests on."""

    @property
    def fits(self) -> bool:
        """Whether it will be over in time on four evenings of five; True when the time is not known."""
        return self.chance is None or self.chance >= SURE


@dataclass(frozen=True, slots=True)
class Dropped:
    """A step that is proposed to be left out."""

    key: str
    do: str
    about: str
    seconds: float
    """Its part of the time that is saved."""
    risk: float
    """What that accepts, in thousandths of a show."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """What to leave out so that the rest fits; nothing when everything does."""

    dropped: tuple[Dropped, ...]
    """In the order of the plan."""
    kept: tuple[str, ...]
    """Keys, in the order of the plan."""
    accepted: float
    removed: float
    """Risk accepted by what is left out, and removed by what is kept, in thousandths of a show."""
    p80: float
    chance: float
    """Of what is kept: seconds until it is over on four evenings of five, and the chance to be over in time."""
    fits: bool
    """False when even the musts do not fit."""
    exact: bool = True


class Pace:
    """The forecast of one run: drawn once when it is opened, read after every step and every second."""

    def __init__(self, plan: Plan, past: Past, *, seed: int, draws: int = 2000) -> None:
        self._plan = plan
        self._past = past
        self._row = {step.key: row for row, step in enumerate(plan.steps)}
        self._takes = {step.id: step.takes for step in plan.steps}
        self.times: dict[str, StepTime] = {
            id: learn_time(past.times.get(id, ()), takes) for id, takes in self._takes.items()
        }
        """What was known of each step's time before the run, by id."""
        self._forecast = Forecast(
            self.times,
            [step.id for step in plan.steps],
            seed=seed,
            day_spread=past.day_spread,
            breaks=(past.walks, past.interruptions),
            draws=draws,
        )

    def outlook(self, state: RunState, elapsed: float, left: float | None = None) -> Outlook:
        """The forecast at this moment: the run's elapsed seconds, and the seconds that are left, when that is known."""
        sample = self._sample(state, elapsed)
        whole, work = sample.whole(), sample.work()
        waits = next((moment for step in self._open(state) if (moment := self._waits(step))), "")
        return Outlook(
            p50=whole.seconds(0.5),
            p80=whole.seconds(SURE),
            work_p50=work.seconds(0.5),
            work_p80=work.seconds(SURE),
            left=left,
            chance=None if left is None or (waits and not sample.rows) else whole.chance(left),
            slow=sample.slow,
            open=len(sample.rows),
            gone=max(0.0, elapsed),
            waits=waits,
            runs=self._past.runs,
        )

    def proposal(self, state: RunState, elapsed: float, left: float) -> Proposal:
        """What to leave out so that the rest is over in time on four evenings of five, at the least risk.

        Each step counts with its part of P80 of the whole list; of the best sets by that measure the one that removes
        the most risk is taken whose own P80, breaks included, is within the time that is left. More time never
        removes less risk.
        """
        sample = self._sample(state, elapsed)
        keys = [self._plan.steps[row].key for row in sample.rows]
        shares = dict(zip(keys, sample.shares(), strict=True))
        if sample.whole().seconds(SURE) <= left:
            everything = sum(self.risk_of(self._plan.steps[row]) for row in sample.rows)
            choice = Choice(tuple(keys), (), sum(shares.values()), everything, 0.0)
            return self._told(choice, sample, shares, left, fits=True)
        solved = LeaveOut([self._item(key, shares) for key in keys], max(0.0, left), unit=UNIT)
        for seconds in solved.falling(max(0.0, left)):
            choice = solved.choice(seconds)
            if self._whole(sample, choice).seconds(SURE) <= left:
                return self._told(choice, sample, shares, left, fits=True)
        return self._told(solved.choice(0.0), sample, shares, left, fits=False)

    def risk_of(self, step: PlannedStep) -> float:
        """What a step saves on average, in thousandths of a show, by the author's words and the faults that were logged."""
        found, times = self._past.faults.get(step.id, (0, 0))
        harm = step.harm or (MUST_HARM if step.must else USUAL_HARM)
        return risk_removed(chance_wrong(step.risk or USUAL_WRONG, found, times), harm)

    def _sample(self, state: RunState, elapsed: float) -> Sample:
        had = lived(state.history, elapsed)
        rows = sorted(self._row[step.key] for step in self._open(state) if not self._waits(step))
        done = paced(self._plan, had, self._takes)
        at = self._row.get(had.at, -1)
        under_way = UnderWay(at, had.spent) if at in rows and had.spent > 0 else None
        unsolved = had.walking is not None and not (state.walk and state.walk.restored)
        walk = (_WALKS, had.walking or 0.0) if unsolved else None
        return self._forecast.look(rows, done, under_way, walk)

    def _open(self, state: RunState) -> list[PlannedStep]:
        return [step for _, step in waiting(state)]

    def _waits(self, step: PlannedStep) -> str:
        return self._plan.sections[step.section].waits

    def _item(self, key: str, shares: Mapping[str, float]) -> Item:
        step = self._plan.steps[self._row[key]]
        needs = tuple(need for id in step.after for need in self._needed(id, step))
        return Item(key, shares[key], self.risk_of(step), step.must, needs)

    def _needed(self, id: str, step: PlannedStep) -> list[str]:
        """Keys of the steps of an id that a step needs: those for the same thing, or all when there is none."""
        named = [other for other in self._plan.steps if other.id == id]
        same = [other.key for other in named if step.thing and (other.kind, other.thing) == (step.kind, step.thing)]
        return same or [other.key for other in named]

    def _told(
        self, choice: Choice, sample: Sample, shares: Mapping[str, float], left: float, *, fits: bool
    ) -> Proposal:
        whole = self._whole(sample, choice)
        out = sorted(choice.dropped, key=self._row.__getitem__)
        steps = [self._plan.steps[self._row[key]] for key in out]
        return Proposal(
            dropped=tuple(Dropped(s.key, s.do, s.about, shares[s.key], self.risk_of(s)) for s in steps),
            kept=tuple(sorted(choice.kept, key=self._row.__getitem__)),
            accepted=choice.accepted,
            removed=choice.removed,
            p80=whole.seconds(SURE),
            chance=whole.chance(left),
            fits=fits,
            exact=choice.exact,
        )

    def _whole(self, sample: Sample, choice: Choice) -> Totals:
        kept = set(choice.kept)
        return sample.whole([at for at, row in enumerate(sample.rows) if self._plan.steps[row].key in kept])
