"""Draw the pictures of the README: the screens at moments of the example act's evening, as SVG files.

    python -m tests.pictures [FOLDER]

Without a folder they go to `examples/pictures`. The same program draws the same pictures on every machine.
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from showday.tui.themes import STAGE, SUN
from tests.support.scenes import SCENES, Act, stage, until, utc
from tests.support.terminal import ROOT

WIDE, SMALL = (80, 24), (60, 20)


@dataclass(frozen=True)
class Picture:
    """One picture: a file's name, the scene, the theme, (columns, rows)."""

    name: str
    scene: str
    theme: str = STAGE
    size: tuple[int, int] = WIDE


PICTURES = (
    Picture("tonight", "tonight-under-way"),
    Picture("step", "run-step"),
    Picture("must", "run-must"),
    Picture("reading-sun", "run-reading", SUN),
    Picture("fault-walk", "walk-check"),
    Picture("everyone-notices-small", "walk-everyone-notices", STAGE, SMALL),
    Picture("list-wide", "run-after-interruption", STAGE, (120, 30)),
    Picture("brief-sun", "brief", SUN),
)


async def draw(act: Act, picture: Picture) -> str:
    """The picture as SVG."""
    scene = next(scene for scene in SCENES if scene.name == picture.scene)
    async with stage(act, scene, picture.size, picture.theme) as pilot:
        await until(pilot, scene.shows)
        svg = pilot.app.export_screenshot(title="showday")
    svg = re.sub(r"\s*@font-face \{.*?\}", "", svg, flags=re.S)  # a picture fetches nothing from elsewhere
    # The library names styles after a number that changes with every drawing.
    return re.sub(r"terminal-\d+", f"showday-{picture.name}", svg)


async def draw_all(folder: Path) -> None:
    """Every picture into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place, utc():
        act = Act(Path(place))
        for picture in PICTURES:
            path = folder / f"{picture.name}.svg"
            path.write_text(await draw(act, picture), "utf-8")
            print(f"{path}: {path.stat().st_size // 1000} kB")


if __name__ == "__main__":
    asyncio.run(draw_all(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "examples" / "pictures"))
