"""Carrying the log to other laptops: one venue's part, a shared folder, killed half-way, and a backup put back."""

from __future__ import annotations

import os
import shlex
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from showday import cli, paths, sharing
from showday.errors import FileTrouble, LogTrouble
from showday.log.store import Log
from showday.run import touring as tour
from showday.run.touring import fold_book
from tests.log.made import an_evening, entry, good, snapshot, started, story


@pytest.fixture
def homes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, Path]:
    """Two laptops; the first is the one in use."""
    first, second = tmp_path / "first", tmp_path / "second"
    monkeypatch.setenv(paths.HOME_VARIABLE, str(first))
    return first, second


def on(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(paths.HOME_VARIABLE, str(home))


def fill(stream: str = "") -> None:
    with Log.open(paths.log_path()) as log:
        log.append(an_evening() if not stream else story([started(), good()], stream), [snapshot()])


def everything() -> list[list[object]]:
    with Log.open(paths.log_path()) as log:
        return [list(log.entries(stream)) for stream in log.all_streams()]


def test_a_bundle_of_one_venue_holds_its_story_and_nothing_of_another(
    homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    fill()
    file = tmp_path / "mill.bundle.jsonl"
    assert cli.main(["log", "export", "--venue", "old mill", str(file)]) == 0
    assert "The Old Mill" in capsys.readouterr().out
    on(homes[1], monkeypatch)
    assert cli.main(["log", "import", str(file)]) == 0
    with Log.open(paths.log_path()) as log:
        assert sorted(log.all_streams()) == ["i1", "r1", "v1"]
        assert list(log.note_words().words) == ["dark"]
        assert cli.main(["log", "import", str(file)]) == 0
        assert "0 of them new here" in capsys.readouterr().out


def a_shared_folder(tmp_path: Path) -> tuple[Path, Path]:
    """A folder with the bundle of this laptop, which has a log; folder and bundle."""
    shared = tmp_path / "shared"
    shared.mkdir()
    fill()
    assert cli.main(["log", "sync", str(shared)]) == 0
    [bundle] = shared.iterdir()
    return shared, bundle


def test_laptops_that_share_a_folder_end_up_with_the_same_log(
    homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shared, _ = a_shared_folder(tmp_path)
    on(homes[1], monkeypatch)
    fill("r9")
    assert cli.main(["log", "sync", str(shared)]) == 0
    second = everything()
    on(homes[0], monkeypatch)
    assert cli.main(["log", "sync", str(shared)]) == 0
    assert everything() == second
    capsys.readouterr()
    assert cli.main(["log", "sync", str(shared)]) == 0
    said = capsys.readouterr().out
    assert "nothing new since last time" in said
    assert "was up to date" in said
    assert len(list(shared.iterdir())) == 2


def test_a_half_written_file_in_the_folder_is_left_and_the_others_are_taken(
    homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shared, whole = a_shared_folder(tmp_path)
    (shared / f"showday-aaaa{sharing.ENDING}").write_bytes(whole.read_bytes()[:-40])
    on(homes[1], monkeypatch)
    assert cli.main(["log", "sync", str(shared)]) == 1
    said = capsys.readouterr()
    assert "line" in said.out
    assert "1 file could not be taken in" in said.err
    assert len(everything()) == 5


def test_what_a_file_service_leaves_in_the_folder_is_taken_or_told(
    homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A renamed copy is read; an empty file, one that is gone, a folder and hidden files stop nobody."""
    shared, whole = a_shared_folder(tmp_path)
    whole.rename(shared / whole.name.replace(".jsonl", " (1).jsonl"))
    (shared / f"showday-zero{sharing.ENDING}").touch()
    (shared / f"showday-gone{sharing.ENDING}").symlink_to(tmp_path / "nowhere")
    (shared / f"showday-dir{sharing.ENDING}").mkdir()
    (shared / f".hidden{sharing.ENDING}").write_text("half")
    on(homes[1], monkeypatch)
    assert cli.main(["log", "sync", str(shared)]) == 1
    told = capsys.readouterr()
    assert "3 files could not be taken in" in told.err
    assert "This laptop's file is written." in told.out
    assert len(everything()) == 5


def test_a_bundle_that_contradicts_the_log_stops_nobody_else(
    homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    fill()
    with Log.open(paths.log_path()) as log:
        sharing.export(log, shared / f"z{sharing.ENDING}")
    on(homes[1], monkeypatch)
    with Log.open(paths.log_path()) as log:
        log.append([entry(tour.VenueAdded("Another Mill"), 0, "v1")])
        sharing.export(log, shared / f"a{sharing.ENDING}")
    on(tmp_path / "third", monkeypatch)
    with Log.open(paths.log_path()) as log:
        found = sharing.sync(log, shared)
        assert ([taken.new for taken in found.taken], len(found.refused), found.written) == ([1], 1, True)


def test_after_a_backup_was_put_back_the_folder_gives_again_what_is_newer(
    homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shared, backup = tmp_path / "shared", tmp_path / "backup.sqlite"
    shared.mkdir()
    on(homes[1], monkeypatch)
    fill("theirs")
    cli.main(["log", "sync", str(shared)])
    on(homes[0], monkeypatch)
    fill()
    cli.main(["log", "backup", str(backup)])
    fill("newer")
    cli.main(["log", "sync", str(shared)])
    before = everything()
    capsys.readouterr()
    assert cli.main(["log", "restore", str(backup)]) == 0
    assert "Nothing newer is lost" in capsys.readouterr().out
    assert len(everything()) == len(before) - 2
    assert cli.main(["log", "sync", str(shared)]) == 0
    assert everything() == before


def test_two_laptops_of_one_copied_folder_lose_nothing_of_each_other(
    homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both write the same file, for they have the same id."""
    shared, _ = a_shared_folder(tmp_path)
    shutil.copytree(homes[0], homes[1])
    for home, stream in zip(homes, ("one", "two"), strict=True):
        on(home, monkeypatch)
        fill(stream)
        assert cli.main(["log", "sync", str(shared)]) == 0
    on(homes[0], monkeypatch)
    assert cli.main(["log", "sync", str(shared)]) == 0
    with Log.open(paths.log_path()) as log:
        assert {"one", "two"} <= set(log.all_streams())


@pytest.mark.parametrize("trouble", ["damaged", "contradicting"])
def test_this_laptop_s_own_file_is_never_overwritten_unread(
    trouble: str, homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It may hold what a copy of this laptop wrote, or what was lost here."""
    shared, own = a_shared_folder(tmp_path)
    on(homes[1], monkeypatch)
    with Log.open(paths.log_path()) as log:
        log.append([entry(tour.VenueAdded("Another Mill"), 0, "v1"), *story([started(), good()], "only there")])
        sharing.export(log, theirs := tmp_path / f"theirs{sharing.ENDING}")
    held = theirs.read_bytes() if trouble == "contradicting" else theirs.read_bytes()[:-40]
    own.write_bytes(held)
    on(homes[0], monkeypatch)
    with Log.open(paths.log_path()) as log:
        found = sharing.sync(log, shared)
        assert found.written
        assert len(found.refused) == 1
        [aside] = set(shared.iterdir()) - {own}
        assert aside.read_bytes() == held
        assert aside.name in found.refused[0]
        again = sharing.sync(log, shared)
        assert (again.written, again.refused) == (False, ())


def test_one_place_under_two_names_is_offered_with_the_command_that_joins_it(
    homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "a.bundle.jsonl"
    with Log.open(paths.log_path()) as log:
        log.append([entry(tour.VenueAdded("The Old Mill", "Anytown"), 0, "v1")])
        sharing.export(log, file)
    on(homes[1], monkeypatch)
    with Log.open(paths.log_path()) as log:
        log.append([entry(tour.VenueAdded("Old Mill, The", "Anytown"), 0, "v2")])
    assert cli.main(["log", "import", str(file)]) == 0
    offered = next(line for line in capsys.readouterr().out.splitlines() if "venue merge" in line)
    assert cli.main(shlex.split(offered)[1:]) == 0
    with Log.open(paths.log_path()) as log:
        book = fold_book(log.touring())
        assert len(book.places()) == 1
        assert sharing.alike(book) == []


def test_a_bad_file_among_several_stops_none_of_the_others(
    homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    fill()
    good_one, bad = tmp_path / "b.bundle.jsonl", tmp_path / "a.bundle.jsonl"
    cli.main(["log", "export", str(good_one)])
    bad.write_text("hello\n")
    on(homes[1], monkeypatch)
    assert cli.main(["log", "import", str(bad)]) == 2
    assert cli.main(["log", "import", str(bad), str(good_one)]) == 1
    assert "1 file could not be taken in. All the others were." in capsys.readouterr().err
    assert len(everything()) == 5


@pytest.mark.parametrize("made", ["a file of somebody", "a folder"])
def test_a_bundle_never_goes_over_something_else(homes: tuple[Path, Path], tmp_path: Path, made: str) -> None:
    fill()
    target = tmp_path / "target"
    if made == "a folder":
        target.mkdir()
    else:
        target.write_text("dear diary")
    with Log.open(paths.log_path()) as log, pytest.raises(FileTrouble):
        sharing.export(log, target)
    assert target.is_dir() or target.read_text() == "dear diary"


IMPORTER = """
import sys
from pathlib import Path
from showday import paths, sharing
from showday.log.store import Log
with Log.open(paths.log_path()) as log:
    print("open", flush=True)
    sharing.take_in(log, Path(sys.argv[1]))
    print("done", flush=True)
"""


@pytest.mark.slow
def test_killed_at_any_moment_of_an_import_all_of_it_is_there_or_nothing(
    homes: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Log.open(paths.log_path()) as log:
        log.append(story([tour.VenueAdded("Mill"), *(tour.VenueNoted("note", f"{n}") for n in range(6000))], "v1"))
        total = log.count()
        file = tmp_path / "all.bundle.jsonl"
        sharing.export(log, file)
    seen = set()
    for moment in range(12):
        home = tmp_path / f"home{moment}"
        environment = {**os.environ, paths.HOME_VARIABLE: str(home)}
        command = [sys.executable, "-c", IMPORTER, str(file)]
        importer = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE)
        assert importer.stdout is not None
        assert importer.stdout.readline() == b"open\n"
        try:
            importer.wait(timeout=moment * 0.05)
        except subprocess.TimeoutExpired:
            importer.send_signal(signal.SIGKILL)
        importer.wait()
        importer.stdout.close()
        on(home, monkeypatch)
        with Log.open(paths.log_path()) as log:
            assert log.count() in (0, total)
            assert log.check() == []
            seen.add(log.count())
            sharing.take_in(log, file)
            assert log.count() == total
    assert 0 in seen


def test_a_backup_put_back_is_the_log_again_and_what_was_there_is_kept(
    homes: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    fill()
    backup = tmp_path / "backup.sqlite"
    assert cli.main(["log", "backup", str(backup)]) == 0
    before = everything()
    fill("r9")
    assert cli.main(["log", "restore", str(backup)]) == 0
    assert everything() == before
    [kept] = paths.log_path().parent.glob("*before-restore*")
    assert f"showday log restore {shlex.quote(str(kept))}" in capsys.readouterr().out
    with Log.open(kept) as log:
        assert "r9" in log.all_streams()
    with Log.open(paths.log_path()) as log:
        assert log.check() == []
        assert {record.id for record in log.runs()} == {"r1", "r2"}


def test_a_damaged_backup_changes_nothing(homes: tuple[Path, Path], tmp_path: Path) -> None:
    fill()
    backup = tmp_path / "backup.sqlite"
    cli.main(["log", "backup", str(backup)])
    before = everything()
    raw = bytearray(backup.read_bytes())
    raw[4096 : 4096 + 3000] = bytes(3000)
    backup.write_bytes(raw)
    with Log.open(paths.log_path()) as log, pytest.raises(LogTrouble):
        sharing.restore(log, backup)
    assert everything() == before


def test_a_bundle_is_no_backup_and_a_backup_no_bundle(
    homes: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    fill()
    before = everything()
    backup, bundle = tmp_path / "b.sqlite", tmp_path / "b.bundle.jsonl"
    cli.main(["log", "backup", str(backup)])
    cli.main(["log", "export", str(bundle)])
    assert cli.main(["log", "restore", str(bundle)]) == 2
    assert "Take it in with `showday log import`" in capsys.readouterr().err
    assert cli.main(["log", "import", str(backup)]) == 2
    assert "put back with `showday log restore`" in capsys.readouterr().err
    assert everything() == before


@pytest.mark.parametrize("text", [b"", b"hello", b"SQLite format 3\x00"])
def test_what_is_no_backup_is_refused(homes: tuple[Path, Path], tmp_path: Path, text: bytes) -> None:
    fill()
    file = tmp_path / "x"
    file.write_bytes(text)
    before = everything()
    assert cli.main(["log", "restore", str(file)]) == 2
    assert everything() == before


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (("The Old Mill", "Anytown"), ("Old Mill, The", "Anytown"), True),
        (("Café Luna", "Arnes"), ("Cafe Luna", "Arnes"), True),
        (("The Old Mill", "Anytown"), ("The Old Mill", "Otherville"), False),
        (("The Old Mill", "Anytown"), ("The Old Mill", ""), True),
        (("The Old Mill", "Anytown"), ("The Barn", "Anytown"), False),
    ],
)
def test_places_that_may_be_one_are_named(one: tuple[str, str], other: tuple[str, str], same: bool) -> None:
    book = fold_book([entry(tour.VenueAdded(*one), 0, "v1"), entry(tour.VenueAdded(*other), 0, "v2")])
    assert bool(sharing.alike(book)) is same
