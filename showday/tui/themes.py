"""Two themes of our own: black on white for the sun, dim on black for the stage.

The contrast of every pair that is shown is computed in the tests by the formula of WCAG 2.2: at least 7:1 for the
current step (1.4.6), at least 4.5:1 for everything else (1.4.3). No blue on black, no black on dark colours.
"""

from __future__ import annotations

from textual.theme import Theme

SUN, STAGE = "sun", "stage"

THEMES = {
    SUN: Theme(
        name=SUN,
        dark=False,
        foreground="#000000",
        background="#ffffff",
        surface="#ffffff",
        panel="#e8e8e8",
        boost="#e8e8e8",
        primary="#003a8c",
        secondary="#3d3d3d",
        accent="#5a005a",
        warning="#7a3d00",
        error="#9b0000",
        success="#005a1e",
        variables={
            "strong": "#000000",
            "dim": "#3d3d3d",
            "line": "#000000",
            "marked": "#000000",
            "on-marked": "#ffffff",
            "input-selection-background": "#b0b0b0",
            "scrollbar": "#707070",
            "scrollbar-background": "#ffffff",
        },
    ),
    STAGE: Theme(
        name=STAGE,
        dark=True,
        foreground="#c8c0b4",
        background="#000000",
        surface="#000000",
        panel="#1a1714",
        boost="#1a1714",
        primary="#d8a850",
        secondary="#a09888",
        accent="#c8a8b8",
        warning="#e0c050",
        error="#f09080",
        success="#98c898",
        variables={
            "strong": "#f0d090",
            "dim": "#a09888",
            "line": "#5c5448",
            "marked": "#a88848",
            "on-marked": "#000000",
            "input-selection-background": "#5c5448",
            "scrollbar": "#5c5448",
            "scrollbar-background": "#000000",
        },
    ),
}

OWN = ("strong", "dim", "line", "marked", "on-marked")
"""Our names beside the library's: the current step, side matter, frames, keys and marked rows."""


def other(name: str) -> str:
    """The theme that is not this one."""
    return STAGE if name == SUN else SUN
