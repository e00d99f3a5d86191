"""Writing: the old file or the whole new one, and never into somebody else's folder."""

import os
import stat
from pathlib import Path

import pytest

from stiffcalc.errors import InputError
from stiffcalc.exchange import files

MARK = ".ours"


def test_text_and_bytes_arrive_and_nothing_else_is_left(tmp_path: Path) -> None:
    files.write_text_atomic(tmp_path / "a.txt", "één\nline\n")
    files.write_bytes_atomic(tmp_path / "b.bin", b"\0\r\n")
    assert (tmp_path / "a.txt").read_bytes() == "één\nline\n".encode()
    assert (tmp_path / "b.bin").read_bytes() == b"\0\r\n"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.txt", "b.bin"]


def test_the_file_gets_the_usual_permissions(tmp_path: Path) -> None:
    (tmp_path / "plain").write_text("x")
    files.write_text_atomic(tmp_path / "ours", "x")
    modes = [stat.S_IMODE((tmp_path / name).stat().st_mode) for name in ("plain", "ours")]
    assert modes[0] == modes[1]


def test_a_failed_write_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "a.txt"
    target.write_text("old")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device", str(target))

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(OSError, match="No space"):
        files.write_text_atomic(target, "new")
    assert target.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_folder_in_the_way_and_a_missing_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a folder"):
        files.write_text_atomic(tmp_path, "x")
    with pytest.raises(InputError, match="no folder"):
        files.write_text_atomic(tmp_path / "none" / "a.txt", "x")


def test_new_empty_and_own_folders_are_taken(tmp_path: Path) -> None:
    new, empty = tmp_path / "deep" / "new", tmp_path / "empty"
    empty.mkdir()
    for folder in (new, empty, new):
        files.prepare_folder(folder, MARK)
        assert (folder / MARK).is_file()
        (folder / "result.csv").write_text("1")


def test_what_is_not_ours_is_refused_and_left_alone(tmp_path: Path) -> None:
    theirs, file = tmp_path / "theirs", tmp_path / "file"
    theirs.mkdir()
    (theirs / "thesis.doc").write_text("years of work")
    file.write_text("x")
    for target, word in ((theirs, "something else"), (file, "a file")):
        with pytest.raises(InputError, match=word):
            files.prepare_folder(target, MARK)
    assert [p.name for p in theirs.iterdir()] == ["thesis.doc"]
    assert file.read_text() == "x"
