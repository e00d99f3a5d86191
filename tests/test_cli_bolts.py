"""`stiffcalc bolts` as a user meets it: files, exit status, one line a fault, the page in a browser."""

import csv
import importlib.util
import io
import json
import re
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from types import SimpleNamespace

import pytest

from stiffcalc.cli import main
from stiffcalc.report import bolt_page

STUDIES = Path(__file__).parents[1] / "studies"
DEMO = STUDIES / "four_or_six_bolts.toml"
SMALL = """
[bolts]
counts = [2, 4, 5]
threads = ["M8", "M10", "M12"]
grades = ["12.9"]
row_shift_mm = [0, 2]
"""


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return prepared(tmp_path)


def prepared(folder):
    text = re.sub(r"\n\[bolts\].*?(?=\n\[\[)", "", DEMO.read_text(), flags=re.S)
    (folder / "mine.toml").write_text(text + SMALL)
    return folder


def run(*words):
    return main([str(w) for w in words])


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """The folder of one run, and what it printed on both streams."""
    folder, out, err = prepared(tmp_path_factory.mktemp("ran")), io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(out), redirect_stderr(err):
        patch.chdir(folder)
        assert run("bolts", "mine.toml", "--no-front-view", "--json", "answer.json") == 0
    return folder, out.getvalue(), err.getvalue()


@pytest.fixture(scope="module")
def done(ran):
    """Its report folder."""
    return ran[0] / "bolts-mine"


def test_matrix_is_written_and_printed(ran, done):
    folder, printed, told = ran
    names = {"bolt_matrix.json", "bolt_matrix.csv", "bolt_matrix.html"}
    assert names <= {p.name for p in done.iterdir()}
    assert (folder / "answer.json").read_bytes() == (done / "bolt_matrix.json").read_bytes()
    assert "Screening estimate only" in printed
    assert "24 combinations" in printed and "the study's own bolts" in printed
    assert all(len(line) <= 100 for line in printed.splitlines())
    assert "frame: " in told
    assert not list(folder.rglob("*.tmp*"))


def test_refused_combinations_are_in_every_output(done):
    rows = list(csv.DictReader((done / "bolt_matrix.csv").open()))
    assert len(rows) == 24  # 1+1, 2+2 as drawn, 2+2 placed and 5 that cannot be shared out, 3 sizes, 2 shifts
    refused = [r for r in rows if r["refused"]]
    assert {"heads touch: 21.1 < 25.0 mm (leading end)"} <= {r["refused"] for r in refused}
    assert sum("cannot be shared out" in r["refused"] for r in refused) == 6
    assert all(bool(r["rank"]) != bool(r["refused"]) for r in rows)
    assert sum(r["own"] == "true" for r in rows) == 1
    answer = json.loads((done / "bolt_matrix.json").read_text())
    assert len(answer["rows"]) == 24
    page = (done / "bolt_matrix.html").read_text()
    assert "heads touch: 21.1 &lt; 25.0 mm (leading end)" in page


def test_the_page_names_the_order_of_its_best_by_what_they_meet(done):
    page = (done / "bolt_matrix.html").read_text()
    with (done / "bolt_matrix.csv").open() as file:
        best = [int(r["frame_unmet"]) for r in csv.DictReader(file) if r["rank"] and int(r["rank"]) <= 10]
    assert min(best) > 0  # none of this study's meets every check
    assert "The nearest, largest worst margin first: none meets every check" in page
    assert "best by least mass" not in page
    assert f"It misses {best[0]} of " in page


@pytest.mark.parametrize(
    ("unmet", "said"),
    [
        ((0, 0), "The best by least mass"),
        ((0, 3), "The best by least mass; those that miss a check follow, largest worst margin first"),
        ((3, 4), "The nearest, largest worst margin first: none meets every check"),
    ],
)
def test_order_of_the_best_in_words(unmet, said):
    rows = [SimpleNamespace(figures=SimpleNamespace(unmet=n)) for n in unmet]
    assert bolt_page._order(rows, "least mass") == said


def test_same_bytes_again(elsewhere, done):
    assert run("bolts", "mine.toml", "--no-front-view", "--quiet", "--out", "again") == 0
    for file in ("bolt_matrix.json", "bolt_matrix.csv", "bolt_matrix.html"):
        assert (elsewhere / "again" / file).read_bytes() == (done / file).read_bytes()


def test_quiet_prints_nothing_and_aim_and_layout_are_taken(elsewhere, capsys):
    words = ("bolts", "mine.toml", "--no-front-view", "--quiet", "--out", "x")
    assert run(*words, "--aim", "highest-onset", "--variant", "six M8 12.9") == 0
    printed = capsys.readouterr()
    assert printed.out == printed.err == ""
    answer = json.loads((elsewhere / "x/bolt_matrix.json").read_text())
    assert (answer["aim"], answer["layout"]) == ("highest onset", "six M8 12.9")


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--variant", "six M8 12.8"), 'write "six M8 12.9"'),
        (("--out", "mine.toml"), "a folder to write into"),
        (("--json", "nowhere/x.json"), "no folder nowhere"),
    ],
)
def test_bad_options_are_one_line(capsys, words, line):
    assert run("bolts", "mine.toml", "--no-front-view", "--quiet", *words) == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1 and line in said[0]


def test_a_bad_table_lists_every_fault_and_writes_nothing(elsewhere, capsys):
    bad = (elsewhere / "mine.toml").read_text().replace('"M8", "M10"', '"M9", "M10"').replace("[0, 2]", "[]")
    (elsewhere / "bad.toml").write_text(bad)
    assert run("bolts", "bad.toml") == 2
    lines = capsys.readouterr().err.strip().splitlines()
    assert [line.split(":")[0] for line in lines] == ["bolts.threads[1]", "bolts.row_shift_mm"]
    assert not (elsewhere / "bolts-bad").exists()


def test_unknown_aim_is_refused_by_name(capsys):
    assert run("bolts", "mine.toml", "--aim", "cheapest") == 2
    assert "least-mass" in capsys.readouterr().err


def test_a_layout_without_bolts_is_refused(elsewhere, capsys):
    assert run("bolts", STUDIES / "hillclimb_front.toml", "--variant", "one piece", "--quiet") == 2
    assert "which has no bolts" in capsys.readouterr().err


def test_stopped_by_the_user_nothing_is_half_written(elsewhere, capsys, monkeypatch):
    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("stiffcalc.commands.bolts.bolt_matrix", stopped)
    assert run("bolts", "mine.toml") == 130
    assert "nothing was written" in capsys.readouterr().err
    assert not (elsewhere / "bolts-mine").exists()


def test_check_lists_the_tables_defaults(elsewhere, capsys):
    assert run("check", "mine.toml") == 0
    assert "bolts.head_gap_mm = 1" in capsys.readouterr().out


def checker():
    spec = importlib.util.spec_from_file_location("check_page", STUDIES.parent / ".ci" / "check_page.py")
    found = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(found)
    return found


@pytest.mark.skipif(
    checker().browser() is None, reason="Chromium is not installed (Debian package `chromium`)"
)
def test_page_is_in_order_at_every_width_and_in_print(done):
    assert checker().check(done / "bolt_matrix.html") == []
