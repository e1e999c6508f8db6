"""Sweep files from the disk: read piece by piece, merged, and what they show as occupied.

`read_sweeps(["before.csv", "again.csv"])` gives one sweep of both, `find_occupied(sweep, region="europe")` what is on.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from showday.errors import FileTrouble, RadioTrouble
from showday.radio.occupancy import LEAST_BINS, Occupancy, occupancy
from showday.radio.regions import channels
from showday.radio.sweep import Sweep
from showday.radio.sweep_merge import merged
from showday.radio.sweep_reader import LEVELS, read_sweep
from showday.rig.model import Rig
from showday.text.problem import Problem
from showday.transmitters import region_of

CHUNK = 1_000_000
"""Bytes read at once; a choice of this program."""

_LOOK = "Check the name and the folder."


def read_sweeps(paths: Sequence[str | os.PathLike[str]], level: str = "") -> tuple[Sweep, list[Problem]]:
    """All files as one sweep (see `merged`), and every line that could not be used.

    `level` is one of `LEVELS` when a person has said what the levels are. FileTrouble when a file cannot be opened or
    is no text, or when none of them holds a sweep.
    """
    sweeps, problems = read_each(paths, level)
    if not sweeps:
        first = f" {problems[0]}." if problems else ""
        raise FileTrouble(f"There is no sweep to read.{first}", "Export it as text: frequency and level in columns.")
    return merged(sweeps), problems


def read_each(paths: Sequence[str | os.PathLike[str]], level: str = "") -> tuple[list[Sweep], list[Problem]]:
    """The sweep of every file that holds one, in their order, and every line that could not be used.

    FileTrouble when a file cannot be opened or is no text; RadioTrouble when `level` is none of `LEVELS`.
    """
    if level and level not in LEVELS:
        raise RadioTrouble(f"Levels cannot be read as '{level}'.", f"Say one of {', '.join(LEVELS)}.")
    sweeps: list[Sweep] = []
    problems: list[Problem] = []
    for path in paths:
        sweep, found = read_sweep(_chunks(Path(path)), str(path), level)
        problems += found
        if sweep is not None:
            sweeps.append(sweep)
    return sweeps, problems


def find_occupied(
    sweep: Sweep,
    *,
    region: str = "",
    rig: Rig | None = None,
    own: Iterable[tuple[str, int]] = (),
    by_mean: bool = False,
) -> Occupancy:
    """What a sweep shows as occupied.

    `region` names the TV raster; without one the rig's counts, and without either no television is named. `own` are
    names and frequencies (Hz) of the act's transmitters that a person says were on (`carriers_of` a rig gives all):
    nothing is taken for the act's own otherwise, since another act's carrier may stand there. The strongest level of
    each bin is searched, or its mean with `by_mean`. RadioTrouble when the region is unknown or the sweep has too few
    bins.
    """
    where = region or ("" if rig is None else region_of(rig))
    found = occupancy(sweep, channels(where) if where else (), own, by_mean=by_mean)
    if found is None:
        raise RadioTrouble(
            f"Fewer than {LEAST_BINS} levels stand in the sweep: nothing can be told from noise.",
            "Sweep again with more points.",
        )
    return found


def _chunks(path: Path) -> Iterator[bytes]:
    """The bytes of a file in pieces; FileTrouble with one sentence when they cannot be had."""
    try:
        if path.is_dir():
            raise FileTrouble(f"{path} is a folder.", "Name the sweep file in it.")
        with path.open("rb") as file:
            while chunk := file.read(CHUNK):
                yield chunk
    except FileNotFoundError:
        raise FileTrouble(f"{path} is not there.", _LOOK) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error) or type(error).__name__
        raise FileTrouble(f"{path} cannot be read: {reason}.", "Check its permissions.") from None
