"""Sentences of care that stand in more than one place, so that they are the same everywhere."""

from __future__ import annotations

RADIO_LAW = "Local rules and the licence holder decide."
"""Stands on every plan, screen and print about frequencies: a plan is advice, nothing here allows anybody to transmit."""
