"""What a fault tree means in numbers: causes with odds, checks that tell, fixes that cure, and help.

The model of decision-theoretic troubleshooting (Heckerman, Breese and Rommelse, CACM 38(3), 1995; Jensen et al., AI EDAM
15, 2001): exactly one cause is present, steps are independent given the cause, the outcome of a fix is seen at once, and
help always ends it. Times are seconds.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from showday.errors import ShowdayError
from showday.fault.walk import CANT_NOW, DONT_KNOW, NO_CHANGE

SAME = 1e-9
"""Prices nearer than this share are the same: of such steps the one with the lower number is taken."""
NO_ANSWER = -1
"""Code of an answer that told nothing ("don't know")."""


class Contradiction(ShowdayError):
    """The answers so far leave no cause possible."""


@dataclass(frozen=True, slots=True)
class Question:
    """A check: `likelihood[answer][cause]` is P(answer | cause), each cause's column summing to 1."""

    id: str
    seconds: float
    answers: tuple[str, ...]
    likelihood: tuple[tuple[float, ...], ...]
    after: int = 0
    """Bit mask of steps that must come before: bit i is question i, bit len(questions)+j is action j."""
    group: int = -1
    closes: tuple[int, ...] = ()
    """For each answer the bit mask of steps that are out of the question after it; empty when none ever are."""

    def closed_by(self, answer: int) -> int:
        """Bit mask of the steps that are not offered after an answer."""
        return self.closes[answer] if self.closes else 0


@dataclass(frozen=True, slots=True)
class Action:
    """A fix: `cures[cause]` is the chance that it restores sound when that cause is present.

    `seconds` are paid always; `repair` only when the cause it looks for is there (look, then fix).
    """

    id: str
    seconds: float
    cures: tuple[float, ...]
    repair: float = 0.0
    after: int = 0
    group: int = -1
    workaround: bool = False
    uses: str = ""


@dataclass(frozen=True, slots=True)
class Model:
    """Causes with their prior, every step, the time until help, and the opening times of groups."""

    causes: tuple[str, ...]
    prior: tuple[float, ...]
    questions: tuple[Question, ...] = ()
    actions: tuple[Action, ...] = ()
    help_seconds: float = 300.0
    groups: tuple[float, ...] = ()

    @property
    def steps(self) -> int:
        """Number of questions and actions."""
        return len(self.questions) + len(self.actions)

    def step_id(self, index: int) -> str:
        """Id of a step by its bit."""
        return self.step(index).id

    def index(self, id: str) -> int:
        """Bit of a step by its id; KeyError when there is none."""
        for i in range(self.steps):
            if self.step_id(i) == id:
                return i
        raise KeyError(id)

    def step(self, index: int) -> Question | Action:
        """A step by its bit."""
        count = len(self.questions)
        return self.questions[index] if index < count else self.actions[index - count]

    def after(self, index: int) -> int:
        """Bit mask of the steps that must come before a step."""
        return self.step(index).after


@dataclass(frozen=True, slots=True)
class Belief:
    """Where a walk stands: the weight of each cause, which steps are done, which groups are open.

    Weights need not sum to 1: they are P(cause and all outcomes so far), so their sum is P(outcomes so far).
    """

    weights: tuple[float, ...]
    done: int = 0
    opened: int = 0

    @property
    def mass(self) -> float:
        """Sum of the weights."""
        return sum(self.weights)

    def odds(self) -> tuple[float, ...]:
        """The causes' probabilities; Contradiction when no cause is possible."""
        total = self.mass
        if total <= 0.0:
            raise Contradiction(
                "The answers contradict each other: no cause fits them all.", "Take one back, or go on as if unasked."
            )
        return tuple(w / total for w in self.weights)


def bits(mask: int) -> Iterator[int]:
    """The numbers of the bits that are set, lowest first."""
    while mask:
        yield (mask & -mask).bit_length() - 1
        mask &= mask - 1


def begin(model: Model) -> Belief:
    """Before any step."""
    return Belief(model.prior)


def after_answer(model: Model, belief: Belief, question: int, answer: int) -> Belief:
    """After an answer: weights times P(answer | cause). `NO_ANSWER` leaves them as they are."""
    asked = model.questions[question]
    weights, done = belief.weights, belief.done | 1 << question
    if answer != NO_ANSWER:
        weights = tuple(w * p for w, p in zip(weights, asked.likelihood[answer], strict=True))
        done |= asked.closed_by(answer)
    return Belief(weights, done, _open(belief.opened, asked.group))


def after_failure(model: Model, belief: Belief, action: int) -> Belief:
    """After a fix that did not help: weights times (1 - chance of curing)."""
    tried = model.actions[action]
    weights = tuple(w * (1.0 - s) for w, s in zip(belief.weights, tried.cures, strict=True))
    return Belief(weights, belief.done | 1 << len(model.questions) + action, _open(belief.opened, tried.group))


def put_aside(belief: Belief, step: int) -> Belief:
    """After "can't now": nothing is learned, and the step is not suggested."""
    return Belief(belief.weights, belief.done | 1 << step, belief.opened)


def _open(opened: int, group: int) -> int:
    return opened | 1 << group if group >= 0 else opened


def opening(model: Model, opened: int, group: int) -> float:
    """Seconds to open a group, 0 when there is none or it is open."""
    return model.groups[group] if group >= 0 and not opened >> group & 1 else 0.0


def available(model: Model, belief: Belief) -> list[int]:
    """Steps that may come next: not done, and everything they must come after is done."""
    free = (i for i in range(model.steps) if not belief.done >> i & 1)
    return [i for i in free if model.after(i) & ~belief.done == 0]


@dataclass(frozen=True, slots=True)
class Strategy:
    """What to do, and what after each outcome. `step` is a step's id, or empty for help (a leaf).

    Outcomes of a check are its answers; a fix has one, `no change`: when it works the walk is over.
    """

    step: str = ""
    then: tuple[tuple[str, Strategy], ...] = ()


HELP = Strategy()
"""Calling for help: always ends it."""
FAILED = NO_CHANGE


def price(model: Model, strategy: Strategy, belief: Belief | None = None) -> float:
    """Expected time to restored sound: the sum over all leaves of P(leaf) times the time to it.

    An outcome that the strategy does not name is taken as a call for help. KeyError on an unknown step. Parts of a
    strategy that are one and the same object are priced once, so that a strategy may be a graph.
    """
    start = belief or begin(model)
    if start.mass <= 0.0:
        return 0.0
    seconds = _Pricer(model).seconds(strategy, start.opened)
    return sum(w * s for w, s in zip(start.weights, seconds, strict=True)) / start.mass


class _Pricer:
    """Expected seconds of a strategy for each cause, if that were the one: a price is linear in the odds."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.index = {model.step_id(i): i for i in range(model.steps)}
        self.help = (model.help_seconds,) * len(model.causes)
        self.held: dict[tuple[int, int], tuple[float, ...]] = {}

    def seconds(self, strategy: Strategy, opened: int) -> tuple[float, ...]:
        """Expected seconds for each cause. The strategy must outlive the pricer: it is known by its identity."""
        if not strategy.step:
            return self.help
        key = (id(strategy), opened)
        if key not in self.held:
            index = self.index[strategy.step] - len(self.model.questions)
            then = dict(strategy.then)
            if index < 0:
                self.held[key] = self._asked(self.model.questions[index], then, opened)
            else:
                self.held[key] = self._tried(self.model.actions[index], then, opened)
        return self.held[key]

    def _asked(self, asked: Question, then: Mapping[str, Strategy], opened: int) -> tuple[float, ...]:
        spent = asked.seconds + opening(self.model, opened, asked.group)
        total = [spent] * len(self.help)
        opened = _open(opened, asked.group)
        for label, row in zip(asked.answers, asked.likelihood, strict=True):
            rest = self.seconds(then.get(label, HELP), opened)
            total = [t + p * r for t, p, r in zip(total, row, rest, strict=True)]
        return tuple(total)

    def _tried(self, tried: Action, then: Mapping[str, Strategy], opened: int) -> tuple[float, ...]:
        spent = tried.seconds + opening(self.model, opened, tried.group)
        rest = self.seconds(then.get(FAILED, HELP), _open(opened, tried.group))
        repair = tried.repair
        pairs = zip(tried.cures, rest, strict=True)
        return tuple(spent + (repair if s > 0.0 else 0.0) + (1.0 - s) * r for s, r in pairs)


def lower_bound(model: Model, belief: Belief | None = None) -> float:
    """Least expected time if the cause were known at once: sum of P(cause) times the best sequence for it.

    Full observability, Jensen et al. 2001, definition 4. No strategy can be quicker.
    """
    start = belief or begin(model)
    pairs = enumerate(start.odds())
    return sum(odds * known_cause(model, start.done, cause) for cause, odds in pairs if odds > 0.0)


def known_cause(model: Model, done: int, cause: int) -> float:
    """Least expected time when the cause is known: fixes by chance over time, help when that is quicker.

    Constraints and opening times are left out, which keeps it a bound from below.
    """
    options = []
    for index, action in enumerate(model.actions):
        chance = action.cures[cause]
        if chance > 0.0 and not done >> len(model.questions) + index & 1:
            options.append(((action.seconds + action.repair) / chance, chance, action.seconds + action.repair))
    best, spent, left = model.help_seconds, 0.0, 1.0
    for _, chance, seconds in sorted(options):
        spent += left * seconds
        left *= 1.0 - chance
        best = min(best, spent + left * model.help_seconds)
    return best


def evidence(model: Model, outcomes: Sequence[tuple[str, str]], invalid: Mapping[str, Sequence[str]]) -> Belief:
    """The belief after outcomes (step id, outcome) in the order they came.

    `invalid` names, for a step, the checks whose answers no longer count after it; those may be asked again. Outcomes
    are an answer of the check, `no change`, "don't know" and "can't now". Unknown ids are passed over, for a tree may
    have changed since the walk began.
    """
    index = {model.step_id(i): i for i in range(model.steps)}
    standing: dict[str, str] = {}
    opened = 0
    for id, outcome in outcomes:
        if id not in index:
            continue
        standing[id] = outcome
        if outcome == CANT_NOW:
            continue
        opened = _open(opened, model.step(index[id]).group)
        if outcome != DONT_KNOW:
            for check in invalid.get(id, ()):
                standing.pop(check, None)
    belief = begin(model)
    for id, outcome in standing.items():
        belief = _after(model, belief, index[id], outcome)
    return Belief(belief.weights, belief.done, opened)


def _after(model: Model, belief: Belief, step: int, outcome: str) -> Belief:
    """The belief after one outcome in words; one that says nothing puts the step aside."""
    action = step - len(model.questions)
    if action >= 0:
        return after_failure(model, belief, action) if outcome == FAILED else put_aside(belief, step)
    labels = model.questions[step].answers
    return after_answer(model, belief, step, labels.index(outcome)) if outcome in labels else put_aside(belief, step)
