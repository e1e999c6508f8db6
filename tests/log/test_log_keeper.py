"""Nothing that was entered is lost while the log does not take it."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import pytest

from showday.errors import LogTrouble
from showday.log.keeper import Keeper, read_pending
from showday.log.records import Snapshot, in_order, summarise
from showday.log.store import Log
from showday.run import events as ev
from showday.run.events import Entry
from tests.log.made import EVERY_EVENT, an_evening, entry, good, snapshot, started, story


class Moody(Log):
    """A log that refuses while it is told to, and remembers what it was given."""

    trouble: LogTrouble | None = None
    given: list[list[str]]
    waits: list[float | None]

    @classmethod
    def made(cls) -> Moody:
        log = cls.in_memory()
        assert isinstance(log, Moody)
        log.given, log.waits = [], []
        return log

    def append(self, entries: Iterable[Entry], snapshots: Iterable[Snapshot] = ()) -> None:
        entries = list(entries)
        self.given.append([e.id for e in entries])
        if self.trouble:
            raise self.trouble
        super().append(entries, snapshots)

    def wait_at_most(self, seconds: float | None) -> None:
        self.waits.append(seconds)
        super().wait_at_most(seconds)

    def text_of(self, hash: str) -> str | None:
        if self.trouble:
            raise self.trouble
        return super().text_of(hash)


@pytest.fixture
def log() -> Iterator[Moody]:
    with Moody.made() as made:
        yield made


@pytest.fixture
def keeper(log: Moody) -> Keeper:
    return Keeper(lambda: log)


FULL = LogTrouble("The disk is full.", "Make room on the disk.")


def test_what_the_log_takes_is_only_passed_on(keeper: Keeper, log: Moody) -> None:
    keeper.append(an_evening(), [snapshot()])
    assert (keeper.warning, keeper.hint, keeper.pending) == ("", "", 0)
    assert keeper.entries("r1") == log.entries("r1") == [e for e in an_evening() if e.stream == "r1"]
    assert keeper.touring() == log.touring()
    assert keeper.runs() == log.runs()
    assert keeper.text_of(snapshot().hash) == "plan"
    assert keeper.retry()


def test_trouble_is_a_standing_sentence_until_everything_is_written(keeper: Keeper, log: Moody) -> None:
    log.trouble = FULL
    keeper.append(story([started(), good()]), [snapshot()])
    assert keeper.warning == "The disk is full; 3 not saved yet."
    assert keeper.hint == "Make room on the disk."
    assert not keeper.retry()
    keeper.append([entry(good("b"), 2)])
    assert keeper.warning == "The disk is full; 4 not saved yet."
    assert keeper.pending == 4
    log.trouble = None
    assert keeper.retry()
    assert (keeper.warning, keeper.hint, keeper.pending) == ("", "", 0)
    assert log.entries("r1") == story([started(), good(), good("b")])
    assert log.text_of(snapshot().hash) == "plan"


def test_what_waits_is_written_oldest_first_with_the_next_answer(keeper: Keeper, log: Moody) -> None:
    log.trouble = FULL
    keeper.append([entry(started())])
    keeper.append([entry(good(), 1)])
    log.trouble = None
    keeper.append([entry(good("b"), 2)])
    assert log.given == [["r1-0"], ["r1-0", "r1-1"], ["r1-0", "r1-1", "r1-2"]]
    assert [row[0] for row in log._db.execute("SELECT id FROM entry ORDER BY written")] == ["r1-0", "r1-1", "r1-2"]


def test_the_person_waits_long_for_another_program_only_once(keeper: Keeper, log: Moody) -> None:
    log.trouble = FULL
    keeper.append([entry(started())])
    assert log.waits == [0.1]
    log.trouble = None
    keeper.append([entry(good(), 1)])
    assert log.waits == [0.1, None]


def test_unsaved_answers_are_shown_like_saved_ones(keeper: Keeper, log: Moody) -> None:
    keeper.append(an_evening()[:-6])
    log.trouble = FULL
    keeper.append(an_evening()[-6:], [snapshot("new plan")])
    assert keeper.pending == 7
    assert keeper.touring() == in_order(e for e in an_evening() if e.stream[0] in "vi")
    for stream in ("r1", "r2"):
        assert keeper.entries(stream) == [e for e in an_evening() if e.stream == stream]
    assert [record.id for record in keeper.runs()] == ["r2", "r1"]
    assert keeper.runs() == [summarise(keeper.entries("r2")), summarise(keeper.entries("r1"))]
    assert [record.id for record in keeper.runs(unfinished=True)] == ["r2"]
    assert [record.id for record in keeper.runs(["v1"])] == ["r1"]
    assert [record.id for record in keeper.runs(limit=1)] == ["r2"]
    assert keeper.text_of(snapshot("new plan").hash) == "new plan"


def test_a_run_whose_unsaved_end_finishes_it_is_not_unfinished(keeper: Keeper, log: Moody) -> None:
    for number in range(3):
        keeper.append([entry(started(), stream=f"r{number}")])
    log.trouble = FULL
    keeper.append([entry(ev.RunFinished(ev.STOPPED), 1, "r2")])
    assert [record.id for record in keeper.runs(unfinished=True, limit=2)] == ["r1", "r0"]


def test_what_the_log_has_and_what_waits_is_shown_once(keeper: Keeper, log: Moody) -> None:
    """A commit whose answer was lost on the way is in both."""
    log.append([entry(started())])
    log.trouble = FULL
    keeper.append([entry(started())])
    assert keeper.entries("r1") == [entry(started())]
    log.trouble = None
    assert keeper.retry()
    assert log.entries("r1") == [entry(started())]


def test_reading_trouble_is_said_until_reading_works(keeper: Keeper, log: Moody) -> None:
    keeper.append((), [snapshot()])
    log.trouble = LogTrouble("The log is damaged.", "Keep it.")
    assert keeper.text_of(snapshot().hash) is None
    assert keeper.warning == "The log is damaged; what it holds is not shown now."
    assert keeper.hint == "Keep it."
    log.trouble = None
    assert keeper.text_of(snapshot().hash) == "plan"
    assert keeper.warning == ""


# -- refused for ever ------------------------------------------------------------------------------------------


def test_one_that_can_never_be_written_holds_up_no_other(keeper: Keeper, log: Moody) -> None:
    keeper.append([entry(started())])
    log.trouble = FULL
    keeper.append([entry(good("x"), 1)])
    keeper.append([entry(good("another"), 5, id="r1-0")])
    keeper.append([entry(good("y"), 2)])
    log.trouble = None
    assert not keeper.retry()
    keeper.append([entry(good("z"), 3)])
    assert [e.id for e in log.entries("r1")] == ["r1-0", "r1-1", "r1-2", "r1-3"]
    assert keeper.pending == 1
    assert keeper.warning.startswith("An entry with the id r1-0 is in the log already and says something else; 1 not")
    assert read_pending(keeper.pending_as_text()).entries == (entry(good("another"), 5, id="r1-0"),)
    assert keeper.entries("r1") == log.entries("r1")


def test_trouble_after_a_refusal_loses_nothing(keeper: Keeper, log: Moody) -> None:
    """The log begins to refuse everything in the middle of taking what waited."""
    keeper.append([entry(started())])
    log.trouble = FULL
    for each in (entry(good("another"), 5, id="r1-0"), entry(good("x"), 1), entry(good("y"), 2)):
        keeper.append([each])
    log.trouble = None
    put = Log.append
    tries = iter("123")

    def fails_at_the_third(self: Log, entries: Sequence[Entry], snapshots: Sequence[Snapshot] = ()) -> None:
        if next(tries, None) == "3":
            raise FULL
        put(self, entries, snapshots)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Moody, "append", fails_at_the_third)
        assert not keeper.retry()
        assert keeper.pending == 3
        assert not keeper.retry()
    assert keeper.pending == 1
    assert [e.id for e in log.entries("r1")] == ["r1-0", "r1-1", "r1-2"]


# -- no log at the start ---------------------------------------------------------------------------------------


def test_a_log_that_opens_late_takes_everything(path: Path) -> None:
    path.parent.mkdir()
    path.mkdir()
    keeper = Keeper(lambda: Log.open(path))
    assert "is not a showday log" in keeper.warning
    assert keeper.warning.endswith("; nothing is saved now.")
    keeper.append(an_evening(), [snapshot()])
    assert keeper.pending == len(an_evening()) + 1
    assert [record.id for record in keeper.runs()] == ["r2", "r1"]
    assert keeper.touring() == in_order(e for e in an_evening() if e.stream[0] in "vi")
    assert keeper.text_of(snapshot().hash) == "plan"
    assert keeper.text_of("0" * 64) is None
    assert not keeper.retry()
    path.rmdir()
    assert keeper.retry()
    assert keeper.warning == ""
    assert keeper.close()
    with Log.open(path) as log:
        assert log.entries("r1") == [e for e in an_evening() if e.stream == "r1"]
        assert log.check() == []


def test_a_locked_log_is_written_to_when_the_lock_is_gone(path: Path) -> None:
    keeper = Keeper(lambda: Log.open(path, busy=0.02))
    keeper.append([entry(started())])
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        keeper.append([entry(good(), 1)])
        assert keeper.warning.startswith("Another program is writing to the log")
        assert keeper.entries("r1") == story([started(), good()])
        other.execute("ROLLBACK")
    keeper.append([entry(good("b"), 2)])
    assert (keeper.warning, keeper.pending) == ("", 0)
    keeper.close()
    with Log.open(path) as log:
        assert log.entries("r1") == story([started(), good(), good("b")])


# -- the end ---------------------------------------------------------------------------------------------------


def test_what_is_left_at_the_end_is_taken_up_at_the_next_start(keeper: Keeper, log: Moody) -> None:
    log.trouble = FULL
    keeper.append(an_evening(), [snapshot()])
    assert not keeper.retry()
    text = keeper.pending_as_text()
    with Moody.made() as later:
        after = Keeper(lambda: later)
        assert after.take_up(text + "half a line") == ("half a line",)
        assert after.pending == 0
        assert later.entries("r1") == [e for e in an_evening() if e.stream == "r1"]
        assert later.text_of(snapshot().hash) == "plan"
        assert after.take_up(text) == ()
        assert after.pending == 0
        assert later.check() == []


def test_one_that_is_refused_at_the_next_start_holds_up_no_other(keeper: Keeper, log: Moody) -> None:
    log.trouble = FULL
    keeper.append(story([started(), good()]))
    text = keeper.pending_as_text()
    with Moody.made() as later:
        later.append([entry(EVERY_EVENT["venue-added"], id="r1-0", stream="v1")])
        after = Keeper(lambda: later)
        after.take_up(text)
        assert [e.id for e in later.entries("r1")] == ["r1-1"]
        assert after.pending == 1


def test_closing_tries_a_last_time(log: Moody) -> None:
    keeper = Keeper(lambda: log)
    log.trouble = FULL
    keeper.append([entry(started())])
    log.trouble = None
    assert keeper.close()
    assert log.given[-1] == ["r1-0"]


def test_closing_says_when_something_is_left(log: Moody) -> None:
    keeper = Keeper(lambda: log)
    log.trouble = FULL
    keeper.append([entry(started())])
    assert not keeper.close()
    assert read_pending(keeper.pending_as_text()).entries == (entry(started()),)


def test_a_fault_of_the_program_keeps_the_answer_too(log: Moody) -> None:
    keeper = Keeper(lambda: log)
    log.close()
    with pytest.raises(sqlite3.ProgrammingError):
        keeper.append([entry(started())])
    assert read_pending(keeper.pending_as_text()).entries == (entry(started()),)
