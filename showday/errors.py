"""The errors a person may see: one sentence of what happened, one of what to do."""

from __future__ import annotations


class ShowdayError(Exception):
    """Something a person can act on; `str()` gives the message and the hint as plain text."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message} {self.hint}".strip()


class FileTrouble(ShowdayError):
    """A file cannot be read or is not what it should be."""


class NotAllowed(ShowdayError):
    """An event that the run's state does not allow; the state is unchanged."""


class LogTrouble(ShowdayError):
    """The log cannot be opened, read or written now."""


class RadioTrouble(ShowdayError):
    """A frequency, a range or a width that cannot be used."""


class SoundTrouble(ShowdayError):
    """A sound device that cannot be used, or stopped."""


class ProblemsFound(ShowdayError):
    """What was asked could be looked at, and something is wrong with it: exit status 1, not 2."""
