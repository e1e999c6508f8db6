"""The counsel of a walk: either order, either goal, spares in use, what the log has taught, and the hunt for a cause."""

from __future__ import annotations

from dataclasses import replace
from itertools import count

import pytest

from showday.clockwork import SystemClock
from showday.counsel import Counsel, is_hunt, open_hunt, spares_carried
from showday.desk import Desk
from showday.errors import FileTrouble
from showday.fault.reader import read_tree
from showday.library import Library, Source
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.rig.model import Input, Pack, Rig, Spare
from showday.run import events as ev
from showday.run.session import Session, World
from showday.run.touring import ToFix
from tests.fault.test_advise import TREE


@pytest.fixture
def desk() -> Desk:
    tree, problems = read_tree(TREE, "silent.yaml")
    assert tree is not None, list(map(str, problems))
    library = Library(
        trees={"silent": tree}, sources={("fault", "silent"): Source("fault", "silent", "silent.yaml", TREE)}
    )
    keeper, numbers = Keeper(Log.in_memory), count(1)
    world = World(keeper, SystemClock(), lambda: f"id-{next(numbers):04d}")
    return Desk(library, Rig("trio"), None, keeper, world)


def walk(desk: Desk, *answers: tuple[str, str], cause: str = "") -> Session:
    """A fault walk of its own, ended."""
    session = desk.start_bare()
    counsel = opened(desk, session)
    for node, answer in answers:
        ask = desk.ask_again(session.state, counsel.tree, node)
        assert ask is not None
        session.answer_walk(ask, answer)
    session.end_walk(cause, odds=counsel.odds(session.state))
    session.finish()
    return session


def opened(desk: Desk, session: Session, *, by_author: bool = False) -> Counsel:
    state = desk.open_walk(session, "silent")
    return Counsel(desk, state, desk.tree_of(state), by_author=by_author)


def test_the_authors_order_and_the_computed_one(desk: Desk) -> None:
    session = desk.start_bare()
    counsel = opened(desk, session, by_author=True)
    assert (counsel.next(session.state)[0].id, counsel.next(session.state)[1]) == ("meter", None)
    counsel.switch_order()
    ask, advice = counsel.next(session.state)
    assert advice is not None
    assert ask.id == advice.step == "unmute"


def test_walks_of_the_log_move_the_odds(desk: Desk) -> None:
    for _ in range(6):
        walk(desk, ("swap", "restored"), cause="cable")
    session = desk.start_bare()
    counsel = opened(desk, session)
    likely = counsel.likely(session.state).likely[0]
    assert (likely.cause, likely.here, likely.anywhere) == ("cable", 6, 6)


def test_a_spare_in_use_is_not_offered_until_its_item_is_closed(desk: Desk) -> None:
    walk(desk, ("spare", "restored"))
    session = desk.start_bare()
    counsel = opened(desk, session)
    assert counsel.spares_left("spare line") == 0
    for node in ("unmute", "swap"):
        ask = desk.ask_again(session.state, counsel.tree, node)
        assert ask is not None
        session.answer_walk(ask, "no change")
    assert counsel.next(session.state)[0].id != "spare"


def test_a_second_spare_is_there_when_the_rig_has_two(desk: Desk) -> None:
    desk.rig = replace(desk.rig, inputs=(Input("A", 1, spare=True), Input("B", 2, spare=True)))
    walk(desk, ("spare", "restored"))
    assert opened(desk, desk.start_bare()).spares_left("spare line") == 1


@pytest.mark.parametrize(
    ("rig", "spare", "many"),
    [
        pytest.param(Rig("r"), "spare DI", 1, id="the rig does not say"),
        pytest.param(Rig("r", packs=(Pack("P", spare=True),) * 2), "spare pack", 2, id="spare packs"),
        pytest.param(Rig("r", spares=(Spare("Mic lead", have=4),)), "spare lead", 4, id="counted spares"),
        pytest.param(Rig("r", spares=(Spare("Mic lead", have=0),)), "spare lead", 0, id="none carried"),
    ],
)
def test_spares_the_rig_carries(rig: Rig, spare: str, many: int) -> None:
    assert spares_carried(rig, spare) == many


def test_a_workarounds_item_keeps_what_was_likely_and_can_be_hunted(desk: Desk) -> None:
    walk(desk, ("unmute", "no change"), ("spare", "restored"))
    (item,) = desk.book().open_items()
    assert item.fault == "silent"
    assert item.odds[0][0] == "the cable is dead"
    assert "the cable is dead" in item.likely()
    session = open_hunt(desk, item)
    state = session.state
    assert state.walk is not None
    assert state.walk.answers == (("unmute", "no change"),)
    assert is_hunt(state)
    counsel = Counsel(desk, state, desk.tree_of(state))
    assert not counsel.restore_first
    assert counsel.next(state)[0].id in ("meter", "swap")


def test_an_item_without_a_walk_cannot_be_hunted(desk: Desk) -> None:
    with pytest.raises(FileTrouble, match="did not come from a fault walk"):
        open_hunt(desk, ToFix("i", "a loose screw", "2026-01-01"))


def test_what_came_back_counts_against_its_fix(desk: Desk) -> None:
    before = opened(desk, desk.start_bare()).likely(desk.start_bare().state)
    session = desk.start_bare()
    counsel = opened(desk, session)
    ask = desk.ask_again(session.state, counsel.tree, "swap")
    assert ask is not None and session.state.walk is not None
    first = session.state.walk.walk
    session.answer_walk(ask, "restored")
    session.end_walk("cable")
    session.record(ev.CameBack(first))
    session.finish("stopped")
    again = desk.start_bare()
    tried = opened(desk, again)
    swap = next(a for a in tried._advises(again.state).model.actions if a.id == "swap")
    assert max(swap.cures) < 1.0
    assert before.step == "unmute"
