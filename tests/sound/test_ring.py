"""The ring between the sound system's thread and the one that listens: nothing is reordered, what is lost is counted."""

from __future__ import annotations

import sys
import threading

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.sound.model import Block, Samples
from showday.sound.ring import MOST_BYTES, Ring, frames_to_hold


def numbered(first: int, frames: int, channels: int = 2) -> Samples:
    """Every sample says which frame and channel it is."""
    return (np.arange(first, first + frames)[:, None] + np.arange(channels) / 10).astype(np.float32)


def taken(ring: Ring, most: int = 1_000) -> list[Block]:
    found = []
    while (block := ring.take(most)) is not None:
        found.append(block)
    return found


@given(st.lists(st.tuples(st.booleans(), st.integers(0, 40), st.booleans())))
def test_every_frame_comes_out_at_its_own_place_or_is_counted(steps: list[tuple[bool, int, bool]]) -> None:
    """Against a list: each block holds the frames that its `first` names, gaps are flagged, the sum is what was put."""
    ring, put, host, blocks = Ring(2, 50), 0, 0, []
    for puts, size, overflow in steps:
        if puts:
            ring.put(numbered(put, size), overflow)
            put += size
            host += overflow
        elif (block := ring.take(size)) is not None:
            assert 0 < len(block.samples) <= size
            blocks.append(block)
    blocks += taken(ring)
    ring.put(numbered(put, 1))  # only a frame that follows says where the last ones went
    blocks += taken(ring)
    after = 0
    for block in blocks:
        assert np.array_equal(block.samples, numbered(block.first, len(block.samples)))
        assert block.first >= after
        assert block.overflow or block.first == after
        after = block.first + len(block.samples)
    assert after == put + 1
    assert sum(len(block.samples) for block in blocks) + ring.lost_frames == put + 1
    assert ring.overflows <= host
    assert (ring.overflows > 0) == (host > 0)


def test_what_the_host_lost_stands_in_the_block_behind_it() -> None:
    ring = Ring(2, 100)
    ring.put(numbered(0, 10))
    ring.put(numbered(10, 10), overflow=True)
    first, second = taken(ring)
    assert (first.first, first.overflow, second.first, second.overflow) == (0, False, 10, True)
    assert (ring.overflows, ring.lost_frames) == (1, 0)


def test_a_block_stays_as_it_was_when_the_ring_goes_round() -> None:
    ring = Ring(2, 8)
    ring.put(numbered(0, 8))
    block = ring.take(8)
    ring.put(numbered(8, 8))
    assert block is not None
    assert np.array_equal(block.samples, numbered(0, 8))


def test_two_threads_at_once_lose_and_reorder_nothing() -> None:
    ring, total, size = Ring(1, 1_000), 20_000, 37
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)  # as often in the middle of things as can be

    def fill() -> None:
        put = 0
        while put < total:
            if 1_000 - ring.waiting >= size:  # the one who puts never finds less room than it saw
                ring.put(numbered(put, size, 1))
                put += size

    thread = threading.Thread(target=fill)
    thread.start()
    after = 0
    while thread.is_alive() or ring.waiting:
        block = ring.take(64)
        if block is not None:
            assert (block.first, block.overflow) == (after, False)
            assert np.array_equal(block.samples, numbered(after, len(block.samples), 1))
            after += len(block.samples)
    thread.join()
    sys.setswitchinterval(before)
    assert after >= total
    assert ring.lost_frames == 0


@pytest.mark.parametrize(("rate", "channels"), [(48_000, 1), (48_000, 32), (192_000, 128), (8_000, 1)])
def test_a_second_always_fits_and_memory_stays_small(rate: int, channels: int) -> None:
    frames = frames_to_hold(rate, channels)
    assert frames >= rate
    assert frames * channels * 4 <= max(MOST_BYTES, rate * channels * 4)
