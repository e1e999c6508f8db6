"""What stands on the screens, letter by letter, at the moments of one evening.

    python -m pytest tests/tui/test_snapshots.py --update-snapshots

writes the stored screens anew; read the difference before it is kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.scenes import SCENES, Act, Scene, lines_of, stage, until, utc

STORED = Path(__file__).parent / "snapshots"
SIZES = ((80, 24), (60, 20))
"""(columns, rows)."""


@pytest.fixture(scope="module")
def act(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Act]:
    """The example act with its past."""
    with utc():
        yield Act(tmp_path_factory.mktemp("act"))


@pytest.mark.parametrize("scene", SCENES, ids=lambda scene: scene.name)
async def test_the_screen_says_what_it_said(act: Act, scene: Scene, request: pytest.FixtureRequest) -> None:
    update = bool(request.config.getoption("--update-snapshots"))
    async with stage(act, scene, SIZES[0]) as pilot:
        for size in SIZES:
            await pilot.resize_terminal(*size)
            await until(pilot, scene.shows)
            compare(f"{scene.name}-{size[0]}x{size[1]}", lines_of(pilot), update)


def steady(line: str) -> str:
    """The line without the end of a scroll bar: how far it reaches depends on the length of this machine's paths."""
    return re.sub(r"[▁▂▃▄▅▆▇]$", "", line.rstrip()).rstrip()


def compare(name: str, lines: list[str], update: bool) -> None:
    """Compare a screen with the stored one, or store it."""
    path = STORED / f"{name}.txt"
    if update:
        STORED.mkdir(exist_ok=True)
        path.write_text("\n".join(lines) + "\n", "utf-8")
    assert path.exists(), f"{name} is not stored; --update-snapshots stores it"
    stored = path.read_text("utf-8").splitlines()
    assert [*map(steady, lines)] == [*map(steady, stored)], f"{name} says something else; --update-snapshots keeps it"


def test_every_stored_screen_is_one_of_a_scene() -> None:
    wanted = {f"{scene.name}-{columns}x{rows}.txt" for scene in SCENES for columns, rows in SIZES}
    assert {path.name for path in STORED.iterdir()} == wanted
