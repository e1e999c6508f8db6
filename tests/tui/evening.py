"""One small evening for all screen tests: own files, a clock that stands, a log in memory."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from textual.pilot import Pilot

from showday.fault.reader import read_tree
from showday.library import Library, Source
from showday.log.records import RunRecord, Snapshot, summarise
from showday.playbook.reader import read_playbook
from showday.rig.model import Rig
from showday.rig.reader import read_rig
from showday.run.events import Entry, Event, RunStarted, WalkOpened
from showday.run.touring import TOURING_EVENTS
from showday.tui.app import ShowdayApp
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.step_card import StepCard

RIG = """
rig: small
act: The Late Bus
people: [{name: Ada, plays: voice}, {name: Ben, plays: bass}]
inputs:
  - {number: 1, name: Bass, source: di, box: Box A 1, person: Ben}
  - {number: 2, name: Voice, source: mic, box: Box A 2, person: Ada}
"""

LINE_CHECK = """
playbook: line-check
title: Line check
caution: If anything tingles, stop.
sections:
  - title: Before
    steps:
      - {id: clock, do: Start the clock, until: minutes on the screen, why: A line that goes up bangs.,
         basis: common practice, takes: 10s}
      - {id: minimum, do: Turn every pack to minimum, until: all knobs at zero, must: yes, takes: 10s,
         caution: A plug pulled hot can bang.}
      - {id: scene, do: Load the scene, must: yes, takes: 15s}
  - title: Every input
    for_each: input
    pause: before the first song
    caution: Ears out.
    steps:
      - {id: signal, do: "Make a sound into {input.name}", until: "channel {input.number} moves", takes: 15s,
         reading: {name: peak, unit: dBFS, wanted: -24..-12}, if_wrong: [no-signal, hum]}
  - title: House
    mode: do-confirm
    steps:
      - {id: reboot, do: Restart the mixer, irreversible: the house hears nothing for a minute}
      - {id: lines, do: Ask the house for every line, takes: 40s}
"""

NO_SIGNAL = """
fault: no-signal
title: No signal
concerns: input
heard_as: [silent, nothing comes, dead line]
caution: Keep ears out while you pull plugs.
groups: {rack: {what: Open the rear of the rack, takes: 60s}}
walk:
  - check: Does the channel's meter move?
    id: meter
    why: It halves the line.
    takes: 5s
    answers:
      it moves:
        - {fix: Turn the send up, id: send-up, cures: send-down, takes: 5s}
      it stays still:
        - {fix: Push the plug in at the box, id: plug, cures: [loose-plug, bad-cable], takes: 10s}
        - {fix: Use the spare channel, id: spare-line, cures: bad-cable, takes: 30s, workaround: yes,
           uses: spare channel, irreversible: the house loses this line for a moment}
        - check: Is the card seated?
          id: card
          group: rack
          answers:
            it is loose: {cause: card-loose}
            it is firm: {cause: bad-cable}
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
  - {fix: Press the audio ground lift on the DI, id: di, cures: loop, takes: 5s}
causes: {loop: {what: A ground loop, cure: Put a DI with a transformer}}
help: {do: Ask the house, takes: 2min}
"""


@dataclass
class FakeClock:
    """A clock that stands until it is told to go on."""

    when: datetime = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)
    seconds: float = 1000.0

    def now(self) -> datetime:
        return self.when

    def ticks(self) -> float:
        return self.seconds

    def advance(self, seconds: float) -> None:
        self.when += timedelta(seconds=seconds)
        self.seconds += seconds


@dataclass
class FakeKeeper:
    """The log in memory, with the keeper's manners."""

    lines: list[Entry] = field(default_factory=list)
    texts: dict[str, str] = field(default_factory=dict)
    warning: str = ""
    pending: int = 0
    retried: int = 0
    fail: Exception | None = None
    """Raised by the next writes while it is set."""

    def append(self, entries: Sequence[Entry], snapshots: Sequence[Snapshot] = ()) -> None:
        if self.fail is not None:
            raise self.fail
        self.lines.extend(entries)
        for kept in snapshots:
            self.texts[kept.hash] = kept.text

    def entries(self, stream: str) -> list[Entry]:
        return [e for e in self.lines if e.stream == stream]

    def touring(self) -> list[Entry]:
        return [e for e in self.lines if isinstance(e.event, TOURING_EVENTS)]

    def runs(self, **only: Any) -> list[RunRecord]:
        streams = dict.fromkeys(e.stream for e in self.lines if isinstance(e.event, RunStarted))
        found = [r for s in streams if (r := summarise(self.entries(s))) is not None]
        if only.get("unfinished"):
            found = [r for r in found if not r.outcome]
        if (venues := only.get("venue_ids")) is not None:
            found = [r for r in found if r.venue in venues or r.show in only.get("shows", ())]
        return sorted(found, key=lambda r: r.started, reverse=True)

    def events_of(self, kinds: Collection[type[Event]], among: Collection[str]) -> list[Entry]:
        return [e for e in self.lines if type(e.event) in kinds and e.stream in among]

    def walked(self, fault: str, limit: int) -> list[str]:
        return [e.stream for e in self.lines if isinstance(e.event, WalkOpened) and e.event.fault == fault][:limit]

    def text_of(self, hash: str) -> str | None:
        return self.texts.get(hash)

    def retry(self) -> None:
        self.retried += 1

    def kinds(self) -> list[str]:
        """Names of the events written, in order."""
        return [type(e.event).__name__ for e in self.lines]


def rig_of(text: str) -> Rig:
    """A rig from its YAML."""
    rig, problems = read_rig(text, "rig.yaml")
    assert rig is not None, problems.in_order()
    return rig


def library_of(playbooks: Iterable[str] = (LINE_CHECK,), trees: Iterable[str] = (NO_SIGNAL, HUM)) -> Library:
    """A library of YAML texts."""
    library = Library()
    for text in trees:
        tree, problems = read_tree(text, "fault.yaml")
        assert tree is not None, problems.in_order()
        library.trees[tree.fault] = tree
        library.sources["fault", tree.fault] = Source("fault", tree.fault, "fault.yaml", text)
    for text in playbooks:
        book, problems = read_playbook(text, "book.yaml", set(library.trees))
        assert book is not None, problems.in_order()
        library.playbooks[book.playbook] = book
        library.sources["playbook", book.playbook] = Source("playbook", book.playbook, "book.yaml", text)
    return library


def screen_text(app: ShowdayApp) -> str:
    """What a person reads on the screen, line by line."""
    lines = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in line) for line in lines)


async def until(pilot: Pilot[Any], fact: Callable[[], object], tries: int = 200) -> None:
    """Wait until a fact holds; fail with the screen when it never does."""
    for _ in range(tries):
        if fact():
            return
        await pilot.pause()
    app: Any = pilot.app
    raise AssertionError(f"it never came true; the screen says:\n{screen_text(app)}")


async def press(pilot: Pilot[Any], keys: str) -> None:
    """Press keys given with spaces between them."""
    await pilot.press(*keys.split())


def said(app: ShowdayApp) -> str:
    """What the program says about the last key."""
    return "\n".join(line.text for line in app.screen.query_one("#said", Lines).lines)


def card(app: ShowdayApp) -> str:
    """The card on the screen, line by line, before any wrapping."""
    return "\n".join(line.text for line in app.screen.query_one("#card", StepCard).card.lines)
