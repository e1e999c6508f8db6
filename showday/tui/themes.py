"""Two themes of our own: black on white for the sun, dim on black for the stage."""

from __future__ import annotations

from textual.theme import Theme

SUN, STAGE = "sun", "stage"

THEMES = {
    SUN: Theme(
        name=SUN,
        dark=False,
        primary="#003a8c",
        secondary="#3d3d3d",
        accent="#5a005a",
        foreground="#000000",
        background="#ffffff",
        surface="#ffffff",
        panel="#ececec",
        warning="#7a3d00",
        error="#9b0000",
        success="#005a1e",
        boost="#ececec",
    ),
    STAGE: Theme(
        name=STAGE,
        dark=True,
        primary="#e0b060",
        secondary="#a8a29a",
        accent="#d0a0c0",
        foreground="#d8d4cc",
        background="#000000",
        surface="#000000",
        panel="#1c1a18",
        warning="#e8c040",
        error="#f08878",
        success="#90c890",
        boost="#1c1a18",
    ),
}


def other(name: str) -> str:
    """The theme that is not this one."""
    return STAGE if name == SUN else SUN
