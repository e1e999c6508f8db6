"""Sweeps from the disk: refused with a sentence, read in pieces, and long ones in little memory."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from showday.errors import FileTrouble, RadioTrouble
from showday.rig.model import Rig
from showday.sweep_files import find_occupied, read_each, read_sweeps
from tests.radio import example_sweeps
from tests.radio.sweep_texts import HZ, columns
from tests.support.terminal import ROOT

PLAIN = columns()


def test_a_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "field.csv"
    path.write_text(PLAIN)
    sweep, problems = read_sweeps([path])
    assert (sweep.hz.tolist(), sweep.files, problems) == (HZ, (str(path),), [])


def test_several_files_are_one_sweep_and_every_problem_names_its_file(tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / name).write_text(PLAIN.replace("-98.50", name))
    sweep, problems = read_sweeps([tmp_path / "one", str(tmp_path / "two")])
    assert sweep.passes == 2
    assert [str(problem) for problem in problems] == [
        f"{tmp_path / name}:3:9: '{name}' is not a number" for name in ("one", "two")
    ]


def test_a_file_without_a_sweep_does_not_take_the_others_with_it(tmp_path: Path) -> None:
    (tmp_path / "empty").write_text("")
    (tmp_path / "field").write_text(PLAIN)
    sweep, problems = read_sweeps([tmp_path / "empty", tmp_path / "field"])
    assert (len(sweep.hz), [str(problem) for problem in problems]) == (
        6,
        [f"{tmp_path / 'empty'}:1:1: the file is empty"],
    )


def test_no_sweep_at_all(tmp_path: Path) -> None:
    (tmp_path / "empty").write_text("")
    assert read_each([tmp_path / "empty"])[0] == []
    with pytest.raises(FileTrouble, match=r"There is no sweep to read\. .*empty:1:1: the file is empty\."):
        read_sweeps([tmp_path / "empty"])


def test_a_folder_and_what_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(FileTrouble) as trouble:
        read_sweeps([tmp_path])
    assert str(trouble.value) == f"{tmp_path} is a folder. Name the sweep file in it."
    with pytest.raises(FileTrouble) as trouble:
        read_sweeps([tmp_path / "none.csv"])
    assert str(trouble.value) == f"{tmp_path / 'none.csv'} is not there. Check the name and the folder."


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the superuser may read everything")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    path = tmp_path / "field.csv"
    path.write_text(PLAIN)
    path.chmod(0)
    with pytest.raises(FileTrouble, match="cannot be read: "):
        read_sweeps([path])


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
def test_a_name_that_cannot_be_one(name: str) -> None:
    with pytest.raises(FileTrouble, match="cannot be read: "):
        read_sweeps([name])


def test_levels_that_do_not_exist() -> None:
    with pytest.raises(RadioTrouble, match=r"Levels cannot be read as 'volt'\. Say one of dbm, dbuv, db\."):
        read_sweeps([], "volt")


def test_too_few_bins_to_tell_anything(tmp_path: Path) -> None:
    path = tmp_path / "field.csv"
    path.write_text(PLAIN)
    with pytest.raises(RadioTrouble, match="Fewer than 64 levels stand in the sweep"):
        find_occupied(read_sweeps([path])[0])


# -- the example act -----------------------------------------------------------------------------------------------------


def test_the_example_sweeps_are_as_their_maker_says() -> None:
    assert example_sweeps.BEFORE.read_text("ascii") == example_sweeps.before()
    assert example_sweeps.AGAIN.read_text("ascii") == example_sweeps.again()
    for path in example_sweeps.FOLDER.iterdir():
        assert path.stat().st_size < 150_000


def test_what_the_example_sweeps_show() -> None:
    names = {round(mhz * 1_000_000): f"In-ear {n}" for n, mhz in enumerate(example_sweeps.OWN, 1)}
    own = [(name, hz) for hz, name in names.items()]
    for path, others in (
        (example_sweeps.BEFORE, example_sweeps.HOUSE),
        (example_sweeps.AGAIN, {**example_sweeps.HOUSE, **example_sweeps.OTHERS}),
    ):
        sweep, problems = read_sweeps([path])
        found = find_occupied(sweep, rig=Rig("rig", region="europe"), own=own)
        assert problems == []
        assert [each.channel.number for each in found.television] == list(example_sweeps.TELEVISION)
        centres = [each.at / 1e6 for each in found.carriers]
        assert centres == pytest.approx(sorted(others), abs=0.013)
        assert all((each.seen is not None) is (path == example_sweeps.AGAIN) for each in found.own)


# -- long files ------------------------------------------------------------------------------------------------------------

PEAK = """
import resource, sys
from showday.sweep_files import find_occupied, read_sweeps
sweep, problems = read_sweeps([sys.argv[1]])
found = find_occupied(sweep, region="europe")
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(len(sweep.hz), sweep.passes, len(problems), peak * (1 if sys.platform == "darwin" else 1024))
"""


def rows(first: int, count: int) -> bytes:
    """So many rows of 20 Hz each, such as `470000020,-91.9`, written digit by digit by arrays."""
    place = first + np.arange(count)
    hz, tenths = 470_000_000 + 20 * place, 900 + place * 7919 % 300
    made = np.full((count, 17), ord("\n"), dtype=np.uint8)
    for digit in range(9):
        made[:, 8 - digit] = hz // 10**digit % 10 + ord("0")
    made[:, 9:11], made[:, 14] = (ord(","), ord("-")), ord(".")
    for column, unit in ((11, 1000), (12, 100), (13, 10), (15, 1)):
        made[:, column] = tenths // unit % 10 + ord("0")
    return made.tobytes()


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="the system does not say how much memory was used")
@pytest.mark.parametrize("order", ["rising", "in pieces"])
def test_ten_million_rows_stay_under_a_gigabyte(tmp_path: Path, order: str) -> None:
    path = tmp_path / "long.csv"
    million = 1_000_000
    starts = range(10) if order == "rising" else (3, 1, 4, 0, 5, 9, 2, 6, 8, 7)
    with path.open("wb") as file:
        for start in starts:
            file.write(rows(start * million, million))
    done = subprocess.run(
        [sys.executable, "-c", PEAK, str(path)], cwd=ROOT, capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stderr
    bins, passes, problems, peak = map(int, done.stdout.split())
    assert (bins, passes, problems) == (10 * million, 1, 0)
    assert peak < 1_000_000_000, f"{peak:,} bytes"
