from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from showday.sound.arrival_words import WORDS, Circumstance, sentence_of
from showday.sound.arrivals import Arrival, Arrivals
from showday.sound.assignment import Assignment
from showday.sound.model import Block
from tests.sound.made_checks import RATE, blocks, burst, line_check
from tests.support.sentences import broken


def heard(sent_to: list[int | None], channels: int, size: int = 4_096, **ways: object) -> list[Arrival]:
    samples, walk = line_check(sent_to, channels, **ways)  # type: ignore[arg-type]
    arrivals = Arrivals(RATE, channels, walk)
    for block in blocks(samples, size):
        arrivals.feed(block)
    found = arrivals.result()
    assert [one.input for one in found] == [window.input for window in walk]
    assert all(not list(broken(one.sentence)) for one in found)
    return found


def places(found: list[Arrival]) -> list[tuple[str, int | None]]:
    return [(one.verdict, one.found) for one in found]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("size", [40, 1_000, 4_096])
def test_a_right_patch_arrives_whatever_the_block_size(seed: int, size: int) -> None:
    found = heard(list(range(8)), 8, size, seed=seed)
    assert places(found) == [("arrived", i) for i in range(8)]
    assert all(abs(one.margin_db - 25) < 3 for one in found)


@pytest.mark.parametrize("seed", range(20))
def test_any_patch_with_swaps_and_dead_lines_is_named_exactly(seed: int) -> None:
    draw = np.random.default_rng(seed)
    count, channels = int(draw.integers(6, 20)), 24
    sent_to: list[int | None] = [int(c) for c in draw.permutation(channels)[:count]]
    for dead in draw.choice(count, 2, replace=False):
        sent_to[dead] = None
    found = heard(sent_to, channels, seed=seed, level_db=list(draw.uniform(-30, -12, count)), bleed_db=-30.0)
    for i, one in enumerate(found):
        wanted = sent_to[i]
        if wanted is None:
            assert one.verdict == "nothing", one
            assert one.found is None
        elif one.verdict == "unsure":  # a dead line's bleed may tie with a soft one; never a wrong name
            assert one.found in (wanted, None), one
        else:
            assert one.found == wanted
            assert one.verdict == ("arrived" if wanted == i else "elsewhere")
    assert sum(one.verdict == "unsure" for one in found) <= 1


def test_a_swap_names_the_other_line() -> None:
    found = heard([0, 3, 2, 1, 4, 5], 8)
    assert [one.verdict for one in found] == ["arrived", "elsewhere", "arrived", "elsewhere", "arrived", "arrived"]
    assert found[1].sentence == "In 2 arrives on channel 4, wanted 2: swapped with In 4?"
    assert found[3].sentence == "In 4 arrives on channel 2, wanted 4: swapped with In 2?"


def test_a_dead_line_that_its_neighbour_overhears_has_not_arrived() -> None:
    found = heard([0, None, 2, 3, 4, 5], 6, close={(1, 2): -12.0})
    assert places(found)[1] == ("nothing", None)
    assert "only overheard on channel 3, where In 3 arrives" in found[1].sentence


def test_bleed_above_the_own_level_asks_for_a_second_tap_and_never_says_arrived() -> None:
    found = heard([0, 1, 2, 3, 4, 5], 6, close={(1, 2): 3.0})
    assert (found[1].verdict, found[1].found) == ("unsure", 1)
    assert "tap once more" in found[1].sentence
    assert found[1].margin_db < 0


def test_gains_far_apart_are_told_apart_by_the_whole_list() -> None:
    """One microphone turned up by 23 dB hears its neighbours only 4 dB below their own lines."""
    levels = [-38.0, -38.0, -38.0, -38.0, -38.0, -15.0]
    found = heard(list(range(6)), 6, level_db=levels, bleed_db=-27.0)
    assert places(found) == [("arrived", i) for i in range(6)]
    assert max(one.margin_db for one in found[:5]) < 6


def test_a_channel_that_sounds_all_the_time_is_not_taken_for_the_input() -> None:
    samples, walk = line_check([0, 1, 2, 3, 4, None], 6)
    samples[:, 5] += np.sin(np.arange(len(samples)) * 0.3).astype(np.float32) * 0.2
    arrivals = Arrivals(RATE, 6, walk)
    for block in blocks(samples):
        arrivals.feed(block)
    assert not [one for one in arrivals.result() if one.verdict == "arrived" and one.found == 5]
    assert arrivals.result()[5].verdict in ("nothing", "unsure")


def test_a_loud_steady_channel_may_hide_the_line_and_is_said() -> None:
    """Input 2 is plugged where music runs: its bleed on its wanted channel is no proof."""
    samples, walk = line_check([0, 5, None, 3], 6, close={(1, 0): -60.0})
    samples[:, 5] += np.random.default_rng(1).standard_normal(len(samples)).astype(np.float32) * 0.3
    samples[RATE : RATE + len(burst(0.5, 0)), 1] += (burst(0.5, 0) * 0.01).astype(np.float32)
    arrivals = Arrivals(RATE, 6, walk)
    for block in blocks(samples):
        arrivals.feed(block)
    one = arrivals.result()[1]
    assert one.verdict == "unsure"
    assert "channel 6 is as loud then as at other times and may hide it" in one.sentence


class Live:
    """Somebody who taps: each sound reaches one channel, and another by so much less."""

    def __init__(self, channels: int = 4) -> None:
        self.arrivals = Arrivals(RATE, channels)
        self.channels, self.at = channels, 0
        self.sound(None)

    def sound(
        self, channel: int | None, margin_db: float = 30.0, level_db: float = -20.0, seconds: float = 0.5
    ) -> None:
        frames = int(seconds * RATE)
        draw = np.random.default_rng(self.at)
        made = draw.standard_normal((frames, self.channels)) * 1e-4
        if channel is not None:
            tap = burst(seconds, self.at) * 10 ** (level_db / 20)
            made[:, channel] += tap
            made[:, (channel + 1) % self.channels] += tap * 10 ** (-margin_db / 20)
        for block in blocks(made.astype(np.float32), 512, self.at):
            self.arrivals.feed(block)
        self.at += frames

    def tap(self, name: str, wanted: int | None, channel: int | None, **ways: float) -> Arrival:
        self.arrivals.begin(name, wanted)
        self.sound(channel, **ways)
        found = self.arrivals.end()
        assert found is not None
        return found


def test_live_each_input_is_answered_as_it_ends() -> None:
    live = Live()
    assert live.arrivals.now() is None
    assert live.arrivals.end() is None
    live.arrivals.begin("Kick", 0)
    first = live.arrivals.now()
    assert first is not None
    assert first.verdict == "nothing"
    live.sound(0)
    second = live.arrivals.now()
    assert second is not None
    assert (second.verdict, second.found) == ("arrived", 0)
    ended = live.arrivals.end()
    assert ended == second
    assert live.arrivals.now() is None


def test_two_taps_that_agree_settle_a_close_call() -> None:
    live = Live()
    first = live.tap("Snare", 1, 1, margin_db=4.5)
    assert (first.verdict, first.found) == ("unsure", 1)
    assert "4 dB apart" in first.sentence
    assert live.tap("Snare", 1, 1, margin_db=4.5).verdict == "arrived"
    assert live.tap("Tom", 2, 2, margin_db=2.0).verdict == "unsure"
    assert live.tap("Tom", 2, 2, margin_db=2.0).verdict == "unsure"


def test_a_wrong_channel_needs_a_wider_margin_while_the_right_one_overhears_nothing() -> None:
    """Channel 1 hears the tom, and channel 2 by 8 dB less: channel 3, where it belongs, nothing, or the bleed as well."""
    live = Live()
    assert live.tap("Snare", 1, 1, margin_db=8.0).verdict == "arrived"
    first = live.tap("Tom", 2, 0, margin_db=8.0)
    assert (first.verdict, first.found) == ("unsure", 0)
    assert live.tap("Tom", 2, 0, margin_db=8.0).verdict == "elsewhere"
    assert live.tap("Keys", 3, 0, margin_db=12.0).verdict == "elsewhere"
    assert live.tap("Horn", 2, 1, margin_db=8.0).verdict == "elsewhere"
    assert live.tap("Flute", 9, 0, margin_db=8.0).verdict == "unsure"  # a channel that is not there


def test_two_close_taps_that_disagree_settle_nothing() -> None:
    live = Live()
    assert live.tap("Snare", 1, 1, margin_db=4.5).verdict == "unsure"
    assert live.tap("Snare", 1, 2, margin_db=4.5).verdict == "unsure"


def test_a_line_repaired_between_two_taps_is_judged_by_the_last() -> None:
    live = Live()
    assert live.tap("Bass", 2, None).verdict == "nothing"
    assert live.tap("Bass", 2, 2).verdict == "arrived"
    assert live.tap("Keys", 3, 0).verdict == "elsewhere"
    assert live.tap("Keys", 3, 3).verdict == "arrived"
    assert live.tap("Keys", 3, None).verdict == "nothing"


def test_a_faint_sound_asks_for_a_stronger_one() -> None:
    live = Live()
    found = live.tap("Vox", 0, 0, level_db=-64.0)
    assert (found.verdict, found.found) == ("unsure", 0)
    assert "too faint" in found.sentence


def test_an_input_without_a_place_is_heard_and_not_judged() -> None:
    live = Live()
    found = live.tap("Spare", None, 2)
    assert (found.verdict, found.found) == ("unsure", 2)
    assert "channel 3; nobody said" in found.sentence


def test_a_wrong_channel_names_whose_it_is_before_that_one_was_walked() -> None:
    live = Live()
    live.arrivals = Arrivals(RATE, 4, meant={"Kick": 0, "Snare": 1})
    found = live.tap("Kick", 0, 1)
    assert found.sentence == "Kick arrives on channel 2, wanted 1: 2 is the channel of Snare. Check the patch."


def test_one_channel_and_no_number_are_no_trouble() -> None:
    arrivals = Arrivals(RATE, 1)
    arrivals.feed(Block(np.zeros((RATE, 1), np.float32), 0))
    arrivals.begin("Kick", 0)
    wild = np.array([[np.nan], [np.inf], [-np.inf], [1e30]] * 500, np.float32)
    arrivals.feed(Block(wild, RATE))
    found = arrivals.end()
    assert found is not None
    assert found.verdict == "nothing"


def test_a_walk_that_outlasts_the_recording_says_what_was_not_played() -> None:
    samples, walk = line_check([0, 1, 2], 4)
    arrivals = Arrivals(RATE, 4, walk)
    arrivals.feed(Block(samples[: 2 * RATE], 0))
    last = arrivals.result()[2]
    assert (last.verdict, last.found) == ("nothing", None)
    assert "was not played" in last.sentence


@pytest.mark.parametrize("why", WORDS)
@pytest.mark.parametrize("owner", [None, "Bass"])
@pytest.mark.parametrize("replaced_by", [None, "Bass", "Keys"])
def test_every_reason_is_a_whole_sentence(why: str, owner: str | None, replaced_by: str | None) -> None:
    said = sentence_of(why, Circumstance("Kick", 0, 2, 4, 3.2, owner, replaced_by))
    assert list(broken(said)) == []
    assert "Kick" in said
    assert said[-1] in ".?"


@pytest.mark.parametrize("seed", range(60))
def test_the_assignment_is_the_best_and_says_how_clear_it_is(seed: int) -> None:
    """Against scipy's solver: the total, and the total when one pair is forbidden."""
    draw = np.random.default_rng(seed)
    rows = int(draw.integers(1, 14))
    columns = rows + int(draw.integers(1, 8))
    scores = np.round(draw.normal(0, 20, (rows, columns)), int(draw.integers(0, 3)))
    got = Assignment(scores)
    assert len(set(got.column.tolist())) == rows
    where = linear_sum_assignment(scores, maximize=True)
    assert got.total == pytest.approx(scores[where].sum())
    assert scores[np.arange(rows), got.column].sum() == pytest.approx(got.total)
    for row in range(rows):
        without = scores.copy()
        without[row, got.column[row]] = -1e6
        second = without[linear_sum_assignment(without, maximize=True)].sum()
        assert got.clearness(row) == pytest.approx(got.total - second)
