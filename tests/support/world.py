"""A small evening in memory: a clock that stands until it is told, ids that count, a sink that keeps or refuses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from showday.fault.model import Tree
from showday.fault.reader import read_tree
from showday.playbook.model import Playbook
from showday.playbook.reader import read_playbook
from showday.rig.model import EMPTY, Rig
from showday.rig.reader import read_rig
from showday.run import events as ev
from showday.run.plan import Plan, make_plan
from showday.run.session import Session, World

ROOT = Path(__file__).parents[2]
PLAYBOOKS = ROOT / "playbooks"


@dataclass
class Clock:
    """Stands until it is told to go on."""

    when: datetime = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)
    seconds: float = 50.0

    def now(self) -> datetime:
        return self.when

    def ticks(self) -> float:
        return self.seconds

    def advance(self, seconds: float) -> None:
        self.when += timedelta(seconds=seconds)
        self.seconds += seconds


@dataclass
class Sink:
    """Keeps what is written, or raises `fail` instead."""

    lines: list[ev.Entry] = field(default_factory=list)
    fail: Exception | None = None

    def append(self, entries: Sequence[ev.Entry]) -> None:
        if self.fail is not None:
            raise self.fail
        self.lines.extend(entries)

    def of(self, stream: str) -> list[ev.Entry]:
        """The entries of one stream."""
        return [entry for entry in self.lines if entry.stream == stream]


@dataclass
class Evening:
    """A sink, a clock and ids, and the world made of them."""

    sink: Sink = field(default_factory=Sink)
    clock: Clock = field(default_factory=Clock)

    def __post_init__(self) -> None:
        ids = count(1)
        self.world = World(self.sink, self.clock, lambda: f"id-{next(ids)}")

    def start(self, plan: Plan, run: str = "run", **started: object) -> Session:
        """A new run of a plan."""
        event = ev.RunStarted(plan.playbook, plan.title, "hash", **started)  # type: ignore[arg-type]
        return Session.start(run, plan, event, self.world)

    def again(self, plan: Plan, run: str = "run") -> Session:
        """The same run in another sitting."""
        return Session.resume(run, plan, self.sink.of(run), self.world)


def rig_of(text: str) -> Rig:
    """A rig from its YAML, which must be right."""
    rig, problems = read_rig(text, "rig.yaml")
    assert rig is not None and not problems, [str(p) for p in problems]
    return rig


def book_of(text: str) -> Playbook:
    """A playbook from its YAML, which must be usable."""
    book, problems = read_playbook(text, "book.yaml")
    assert book is not None, [str(p) for p in problems]
    return book


def tree_of(text: str) -> Tree:
    """A fault tree from its YAML, which must be usable."""
    tree, problems = read_tree(text, "tree.yaml")
    assert tree is not None, [str(p) for p in problems]
    return tree


def plan_of(text: str, rig: Rig = EMPTY, facts: Mapping[str, bool] | None = None) -> Plan:
    """The plan of a playbook's YAML over a rig."""
    return make_plan(book_of(text), rig, show_facts=facts)


def shipped_playbooks() -> list[Path]:
    """Every playbook that ships."""
    return sorted(PLAYBOOKS.glob("*.yaml"))


def shipped_trees() -> list[Path]:
    """Every fault tree that ships."""
    return sorted((PLAYBOOKS / "faults").glob("*.yaml"))


def shipped_rigs() -> list[Path]:
    """Every rig file that ships."""
    return sorted((ROOT / "examples").glob("*rig*.yaml"))
