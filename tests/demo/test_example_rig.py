"""The example rig: sound, complete, and clean on the air."""

from __future__ import annotations

import re
from itertools import combinations, permutations
from pathlib import Path

from showday.library import load_rig, shipped
from showday.rig.model import Rig

EXAMPLES = shipped("examples")


def rig() -> Rig:
    made, problems, _ = load_rig(EXAMPLES / "rig.yaml")
    assert made is not None
    assert problems == []
    return made


def spare_frequencies() -> list[float]:
    """The spares that the rig's comment and the story name."""
    found = re.search(r"two spares \(([\d.]+) and ([\d.]+) MHz\)", (EXAMPLES / "rig.yaml").read_text("utf-8"))
    assert found
    return [float(found.group(1)), float(found.group(2))]


def test_counts() -> None:
    act = rig()
    assert len(act.people) == 7
    assert [line.number for line in act.inputs] == list(range(1, 23))
    assert len(act.mixes) == len(act.transmitters) == 4
    assert all(mix.stereo for mix in act.mixes)
    assert sum(not pack.spare for pack in act.packs) == 7
    assert (act.region, act.mains.volts, act.mains.hertz) == ("europe", 230, 50)


def test_everybody_has_one_pack_that_carries_their_mix() -> None:
    act = rig()
    carries = {unit.name: unit.mix for unit in act.transmitters}
    hears = {person: mix.name for mix in act.mixes for person in mix.people}
    worn = {pack.person: carries[pack.transmitter] for pack in act.packs if not pack.spare}
    assert worn == hears
    assert set(worn) == {person.name for person in act.people}


def test_pairs_point_at_each_other() -> None:
    partner = {line.number: line.pair for line in rig().inputs if line.pair}
    assert partner
    assert all(partner[other] == number for number, other in partner.items() if other)


def test_the_click_never_goes_to_the_house_and_a_line_is_free() -> None:
    act = rig()
    assert [line.name for line in act.inputs if line.house is False] == ["Click"]
    assert [line.name for line in act.inputs if line.spare] == ["Guest"]


def test_frequencies_fit_their_range_step_and_width() -> None:
    for unit in rig().transmitters:
        assert unit.low is not None and unit.high is not None and unit.step and unit.frequency
        assert 470 <= unit.low <= unit.frequency <= unit.high <= 694
        steps = (unit.frequency - unit.low) * 1000 / unit.step
        assert abs(steps - round(steps)) < 1e-6
        assert (unit.step, unit.width) == (25, 200)


def test_third_order_products_stay_away_from_carriers_and_spares() -> None:
    """Two carriers give 2A - B, three give A + B - C (ITU-R SM.1134); here in whole kHz, by listing all of them."""
    planned = [unit.frequency for unit in rig().transmitters if unit.frequency]
    carriers = [round(f * 1000) for f in (*planned, *spare_frequencies())]
    assert len(set(carriers)) == 6
    products = {2 * a - b for a, b in permutations(carriers, 2)}
    products |= {a + b - c for a, b, c in permutations(carriers, 3)}
    assert min(abs(p - c) for p in products for c in carriers) == 300
    assert min(abs(a - b) for a, b in combinations(carriers, 2)) > 200


def test_all_six_lie_in_one_european_channel() -> None:
    """Channel n of the 8 MHz raster is centred on 306 + 8 n MHz, as Debian's dtv-scan-tables list it."""
    planned = [unit.frequency for unit in rig().transmitters if unit.frequency]
    centre = 306 + 8 * 32
    assert all(abs(f - centre) <= 4 - 0.1 for f in (*planned, *spare_frequencies()))


def test_the_story_quotes_the_rig() -> None:
    act = rig()
    story = " ".join(Path(EXAMPLES / "README.md").read_text("utf-8").split())
    watts = sum(load.watts or 0 for load in act.loads)
    assert f"{len(act.loads)} loads with their watts, {watts:g} W together" in story
    assert f"{len(act.spares)} kinds of spares" in story
    assert f"{len(act.inputs)} inputs" in story
    assert f"{len(act.mixes)} stereo in-ear mixes" in story
    assert f"{sum(not p.spare for p in act.packs)} packs" in story
    shared = sum(len(mix.people) == 2 for mix in act.mixes)
    assert shared == 3 and "three of the mixes are shared by two" in story
    one, two, three, four = (f"{unit.frequency:g}" for unit in act.transmitters)
    assert f"Frequencies {one}, {two}, {three} and {four} MHz" in story
    first, second = (f"{f:g}" for f in spare_frequencies())
    assert f"with {first} and {second} MHz as spares" in story
    assert [s.name for s in act.spares if (s.have or 0) < (s.need or 0)] == ["Earphones"]
    for person in act.people:
        assert person.name in story
