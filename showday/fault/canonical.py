"""A model in an order of its own, so that neither the order of a file nor its ids can change a price.

Causes, steps, answers and groups are told apart by what they are and by what they are connected with (colour refinement,
Weisfeiler and Leman 1968) and sorted by that. What cannot be told apart in this way keeps its order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from showday.fault.diagnosis import Action, Model, Question, bits

Colours = list[int]
_Rows = list[list[tuple[int, float]]]


@dataclass(frozen=True, slots=True)
class _Colouring:
    causes: Colours
    steps: Colours
    """Questions, then actions."""
    groups: Colours

    def count(self) -> int:
        """How many kinds there are."""
        return len(set(self.causes)) + len(set(self.steps)) + len(set(self.groups))


def canonical(model: Model) -> Model:
    """The same model with its causes, questions, answers, actions and groups sorted by what they mean."""
    colouring, rows = _first_colouring(model), _rows(model)
    while True:
        finer = _refined(model, colouring, rows)
        if finer.count() == colouring.count():
            return _sorted(model, finer)
        colouring = finer


def _first_colouring(model: Model) -> _Colouring:
    questions = [(0, q.seconds, float(len(q.answers))) for q in model.questions]
    actions = [(1, a.seconds, a.repair) for a in model.actions]
    return _Colouring(_ranks(model.prior), _ranks(questions + actions), _ranks(model.groups))


def _refined(model: Model, held: _Colouring, rows: Sequence[_Rows]) -> _Colouring:
    """Tell apart what is connected with things of different kinds."""
    seen: list[list[Any]] = [[] for _ in model.causes]
    steps = []
    before, behind = _order_lines(model, held)
    for index, step_rows in enumerate(rows):
        colour, views = held.steps[index], []
        for row in step_rows:
            view = tuple(sorted([(held.causes[cause], chance) for cause, chance in row]))
            views.append(view)
            for cause, chance in row:
                seen[cause].append((colour, view, chance))
        group = model.step(index).group
        around = (
            tuple(sorted(before[index])),
            tuple(sorted(behind[index])),
            held.groups[group] if group >= 0 else -1,
        )
        steps.append((colour, tuple(sorted(views)), around))
    causes = [(held.causes[cause], tuple(sorted(views))) for cause, views in enumerate(seen)]
    inside: list[list[int]] = [[] for _ in model.groups]
    for index in range(model.steps):
        if model.step(index).group >= 0:
            inside[model.step(index).group].append(held.steps[index])
    groups = [(held.groups[g], tuple(sorted(members))) for g, members in enumerate(inside)]
    return _Colouring(_ranks(causes), _ranks(steps), _ranks(groups))


def _order_lines(model: Model, held: _Colouring) -> tuple[list[list[int]], list[list[int]]]:
    """For each step the kinds of what must come before it, and of what must come behind it."""
    before: list[list[int]] = [[] for _ in range(model.steps)]
    behind: list[list[int]] = [[] for _ in range(model.steps)]
    for index in range(model.steps):
        for other in bits(model.after(index)):
            before[index].append(held.steps[other])
            behind[other].append(held.steps[index])
    return before, behind


def _rows(model: Model) -> list[_Rows]:
    """For each step its answers (a fix has one) as (cause, chance) of the causes that have any."""

    def some(row: Sequence[float]) -> list[tuple[int, float]]:
        return [(cause, chance) for cause, chance in enumerate(row) if chance > 0.0]

    questions = [[some(row) for row in question.likelihood] for question in model.questions]
    return questions + [[some(action.cures)] for action in model.actions]


def _ranks(values: Sequence[Any]) -> Colours:
    rank = {value: i for i, value in enumerate(sorted(set(values)))}
    return [rank[value] for value in values]


def _sorted(model: Model, held: _Colouring) -> Model:
    shift = len(model.questions)
    causes = _order(held.causes)
    questions = _order(held.steps[:shift])
    actions = _order(held.steps[shift:])
    groups = _order(held.groups)
    old = [*questions, *(shift + a for a in actions)]
    moved = {step: 1 << i for i, step in enumerate(old)}
    at = {group: i for i, group in enumerate(groups)}

    def after(mask: int) -> int:
        """The same steps by their new numbers."""
        return sum(bit for step, bit in moved.items() if mask >> step & 1)

    def question(q: Question) -> Question:
        # Answers of the same meaning keep their order.
        answers = sorted(range(len(q.answers)), key=lambda i: sorted(zip(held.causes, q.likelihood[i], strict=True)))
        rows = tuple(tuple(q.likelihood[i][f] for f in causes) for i in answers)
        labels = tuple(q.answers[i] for i in answers)
        closes = tuple(after(q.closes[i]) for i in answers) if q.closes else ()
        group = at.get(q.group, -1)
        return replace(q, answers=labels, likelihood=rows, after=after(q.after), group=group, closes=closes)

    def action(a: Action) -> Action:
        cures = tuple(a.cures[f] for f in causes)
        return replace(a, cures=cures, after=after(a.after), group=at.get(a.group, -1))

    return Model(
        causes=tuple(model.causes[f] for f in causes),
        prior=tuple(model.prior[f] for f in causes),
        questions=tuple(question(model.questions[q]) for q in questions),
        actions=tuple(action(model.actions[a]) for a in actions),
        help_seconds=model.help_seconds,
        groups=tuple(model.groups[g] for g in groups),
    )


def _order(colours: Sequence[int]) -> list[int]:
    return sorted(range(len(colours)), key=lambda i: colours[i])
