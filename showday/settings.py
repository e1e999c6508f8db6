"""What the program remembers between starts, in one small JSON file; a file that cannot be read counts as empty."""

from __future__ import annotations

import contextlib
import json

from showday import paths


def remembered(name: str) -> str:
    """The remembered text of a setting; empty when there is none."""
    value = _all().get(name, "")
    return value if isinstance(value, str) else ""


def remember(name: str, value: str) -> None:
    """Remember a setting; nothing happens when the file cannot be written, for no setting is worth a stop."""
    with contextlib.suppress(OSError):
        text = json.dumps({**_all(), name: value}, indent=2, ensure_ascii=False, sort_keys=True)
        paths.write_whole(paths.settings_path(), text + "\n")


def _all() -> dict[str, object]:
    try:
        held = json.loads(paths.settings_path().read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    return held if isinstance(held, dict) else {}
