"""A folder is there whole or not at all, and nothing of somebody else's is lost."""

import json

import pytest

from stiffcalc.errors import InputError
from stiffcalc.exchange.folders import MANIFEST, refuse_foreign, whole_folder

KIND = "a kind"


def fill(path, **files):
    with whole_folder(path, kind=KIND) as folder:
        for name, text in files.items():
            (folder / name).write_text(text)
        manifest = {"package": KIND, "files": {name: {} for name in files}}
        (folder / MANIFEST).write_text(json.dumps(manifest))


def test_a_folder_appears_and_is_replaced(tmp_path):
    target = tmp_path / "deep" / "out"
    fill(target, a="1", b="2")
    fill(target, a="3")
    assert {p.name for p in target.iterdir()} == {"a", MANIFEST}
    assert (target / "a").read_text() == "3"
    assert [p.name for p in target.parent.iterdir()] == ["out"]
    assert target.stat().st_mode == (tmp_path / "deep").stat().st_mode


def test_an_error_leaves_the_earlier_one(tmp_path):
    target = tmp_path / "out"
    fill(target, a="1")
    with pytest.raises(RuntimeError), whole_folder(target, kind=KIND) as folder:
        (folder / "a").write_text("2")
        raise RuntimeError
    assert (target / "a").read_text() == "1"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("notes.txt", "mine"),
        (MANIFEST, "not json"),
        (MANIFEST, '{"package": "other", "files": {}}'),
        (MANIFEST, "[]"),
    ],
)
def test_a_foreign_folder_is_refused(tmp_path, name, content):
    (tmp_path / name).write_text(content)
    with pytest.raises(InputError, match="a folder with"):
        refuse_foreign(tmp_path, kind=KIND)
    assert (tmp_path / name).read_text() == content


def test_a_file_added_to_our_folder_is_not_lost(tmp_path):
    target = tmp_path / "out"
    fill(target, a="1")
    (target / "mine.txt").write_text("x")
    with pytest.raises(InputError, match=r"mine\.txt"):
        fill(target, a="2")
    assert (target / "mine.txt").exists()


def test_a_file_is_refused_and_an_empty_folder_taken(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError, match="a file"):
        refuse_foreign(tmp_path / "file", kind=KIND)
    (tmp_path / "empty").mkdir()
    fill(tmp_path / "empty", a="1")
    assert (tmp_path / "empty" / "a").exists()
