from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from showday import paths
from showday.log.store import Log
from tests.log.made import an_evening

PLACES: dict[str, tuple[Callable[[], Path], str]] = {
    "data": (paths.data_folder, "data"),
    "config": (paths.config_folder, "config"),
    "state": (paths.state_folder, "state"),
    "log": (paths.log_path, "data/showday-log.sqlite"),
    "playbooks": (paths.own_playbooks, "config/playbooks"),
    "fault trees": (paths.own_faults, "config/playbooks/faults"),
    "rig": (paths.own_rig, "config/rig.yaml"),
    "settings": (paths.settings_path, "config/settings.json"),
    "unsaved": (paths.unsaved_path, "state/showday-unsaved.jsonl"),
}


@pytest.mark.parametrize("name", list(PLACES))
def test_one_variable_moves_every_folder_and_looking_makes_none(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path / "stick"))
    find, where = PLACES[name]
    assert find() == tmp_path / "stick" / where
    assert not (tmp_path / "stick").exists()


def test_the_variable_may_be_a_short_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path / "me"))
    monkeypatch.setenv("SHOWDAY_HOME", "stick")
    assert paths.data_folder() == tmp_path / "stick" / "data"
    monkeypatch.setenv("SHOWDAY_HOME", "~/stick")
    assert paths.data_folder() == tmp_path / "me" / "stick" / "data"
    monkeypatch.setenv("SHOWDAY_HOME", "~nobody-of-this-name/stick")
    assert paths.data_folder() == tmp_path / "~nobody-of-this-name" / "stick" / "data"


@pytest.mark.skipif(sys.platform != "linux", reason="the folders of the freedesktop specification")
@pytest.mark.parametrize("home", ["", "  "])
def test_without_it_the_system_says_where(home: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """XDG Base Directory Specification."""
    monkeypatch.setenv("SHOWDAY_HOME", home)
    for name in ("DATA", "CONFIG", "STATE"):
        monkeypatch.setenv(f"XDG_{name}_HOME", str(tmp_path / name))
    assert paths.data_folder() == tmp_path / "DATA" / "showday"
    assert paths.config_folder() == tmp_path / "CONFIG" / "showday"
    assert paths.state_folder() == tmp_path / "STATE" / "showday"
    assert list(tmp_path.iterdir()) == []


def test_looking_up_paths_is_not_paid_for_before_it_is_needed() -> None:
    said = subprocess.run(
        [sys.executable, "-c", "import sys, showday.paths; print('platformdirs' in sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert said.stdout == "False\n"


# -- places that may spoil the log -----------------------------------------------------------------------------

MOUNTS = """\
/dev/sda1 / ext4 rw,relatime 0 0
server:/export /mnt/show nfs4 rw 0 0
//server/share /mnt/with\\040space cifs rw 0 0
stick /mnt/show/local vfat rw 0 0
helper /mnt/helper fuse.helper rw 0 0
/dev/sdb1 /mnt/disk fuseblk rw 0 0
a line of two
"""

TYPES = {
    "/home/me/showday-log.sqlite": ("ext4", False),
    "/mnt/show/showday-log.sqlite": ("nfs4", True),
    "/mnt/showcase/showday-log.sqlite": ("ext4", False),
    "/mnt/show/local/showday-log.sqlite": ("vfat", False),
    "/mnt/with space/showday-log.sqlite": ("cifs", True),
    "/mnt/helper/showday-log.sqlite": ("fuse.helper", True),
    "/mnt/disk/showday-log.sqlite": ("fuseblk", False),
}


@pytest.mark.parametrize("path", list(TYPES))
def test_the_file_system_is_that_of_the_deepest_mount(path: str) -> None:
    kind, remote = TYPES[path]
    assert paths.file_system(Path(path), MOUNTS) == kind
    assert paths.may_be_remote(Path(path), MOUNTS) is remote


def test_where_nothing_is_known_of_mounts_the_file_is_taken_to_be_here() -> None:
    assert paths.file_system(Path("/home/me/a"), "") == ""
    assert not paths.may_be_remote(Path("/home/me/a"), "")


def test_a_share_of_another_machine_is_remote() -> None:
    assert paths.may_be_remote(Path("//server/share/showday-log.sqlite"), "")


def test_a_log_on_another_machine_does_without_the_write_ahead_log(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(paths, "may_be_remote", lambda path: True)
    with Log.open(path) as log:
        log.append(an_evening())
        assert log._db.execute("PRAGMA journal_mode").fetchone()[0] == "truncate"


FOLDERS = {
    "/home/me/.local/share/showday": "",
    "/home/me/Library/Application Support/showday": "",
    "/home/me/sandbox/showday": "",
    "/home/me/async-work/showday": "",
    "/home/me/inbox/showday": "",
    "/home/me/drives/showday": "",
    "/home/me/MySync/showday": "copied to other machines",
    "/home/me/Cloud Files/showday": "copied to other machines",
    "/home/me/Work Drive/showday": "copied to other machines",
    "/home/me/Library/Mobile Documents/showday": "copied to other machines",
    "/home/me/Box/showday": "copied to other machines",
    "/mnt/show/showday": "network or shared file system",
}


@pytest.mark.parametrize("folder", list(FOLDERS))
def test_places_that_may_spoil_the_log_are_named(folder: str) -> None:
    said = paths.synced_folder_warning(Path(folder) / "showday-log.sqlite", MOUNTS)
    if not FOLDERS[folder]:
        assert said == ""
    else:
        assert FOLDERS[folder] in said
        assert "showday log backup" in said
        assert said.count(".") == 1


def test_a_link_is_named(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "folder").symlink_to(tmp_path / "real")
    (tmp_path / "file.sqlite").symlink_to(tmp_path / "real" / "file.sqlite")
    assert "is a link" in paths.synced_folder_warning(tmp_path / "folder" / "file.sqlite", MOUNTS)
    assert "is a link" in paths.synced_folder_warning(tmp_path / "file.sqlite", MOUNTS)
    assert paths.synced_folder_warning(tmp_path / "real" / "file.sqlite", MOUNTS) == ""


# -- whole files -----------------------------------------------------------------------------------------------


def test_a_text_is_written_whole_and_replaces_the_earlier(tmp_path: Path) -> None:
    path = tmp_path / "new" / "settings.json"
    for text in ("first é漢🎤\n", "second\n"):
        paths.write_whole(path, text)
        assert path.read_bytes() == text.encode()
    assert [p.name for p in path.parent.iterdir()] == ["settings.json"]


def test_a_link_to_a_file_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").write_text("first")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    paths.write_whole(tmp_path / "link", "second")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_text() == "second"


def test_when_it_cannot_be_written_the_earlier_stays_and_nothing_is_left_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "settings.json"
    paths.write_whole(path, "first")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space left"):
        paths.write_whole(path, "second")
    assert path.read_text() == "first"
    assert [p.name for p in tmp_path.iterdir()] == ["settings.json"]


def test_what_is_no_text_becomes_a_question_mark(tmp_path: Path) -> None:
    paths.write_whole(tmp_path / "a", "a\ud83db")
    assert (tmp_path / "a").read_text() == "a?b"
