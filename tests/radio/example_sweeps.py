"""The sweeps of the example act, made with a seed: `python -m tests.radio.example_sweeps` writes them anew.

The air of an invented festival field from 542 to 590 MHz: television on channels 30, 34 and 35 of the European raster,
and the microphones of the house. Later the act's own transmitters are on, and so are those of the act before.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

FOLDER = Path(__file__).parents[2] / "examples" / "sweeps"
BEFORE, AGAIN = FOLDER / "afternoon.csv", FOLDER / "changeover-wide.csv"
TELEVISION = {30: 38.0, 34: 16.0, 35: 27.0}
"""Channel: dB over the floor. Channel N is 302 + 8 N to 310 + 8 N MHz wide, its signal 7.61 MHz."""
HOUSE = {551.2: 22.0, 553.75: 17.0, 569.1: 25.0}
"""MHz: dB over the floor, of what is on all day."""
OTHERS = {559.925: 26.0, 567.3: 31.0, 570.65: 29.0, 572.4: 24.0}
"""The act before: its first carrier stands on the example act's first spare."""
OWN = {558.3: 48.0, 561.8: 45.0, 564.7: 47.0, 559.55: 44.0}
"""The four of examples/rig.yaml."""

Floats = npt.NDArray[np.float64]


def powers(mhz: Floats, carriers: dict[float, float]) -> Floats:
    """Mean power at each frequency over the power of the noise."""
    made = np.ones(len(mhz))
    for channel, height in TELEVISION.items():
        beyond = np.maximum(np.abs(mhz - (306 + 8 * channel)) - 7.61 / 2, 0)
        ripple = 0.8 * np.sin(2 * np.pi * mhz / 3.1)
        made += np.power(10.0, (height + ripple - np.minimum(110 * beyond, 90)) / 10)
    for centre, height in carriers.items():
        off = np.abs(mhz - centre)
        made += np.where(off < 0.1, np.cos(np.pi * off / 0.2) ** 2, 0) * 10 ** (height / 10)
    return made


def measured(rng: np.random.Generator, mean: Floats, looks: int) -> Floats:
    """dB over the noise of one pass that is the mean of so many looks."""
    level: Floats = 10 * np.log10(mean * rng.gamma(looks, 1 / looks, len(mean)))
    return level


def before() -> str:
    """Two columns from a table analyser in the afternoon: 25 kHz apart, dBm."""
    rng = np.random.default_rng(20_250_614)
    mhz = np.arange(542_000, 590_001, 25) / 1000
    level = -104.0 + measured(rng, powers(mhz, HOUSE), 12)
    rows = [f"{at:.3f},{each:.1f}" for at, each in zip(mhz, level, strict=True)]
    return "\n".join(["Frequency (MHz),Level (dBm)", *rows]) + "\n"


def again() -> str:
    """Wide sweep rows from a receiver that steps by 20 MHz and so runs on to 602 MHz: three passes, 5 MHz a row."""
    rng = np.random.default_rng(20_250_615)
    bins, rows = 200, []
    on = {**HOUSE, **OTHERS, **OWN}
    for sweep in range(3):
        for low in (542, 562, 582):
            for part in (0, 10, 5, 15):
                begin = low + part
                mhz = begin + (np.arange(bins) + 0.5) * 5 / bins
                level = -58.0 + measured(rng, powers(mhz, on), 8)
                values = ", ".join(f"{each:.2f}" for each in level)
                stamp = f"2025-06-14, 20:{20 + sweep}:07.{250_000 + 10_000 * (low - 542):06d}"
                rows.append(f"{stamp}, {begin * 10**6}, {(begin + 5) * 10**6}, 25000.00, 800, {values}")
    return "\n".join(rows) + "\n"


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    BEFORE.write_bytes(before().encode("ascii"))
    AGAIN.write_bytes(again().encode("ascii"))
