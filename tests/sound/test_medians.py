"""Medians by sorting are numpy's own."""

from __future__ import annotations

import numpy as np
import pytest

from showday.sound.medians import medians


@pytest.mark.parametrize("shape", [(1,), (6,), (7,), (3, 2), (5, 4, 13), (5, 4, 56)])
def test_medians(shape: tuple[int, ...]) -> None:
    values = np.random.default_rng(1).standard_normal(shape)
    assert np.array_equal(medians(values), np.median(values, axis=-1))
    single = values.astype(np.float32)
    assert medians(single).dtype == np.float32
    assert np.array_equal(medians(single), np.median(single, axis=-1))
