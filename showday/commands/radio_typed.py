"""Numbers as they are typed after the flags of `showday radio`, each refused in a sentence that names its flag."""

from __future__ import annotations

import re

from showday.errors import ShowdayError
from showday.text.safe import one_line

SECONDS = 10.0
"""How long a plan is looked for when nobody says; a choice of this program: a changeover has minutes."""
MOST_SECONDS = 86_400.0


def whole(text: str, what: str, least: int) -> int:
    """A whole number of at least so much; ShowdayError in a sentence that names `what`."""
    shown = one_line(text, 40)
    if not re.fullmatch(r"\s*[+-]?\d{1,9}\s*", text):
        raise ShowdayError(f"{what}: '{shown}' is not a whole number.", f"Write one, such as {max(least, 6)}.")
    if int(text) < least:
        raise ShowdayError(f"{what}: {shown} is too few.", f"Ask for {least} or more.")
    return int(text)


def seconds(text: str) -> float:
    """How long to look; ShowdayError when it is no time."""
    shown = one_line(text, 40)
    if not re.fullmatch(r"\s*[+-]?(\d{1,9}([.,]\d{0,9})?|[.,]\d{1,9})\s*", text):
        raise ShowdayError(f"--seconds: '{shown}' is not a time.", "Write seconds, such as 10.")
    value = float(text.replace(",", "."))
    if not 0 < value <= MOST_SECONDS:
        raise ShowdayError(f"--seconds: {shown} cannot be used.", f"Give more than 0 and at most {MOST_SECONDS:.0f}.")
    return value


def orders(text: str) -> tuple[int, ...]:
    """Orders of products such as `3,5`; RadioTrouble for any that is not looked at."""
    from showday.radio.products import kinds_of

    shown = one_line(text, 40)
    parts = [part.strip() for part in text.split(",")]
    if not all(re.fullmatch(r"[+-]?\d{1,9}", part) for part in parts):
        raise ShowdayError(f"--orders: '{shown}' is not a list of orders.", "Write 3, 3,5 or 3,5,7.")
    found = tuple(sorted({int(part) for part in parts}))
    kinds_of(found)
    return found
