"""Property tests draw the same examples every time; HYPOTHESIS_PROFILE=search looks for new ones."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings

# before anything imports numpy: threads of small products hinder each other, and tests run side by side
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

_SLOW = [HealthCheck.too_slow]
settings.register_profile(
    "same", derandomize=True, deadline=None, max_examples=60, database=None, suppress_health_check=_SLOW
)
settings.register_profile("search", deadline=None, max_examples=2000, suppress_health_check=_SLOW)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--update-snapshots` writes what the screens say now; look at the difference before you keep it."""
    parser.addoption("--update-snapshots", action="store_true", help="write the stored screens anew")
