"""The two stored seasons: they are what their maker makes, they lie before tonight, and the story quotes the program."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest

from showday.demo.seasons import Seasons, read_seasons
from showday.desk import Desk
from showday.errors import FileTrouble
from showday.library import shipped
from showday.log.bundle import BundleRefused
from showday.log.store import Log
from showday.run import events as ev
from showday.run import touring as tour
from tests.demo.night import HUMS, tell
from tests.seasons.made import SHIPPED, make_seasons
from tests.seasons.places import NIGHTS
from tests.support.scenes import utc

TONIGHT = date(2031, 7, 5)
EAST = timezone(timedelta(hours=5, minutes=30))
README = Path(shipped("examples") / "README.md")


def seasons(zone: timezone = UTC, tonight: date = TONIGHT) -> Seasons:
    return read_seasons(SHIPPED, tonight, zone)


def test_the_stored_file_is_what_its_maker_makes() -> None:
    same = SHIPPED.read_bytes() == b"".join(make_seasons())
    assert same, "playbooks, rig or maker have changed: `python -m tests.seasons` writes the file anew"


def test_every_show_lies_as_many_days_before_tonight_as_it_should() -> None:
    shows = [e.event for e in seasons().entries if isinstance(e.event, tour.ShowPlanned)]
    dates = sorted(TONIGHT - date.fromisoformat(show.date) for show in shows)
    assert [gone.days for gone in dates] == sorted(night.before for night in NIGHTS)


@pytest.mark.parametrize("zone", [UTC, EAST], ids=["utc", "east"])
def test_runs_are_on_the_day_of_their_show_in_the_zone_of_the_demo(zone: timezone) -> None:
    entries = seasons(zone).entries
    days = {e.stream: e.event.date for e in entries if isinstance(e.event, tour.ShowPlanned)}
    began = [(e.event.show, datetime.fromisoformat(e.at)) for e in entries if isinstance(e.event, ev.RunStarted)]
    assert began
    assert all(at.astimezone(zone).date().isoformat() == days[show] for show, at in began)


def test_what_is_due_is_moved_too() -> None:
    entries = seasons().entries
    due = [(e.at, e.event.due) for e in entries if isinstance(e.event, tour.ToFixAssigned)]
    assert due
    assert all(timedelta() < date.fromisoformat(day) - date.fromisoformat(at[:10]) <= timedelta(7) for at, day in due)


def test_an_entry_outside_of_runs_has_its_time_as_its_place() -> None:
    noted = [e for e in seasons(EAST).entries if isinstance(e.event, tour.VenueNoted)]
    assert noted
    assert all(e.seq == round(datetime.fromisoformat(e.at).timestamp() * 1000) for e in noted)


def test_the_log_with_them_has_nothing_wrong(demo: Desk) -> None:
    log = demo.keeper._log
    assert isinstance(log, Log)
    assert log.check() == []


def logged(demo: Desk, kind: type[ev.Event]) -> list[ev.Entry]:
    """Every entry of a kind."""
    return demo.keeper.events_of([kind], [run.id for run in demo.keeper.runs()])


def test_the_log_teaches(demo: Desk) -> None:
    """Without confirmed causes, and without the same playbook many times, odds and forecast would have nothing to say."""
    assert len(logged(demo, ev.CauseConfirmed)) >= 15
    assert len(demo.keeper.runs(playbook="line-check")) >= 15
    assert len(logged(demo, ev.StepsLeftOut)) >= 3
    assert len(logged(demo, ev.RunInterrupted)) >= 5


def test_every_place_of_the_story_is_in_the_log(demo: Desk) -> None:
    assert {place.name for place in demo.book().places()} == {night.place.name for night in NIGHTS}


def test_a_damaged_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "seasons.jsonl"
    path.write_bytes(SHIPPED.read_bytes().replace(b"Copper Loft", b"Copper Left", 1))
    with pytest.raises(BundleRefused, match="check sum"):
        read_seasons(path, TONIGHT, UTC)
    with pytest.raises(FileTrouble, match="cannot be read"):
        read_seasons(tmp_path / "none", TONIGHT, UTC)


def test_the_story_counts_the_log(demo: Desk) -> None:
    walks = logged(demo, ev.WalkOpened)
    items = demo.book().items.values()
    closed = sum(bool(item.closed) for item in items)
    text = " ".join(README.read_text("utf-8").split())
    assert f"In the log that makes {len(demo.keeper.runs())} runs with {len(walks)} fault walks" in text
    assert f"Of {len(items)} items on the to-fix list, {closed} are closed; {len(items) - closed} is open" in text
    recent = sum(night.before < 365 for night in NIGHTS)
    assert f"{len(NIGHTS) - recent} nights of the summer two years ago and {recent} of this year's" in text
    assert sum(not night.runs for night in NIGHTS) == 6 and "On six nights nobody opened the laptop" in text
    for days in (742, 735, 7):
        assert f"| {days} days ago |" in text
    assert "| tonight | Brickworks Yard, Ternhaven, 20:40, changeover 18 min |" in text


def test_the_story_quotes_the_program_word_for_word() -> None:
    with utc():
        told = tell()
    story = README.read_text("utf-8").partition("## One evening, start to finish")[2].partition("\n## ")[0]
    quotes = [line.strip() for line in story.splitlines() if line.startswith("    ")]
    assert len(quotes) > 15
    missing = [quote for quote in quotes if not any(quote in line for line in told.lines)]
    assert missing == []
    assert HUMS in told.kept
    assert told.lines[-2] == "20:34" and "**20:34.**" in story
    assert "(Pack 5)" in told.lines[-1], "what was cured is not left to fix"
