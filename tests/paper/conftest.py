from __future__ import annotations

from pathlib import Path

import pytest

from tests.paper.browser import NAMES, Browser, find_browser


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    """A browser, or the reason why there is none."""
    found = find_browser()
    if found is None:
        pytest.skip(f"no browser: none of {', '.join(NAMES)} is on this machine")
    folder = tmp_path / "browser"
    folder.mkdir()
    return Browser(found, folder)
