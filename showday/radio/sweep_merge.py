"""Several sweeps as one: the strongest level and the mean power of each bin over all of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from showday.radio.sweep import UNCALIBRATED, Ints, Sweep, level_of, power_of

LOW_SHARE = 0.2
"""Share of a sweep's bins that are taken for noise alone when levels of unlike units are brought together."""


def merged(sweeps: Sequence[Sweep]) -> Sweep:
    """One sweep of all, by maximum and by mean, each sweep weighing as much as it has passes.

    With different bins the coarsest step counts: what falls into one of its cells is taken together. Levels of unlike
    units are each taken over the sweep's own noise, since the louder scale would hide the other. At least one sweep is
    needed.
    """
    if len(sweeps) == 1:
        return sweeps[0]
    first = sweeps[0]
    alike = len({sweep.unit for sweep in sweeps}) == 1
    same = all(np.array_equal(sweep.hz, first.hz) for sweep in sweeps[1:])
    hz, places = _cells(sweeps)
    peak = np.full(len(hz), -np.inf)
    power, weight = np.zeros(len(hz)), np.zeros(len(hz))
    for sweep, cell in zip(sweeps, places, strict=True):
        shift = 0.0 if alike else _noise(sweep)
        np.maximum.at(peak, cell, sweep.peak - shift)
        inside = np.bincount(cell, minlength=len(hz))
        mean = np.bincount(cell, power_of(sweep.mean - shift), len(hz)) / np.maximum(inside, 1)
        power += mean * sweep.passes
        weight += np.where(inside > 0, sweep.passes, 0)
    mean = level_of(power / np.maximum(weight, 1))
    return Sweep(hz, peak, mean, int(np.median(weight)), *_unit_and_words(sweeps, same))


def _cells(sweeps: Sequence[Sweep]) -> tuple[Ints, list[Ints]]:
    """Centres of cells, the coarsest step apart, that at least one bin falls into, and the cell of each sweep's bins."""
    coarsest = max(sweeps, key=lambda sweep: sweep.step)
    if all(np.array_equal(sweep.hz, coarsest.hz) for sweep in sweeps):
        return coarsest.hz, [np.arange(len(coarsest.hz))] * len(sweeps)
    # A bin half-way between two cells always goes down, or bins that lie so would fill every other cell twice.
    indices = [np.ceil((sweep.hz - coarsest.low) / coarsest.step - 0.501).astype(np.int64) for sweep in sweeps]
    used = np.unique(np.concatenate(indices))
    centres: Ints = np.rint(coarsest.low + used * coarsest.step).astype(np.int64)
    return centres, [np.searchsorted(used, index) for index in indices]


def _noise(sweep: Sweep) -> float:
    """A low percentile of the levels; 0 when there are none."""
    known = sweep.peak[np.isfinite(sweep.peak)]
    return float(np.quantile(known, LOW_SHARE)) if len(known) else 0.0


def _unit_and_words(
    sweeps: Sequence[Sweep], same: bool
) -> tuple[str, tuple[str, ...], str, str, tuple[str, ...], tuple[str, ...]]:
    """The fields of a sweep from its unit on."""
    units = {sweep.unit for sweep in sweeps}
    said = [f"{len(sweeps)} files are merged: the strongest and the mean of each bin are kept."]
    if not same:
        steps = sorted({round(sweep.step) for sweep in sweeps})
        said.append(
            f"Their bins differ: cells of {steps[-1] / 1000:.6g} kHz are used, levels are not scaled to them."
        )
    asked = [text for sweep in sweeps for text in sweep.asked]
    if len(units) > 1:
        asked.append(f"The files have levels in {' and '.join(sorted(units))}: are they comparable at all?")
        said.append("Levels of unlike units are each taken over the noise of their own file.")
    said += [text for sweep in sweeps for text in sweep.said]
    stamps = [(sweep.begun, sweep.ended) for sweep in sweeps if sweep.begun]
    return (
        units.pop() if len(units) == 1 else UNCALIBRATED,
        tuple(file for sweep in sweeps for file in sweep.files),
        min((begun for begun, _ in stamps), default=""),
        max((ended for _, ended in stamps), default=""),
        tuple(dict.fromkeys(said)),
        tuple(dict.fromkeys(asked)),
    )
