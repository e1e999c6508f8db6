"""Models made by seed for the tests of the solver: small enough to be solved exactly, odd enough to be instructive."""

from __future__ import annotations

import random
from dataclasses import replace

from showday.fault.diagnosis import Action, Model, Question


def identity(count: int, *lines: int) -> tuple[tuple[float, ...], ...]:
    """Rows of a unit matrix: a fix that cures its own cause, and only that."""
    return tuple(tuple(1.0 if j == i else 0.0 for j in range(count)) for i in (lines or range(count)))


def made(seed: int, causes: int, fixes: int, checks: int, *, noisy: bool, help_seconds: float = 600) -> Model:
    """A random model: imperfect fixes, fixes that cover several causes, a group, a workaround, two or three answers."""
    draw = random.Random(seed)
    shares = [draw.choice([1, 2, 3, 4, 6, 9]) for _ in range(causes)]
    total = sum(shares)
    prior = [round(s / total, 3) for s in shares]
    prior[-1] = round(1 - sum(prior[:-1]), 3)
    groups = (float(draw.choice([30, 60, 90])),) if draw.random() < 0.5 else ()
    actions = []
    for i in range(fixes):
        cures = [0.0] * causes
        cures[i % causes] = draw.choice([1.0, 0.9, 0.8, 0.6])
        if draw.random() < 0.3:
            cures[draw.randrange(causes)] = draw.choice([0.3, 0.5, 0.9])
        group = 0 if groups and draw.random() < 0.4 else -1
        actions.append(Action(f"fix{i}", float(draw.choice([5, 10, 20, 40, 60, 120])), tuple(cures), group=group))
    if draw.random() < 0.5:
        covers = tuple(draw.choice([0.5, 0.7, 0.9]) for _ in range(causes))
        actions[-1] = Action("around", float(draw.choice([20, 40, 60])), covers, workaround=True)
    return Model(
        causes=tuple(f"cause{i}" for i in range(causes)),
        prior=tuple(prior),
        questions=tuple(_question(draw, i, causes, noisy=noisy) for i in range(checks)),
        actions=tuple(actions),
        help_seconds=help_seconds,
        groups=groups,
    )


def _question(draw: random.Random, number: int, causes: int, *, noisy: bool) -> Question:
    answers = draw.choice([2, 2, 3])
    rows = [[0.0] * causes for _ in range(answers)]
    wrong = {2: 0.1, 3: 0.05}[answers] if noisy else 0.0
    for cause in range(causes):
        told = draw.randrange(answers)
        for answer in range(answers):
            rows[answer][cause] = 1.0 - wrong * (answers - 1) if answer == told else wrong
    labels = tuple(f"answer{i}" for i in range(answers))
    return Question(f"check{number}", float(draw.choice([5, 10, 15, 20])), labels, tuple(map(tuple, rows)))


def waiting(model: Model, seed: int) -> Model:
    """The same with look-then-fix steps and with one fix and one question that must wait for others."""
    count = len(model.questions)
    actions = [replace(a, repair=30.0) if i % 3 == seed % 3 else a for i, a in enumerate(model.actions)]
    actions[-1] = replace(actions[-1], after=1 << count)
    questions = list(model.questions)
    if count > 1:
        questions[-1] = replace(questions[-1], after=1)
    return replace(model, actions=tuple(actions), questions=tuple(questions))


def sure(seed: int, causes: int, fixes: int, checks: int) -> Model:
    """Error-free checks and sure fixes, some of which cover two causes or look first; a group in every other one."""
    model = made(seed, causes, fixes, checks, noisy=False)
    actions = [
        Action(a.id, a.seconds, tuple(1.0 if s >= 0.5 else 0.0 for s in a.cures), 15.0 * (i % 2), group=a.group)
        for i, a in enumerate(model.actions)
        if not a.workaround
    ]
    return replace(model, actions=tuple(actions))
