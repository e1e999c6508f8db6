"""A PDF of the printed page, by the library of the extra `paper`; fonts are embedded, nothing is fetched."""

from __future__ import annotations

import importlib
import logging
from typing import Any

from showday.errors import ShowdayError

MISSING = "No PDF can be made here: the extra 'paper' is not installed."
INSTALL = "Run `pip install 'showday[paper]'`, or print the HTML from a browser: --format html."
NO_PANGO = "No PDF can be made here: the text library Pango, which the extra 'paper' needs, is not on this system."
BROWSER = "Install Pango, or print the HTML from a browser: --format html."


def pdf_bytes(html: str) -> bytes:
    """The page as a PDF; ShowdayError in one sentence when the library or what it needs is not there."""
    library = _library()
    logging.getLogger("weasyprint").setLevel(logging.CRITICAL)  # it tells of CSS that only browsers know
    fetcher = library.urls.URLFetcher(allowed_protocols=())
    made: bytes = library.HTML(string=html, url_fetcher=fetcher).write_pdf()
    return made


def _library() -> Any:
    # By name, since the library has no types, and is not there at all without the extra.
    try:
        return importlib.import_module("weasyprint")
    except ImportError:
        raise ShowdayError(MISSING, INSTALL) from None
    except OSError:
        raise ShowdayError(NO_PANGO, BROWSER) from None
