from __future__ import annotations

from pathlib import Path

import pytest

from showday.errors import FileTrouble
from showday.sound.source_walk import open_walk
from showday.sound.walk_csv import MOST_LINES, Window, read_walk, windows

GOOD = {
    "plain": "0,2.5,Kick\n3,5,Snare\n",
    "headings": "start_s,end_s,input\n0,2.5,Kick\n3,5,Snare\n",
    "semicolons and decimal commas": "start;end;input\r\n0;2,5;Kick\r\n3;5,0;Snare\r\n",
    "tabs": "0\t2.5\tKick\n3\t5\tSnare\n",
    "minutes": "0:00,0:02.5,Kick\n0:00:03,0:05,Snare\n",
    "quotes, blanks, comments, a mark at the beginning": '\ufeff# the walk\n\n 0, 2.5 ,"Kick"\n3,5,Snare\n',
    "out of order": "3,5,Snare\n0,2.5,Kick\n",
}


@pytest.mark.parametrize("kind", GOOD)
def test_every_way_to_write_a_walk_gives_the_same_lines(kind: str) -> None:
    lines, problems = read_walk(GOOD[kind], "walk.csv")
    assert [(line.start_s, line.end_s, line.input) for line in lines] == [(0, 2.5, "Kick"), (3, 5, "Snare")]
    assert problems == []


BAD = {
    "5,3,Kick": "ends before it begins",
    "5,5,Kick": "ends before it begins",
    "5,6": "a column is missing",
    "5,6,": "a column is missing",
    "5,six,Kick": "'six' is not a time",
    "-1,6,Kick": "'-1' is not a time",
    "1e999,6,Kick": "'1e999' is not a time",
    "1:75,2:00,Kick": "'1:75' is not a time",
    "9" * 400 + ",6,Kick": "is not a time",
    "5\x1b[2J,6,Kick": "is not a time",
}


@pytest.mark.parametrize("row", BAD)
def test_a_line_that_cannot_be_used_is_told_with_its_place_and_the_others_stay(row: str) -> None:
    lines, problems = read_walk(f"0,2.5,Kick\n{row}\n7,8,Hat\n", "walk.csv")
    assert [line.input for line in lines] == ["Kick", "Hat"]
    assert len(problems) == 1
    assert str(problems[0]).startswith("walk.csv:2:1: ")
    assert BAD[row] in str(problems[0])
    assert str(problems[0]).isprintable()


def test_stretches_that_overlap_are_told_and_kept() -> None:
    lines, problems = read_walk("0,3,Kick\n2,4,Snare\n", "walk.csv")
    assert len(lines) == 2
    assert [str(problem) for problem in problems] == ["walk.csv:2:1: warning: it begins before line 1 has ended"]
    assert read_walk("0,3,Kick\n2,4,Kick\n", "walk.csv")[1] == []


@pytest.mark.parametrize("text", ["", "\n\n", "start_s,end_s,input\n", "# nothing\n"])
def test_an_empty_walk_is_told(text: str) -> None:
    lines, problems = read_walk(text, "walk.csv")
    assert lines == []
    assert "no line of the walk" in str(problems[0])


def test_a_walk_without_end_is_cut() -> None:
    lines, problems = read_walk("0,1,Kick\n" * (MOST_LINES + 5), "walk.csv")
    assert len(lines) == MOST_LINES
    assert "only the first" in str(problems[0])


def test_names_and_numbers_find_their_channel() -> None:
    lines, _ = read_walk("0,1,kick\n1,2,2\n2,3,40\n3,4,Snair\n", "walk.csv")
    found, problems = windows(lines, {"Kick": 0, "Snare": 1}, "walk.csv")
    assert found == [
        Window("Kick", 0, 0, 1),
        Window("Snare", 1, 1, 2),
        Window("Input 40", 39, 2, 3),
        Window("Snair", None, 3, 4),
    ]
    assert [str(p) for p in problems] == [
        "walk.csv:4:1: warning: no input of the rig is called 'Snair' (did you mean Snare?)"
    ]


def test_without_a_rig_a_name_has_no_channel_and_nothing_is_wrong() -> None:
    lines, _ = read_walk("0,1,Kick\n1,2,3\n", "walk.csv")
    found, problems = windows(lines, {})
    assert [(window.input, window.wanted) for window in found] == [("Kick", None), ("Input 3", 2)]
    assert problems == []


def test_a_walk_comes_from_a_file_and_trouble_with_it_is_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "walk.csv"
    path.write_bytes("0,1,Bündel\n".encode("latin-1"))
    lines, problems = open_walk(path)
    assert (len(lines), len(problems)) == (1, 0)
    for data, name, message in [
        (None, "none.csv", "is not there"),
        (None, ".", "is a folder"),
        (b"RIFF\0\0\0\0", "take.wav", "is not a walk"),
        (b"0,1,Kick\n" * 300_000, "long.csv", "is not a walk"),
    ]:
        if data is not None:
            (tmp_path / name).write_bytes(data)
        with pytest.raises(FileTrouble, match=message):
            open_walk(tmp_path / name)
