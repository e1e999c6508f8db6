"""Problems in files: each with its place, and what is used instead."""

from __future__ import annotations

from pathlib import Path

import pytest

from showday.desk import Desk
from showday.library import Source, load_library
from showday.rig.model import EMPTY
from showday.text.problem import Place, Problem
from showday.tui.app import ShowdayApp
from showday.tui.screens.problems import ProblemsScreen, file_problems
from tests.tui.evening import FakeClock, press, until
from tests.tui.nights import HOSTILE, LOAD_IN, SIZES, a_desk, harmless, head, listed

SIZE = (80, 24)
BROKEN = LOAD_IN.replace("title: Load-in", "titel: Load-in")


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))
    return tmp_path


def of(desk: Desk, name: str) -> str:
    """What follows for tonight from the problems of the file of that name."""
    return next(found.so for found in file_problems(desk) if Path(found.file).name == name)


@pytest.fixture
def desk(clock: FakeClock, home: Path) -> Desk:
    """Own files that are broken: one shadows a shipped file, one stands alone, one only has a warning."""
    shipped, own = home / "shipped", home / "config" / "playbooks"
    (own / "faults").mkdir(parents=True)
    shipped.mkdir()
    (shipped / "load-in.yaml").write_text(LOAD_IN, "utf-8")
    (own / "load-in.yaml").write_text(BROKEN, "utf-8")
    (own / "mine.yaml").write_text(BROKEN, "utf-8")
    (own / "other.yaml").write_text(LOAD_IN, "utf-8")
    desk = a_desk(clock)
    desk.library = load_library(own, shipped)
    return desk


async def test_each_problem_has_its_place_and_the_nearest_right_word(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "p")
        await until(pilot, lambda: isinstance(app.screen, ProblemsScreen))
        rows = listed(app)
        assert any(row.startswith("3:1 ") and "titel" in row and "did you mean title?" in row for row in rows)
        assert "problems" in head(app)


def test_it_is_said_what_is_used_instead(desk: Desk) -> None:
    assert of(desk, "load-in.yaml") == "The shipped file of this name is used instead."
    assert of(desk, "mine.yaml") == "It is not used."
    assert of(desk, "other.yaml") == "It works as it is."
    assert desk.library.playbooks["load-in"].title == "Load-in"


def test_files_with_errors_come_first(desk: Desk) -> None:
    errors = [bool(found.errors) for found in file_problems(desk)]
    assert errors == sorted(errors, reverse=True) and True in errors and False in errors


def test_problems_of_the_rig_are_among_them(clock: FakeClock, home: Path) -> None:
    desk = a_desk(clock)
    desk.rig_source = Source("rig", "small", "rig.yaml", "rig: small\ninputz: []\n")
    assert [found.file for found in file_problems(desk)] == ["rig.yaml"]


def test_a_rig_that_could_not_be_used_is_among_them(clock: FakeClock, home: Path) -> None:
    desk = a_desk(clock)
    desk.rig, desk.rig_source = EMPTY, None
    assert file_problems(desk) == []
    (home / "config").mkdir()
    (home / "config" / "rig.yaml").write_text("rig: [", "utf-8")
    assert of(desk, "rig.yaml").startswith("It is not used")


async def test_no_problems_say_so(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "p")
        await until(pilot, lambda: isinstance(app.screen, ProblemsScreen))
        assert listed(app) == ["No file has a problem."]
        await press(pilot, "q")
        await until(pilot, lambda: not isinstance(app.screen, ProblemsScreen))


@pytest.mark.parametrize("size", SIZES)
async def test_foreign_text_is_shown_as_it_is(clock: FakeClock, size: tuple[int, int]) -> None:
    desk = a_desk(clock)
    desk.library.problems += [
        Problem(f"/own/{HOSTILE}.yaml", Place(1, 1), HOSTILE, HOSTILE),
        Problem("/own/second.yaml", Place(10_000, 10_000), f"odd {HOSTILE}", warning=True),
    ]
    app = ShowdayApp(desk)
    async with app.run_test(size=size, notifications=True) as pilot:
        await press(pilot, "p")
        await until(pilot, lambda: isinstance(app.screen, ProblemsScreen))
        harmless(app)
        await press(pilot, "end")
        harmless(app)
