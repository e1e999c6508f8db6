"""The A curve against the table of IEC 61672-1."""

from __future__ import annotations

import numpy as np
import pytest

from showday.sound.weighting import a_db, a_power

# IEC 61672-1, table 3, one third octave apart from 10 Hz to 20 kHz: the exact frequencies are 1000 * 10^(n/10)
TABLE = (
    *(-70.4, -63.4, -56.7, -50.5, -44.7, -39.4, -34.6, -30.2, -26.2, -22.5, -19.1, -16.1, -13.4, -10.9, -8.6, -6.6),
    *(-4.8, -3.2, -1.9, -0.8, 0.0, 0.6, 1.0, 1.2, 1.3, 1.2, 1.0, 0.5, -0.1, -1.1, -2.5, -4.3, -6.6, -9.3),
)


def test_all_values_of_the_table() -> None:
    exact = 1000 * 10 ** (np.arange(-20, 14) / 10)
    assert len(TABLE) == 34
    assert np.round(a_db(exact), 1).tolist() == pytest.approx(list(TABLE), abs=1e-9)


# the formula (E.6) at nominal frequencies, as two independent audio libraries give it
@pytest.mark.parametrize(
    ("hz", "db"),
    [
        (50, -30.27),
        (60, -27.05),
        (100, -19.14),
        (120, -16.71),
        (150, -13.98),
        (180, -11.95),
        (300, -7.05),
        (1000, 0.0),
        (3150, 1.20),
    ],
)
def test_values_at_lines_of_mains(hz: float, db: float) -> None:
    assert float(a_db(np.array([hz]))[0]) == pytest.approx(db, abs=0.01)


def test_direct_voltage_does_not_count() -> None:
    assert a_power(np.array([0.0]))[0] == 0.0
    assert a_db(np.array([0.0]))[0] == -np.inf
