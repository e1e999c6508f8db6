"""The advice of a fault walk line by line: why now, what is likely, either order or goal, little time, the to-fix list."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest

from showday.counsel import open_hunt
from showday.desk import Desk
from showday.run import events as ev
from tests.fault.test_advise import LATE
from tests.plain.small_evening import HUM, NO_SIGNAL, CountingClock, Evening, opened

TO_SIGNAL = ("g", "c")


@pytest.fixture
def computed(walk: Evening) -> Evening:
    """A fault walk outside of any playbook, in the computed order."""
    walk.desk.by_author = False
    return walk


def last(said: list[str], label: str) -> str:
    """The last line with a label."""
    return next(line for line in reversed(said) if line.startswith(f"{label}: "))


def test_each_step_says_why_it_comes_now_and_what_is_likely(computed: Evening) -> None:
    said = computed.enter("c", "c").shown
    reasons = [line for line in said if line.startswith("Why now: ")]
    assert len(reasons) == 3
    assert all(" s" in line or "min" in line for line in reasons)
    likely = [line for line in said if line.startswith("Still likely: ")]
    assert len(likely) == 3
    assert all(line.count("%") == 3 for line in likely)


def test_odds_lists_every_cause_and_asks_the_same_again(computed: Evening) -> None:
    said = computed.enter("odds")
    assert said.prompts[0] == said.prompts[1]
    listed = [line for line in said.shown if line[:1].isdigit()]
    assert {line.partition("% ")[2] for line in listed} == {
        "The send was down",
        "A plug was loose",
        "The cable is broken",
        "A card sat loose",
        "Something else",
    }
    assert sum(int(line.partition("%")[0]) for line in listed) in range(97, 104)


def test_order_changes_to_the_authors_and_back_and_stays_for_the_evening(computed: Evening) -> None:
    said = computed.enter("order")
    assert computed.desk.by_author
    assert said.prompts[-1] == "check meter"
    assert last(said.shown, "Why now") == "Why now: the author's order"
    computed.again("order")
    assert not computed.desk.by_author


def test_goal_changes_between_sound_and_cause(computed: Evening) -> None:
    said = computed.enter("goal", "goal")
    assert "Cause first: no workarounds are offered." in said.shown
    assert "Sound first." in said.shown
    assert computed.events(ev.WalkAnswered) == []


def test_in_the_authors_order_there_is_no_goal(walk: Evening) -> None:
    said = walk.enter("goal")
    assert any(line.startswith("The author's order has no goal") for line in said.shown)
    assert said.prompts == ["check meter", "check meter"]


def test_a_workaround_says_how_many_spares_are_left(walk: Evening) -> None:
    assert "Uses up: spare line (1 left)" in walk.enter("2", "no change").shown


# -- when time is short ----------------------------------------------------------------------------------------


@pytest.fixture
def late(make_desk: Callable[..., Desk]) -> Evening:
    """A fault walk a minute and some seconds before the slot."""
    desk = make_desk(faults=[("no-signal", NO_SIGNAL), ("hum", HUM), ("late", LATE)])
    desk.by_author = False
    clock = desk.world.clock
    assert isinstance(clock, CountingClock)
    begins = clock.at.replace(second=0, microsecond=0)
    slot = (begins + timedelta(minutes=2)).astimezone()
    desk.plan_show(desk.add_venue("Old Mill"), f"{slot:%Y-%m-%d}", f"{slot:%H:%M}")
    evening = opened(desk)
    evening.session.end_walk()
    desk.open_walk(evening.session, "late")
    clock.at = begins + timedelta(seconds=40)
    return evening


def test_what_is_likelier_in_the_time_left_is_said_and_taken_by_a_word(late: Evening) -> None:
    said = late.enter("deadline", "c")
    assert said.prompts[:2] == ["fix plug", "fix swap"]
    line = last(said.shown[: said.shown.index("[fix swap] 1 restored; 2 no change?")], "Time is short")
    assert line.startswith("Time is short: likelier to bring sound back in the 1 min left (")
    assert line.endswith("Swap the pack (answer deadline)")
    assert "Why now: taken out of turn" in said.shown


def test_without_a_slot_no_other_step_is_named(computed: Evening) -> None:
    said = computed.enter("deadline")
    assert "No other step is clearly likelier to help in time." in said.shown
    assert said.prompts[0] == said.prompts[1]


# -- what came back, and the to-fix list -----------------------------------------------------------------------


def test_what_came_back_is_walked_again_at_once_at_the_same_step(evening: Evening) -> None:
    said = evening.enter(*TO_SIGNAL, "f", "", "1", "restored", "1", "came back", "1")
    assert "Noted: it came back; it stands on the to-fix list. Its walk begins again." in said.shown
    assert evening.session.state.walks[0].came_back
    assert evening.session.state.walk is not None
    assert evening.session.state.walk.step == "signal@1"
    assert said.prompts[-2:] == ["check meter", "fix send-up"]
    assert "fixed, but it came back" in evening.desk.book().open_items()[0].text


FOUND = ("it stays", "can't now", "yes", "restored", "unknown")


def test_what_was_likely_is_kept_with_the_item_of_a_workaround(walk: Evening) -> None:
    walk.enter(*FOUND)
    [item] = walk.desk.book().open_items()
    assert item.fault == "no-signal"
    assert item.likely().startswith("then likely: The cable is broken")


def hunted(walk: Evening, *typed: str) -> list[str]:
    """Look for the cause of the one item of the to-fix list."""
    walk.session = open_hunt(walk.desk, walk.desk.book().open_items()[0])
    return walk.enter(*typed).shown


def test_the_cause_of_an_item_is_looked_for_with_the_answers_of_then(walk: Evening) -> None:
    walk.enter(*FOUND)
    said = hunted(walk)
    assert "It looks for the cause of a to-fix item; workarounds are not offered." in said
    assert "2 answers so far; it goes on behind them." in said
    assert "Caution: Keep ears out while plugs are pulled." in said
    assert any(line.startswith("[fix plug]") for line in said)


@pytest.mark.parametrize(("typed", "open_items"), [("yes", 0), ("y", 0), ("no", 1), ("", 1)])
def test_an_item_whose_cause_was_found_and_cured_may_be_closed(walk: Evening, typed: str, open_items: int) -> None:
    walk.enter(*FOUND)
    said = hunted(walk, "restored", "2", typed)
    assert "[yes item] Is this item done: yes closes it, no leaves it open?" in said
    assert len(walk.desk.book().open_items()) == open_items
    if not open_items:
        [item] = walk.desk.book().items.values()
        assert item.how == "The cable is broken"


def test_an_item_whose_cause_was_not_found_stays(walk: Evening) -> None:
    walk.enter(*FOUND)
    before = walk.desk.book().open_items()
    said = hunted(walk, "restored", "unknown")
    assert not any(line.startswith("[yes item]") for line in said)
    assert walk.desk.book().open_items() == before
