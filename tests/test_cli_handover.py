"""`stiffcalc handover` as a user meets it: files, exit status, one line a fault, the same bytes twice, one page."""

import contextlib
import importlib.util
import io
import json
import re
import shutil
from pathlib import Path

import pytest

pytest.importorskip("gmsh", reason="solids are meshed with gmsh")

from stiffcalc.cli import main
from stiffcalc.commands import handover as command
from stiffcalc.handover.job import prepare

ROOT = Path(__file__).parents[1]
SMALL = ROOT / "studies" / "handover_check" / "small.toml"
TABLES = (
    "sets",
    "points",
    "materials",
    "loads",
    "preloads",
    "steps",
    "contacts",
    "supports",
    "expected",
    "limits",
)


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.toml").write_text(SMALL.read_text())
    return tmp_path


def run(*words):
    return main([str(w) for w in words])


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """A package of one run in a folder, what was said, and the job it was written from."""
    folder = tmp_path_factory.mktemp("done")
    (folder / "small.toml").write_text(SMALL.read_text())
    jobs, said = [], io.StringIO()

    def prepared(*args, **options):
        jobs.append(prepare(*args, **options))
        return jobs[0]

    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(said):
        patch.chdir(folder)
        patch.setattr(command, "prepare", prepared)
        assert run("handover", "small.toml", "--size", "25") == 0
    return folder, said.getvalue(), jobs[0]


@pytest.fixture
def at_hand(done, monkeypatch):
    """The job of that run in place of a new one, for what is not about meshes."""
    monkeypatch.setattr(command, "prepare", lambda *_, **__: done[2])


def test_package_is_written_said_and_the_same_twice(done, elsewhere, capsys):
    folder, said, _ = done
    assert "scaled Jacobian" in said and "Screening estimate only" in said
    first = folder / "handover-small"
    names = {p.name for p in first.iterdir()}
    meshes = {"mesh.vtu", "mesh.med", "geometry.step"}
    assert names == {f"{t}.csv" for t in TABLES} | meshes | {"brief.html", "manifest.json"}
    shutil.copytree(first, elsewhere / first.name)
    (elsewhere / first.name / "loads.csv").write_text("of an earlier run")
    assert run("handover", "small.toml", "--size", "25", "--quiet") == 0
    assert capsys.readouterr().out == ""
    again = {p.name: p.read_bytes() for p in (elsewhere / first.name).iterdir()}
    assert again == {n: (first / n).read_bytes() for n in names}
    found = json.loads(again["manifest.json"])
    assert all(f["met"] for f in found["self_check"])


def test_other_formats_in_another_folder(elsewhere, at_hand):
    assert run("handover", "small.toml", "--size", "25", "--format", "vtk", "--out", "there", "--quiet") == 0
    assert {p.suffix for p in (elsewhere / "there").glob("mesh.*")} == {".vtk"}


def test_brief_is_one_self_contained_page_that_says_what_it_must(done):
    path = done[0] / "handover-small" / "brief.html"
    page = path.read_text()
    assert not re.search(r'(src|href)="(?!data:|#)', page)
    for word in (
        "Screening estimate only",
        "Open questions",
        "cannot see",
        "Mounting lugs",
        "Abutments",
        "Expected",
    ):
        assert word in page
    spec = importlib.util.spec_from_file_location("check_page", ROOT / ".ci" / "check_page.py")
    checks = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(checks)
    if checks.browser() is not None:
        assert checks.check(path) == []


def test_brief_of_one_piece_knows_no_screws(done):
    page = (done[0] / "handover-small" / "brief.html").read_text()
    assert ">body<" in page and ">20 °C<" in page and "/ screws" not in page
    assert "loads.csv (" in page and "preloads.csv (" not in page and "contacts.csv (" not in page


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["--size", "0"], "--size: found 0; allowed: from 1 to 50 mm"),
        (["--size", "nan"], "--size: found nan"),
        (["--format", "vtu", "doc"], "--format: found doc; allowed: vtu, med"),
        (["--variant", "bse"], 'unknown layout "bse"'),
        (["--out", "small.toml"], "small.toml: found a file"),
        (["--out", "full"], "full: found a folder with mine.txt in it"),
    ],
)
def test_bad_input_is_one_line(elsewhere, capsys, words, line):
    (elsewhere / "full").mkdir()
    (elsewhere / "full" / "mine.txt").write_text("x")
    assert run("handover", "small.toml", *words) == 2
    error = capsys.readouterr().err
    assert line in error and error.count("\n") == 1
    assert not (elsewhere / "handover-small").exists()
    assert (elsewhere / "full" / "mine.txt").read_text() == "x"


def test_a_failed_check_writes_nothing(elsewhere, at_hand, capsys, monkeypatch):
    monkeypatch.setattr("stiffcalc.handover.check.TRUE_MM", -1.0)
    assert run("handover", "small.toml", "--size", "25", "--format", "vtu", "--quiet") == 1
    error = capsys.readouterr().err
    assert "distance of curved faces" in error and "a smaller --size may mend it" in error
    assert [p.name for p in elsewhere.iterdir()] == ["small.toml"]
