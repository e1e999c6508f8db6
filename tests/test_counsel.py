"""The counsel of a walk: either order, either goal, spares in use, what the log has taught, and the hunt for a cause."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
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
from showday.run.slot import slot_time
from showday.run.state import WalkState
from showday.run.touring import ToFix, ToFixClosed
from tests.fault.test_advise import LATE, TREE


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
    answer(desk, session, counsel, *answers)
    session.end_walk(cause, odds=counsel.odds(session.state, cause))
    session.finish()
    return session


def answer(desk: Desk, session: Session, counsel: Counsel, *answers: tuple[str, str]) -> None:
    """Answer nodes of the open walk, in any order."""
    for node, said in answers:
        ask = desk.ask_again(session.state, counsel.tree, node)
        assert ask is not None
        session.answer_walk(ask, said)


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


def chance(desk: Desk, cause: str) -> float:
    """What a walk that begins now gives a cause."""
    session = desk.start_bare()
    return next(c.chance for c in opened(desk, session).likely(session.state).likely if c.cause == cause)


def test_walks_of_the_log_move_the_odds(desk: Desk) -> None:
    before = chance(desk, "cable")
    for _ in range(6):
        walk(desk, ("swap", "restored"), cause="cable")
    session = desk.start_bare()
    counsel = opened(desk, session)
    likely = counsel.likely(session.state).likely[0]
    assert (likely.cause, likely.anywhere) == ("cable", 6)
    assert likely.chance > before


def test_what_was_confirmed_is_counted_here_only_when_here_is_known(desk: Desk) -> None:
    walk(desk, ("swap", "restored"), cause="cable")
    session = desk.start_bare()
    assert opened(desk, session).learned(session.state).walks_here == 0
    assert "1 of 1 times so far" in _reason(desk, ("unmute", "no change"))
    desk.plan_show(desk.add_venue("Old Mill"), "2031-07-05")
    walk(desk, ("swap", "restored"), cause="cable")
    assert "1 of 1 times here" in _reason(desk, ("unmute", "no change"))


def _reason(desk: Desk, *answers: tuple[str, str]) -> str:
    session = desk.start_bare()
    counsel = opened(desk, session)
    counsel.restore_first = False
    answer(desk, session, counsel, *answers)
    advice = counsel.next(session.state)[1]
    assert advice is not None
    return advice.reason


def test_a_spare_in_use_is_not_offered_until_its_item_is_closed(desk: Desk) -> None:
    walk(desk, ("spare", "restored"))
    session = desk.start_bare()
    counsel = opened(desk, session)
    assert counsel.spares_left("spare line") == 0
    answer(desk, session, counsel, ("unmute", "no change"), ("swap", "no change"))
    for _ in range(2):
        assert counsel.next(session.state)[0].id != "spare"
        counsel.switch_order()
    answer(desk, session, counsel, ("meter", "don't know"))
    counsel.switch_order()
    assert counsel.next(session.state)[0].id == "help"
    [item] = desk.book().open_items()
    desk.record(item.id, ToFixClosed("a new cable"))
    assert opened(desk, desk.start_bare()).spares_left("spare line") == 1


def test_a_second_spare_is_there_when_the_rig_has_two(desk: Desk) -> None:
    desk.rig = replace(desk.rig, inputs=(Input("A", 1, spare=True), Input("B", 2, spare=True)))
    walk(desk, ("spare", "restored"))
    assert opened(desk, desk.start_bare()).spares_left("spare line") == 1


@pytest.mark.parametrize(
    ("rig", "spare", "many"),
    [
        pytest.param(Rig("r"), "spare DI", 1, id="the rig does not say"),
        pytest.param(Rig("r", packs=(Pack("P", spare=True),) * 2), "spare pack", 2, id="spare packs"),
        pytest.param(Rig("r", packs=(Pack("P"),), spares=(Spare("Pack", have=3),)), "spare pack", 3, id="in a box"),
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
    assert state.walk.answers == (("unmute", "no change"), ("spare", "restored"))
    assert {e.event.source for e in state.history if isinstance(e.event, ev.WalkAnswered)} == {"carried"}
    assert is_hunt(state)
    counsel = Counsel(desk, state, desk.tree_of(state))
    assert not counsel.restore_first
    assert counsel.next(state)[0].id in ("meter", "swap")
    assert counsel.odds(state) == item.odds


def test_an_item_can_be_hunted_though_nothing_was_answered_before_the_workaround(desk: Desk) -> None:
    walk(desk, ("spare", "restored"))
    state = open_hunt(desk, desk.book().open_items()[0]).state
    counsel = Counsel(desk, state, desk.tree_of(state))
    assert not counsel.restore_first
    assert not counsel.stopgap_waits(state)
    assert counsel.next(state)[0].id != "spare"


def test_a_hunt_that_was_broken_off_is_gone_on_with(desk: Desk) -> None:
    walk(desk, ("unmute", "no change"), ("spare", "restored"))
    [item] = desk.book().open_items()
    first = open_hunt(desk, item)
    answer(desk, first, Counsel(desk, first.state, desk.tree_of(first.state)), ("meter", "still"))
    again = open_hunt(desk, item)
    assert again.state.run == first.state.run
    assert again.state.walk == first.state.walk


def test_a_hunt_that_finds_nothing_leaves_the_item_as_it_is(desk: Desk) -> None:
    walk(desk, ("unmute", "no change"), ("spare", "restored"))
    before = desk.book().open_items()
    session = open_hunt(desk, before[0])
    answer(desk, session, Counsel(desk, session.state, desk.tree_of(session.state)), ("swap", "no change"))
    session.end_walk()
    session.finish("stopped")
    assert desk.book().open_items() == before


def test_a_hunt_is_about_the_same_thing_as_its_item(desk: Desk) -> None:
    desk.rig = replace(desk.rig, inputs=(Input("Kick", 3),))
    session = desk.start_bare()
    held = replace(opened_walk(desk, session), about="input 3, Kick", thing=("input", "3"))
    session.end_walk()
    state = desk.open_walk(session, "silent", like=held)
    assert state.walk is not None and state.walk.about == "input 3, Kick"
    assert desk.walk_fields(state)["input.name"] == "Kick"


def opened_walk(desk: Desk, session: Session) -> WalkState:
    walk = desk.open_walk(session, "silent").walk
    assert walk is not None
    return walk


def test_calls_for_help_and_cures_that_did_not_last_are_asked_again_in_a_hunt(desk: Desk) -> None:
    walk(desk, ("meter", "don't know"), ("swap", "can't now"), ("unmute", "no change"), ("help", "no change"))
    [item] = desk.book().open_items()
    session = open_hunt(desk, item)
    assert session.state.walk is not None
    assert session.state.walk.answers == (("unmute", "no change"),)


def test_the_odds_that_are_kept_after_a_workaround_know_that_it_worked(desk: Desk) -> None:
    """The spare line helps when the line is muted or its cable is dead, and hardly by chance else."""
    walk(desk, ("spare", "restored"))
    [item] = desk.book().open_items()
    odds = dict(item.odds)
    assert odds["Something else"] < 0.05 < chance(desk, "something-else") + 0.01
    assert sum(odds.values()) == pytest.approx(1.0, abs=0.01)


def test_a_confirmed_cause_of_a_workaround_is_kept_as_the_cause(desk: Desk) -> None:
    walk(desk, ("spare", "restored"), cause="cable")
    [item] = desk.book().open_items()
    assert item.likely() == "cause: the cable is dead"


def test_a_workaround_that_did_not_help_still_counts_when_the_goal_changes(desk: Desk) -> None:
    session = desk.start_bare()
    counsel = opened(desk, session)
    answer(desk, session, counsel, ("spare", "no change"))
    before = counsel.odds(session.state)
    counsel.switch_goal()
    assert not counsel.restore_first
    assert counsel.odds(session.state) == before


def test_the_goal_decides_whether_workarounds_are_offered(desk: Desk) -> None:
    session = desk.start_bare()
    counsel = opened(desk, session)
    assert counsel.restore_first
    answer(desk, session, counsel, ("unmute", "no change"))
    assert counsel.next(session.state)[0].id == "spare"
    counsel.switch_goal()
    assert counsel.next(session.state)[0].id in ("meter", "swap")
    answer(desk, session, counsel, ("swap", "no change"), ("meter", "don't know"))
    assert counsel.next(session.state)[0].id == "help"
    assert counsel.stopgap_waits(session.state)


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        pytest.param(-60, None, id="the slot is over"),
        pytest.param(150, None, id="there is time for both"),
        pytest.param(85, "swap", id="a minute and some seconds, rounded down"),
        pytest.param(3_000, None, id="far away"),
    ],
)
def test_when_the_slot_is_near_the_likelier_step_is_named(desk: Desk, seconds: int, said: str | None) -> None:
    read, _ = read_tree(LATE, "late.yaml")
    assert read is not None
    desk.library.trees["late"] = read
    desk.library.sources["fault", "late"] = Source("fault", "late", "late.yaml", LATE)
    clock = StandingClock(datetime(2031, 7, 5, 18, 0, tzinfo=UTC))
    desk.world = replace(desk.world, clock=clock)
    desk.plan_show(desk.add_venue("Old Mill"), "2031-07-05", f"{clock.at.astimezone():%H:%M}")
    show = desk.tonight()
    slot = slot_time(show, None) if show else None
    assert slot is not None
    clock.at = slot - timedelta(seconds=seconds)
    session = desk.start_bare()
    state = desk.open_walk(session, "late")
    counsel = Counsel(desk, state, desk.tree_of(state))
    found = counsel.in_time(state)
    assert (found.step if found else None) == said
    if found:
        assert found.line().startswith("likelier to bring sound back in the 1 min left (")
        counsel.switch_order()
        assert counsel.in_time(state) is None


@dataclass
class StandingClock:
    """A clock that stands."""

    at: datetime

    def now(self) -> datetime:
        return self.at

    def ticks(self) -> float:
        return 0.0


def test_an_item_without_a_walk_cannot_be_hunted(desk: Desk) -> None:
    with pytest.raises(FileTrouble, match="did not come from a fault walk"):
        open_hunt(desk, ToFix("i", "a loose screw", "2026-01-01"))


def test_what_came_back_counts_against_its_fix(desk: Desk) -> None:
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
    assert opened(desk, again).learned(again.state).numbers.fixes["swap"] < 1.0
