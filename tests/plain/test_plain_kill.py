"""The laptop dies at any moment: whatever was acknowledged is in the log, and the run goes on where it stood.

An answer counts as acknowledged once the next prompt is shown. The program is a real process that is killed with the
signal no program can catch; moments and answers are drawn from a fixed seed.
"""

from __future__ import annotations

import os
import random
import select
import subprocess
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.opening import reading_desk
from showday.run import events as ev
from showday.run.phases import FINISHED
from showday.run.state import replay

KILLS = 100
LONGEST = 60.0
"""Seconds without a word after which the program counts as hung."""
RIG = """
rig: kill
inputs: [{number: 1, name: Bass, source: di, phantom: no}, {number: 2, name: Voice, source: mic, phantom: yes}]
packs: [{name: One}]
"""
Fact = tuple[str, str, str]
"""What an answer says: what kind, where, and what."""


@dataclass
class Sitting:
    """The program from a start to its death."""

    home: Path
    more: tuple[str, ...] = ()
    process: subprocess.Popen[bytes] = field(init=False)
    lines: list[str] = field(default_factory=list)
    rest: bytes = b""

    def __post_init__(self) -> None:
        command = [sys.executable, "-m", "showday.cli", "run", "line-check", "--plain", *self.more]
        environment = {**os.environ, "SHOWDAY_HOME": str(self.home)}
        pipe = subprocess.PIPE
        self.process = subprocess.Popen(command, env=environment, stdin=pipe, stdout=pipe, stderr=subprocess.STDOUT)

    def prompt(self) -> str:
        """The next prompt; empty when the program ended by itself."""
        out = self.process.stdout
        assert out is not None
        while True:
            while b"\n" in self.rest:
                raw, _, self.rest = self.rest.partition(b"\n")
                self.lines.append(raw.decode())
                if self.lines[-1].startswith("["):
                    return self.lines[-1]
            ready, _, _ = select.select([out], [], [], LONGEST)
            assert ready, f"hung after {self.lines[-3:]}"
            read = os.read(out.fileno(), 65536)
            if not read:
                return ""
            self.rest += read

    def type(self, text: str) -> None:
        """Type one line."""
        assert self.process.stdin is not None
        self.process.stdin.write(text.encode() + b"\n")
        self.process.stdin.flush()

    def let_live(self, seconds: float) -> None:
        """Wait for a word of the program, at most so long."""
        assert self.process.stdout is not None
        select.select([self.process.stdout], [], [], seconds)

    def kill(self) -> None:
        """End it as a dead battery does."""
        self.process.kill()
        self.process.wait()
        for stream in (self.process.stdin, self.process.stdout):
            assert stream is not None
            stream.close()


def answer_to(prompt: str, chance: random.Random) -> tuple[str, list[Fact]]:
    """What is typed at a prompt, and the facts that must then be in the log."""
    tag, _, question = prompt[1:].partition("]")
    kind, _, rest = tag.partition(" ")
    where = rest.split(" ")[0]
    if kind in ("step", "must") and chance.random() < 0.1:
        return "note two words", [("note", where, "two words")]
    if kind == "step":
        typed, result = chance.choice(
            [("g", "good"), ("good", "good"), ("f", "fault"), ("l", "later"), ("o", "left out")]
        )
        return typed, [("step", where, result)]
    if kind == "must":
        typed, result = chance.choice([("c", "good"), ("c", "good"), ("l", "later"), ("h no power", "not here")])
        return typed, [("step", where, result)]
    if kind == "reading":
        return (value := str(chance.choice([-18, 48, 3]))), [("reading", where, f"{float(value):g}")]
    if kind in ("check", "fix"):
        return "1", [("walk", where, question.strip(" ?").split(";")[0].removeprefix("1 "))]
    typed = {"yes": "yes", "tree": chance.choice(["", "none"]), "cause": "unknown", "end": "stop"}[kind]
    return typed, []


def facts_of(events: list[ev.Event]) -> Iterator[Fact]:
    """The same facts, as the log has them."""
    for event in events:
        if isinstance(event, ev.StepAnswered):
            yield "step", event.step, event.result
        elif isinstance(event, ev.ReadingTaken):
            yield "reading", event.step, f"{event.value:g}"
        elif isinstance(event, ev.NoteAdded):
            yield "note", event.step, event.text
        elif isinstance(event, ev.WalkAnswered):
            yield "walk", event.node, event.answer


class Evening:
    """One home, run after run, killed again and again."""

    def __init__(self, home: Path, seed: int) -> None:
        self.home = home
        self.chance = random.Random(seed)
        self.acknowledged: list[Fact] = []
        self.kills = 0
        self.over: set[str] = set()
        """Runs that were walked to their end."""
        (home / "config").mkdir(parents=True)
        (home / "config" / "rig.yaml").write_text(RIG, "utf-8")

    def sit(self) -> None:
        """One sitting, to its death or to the end of the run."""
        sitting = Sitting(self.home)
        if self.chance.random() < 0.15:
            sitting.let_live(self.chance.random() * 0.4)  # dies while it starts, or at its first words
            return self._die(sitting, [])
        facts: list[Fact] = []
        while prompt := sitting.prompt():
            self._acknowledge(facts, prompt)
            if self.chance.random() < 0.1:
                return self._die(sitting, [])
            typed, facts = answer_to(prompt, self.chance)
            sitting.type(typed)
            if self.chance.random() < 0.15:
                sitting.let_live(self.chance.random() * 0.006)  # dies around the moment of writing
                return self._die(sitting, facts)
        assert sitting.lines[-1].startswith(("complete: ", "stopped: ")), sitting.lines[-5:]
        self._acknowledge(facts, "")
        sitting.kill()
        over = len(self.over)
        self._look()
        assert len(self.over) == over + 1
        return None

    def _acknowledge(self, facts: list[Fact], prompt: str) -> None:
        """Keep what was answered; a reading inside its range answered its step too, if another one is asked now."""
        self.acknowledged += facts
        for kind, where, _ in facts:
            if kind == "reading" and where not in prompt.split("]")[0].split(" "):
                self.acknowledged.append(("step", where, "good"))

    def _die(self, sitting: Sitting, unsure: list[Fact]) -> None:
        sitting.kill()
        self.kills += 1
        self._look(unsure)

    def _look(self, unsure: Sequence[Fact] = ()) -> None:
        """The newest run in the log has all that was acknowledged and nothing but the `unsure` behind it."""
        found, finished = self._logged()
        known = len(self.acknowledged)
        assert found[:known] == self.acknowledged
        possible = [*unsure, *(("step", where, "good") for kind, where, _ in unsure if kind == "reading")]
        assert found[known:] == possible[: len(found) - known]
        self.acknowledged = [] if finished else found

    def _logged(self) -> tuple[list[Fact], bool]:
        """The facts of the newest run that was not over yet, and whether it is now; its entries replay."""
        path = self.home / "data" / "showday-log.sqlite"
        if not path.exists():
            return [], False
        with Log.open(path) as log:
            assert log.check() == []
            run = next((record.id for record in log.runs() if record.id not in self.over), None)
            if run is None:
                return [], False
            entries = log.entries(run)
            state = replay(run, reading_desk(Keeper(lambda: log)).plan_of(entries), entries)
        if state.phase == FINISHED:
            self.over.add(run)
        return list(facts_of([entry.event for entry in entries])), state.phase == FINISHED


@pytest.mark.slow
def test_nothing_acknowledged_is_lost_by_a_hundred_kills(tmp_path: Path) -> None:
    evenings = [Evening(tmp_path / str(seed), seed) for seed in (1, 2)]

    def live(evening: Evening) -> None:
        while evening.kills < KILLS // len(evenings) or not evening.over:
            evening.sit()

    with ThreadPoolExecutor(len(evenings)) as pool:
        list(pool.map(live, evenings))
    assert sum(evening.kills for evening in evenings) >= KILLS
    assert all(evening.over for evening in evenings)
