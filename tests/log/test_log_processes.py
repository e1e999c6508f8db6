"""Two programs at one log, each in a process of its own."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from showday.log.store import Log

MANY = 60

WRITER = """
import sys
from pathlib import Path
from showday.log.store import Log
from showday.run import events as ev
from showday.run.events import Entry

path, name, many, wal = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]), sys.argv[4] == "True"
print("ready", flush=True)
sys.stdin.readline()

def entry(stream, seq, event):
    return Entry(f"{name}-{stream}-{seq}", stream, seq, "2026-05-01T18:00:00.000Z", float(seq), event)

with Log.open(path, busy=60.0, wal=wal) as log:
    log.append([entry(name, 0, ev.RunStarted("line-check", name, ""))])
    for seq in range(1, many):
        log.append([entry(name, seq, ev.StepAnswered("signal", ev.GOOD))])
        log.append([entry("shared", seq, ev.NoteAdded(name))])
"""


@pytest.mark.parametrize("wal", [True, False], ids=["write-ahead log", "journal"])
def test_two_programs_that_make_the_log_and_write_at_once_lose_nothing(path: Path, wal: bool) -> None:
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), name, str(MANY), str(wal)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for name in ("left", "right")
    ]
    for writer in writers:
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write("go\n")
        writer.stdin.flush()
    for writer in writers:
        _, said = writer.communicate(timeout=120)
        assert (writer.returncode, said) == (0, "")
    with Log.open(path, wal=wal) as log:
        for name in ("left", "right"):
            assert [e.seq for e in log.entries(name)] == list(range(MANY))
        assert len(log.entries("shared")) == 2 * (MANY - 1)
        assert {record.title: record.answers for record in log.runs()} == {"left": MANY - 1, "right": MANY - 1}
        assert log.check() == []


KILLED = """
import os, sys
from pathlib import Path
from showday.log.store import Log
from showday.run import events as ev
from showday.run.events import Entry

log = Log.open(Path(sys.argv[1]))
log.append([Entry("a", "r1", 0, "2026-05-01T18:00:00.000Z", 0.0, ev.RunStarted("line-check", "t", ""))])
log.append([Entry("b", "r1", 1, "2026-05-01T18:00:01.000Z", 1.0, ev.StepAnswered("signal", ev.GOOD))])
log._db.execute("BEGIN IMMEDIATE")
log._db.execute("DELETE FROM run")
os.kill(os.getpid(), 9)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no such signal")
def test_a_program_that_is_killed_leaves_what_it_had_appended(path: Path) -> None:
    done = subprocess.run([sys.executable, "-c", KILLED, str(path)], capture_output=True, check=False)
    assert done.returncode == -9
    with Log.open(path) as log:
        assert [e.id for e in log.entries("r1")] == ["a", "b"]
        assert [record.answers for record in log.runs()] == [1]
        assert log.check() == []
