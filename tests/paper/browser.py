"""A real browser without a screen, for looking at printed pages."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
LONGEST = 120
"""Seconds for one call; a machine under load is slow to start a browser."""


def find_browser() -> str | None:
    """The browser's path, or None when there is none."""
    return next(filter(None, map(shutil.which, NAMES)), None)


@dataclass(frozen=True)
class Browser:
    """Opens pages; its own folder holds its profile and what it makes."""

    path: str
    folder: Path

    def dom(self, page: str, *more: str) -> str:
        """The document as it is after its scripts have run."""
        return self._run(page, "--dump-dom", *more).decode("utf-8")

    def pdf(self, page: str) -> Path:
        """What its print command makes of the page."""
        made = self.folder / "printed.pdf"
        self._run(page, "--no-pdf-header-footer", f"--print-to-pdf={made}")
        return made

    def picture(self, page: str, width: int, height: int) -> Path:
        """A picture of the page in a window of that many pixels."""
        made = self.folder / "seen.png"
        self._run(page, "--hide-scrollbars", f"--window-size={width},{height}", f"--screenshot={made}")
        return made

    def _run(self, page: str, *flags: str) -> bytes:
        file = self.folder / "page.html"
        file.write_text(page, "utf-8")
        usual = ("--headless=new", "--no-sandbox", "--disable-gpu", f"--user-data-dir={self.folder / 'profile'}")
        command = [self.path, *usual, *flags, file.as_uri()]
        return subprocess.run(command, check=True, capture_output=True, timeout=LONGEST).stdout
