"""The commands of the program: what each declares, asks the desk for, and prints."""

from collections.abc import Callable
from typing import Any

Add = Callable[..., Any]
"""Adds one command: (commands, name, help, more) -> its parser."""
