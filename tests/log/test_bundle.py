"""A bundle holds what was put in, in any order the same log comes of it, and a damaged one changes nothing."""

from __future__ import annotations

import hashlib
import io
import json
import random
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showday.errors import ShowdayError
from showday.log.bundle import BundleRefused, Foot, Head, bundle_lines, content_hash, read_bundle
from showday.log.records import EntryRefused, Snapshot
from showday.log.store import Log
from showday.run import touring as tour
from showday.run.events import Entry
from showday.sharing import take_in
from tests.log.made import HOSTILE, UNKNOWN, an_evening, entry, snapshot, story

HEAD = Head("laptop1", "2026-05-01T18:00:00Z")


def bundle(entries: Sequence[Entry], snapshots: Sequence[Snapshot] = ()) -> list[bytes]:
    return list(bundle_lines(HEAD, snapshots, entries))


def resummed(lines: Sequence[bytes]) -> list[bytes]:
    """The same lines with a last line whose check sum is right again, as somebody of ill will would write it."""
    body = list(lines[:-1])
    foot = json.loads(lines[-1])
    foot["end"]["sha256"] = hashlib.sha256(b"".join(body)).hexdigest()
    return [*body, (json.dumps(foot, sort_keys=True) + "\n").encode()]


def contents(log: Log) -> tuple[list[list[Entry]], list[Snapshot], list[object]]:
    return [log.entries(s) for s in log.all_streams()], list(log.snapshots()), list(log.runs())


def test_what_goes_in_comes_out_whatever_texts_it_holds() -> None:
    entries = [
        *an_evening(),
        *story([tour.VenueAdded("Mill"), *(tour.VenueNoted("note", text) for text in HOSTILE.values())], "v9"),
        entry(UNKNOWN, 0, "x1"),
    ]
    kept = [snapshot(text, name=name) for name, text in HOSTILE.items()]
    lines = bundle(entries, kept)
    assert all(line.isascii() for line in lines)
    found = list(read_bundle(lines, "f"))
    assert found[0] == HEAD
    assert found[1:-1] == [*kept, *entries]
    assert isinstance(found[-1], Foot)
    assert (found[-1].entries, found[-1].snapshots) == (len(entries), len(kept))


def test_the_check_sum_is_that_of_every_byte_before_the_last_line() -> None:
    lines = bundle(an_evening(), [snapshot()])
    said = json.loads(lines[-1])["end"]["sha256"]
    assert said == hashlib.sha256(b"".join(lines[:-1])).hexdigest()


def test_content_is_compared_without_who_wrote_it_and_when() -> None:
    other = list(bundle_lines(Head("laptop2", "2027-01-01T00:00:00Z"), (), an_evening()))
    assert content_hash(bundle(an_evening())) == content_hash(other)
    assert content_hash(bundle(an_evening())) != content_hash(bundle(an_evening()[1:]))


EVENING = bundle(an_evening(), [snapshot()])
BAD: dict[str, tuple[list[bytes], str]] = {
    "empty": ([], "is empty"),
    "text": ([b"hello\n"], "not a bundle"),
    "another file of JSON": ([b'{"a": 1}\n'], "not a bundle"),
    "binary": ([bytes(range(256)) + b"\n"], "not a bundle"),
    "newer": ([EVENING[0].replace(b'bundle": 1', b'bundle": 2'), *EVENING[1:]], "form 2"),
    "cut off between lines": (EVENING[:-1], f"line {len(EVENING) - 1}: it ends here"),
    "cut off in a line": ([*EVENING[:4], EVENING[4][:20]], "line 5: the line is cut off"),
    "a line lost": ([*EVENING[:4], *EVENING[5:]], f"line {len(EVENING) - 1}: its check sum"),
    "two lines swapped": ([*EVENING[:3], EVENING[4], EVENING[3], *EVENING[5:]], "its check sum"),
    "more after the end": ([*EVENING, b"more\n"], f"line {len(EVENING) + 1}: something follows"),
    "a line too long": ([EVENING[0], b"x" * 9_000_000 + b"\n"], "line 2: the line is too long"),
    "a bomb of brackets": ([EVENING[0], b"[" * 100_000 + b"\n"], "line 2: this line cannot be read"),
    "a bomb of digits": (
        [EVENING[0], EVENING[2].replace(b'"seq": 0', b'"seq": ' + b"9" * 10_000), *EVENING[3:]],
        "line 2: ",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_a_damaged_bundle_is_refused_with_the_line_and_changes_nothing(log: Log, tmp_path: Path, name: str) -> None:
    lines, said = BAD[name]
    file = tmp_path / "b.bundle.jsonl"
    file.write_bytes(b"".join(lines))
    log.append(an_evening()[:3])
    before = contents(log)
    with pytest.raises(BundleRefused, match=said):
        take_in(log, file)
    assert contents(log) == before


FIELDS: dict[str, tuple[str, object]] = {
    "an id that climbs out of its folder": ("id", "../../etc/passwd"),
    "an empty id": ("id", ""),
    "an id with an escape sequence": ("id", "a\x1b[2J"),
    "a stream of another kind": ("stream", 3),
    "a seq below zero": ("seq", -1),
    "a seq that is no whole number": ("seq", 1.5),
    "a seq beyond what JSON keeps": ("seq", 2**60),
    "a time that is none": ("at", "yesterday"),
    "a time with more behind it": ("at", "2026-05-01T18:00:00Z; drop"),
    "an endless time": ("elapsed", float("inf")),
    "a kind with a path": ("kind", "../run"),
    "a body that is no JSON": ("body", "{"),
    "a body that is no object": ("body", "[]"),
}


@pytest.mark.parametrize("name", FIELDS)
def test_a_field_that_cannot_be_is_refused_even_with_a_right_check_sum(log: Log, tmp_path: Path, name: str) -> None:
    field, value = FIELDS[name]
    row = json.loads(EVENING[3])
    row["entry"][field] = value
    lines = resummed([*EVENING[:3], (json.dumps(row, sort_keys=True) + "\n").encode(), *EVENING[4:]])
    file = tmp_path / "b.bundle.jsonl"
    file.write_bytes(b"".join(lines))
    with pytest.raises(BundleRefused, match="line 4: "):
        take_in(log, file)
    assert log.count() == 0


def test_an_entry_that_says_something_else_than_the_one_here_is_refused_whole(log: Log, tmp_path: Path) -> None:
    log.append(an_evening()[:2])
    changed = [entry(tour.VenueAdded("Another Mill"), 0, "v1"), *an_evening()[2:]]
    file = tmp_path / "b.bundle.jsonl"
    file.write_bytes(b"".join(bundle(changed)))
    before = contents(log)
    with pytest.raises(EntryRefused, match="says something else"):
        take_in(log, file)
    assert contents(log) == before


def test_a_snapshot_that_is_not_what_it_says_is_refused(log: Log, tmp_path: Path) -> None:
    forged = Snapshot(snapshot().hash, "plan", "line-check", "another plan")
    file = tmp_path / "b.bundle.jsonl"
    file.write_bytes(b"".join(bundle([], [forged])))
    with pytest.raises(BundleRefused, match="line 2: the snapshot is not what it says"):
        take_in(log, file)


@pytest.mark.slow
def test_no_changed_byte_gets_through_or_changes_the_log(path: Path, tmp_path: Path) -> None:
    """One hundred thousand mutations from a fixed seed: bytes changed, put in, taken out, blocks moved."""
    chance = random.Random(20260501)
    whole = b"".join(EVENING)
    with Log.open(path, wal=True) as log:
        log.append(an_evening(), [snapshot()])
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    refused = 0
    for number in range(100_000):
        made = _mutated(whole, chance)
        if made == whole:
            continue
        try:
            for _ in read_bundle(io.BytesIO(made), "f"):
                pass
        except BundleRefused as trouble:
            refused += 1
            assert str(trouble).count("\n") == 0
        else:
            pytest.fail(f"mutation {number} was taken for whole")
        if number % 5_000 == 0:
            file = tmp_path / "m.bundle.jsonl"
            file.write_bytes(made)
            with Log.open(path, wal=True) as log, pytest.raises(ShowdayError):
                take_in(log, file)
            assert hashlib.sha256(path.read_bytes()).hexdigest() == before
    assert refused > 99_000


def _mutated(whole: bytes, chance: random.Random) -> bytes:
    at = chance.randrange(len(whole))
    match chance.randrange(5):
        case 0:
            return whole[:at] + bytes([chance.randrange(256)]) + whole[at + 1 :]
        case 1:
            return whole[:at] + bytes([chance.randrange(256)]) + whole[at:]
        case 2:
            return whole[:at] + whole[at + 1 :]
        case 3:
            return whole[:at]
        case _:
            to = chance.randrange(len(whole))
            return whole[: min(at, to)] + whole[max(at, to) :] + whole[min(at, to) : max(at, to)]


PARTS = an_evening()


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    split=st.lists(st.integers(0, 2), min_size=len(PARTS), max_size=len(PARTS)),
    order=st.permutations([0, 1, 2]),
    again=st.integers(0, 2),
)
def test_halves_of_a_history_make_the_same_log_in_any_order_and_any_number(
    tmp_path: Path, split: list[int], order: list[int], again: int
) -> None:
    """Commutative, associative, idempotent: the log is the union of what came, whoever brought it, however often."""
    files = []
    for part in range(3):
        file = tmp_path / f"{part}.bundle.jsonl"
        chosen = [each for each, mark in zip(PARTS, split, strict=True) if part in (mark, (mark + again) % 3)]
        file.write_bytes(b"".join(bundle(chosen, [snapshot()])))
        files.append(file)
    with Log.in_memory() as straight, Log.in_memory() as mixed, Log.in_memory() as joined:
        straight.append(PARTS, [snapshot()])
        for part in (*order, again):
            take_in(mixed, files[part])
        with Log.in_memory() as first:  # two of them joined elsewhere, then brought together
            take_in(first, files[order[2]])
            take_in(first, files[order[1]])
            both = tmp_path / "both.bundle.jsonl"
            held = [each for stream in first.all_streams() for each in first.entries(stream)]
            both.write_bytes(b"".join(bundle(held, list(first.snapshots()))))
        take_in(joined, files[order[0]])
        take_in(joined, both)
        assert contents(mixed) == contents(joined) == contents(straight)
