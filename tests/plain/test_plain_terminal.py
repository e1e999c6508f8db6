"""The plain front on a real terminal: keys that end it leave the run to be gone on with."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pexpect
import pytest

SECONDS = 60
"""After which a program that says nothing counts as hung."""


def start(home: Path) -> pexpect.spawn[str]:
    """The program on a terminal that cannot do anything but lines."""
    environment = {**os.environ, "SHOWDAY_HOME": str(home), "TERM": "dumb", "LANG": "C"}
    command = ["-m", "showday.cli", "run", "line-check", "--plain"]
    return pexpect.spawn(sys.executable, command, env=environment, encoding="utf-8", timeout=SECONDS)


@pytest.mark.parametrize(("key", "status"), [("sendeof", 0), ("sendintr", 130)])
def test_the_end_and_the_interrupt_key_keep_what_was_answered(tmp_path: Path, key: str, status: int) -> None:
    program = start(tmp_path)
    program.expect(r"\[step start-clock\] Result\?\r\n")
    program.sendline("good")
    program.expect(r"\[must packs-minimum\] Confirm\?\r\n")
    getattr(program, key)()
    program.expect(r"stopped: 1 good, \d+ open; `showday run line-check --plain` goes on with it\r\n")
    program.expect(pexpect.EOF)
    program.close()
    assert program.exitstatus == status
    again = start(tmp_path)
    again.expect("Last done: .*: good")
    again.expect(r"\[must packs-minimum\]")
    again.sendeof()
    again.expect(pexpect.EOF)
    again.close()
