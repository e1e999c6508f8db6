"""What a sweep shows: television at its place, its pilot, carriers, the act's own, what is free."""

from __future__ import annotations

from math import log10
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from showday.radio.model import CARRIER, TELEVISION, Band
from showday.radio.occupancy import WIDE, Occupancy, decibels, occupancy
from showday.radio.occupancy_grid import grid_of
from showday.radio.rasters import PILOT_8VSB, Channel
from showday.radio.regions import channels
from showday.radio.sweep import Sweep, level_of
from tests.radio.listed_signals import channel_of_signal

Floats = npt.NDArray[np.float64]
FLOOR = 1e-10
"""mW a bin: -100 dBm."""


def air(low: int, high: int, step: int = 25_000) -> npt.NDArray[np.int64]:
    return np.arange(low * 1_000_000, high * 1_000_000 + 1, step, dtype=np.int64)


def plateau(hz: npt.NDArray[np.int64], middle: int, occupied: int, rise: float) -> Floats:
    """A TV signal with sides of 110 dB per MHz."""
    beyond = np.maximum(np.abs(hz - middle) - occupied / 2, 0) / 1e6
    made: Floats = FLOOR * np.power(10.0, (rise - np.minimum(110 * beyond, 90)) / 10)
    return made


def carrier(hz: npt.NDArray[np.int64], at: int, rise: float, width: int = 200_000) -> Floats:
    inside = np.abs(hz - at) < width / 2
    made: Floats = np.where(inside, FLOOR * 10 ** (rise / 10) * np.cos(np.pi * (hz - at) / width) ** 2, 0)
    return made


def look(
    hz: npt.NDArray[np.int64], signals: Floats, region: str, own: tuple[tuple[str, int], ...] = (), looks: int = 16
) -> Occupancy:
    rng = np.random.default_rng(20)
    level = level_of((FLOOR + signals) * rng.gamma(looks, 1 / looks, len(hz)))
    found = occupancy(Sweep(hz, level, level), channels(region), own)
    assert found is not None
    return found


# -- channel power ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("bin_level", "power", "over"), [(-110.0, -86.2, False), (-107.0, -83.2, True)])
def test_channel_power_of_240_bins(bin_level: float, power: float, over: bool) -> None:
    """10 log10 of the sum of 10^(L/10) over 6 MHz; 47 CFR 74.802 draws its line at -84 dBm in the whole channel."""
    hz = air(464, 482)
    level = np.full(len(hz), bin_level)
    found = decibels(grid_of(Sweep(hz, level, level)).channel_power(470_000_000, 476_000_000))
    assert found == pytest.approx(bin_level + 10 * log10(240), abs=0.01)
    assert found == pytest.approx(power, abs=0.05)
    assert (found > -84) is over


def test_the_power_of_a_channel_is_that_of_its_signal() -> None:
    hz = air(470, 534)
    found = look(hz, plateau(hz, 498_000_000, 7_610_000, 30), "europe", looks=64)
    (station,) = found.television
    assert station.channel.number == 24
    assert decibels(station.power) == pytest.approx(-70 + 10 * log10(7_610_000 / 25_000), abs=0.3)
    assert station.rise == pytest.approx(30, abs=0.5)


# -- television at its place -------------------------------------------------------------------------------------------

PLACES = [("europe", 24), ("europe", 48), ("us", 21), ("us", 36), ("australia", 30), ("japan", 20), ("japan", 52)]


def channel(region: str, number: int) -> Channel:
    return next(each for each in channels(region) if each.number == number and each.low >= 470_000_000)


@pytest.mark.parametrize(("region", "number"), PLACES)
@pytest.mark.parametrize("offset", [0, 125_000, 166_667, -167_000, 170_000, -170_000])
def test_a_transmitter_may_stand_170_khz_beside_its_place(region: str, number: int, offset: int) -> None:
    wanted = channel(region, number)
    hz = air(wanted.low // 1_000_000 - 20, wanted.high // 1_000_000 + 20)
    found = look(hz, plateau(hz, wanted.middle + offset, wanted.occupied, 25), region)
    assert [each.channel.number for each in found.television] == [number]
    assert found.television[0].offset == pytest.approx(offset, abs=40_000)
    assert (found.carriers, found.wide) == ((), ())


@pytest.mark.parametrize("offset", [-3_000_000, -1_500_000, 1_500_000, 3_000_000])
def test_a_plateau_elsewhere_is_another_wide_signal(offset: int) -> None:
    wanted = channel("europe", 30)
    hz = air(520, 580)
    found = look(hz, plateau(hz, wanted.middle + offset, wanted.occupied, 25), "europe")
    assert found.television == ()
    (wide,) = found.wide
    assert wide.low == pytest.approx(wanted.signal.low + offset, abs=150_000)
    assert wide.high == pytest.approx(wanted.signal.high + offset, abs=150_000)
    assert [band.kind for band in found.bands()] == [WIDE]


def test_without_a_region_television_is_a_wide_signal() -> None:
    hz = air(520, 580)
    level = level_of(
        (FLOOR + plateau(hz, 546_000_000, 7_610_000, 25)) * np.random.default_rng(1).gamma(16, 1 / 16, len(hz))
    )
    found = occupancy(Sweep(hz, level, level))
    assert found is not None
    assert (len(found.television), len(found.wide)) == (0, 1)


def test_channels_side_by_side_are_told_apart() -> None:
    hz = air(470, 694)
    numbers = [21, 22, 23, 30, 31, 40, 41, 42, 43]
    signals = sum(
        (plateau(hz, 306_000_000 + 8_000_000 * n, 7_610_000, 10 + n % 4 * 10) for n in numbers), np.zeros(len(hz))
    )
    found = look(hz, signals, "europe")
    assert [each.channel.number for each in found.television] == numbers
    assert found.carriers == ()


# -- the pilot ---------------------------------------------------------------------------------------------------------


def test_the_pilot_of_8vsb_stands_309_khz_above_the_lower_edge() -> None:
    """(6 MHz - 4.5/286 x 684 MHz / 2) / 2 (ATSC A/53 part 2)."""
    assert pytest.approx(309_440.559, abs=0.5) == PILOT_8VSB
    assert (channel("us", 14).pilot, channel("us", 36).pilot) == (470_309_441, 602_309_441)


@pytest.mark.parametrize("step", [10_000, 25_000, 50_000])
@pytest.mark.parametrize("number", [14, 24, 36])
def test_the_pilot_is_found_and_is_no_carrier(number: int, step: int) -> None:
    """The pilot is 11.3 dB under the power of the whole channel (from memory)."""
    wanted = channel("us", number)
    assert wanted.pilot is not None
    hz = air(max(470, wanted.low // 1_000_000 - 12), wanted.high // 1_000_000 + 12, step)
    signals = plateau(hz, wanted.middle, wanted.occupied, 30)
    pilot = float(signals.sum()) * 10 ** (-11.3 / 10)
    signals[int(np.argmin(np.abs(hz - wanted.pilot)))] += pilot
    found = look(hz, signals, "us", looks=64)
    (station,) = found.television
    assert station.channel.number == number
    assert station.pilot == pytest.approx(wanted.low + 309_440, abs=step)
    assert found.carriers == ()


def test_television_without_a_pilot_has_none() -> None:
    wanted = channel("us", 24)
    hz = air(520, 560)
    (station,) = look(hz, plateau(hz, wanted.middle, wanted.occupied, 30), "us", looks=64).television
    assert station.pilot is None


# -- carriers and the act's own ------------------------------------------------------------------------------------------

OWN = (("In-ear 1", 558_300_000), ("In-ear 2", 561_800_000))


def test_a_carrier_has_its_centre_width_and_height() -> None:
    hz = air(550, 574, 10_000)
    (found,) = look(hz, carrier(hz, 561_803_000, 30), "europe", looks=64).carriers
    assert found.at == pytest.approx(561_803_000, abs=5_000)
    assert found.width == pytest.approx(190_000, abs=30_000)
    assert found.height == pytest.approx(30, abs=1)


def test_own_transmitters_are_told_from_others() -> None:
    hz = air(550, 574)
    signals = carrier(hz, 558_310_000, 40) + carrier(hz, 560_000_000, 30)
    found = look(hz, signals, "europe", OWN)
    first, second = found.own
    assert (first.name, first.at, second.name) == ("In-ear 1", 558_300_000, "In-ear 2")
    assert first.seen is not None
    assert first.seen.at == pytest.approx(558_310_000, abs=10_000)
    assert second.seen is None
    assert [round(each.at / 1e6, 1) for each in found.carriers] == [560.0]
    assert [band.kind for band in found.bands()] == [CARRIER]
    assert any(free.holds(558_300_000) for free in found.free)


def test_nothing_is_own_unless_it_was_said() -> None:
    hz = air(550, 574)
    found = look(hz, carrier(hz, 558_300_000, 40), "europe")
    assert found.own == ()
    assert len(found.carriers) == 1


def test_another_carrier_near_ours_is_not_ours() -> None:
    hz = air(550, 574)
    found = look(hz, carrier(hz, 558_500_000, 40), "europe", OWN[:1])
    assert found.own[0].seen is None
    assert len(found.carriers) == 1


def test_a_carrier_in_a_television_channel_is_found() -> None:
    hz = air(540, 580)
    found = look(hz, plateau(hz, 562_000_000, 7_610_000, 20) + carrier(hz, 563_000_000, 45), "europe")
    assert [each.channel.number for each in found.television] == [32]
    assert [round(each.at / 1e6, 1) for each in found.carriers] == [563.0]


def test_occupied_bands_leave_the_room_of_a_stage_carrier() -> None:
    """At least 200 kHz, the channel in which EN 300 422-1 measures; a TV channel is occupied from edge to edge."""
    hz = air(540, 580)
    signals = plateau(hz, 546_000_000, 7_610_000, 20) + carrier(hz, 563_000_000, 30, 60_000)
    television, narrow = look(hz, signals, "europe").bands()
    assert (television.kind, television.low, television.high) == (TELEVISION, 542_000_000, 550_000_000)
    assert television.name == "TV 30"
    assert narrow.width == 200_000
    assert narrow.at == pytest.approx(563_000_000, abs=5_000)


def test_free_stretches_are_what_was_measured_and_is_not_occupied() -> None:
    hz = air(540, 580)
    kept = hz[(hz < 570_000_000) | (hz > 574_000_000)]
    signals = plateau(kept, 546_000_000, 7_610_000, 20) + carrier(kept, 563_000_000, 30)
    found = look(kept, signals, "europe")
    hole = Band(570_000_000, 574_000_000)
    assert [free.width for free in found.free] == sorted((free.width for free in found.free), reverse=True)
    for free in found.free:
        assert not any(free.low < band.high and band.low < free.high for band in found.bands())
        assert free.high <= hole.low or free.low >= hole.high - 25_000
    inside = sum(free.width for free in found.free) + sum(band.width for band in found.bands()) + hole.width
    assert inside == pytest.approx(40_000_000, abs=1_000_000)


def test_too_few_bins_tell_nothing() -> None:
    hz = np.arange(470_000_000, 470_000_000 + 63 * 25_000, 25_000)
    level = np.full(len(hz), -100.0)
    assert occupancy(Sweep(hz, level, level)) is None


def test_empty_bins_tell_nothing() -> None:
    hz = air(470, 480)
    level = np.full(len(hz), -np.inf)
    assert occupancy(Sweep(hz, level, level)) is None


@pytest.mark.parametrize("level", [-100.0, 0.0])
def test_a_trace_without_noise_is_no_signal(level: float) -> None:
    hz = air(470, 494)
    flat = np.full(len(hz), level)
    found = occupancy(Sweep(hz, flat, flat), channels("europe"))
    assert found is not None
    assert found.bands() == ()


# -- real transmitters -------------------------------------------------------------------------------------------------

LISTS = [
    Path(folder) / "dvb-t" for folder in ("/usr/share/dvb", "/usr/share/dtv-scan-tables", "/usr/local/share/dvb")
]
LISTED = next((folder for folder in LISTS if folder.is_dir()), None)


def transmitters() -> list[tuple[str, list[int]]]:
    """For each list of a European place with UHF transmitters, their frequencies in Hz."""
    made = []
    for path in sorted(LISTED.iterdir()) if LISTED else []:
        text = path.read_text("utf-8", "replace")
        hz = {int(line.split("=")[1]) for line in text.splitlines() if line.strip().startswith("FREQUENCY")}
        wide = all("8000000" in line for line in text.splitlines() if line.strip().startswith("BANDWIDTH_HZ"))
        inside = sorted(each for each in hz if 474_000_000 <= each <= 690_000_000)
        if wide and len(inside) >= 3:
            made.append((path.name, inside))
    return made


@pytest.mark.skipif(LISTED is None, reason="needs Debian's dtv-scan-tables")
def test_television_on_the_channels_of_real_transmitters() -> None:
    """Debian's dtv-scan-tables list what is on the air place by place; every place gives one sweep."""
    places = transmitters()[::8]
    assert len(places) > 20
    hz = air(470, 694, 50_000)
    for name, listed in places:
        wanted = {each.number for at in listed if (each := channel_of_signal(channels("europe"), at))}
        signals = np.zeros(len(hz))
        for index, at in enumerate(listed):
            signals = np.maximum(signals, plateau(hz, at, 7_610_000, 12 + 11 * (index % 4)))
        found = look(hz, signals, "europe")
        assert {each.channel.number for each in found.television} == wanted, name
        assert found.carriers == (), name
