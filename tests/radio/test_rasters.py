"""TV rasters against the published tables, and against lists of real transmitters where they are installed."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from showday.radio.rasters import PILOT_8VSB, SYMBOL_RATE_8VSB, Channel, shifted
from showday.radio.regions import channel_at, channels, region_of
from tests.radio.listed_signals import channel_of_signal

MHZ, KHZ = 1_000_000, 1_000
TABLES = Path("/usr/share/dvb")
LISTED = pytest.mark.skipif(not (TABLES / "dvb-t").is_dir(), reason="dtv-scan-tables is not installed")


def uhf(region: str) -> dict[int, Channel]:
    """The channels of a region's UHF raster by number."""
    return {channel.number: channel for channel in channels(region) if channel.low >= 470 * MHZ}


@pytest.mark.parametrize(
    ("region", "first", "last", "low", "high", "width"),
    [
        ("us", 14, 36, 470, 608, 6),  # 47 CFR 73.603
        ("canada", 14, 36, 470, 608, 6),
        ("europe", 21, 48, 470, 694, 8),
        ("uk", 21, 48, 470, 694, 8),
        ("australia", 28, 51, 526, 694, 7),
        ("japan", 13, 52, 470, 710, 6),  # ARIB STD-B21
    ],
)
def test_uhf_rasters(region: str, first: int, last: int, low: int, high: int, width: int) -> None:
    found = uhf(region)
    assert list(found) == list(range(first, last + 1))
    assert found[first].low == low * MHZ
    assert found[last].high == high * MHZ
    for number, channel in found.items():
        assert channel.low == (low + width * (number - first)) * MHZ
        assert channel.width == width * MHZ


@pytest.mark.parametrize("region", ["us", "canada"])
def test_vhf_of_america(region: str) -> None:
    # 47 CFR 73.603: 2-4 are 54-72, 5-6 are 76-88, 7-13 are 174-216 MHz.
    edges = {c.number: (c.low // MHZ, c.high // MHZ) for c in channels(region)}
    assert (edges[2][0], edges[4][1]) == (54, 72)
    assert (edges[5][0], edges[6][1]) == (76, 88)
    assert (edges[7][0], edges[13][1]) == (174, 216)


@pytest.mark.parametrize(
    ("region", "number", "low", "high"),
    [
        ("us", 14, 470, 476),
        ("us", 36, 602, 608),
        ("europe", 21, 470, 478),
        ("europe", 48, 686, 694),
        ("australia", 28, 526, 533),
        ("japan", 13, 470, 476),
        ("japan", 52, 704, 710),
        # One number, three places.
        ("us", 21, 512, 518),
        ("japan", 21, 518, 524),
    ],
)
def test_single_channels(region: str, number: int, low: int, high: int) -> None:
    channel = uhf(region)[number]
    assert (channel.low, channel.high) == (low * MHZ, high * MHZ)
    assert channel_at((low * MHZ + high * MHZ) // 2, region) == channel


def test_centres() -> None:
    for number, channel in uhf("europe").items():
        assert channel.middle == (306 + 8 * number) * MHZ
    for number, channel in uhf("australia").items():
        assert channel.middle == 333_500 * KHZ + 7 * number * MHZ
    for number, channel in uhf("us").items():
        assert channel.middle == (473 + 6 * (number - 14)) * MHZ


def test_centres_in_japan_stand_a_seventh_of_a_megahertz_higher() -> None:
    # ARIB STD-B21: 473 + 1/7 + 6(N-13) MHz.
    for number, channel in uhf("japan").items():
        assert channel.middle == round((473 + 1 / 7 + 6 * (number - 13)) * MHZ)


def test_the_pilot_of_8vsb() -> None:
    # ATSC A/53: 4.5/286 x 684 MHz symbol rate, the pilot at half of what it leaves of 6 MHz.
    assert pytest.approx(10_762_238, abs=0.5) == SYMBOL_RATE_8VSB
    assert pytest.approx(309_440.559, abs=1) == PILOT_8VSB
    assert uhf("us")[14].pilot == pytest.approx(470_309_441, abs=1)
    assert uhf("us")[36].pilot == pytest.approx(602_309_441, abs=1)
    assert all(channel.pilot is None for channel in (*channels("europe"), *channels("japan")))


@pytest.mark.parametrize(
    ("region", "width"),
    [
        ("us", SYMBOL_RATE_8VSB / 2),
        ("europe", 6816 / 896e-6),  # EN 300 744: carriers over the useful symbol in the 8k mode
        ("australia", 6816 / 1024e-6),
        ("japan", 13 * 6 * MHZ / 14),
    ],
)
def test_how_much_of_a_channel_is_filled(region: str, width: float) -> None:
    channel = channels(region)[-1]
    assert channel.occupied == pytest.approx(width, abs=5 * KHZ)
    assert channel.low <= channel.signal.low < channel.signal.high <= channel.high


def test_no_two_channels_of_a_region_overlap() -> None:
    for region in ("europe", "uk", "us", "canada", "australia", "japan"):
        found = channels(region)
        assert all(one.high <= after.low for one, after in pairwise(found))


def test_on_a_shared_edge_the_upper_channel_is_meant() -> None:
    at = channel_at(478 * MHZ, "europe")
    assert at is not None
    assert at.number == 22


def test_an_offset_transmitter_keeps_its_channel_and_moves_signal_and_pilot() -> None:
    channel = uhf("us")[20]
    moved = shifted(channel, 28_615)
    assert (moved.low, moved.high, moved.number) == (channel.low, channel.high, 20)
    assert channel.pilot is not None
    assert (moved.middle, moved.pilot) == (channel.middle + 28_615, channel.pilot + 28_615)


# -- real transmitters: the scan tables that Debian packages as dtv-scan-tables, as of 25 September 2019 -----------


def listed(kind: str) -> Iterator[tuple[str, int, int]]:
    """File, frequency and bandwidth in Hz (0 when not given) of every transmitter; made-up full lists left out."""
    for path in sorted((TABLES / kind).iterdir()):
        at = 0
        for key, value in re.findall(
            r"^\s*(FREQUENCY|BANDWIDTH_HZ)\s*=\s*(\d+)", path.read_text("utf-8", "replace"), re.M
        ):
            if key == "FREQUENCY" and at:
                yield path.name, at, 0
            if key == "FREQUENCY":
                at = int(value)
            elif at:
                yield path.name, at, int(value)
                at = 0
        if at:
            yield path.name, at, 0


def offsets(region: str, wanted: list[int], last: int) -> Counter[int | None]:
    """How far each frequency stands off a channel of the raster, which is drawn on to an older last channel."""
    raster = replace(region_of(region).tv[-1], last=last)
    found: Counter[int | None] = Counter()
    for at in wanted:
        channel = channel_of_signal(raster.channels(), at)
        found[None if channel is None else at - channel.middle] += 1
    return found


@LISTED
def test_europe_against_listed_transmitters() -> None:
    rows = [row for row in listed("dvb-t") if not row[0].startswith("auto-") and row[2] == 8 * MHZ]
    wanted = [row for row in rows if 470 * MHZ <= row[1] <= 862 * MHZ]
    assert len(wanted) == 4016
    assert len({name[:2] for name, _, _ in wanted}) == 40
    found = offsets("europe", [at for _, at, _ in wanted], last=69)
    assert found.pop(0) == 3870
    assert found.pop(None) == 2
    assert set(found) <= {-167_000, -166_000, 166_000, 167_000}
    assert sum(found.values()) == 144


@LISTED
def test_australia_against_listed_transmitters() -> None:
    rows = [row for row in listed("dvb-t") if row[0].startswith("au-") and row[1] >= 526 * MHZ]
    stated = offsets("australia", [at for _, at, width in rows if width == 7 * MHZ], last=69)
    assert (stated[0], stated[125_000], sum(stated.values())) == (121, 16, 147)
    every = offsets("australia", [at for _, at, _ in rows], last=69)  # 39 more give no width
    assert (every[0], every[125_000], sum(every.values())) == (160, 16, 186)


@LISTED
def test_the_signal_of_japan_against_listed_transmitters_of_the_same_system() -> None:
    # Latin America uses the system of Japan; from 470 MHz on its channels lie on the same 6 MHz steps.
    wanted = [at for _, at, _ in listed("isdb-t") if at >= 470 * MHZ]
    found = offsets("japan", wanted, last=69)
    assert set(found) == {0}
    assert len(wanted) > 11_000


@LISTED
def test_listed_american_centres_stand_a_little_high() -> None:
    name = "us-ATSC-center-frequencies-8VSB"
    wanted = [at for file, at, _ in listed("atsc") if file == name and 470 * MHZ <= at <= 608 * MHZ]
    assert len(wanted) == 23
    assert offsets("us", wanted, last=36) == {28_615: 23}
