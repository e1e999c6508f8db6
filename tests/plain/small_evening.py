"""A small evening for the plain front: own files, a clock that counts, a log in memory, typed lines from a list."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from showday.desk import Desk
from showday.library import load_library, load_rig
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.plain.front import walk_plain
from showday.plain.talk import Talk
from showday.run import events as ev
from showday.run.session import Session, World

RIG = """
rig: small
people: [{name: Ada}, {name: Ben}]
inputs:
  - {number: 1, name: Bass, person: Ben}
  - {number: 2, name: Voice, person: Ada}
"""

EVENING = """
playbook: evening
title: The evening
caution: If anything tingles, stop.
sections:
  - title: Before
    pause: before the doors
    steps:
      - {id: clock, do: Start the clock, until: minutes on the screen, why: Time is short., basis: common practice,
         takes: 10s}
      - {id: minimum, do: Turn every pack to minimum, must: yes, caution: A plug pulled hot can bang.}
  - title: Every input
    for_each: input
    caution: Ears out.
    steps:
      - {id: signal, do: "Make a sound into {input.name}", takes: 15s,
         reading: {name: peak, unit: dBFS, wanted: -24..-12}, if_wrong: [no-signal, hum]}
  - title: House
    steps:
      - {id: level, do: Read the level, must: yes, reading: {name: level, unit: dB, wanted: 80..90}}
      - {id: free, do: Read what it says, reading: {unit: V}}
      - {id: reboot, do: Restart the mixer, irreversible: the house hears nothing for a minute}
"""

NO_SIGNAL = """
fault: no-signal
title: No signal
heard_as: [silent, nothing comes]
concerns: input
caution: Keep ears out while plugs are pulled.
groups: {rack: {what: Open the rear of the rack, takes: 60s}}
walk:
  - check: Does the meter move?
    id: meter
    answers:
      it moves:
        - {fix: Turn the send up, id: send-up, cures: send-down}
      it stays still:
        - {fix: Push the plug in, id: plug, cures: [loose-plug, bad-cable]}
        - {fix: Use the spare line, id: spare-line, cures: bad-cable, workaround: yes, uses: spare line,
           irreversible: the house loses this line}
        - {check: Is the card seated?, id: card, group: rack,
           answers: {loose: {cause: card-loose}, firm: {cause: bad-cable}}}
causes:
  send-down: {what: The send was down, cure: Turn it up}
  loose-plug: {what: A plug was loose, cure: Push it in}
  bad-cable: {what: The cable is broken, cure: Swap the cable}
  card-loose: {what: A card sat loose, cure: Seat the card, see: hum}
help: {do: "Ask the house engineer about {input.name}", takes: 2min}
"""

HUM = """
fault: hum
title: Hum or buzz
heard_as: [hum, buzz]
walk:
  - {check: One line or many?, id: lines,
     answers: {one line: {cause: di}, many lines: {cause: supply}, 2 or 3: {cause: di}}}
causes:
  di: {what: The DI, cure: Press its audio ground lift}
  supply: {what: The supply, cure: Call the electrician}
help: {do: Call the electrician}
"""


@dataclass
class CountingClock:
    """Each look at the time is a second later."""

    at: datetime = datetime(2031, 7, 5, 18, 0, tzinfo=UTC)

    def now(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at

    def ticks(self) -> float:
        return self.at.timestamp()


@dataclass
class TypedLines:
    """Lines typed in advance; `shown` is everything that was said, `looked` is called at each prompt."""

    typed: list[str]
    shown: list[str] = field(default_factory=list)
    looked: Callable[[str], None] = lambda prompt: None

    def read(self) -> str | None:
        self.looked(self.shown[-1])
        return self.typed.pop(0) if self.typed else None

    def write(self, line: str) -> None:
        self.shown.append(line)

    @property
    def prompts(self) -> list[str]:
        """The tags of the prompts, in order."""
        return [line[1:].partition("]")[0] for line in self.shown if line.startswith("[")]

    @property
    def text(self) -> str:
        """All that was said."""
        return "\n".join(self.shown)


@dataclass
class Evening:
    """A desk with one run on it."""

    desk: Desk
    session: Session
    clock: CountingClock

    def enter(self, *typed: str, looked: Callable[[str], None] = lambda prompt: None) -> TypedLines:
        """Go on with the run by typed lines until it ends or they do."""
        lines = TypedLines(list(typed), looked=looked)
        talk = Talk(lines)
        talk.watch(lambda: self.desk.keeper.warning)
        walk_plain(self.desk, self.session, talk)
        return lines

    def again(self, *typed: str) -> TypedLines:
        """Go on with it in a new sitting."""
        self.session = self.desk.resume_run(self.session.state.run)
        return self.enter(*typed)

    def events(self, *kinds: type[ev.Event]) -> list[ev.Event]:
        """The run's events in the log, of some kinds."""
        found = [entry.event for entry in self.desk.keeper.entries(self.session.state.run)]
        return [event for event in found if not kinds or isinstance(event, kinds)]

    def answers(self) -> list[tuple[str, str]]:
        """(step, result) of the answers in the log."""
        return [(e.step, e.result) for e in self.events(ev.StepAnswered) if isinstance(e, ev.StepAnswered)]


def make_small_desk(
    folder: Path,
    playbooks: Iterable[tuple[str, str]] = (("evening", EVENING),),
    faults: Iterable[tuple[str, str]] = (("no-signal", NO_SIGNAL), ("hum", HUM)),
    rig: str = RIG,
    keeper: Keeper | None = None,
) -> Desk:
    """A desk over the texts of playbooks, fault trees and a rig, put into a folder."""
    (folder / "own" / "faults").mkdir(parents=True)
    for place, files in (("own", playbooks), ("own/faults", faults)):
        for name, text in files:
            (folder / place / f"{name}.yaml").write_text(text, "utf-8")
    (folder / "rig.yaml").write_text(rig, "utf-8")
    library = load_library(folder / "own", folder / "nothing")
    assert [p for p in library.problems if not p.warning] == []
    read, problems, source = load_rig(folder / "rig.yaml")
    assert read is not None and all(p.warning for p in problems)
    numbers = count(1)
    kept = keeper or Keeper(Log.in_memory)
    world = World(kept, CountingClock(), lambda: f"00000000-0000-4000-8000-{next(numbers):012d}")
    return Desk(library, read, source, kept, world, by_author=True)


def begun(desk: Desk) -> Evening:
    """A run of the small playbook that was just begun."""
    assert isinstance(desk.world.clock, CountingClock)
    return Evening(desk, desk.start_run("evening"), desk.world.clock)


def opened(desk: Desk) -> Evening:
    """A fault walk outside of any playbook that was just opened."""
    assert isinstance(desk.world.clock, CountingClock)
    session = desk.start_bare()
    desk.open_walk(session, "no-signal")
    return Evening(desk, session, desk.world.clock)
