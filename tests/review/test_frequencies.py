"""The brief's part about the air: which plans held, where there was trouble, and what changed between two visits."""

from __future__ import annotations

from dataclasses import replace

from showday.radio.model import CARRIER, TELEVISION, Occupied
from showday.review.frequencies import Frequencies, Night, frequency_lines, make_frequencies
from showday.run.air import AirBook, KeptCarrier, KeptPlan, KeptSweep, Taken
from showday.run.touring import Book, Show, Venue
from showday.text.cautions import RADIO_LAW

BOOK = Book(
    {"v": Venue("v", "Old Mill"), "w": Venue("w", "Elsewhere")},
    {"s1": Show("s1", "v", "2025-06-01"), "s2": Show("s2", "v", "2026-06-01"), "x": Show("x", "w", "2026-01-01")},
    {},
)
PLAN = KeptPlan(
    "p1",
    "2026-06-01T15:00:00.000Z",
    "v",
    "s2",
    (KeptCarrier("In-ear 1", 558_300_000), KeptCarrier("In-ear 2", 561_800_000)),
    (KeptCarrier("", 559_900_000),),
    True,
    300_000,
)


def tv(number: int) -> Occupied:
    low = 470_000_000 + (number - 21) * 8_000_000
    return Occupied(low, low + 8_000_000, f"TV {number}", TELEVISION, None, -60.0)


def carrier(at: int) -> Occupied:
    return Occupied(at - 100_000, at + 100_000, "", CARRIER, at, -50.0)


def swept(show: str, at: str, *bands: Occupied, low: int = 470_000_000, high: int = 694_000_000) -> KeptSweep:
    return KeptSweep(f"{show} {at}", at, "v", show, (), low, high, "dBm", -100.0, bands)


def told(*kept: KeptPlan | KeptSweep, nights: tuple[Night, ...] = ()) -> Frequencies:
    plans = {each.id: each for each in kept if isinstance(each, KeptPlan)}
    sweeps = {each.id: each for each in kept if isinstance(each, KeptSweep)}
    return make_frequencies(BOOK, {"v"}, AirBook(plans, sweeps), nights)


def night(hour: int, walk: str = "", about: str = "", show: str = "s2") -> Night:
    return Night(
        show, BOOK.shows[show].date, f"2026-06-01T{hour}:00:00.000Z", walk, about, "restored: Wait" * bool(walk)
    )


def test_nothing_is_said_where_nothing_was_kept() -> None:
    assert frequency_lines(told(replace(PLAN, show="x"))) == []


def test_a_plan_without_drop_outs_held_all_night() -> None:
    lines = frequency_lines(told(PLAN, nights=(night(14), night(20))))
    assert lines == [
        "2026-06-01  In-ear 1 558.300, In-ear 2 561.800 MHz; spares 559.900 MHz; clearance 300 kHz, proved; "
        "held all night",
        RADIO_LAW,
    ]
    assert RADIO_LAW == "Local rules and the licence holder decide."


def test_a_plan_after_which_nothing_was_walked_has_not_held_yet() -> None:
    (line,) = told(replace(PLAN, proved=False, clearance=None, spares=()), nights=(night(14),)).plans
    assert line.held is None
    text = frequency_lines(Frequencies((line,)))[0]
    assert text.endswith("no spares; not proved; nothing was walked after it")


def test_a_drop_out_names_the_carrier_and_the_spare_that_was_used() -> None:
    plan = replace(PLAN, taken=(Taken("e", PLAN.at, 559_900_000, "In-ear 2", "r", "w"),))
    (line,) = told(plan, nights=(night(20), night(21, "w", "Pack 3"))).plans
    assert line.held is False
    assert frequency_lines(Frequencies((line,)))[0].endswith(
        "TROUBLE: In-ear 2 at 561.800 MHz, spare 559.900 MHz used"
    )


def test_a_drop_out_without_a_spare_says_what_it_was_about_and_how_it_ended() -> None:
    by_pack, by_name, unnamed = (
        told(PLAN, nights=(night(20, "a", "Pack 3"), night(21, "b", "transmitter In-ear 1"), night(22, "c")))
        .plans[0]
        .troubles
    )
    assert (by_pack.who, by_pack.at_hz, by_pack.spare_hz) == ("Pack 3", None, None)
    assert (by_name.who, by_name.at_hz) == ("In-ear 1", 558_300_000)
    assert unnamed.who == ""
    text = frequency_lines(told(PLAN, nights=(night(22, "c"),)))[0]
    assert text.endswith("TROUBLE: one of them, restored: Wait")


def test_trouble_counts_for_the_plan_that_stood_then() -> None:
    later = replace(PLAN, id="p2", at="2026-06-01T18:00:00.000Z", carriers=(KeptCarrier("In-ear 1", 610_000_000),))
    quiet = told(PLAN, later, nights=(night(16), night(20)))
    assert [line.carriers for line in quiet.plans] == [(("In-ear 1", 610_000_000),)]
    first, second = told(PLAN, later, nights=(night(16, "w"), night(20))).plans
    assert (first.held, second.held) == (True, False)


def test_another_nights_drop_outs_do_not_count() -> None:
    (line,) = told(PLAN, nights=(night(20), night(21, "w", show="s1"))).plans
    assert line.held is True


def test_what_is_new_and_gone_between_the_last_two_visits() -> None:
    before = swept("s1", "2025-06-01T15", tv(28), tv(33), carrier(570_200_000), carrier(601_000_000))
    morning = swept("s2", "2026-06-01T10", tv(21))
    now = swept("s2", "2026-06-01T15", tv(33), tv(45), carrier(570_300_000), carrier(601_100_001))
    found = told(before, morning, now)
    assert found.change is not None and found.last_sweep is not None
    assert found.change.since == "2025-06-01"
    assert found.change.new == ("TV 45", "601.100 MHz")
    assert found.change.gone == ("TV 28", "601.000 MHz"), "100 kHz apart is the same one, one hertz more is not"
    assert found.last_sweep.television == ("TV 33", "TV 45")
    swept_line, change, advice = frequency_lines(found)
    assert swept_line.startswith("2026-06-01  swept 470.000-694.000 MHz: TV 33, TV 45; other signals: 570.300 MHz")
    assert change == "since 2025-06-01: new TV 45, 601.100 MHz; gone TV 28, 601.000 MHz"
    assert advice == RADIO_LAW


def test_only_what_both_measured_is_compared() -> None:
    before = swept("s1", "2025-06-01T15", tv(28), low=526_000_000, high=566_000_000)
    now = swept("s2", "2026-06-01T15", tv(28), tv(45))
    found = told(before, now)
    assert found.change is not None
    assert (found.change.low, found.change.high, found.change.new, found.change.gone) == (
        526_000_000,
        566_000_000,
        (),
        (),
    )
    assert "nothing new, nothing gone in 526.000-566.000 MHz" in frequency_lines(found)[1]
    elsewhere = swept("s1", "2025-06-01T15", tv(28), low=800_000_000, high=900_000_000)
    assert told(elsewhere, now).change is None


def test_many_signals_are_counted() -> None:
    many = swept("s2", "2026-06-01T15", *(carrier(500_000_000 + n * 1_000_000) for n in range(12)))
    assert frequency_lines(told(many))[0].endswith("507.000 MHz and 4 more")
