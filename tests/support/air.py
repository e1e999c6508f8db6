"""A rig of two transmitters, a playbook and a tree that use frequencies, and what was kept for tonight."""

from __future__ import annotations

from itertools import count

from showday.counsel import Counsel
from showday.desk import Desk
from showday.library import Library, Source
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.playbook.model import Playbook
from showday.radio.model import CARRIER, TELEVISION, Occupied
from showday.run.air import KeptCarrier, KeptPlan, KeptSweep
from showday.run.session import Session, World
from tests.support.world import Clock, book_of, rig_of, tree_of

RIG = """
rig: rig
people: [{name: Ada}]
mixes: [{name: Front, transmitter: In-ear 1}]
transmitters:
  - {name: In-ear 1, low: 558, high: 566, step: 25}
  - {name: In-ear 2, low: 606, high: 614, step: 25}
packs:
  - {name: Pack 1, transmitter: In-ear 1, person: Ada}
  - {name: Pack 2, transmitter: In-ear 2}
  - {name: Spare pack, spare: yes}
"""
SCAN = """
playbook: scan
title: Scan
sections:
  - title: Plan
    steps:
      - {id: plan, do: Plan, opens: radio}
      - {id: clearance, do: Read it, reading: {name: clearance, unit: kHz, wanted: 100..}, opens: radio}
      - {id: try, do: "Try the spare[, {spare.frequency} MHz][ ({spare.missing})]"}
  - title: Set
    for_each: transmitter
    steps:
      - {id: set, do: "Set {transmitter.name} to its frequency[: {transmitter.planned} MHz]", if_wrong: drop}
  - title: Packs
    for_each: pack
    steps:
      - {id: match, do: "Set {pack.name}[ to {pack.planned} MHz]", until: "as {pack.transmitter}", if_wrong: drop}
"""
DROP = """
fault: drop
title: It drops
heard_as: [drops]
concerns: pack
walk:
  - {fix: Wiggle, id: wiggle, cures: {taken: 0.2}, takes: 5s}
  - fix: "Move to the spare[, {spare.frequency} MHz][ ({spare.missing})]"
    id: move
    cures: {taken: 0.9}
    takes: 60s
    workaround: yes
    uses: spare frequency
  - {cause: taken}
causes:
  taken: {what: Somebody is on it, cure: "Go to [{spare.frequency} MHz]the spare and talk", takes: 90s}
help: {do: Call}
"""
SPARES = (
    KeptCarrier("", 565_650_000, 300_000, fits=("In-ear 1",)),
    KeptCarrier("", 610_000_000, 300_000, fits=("In-ear 2",)),
    KeptCarrier("", 559_900_000, 300_000, fits=("In-ear 1",)),
)
PLAN = KeptPlan(
    carriers=(KeptCarrier("In-ear 1", 558_300_000, 300_000), KeptCarrier("In-ear 2", 607_100_000, 350_000)),
    spares=SPARES,
    proved=True,
    clearance=300_000,
    asked="2 carriers and 3 spares",
    reason="the quietest channel",
)
SWEPT = KeptSweep(
    files=("yard.csv",),
    low=526_000_000,
    high=598_000_000,
    unit="dBm",
    floor=-101.0,
    bands=(
        Occupied(542_000_000, 550_000_000, "TV 30", TELEVISION, None, -60.0),
        Occupied(552_650_000, 552_850_000, "", CARRIER, 552_750_000, -55.5),
    ),
    own=(("In-ear 1", 558_300_000, True),),
    trace=((526_000_000, -101.2), (552_750_000, -55.5)),
)


def desk_of(clock: Clock) -> Desk:
    """A rig of two transmitters that reach different bands, a playbook, a tree, and tonight's show."""
    book: Playbook = book_of(SCAN)
    library = Library(
        {"scan": book},
        {"drop": tree_of(DROP)},
        {
            ("playbook", "scan"): Source("playbook", "scan", "scan.yaml", SCAN),
            ("fault", "drop"): Source("fault", "drop", "drop.yaml", DROP),
        },
    )
    numbers = count(1)
    keeper = Keeper(Log.in_memory)
    made = Desk(library, rig_of(RIG), None, keeper, World(keeper, clock, lambda: f"id-{next(numbers):04d}"))
    made.plan_show(made.add_venue("Old Mill"), "2026-05-02")
    return made


def at_step(desk: Desk, key: str) -> Session:
    session = desk.start_run("scan")
    session.go_to(key)
    return session


def in_walk(desk: Desk, key: str) -> tuple[Session, Counsel]:
    session = at_step(desk, key)
    state = desk.open_walk(session, "drop", session.state.planned(key))
    return session, Counsel(desk, state, desk.tree_of(state), by_author=True)


def answer(desk: Desk, session: Session, node: str, said: str) -> None:
    ask = desk.ask_again(session.state, desk.tree_of(session.state), node)
    assert ask is not None
    session.answer_walk(ask, said)


def sentence(desk: Desk, session: Session, node: str = "move") -> str:
    ask = desk.ask_again(session.state, desk.tree_of(session.state), node)
    assert ask is not None
    return ask.do
