"""`stiffcalc compare` as a user meets it: files, exit status, one line a fault, nothing half-written."""

import csv
import io
import json
import shutil
import sys
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from stiffcalc.cli import main
from stiffcalc.exchange.toml import toml_text
from stiffcalc.study import load

sys.path.append(str(Path(__file__).parent / "explore"))
from compare_sample import FLOOR, WALL, raw


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def written(**explore):
    """A study file of one-piece layouts, which are answered fast."""
    source = raw(**({"layouts": ["one piece"], "key": [WALL, FLOOR]} | explore))
    Path("study.toml").write_text(toml_text(source), encoding="utf-8")
    return "study.toml"


def run(*words):
    return main([str(w) for w in words])


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """The folder of one run, and what it printed on both streams."""
    folder, out, err = tmp_path_factory.mktemp("done"), io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(out), redirect_stderr(err):
        patch.chdir(folder)
        assert run("compare", written(), "--no-front-view", "--json", "answer.json") == 0
    return folder, out.getvalue(), err.getvalue()


def test_a_comparison_is_written_and_printed(done):
    folder, printed, told = done[0] / "compare-study", done[1], done[2]
    names = {p.name for p in folder.iterdir()}
    assert {"compare.html", "compare.json", "compare.csv", "at_2.90_kg.toml", "at_3.10_kg.toml"} <= names
    assert (done[0] / "answer.json").read_bytes() == (folder / "compare.json").read_bytes()
    assert "Screening estimate only" in printed and "one piece" in printed
    assert all(len(line) <= 100 for line in printed.splitlines())
    assert "one piece: generation" in told or "steps" in told
    answer = json.loads((folder / "compare.json").read_text())
    rows = list(csv.DictReader((folder / "compare.csv").open()))
    shown = [p for c in answer["layouts"] for p in c["points"]]
    assert [float(r["spread_mm"]) for r in rows] == pytest.approx([p["spread_mm"] for p in shown])
    assert load(folder / "at_3.10_kg.toml").designs[1].name == "one piece, 3.10 kg"
    page = (folder / "compare.html").read_text()
    assert page.count("<svg") == 2 and "src=" not in page
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert page.count("Screening estimate only") == 2


def test_same_seed_same_bytes(done, elsewhere):
    assert run("compare", written(), "--no-front-view", "--quiet", "--out", "again") == 0
    for file in ("compare.json", "compare.csv", "compare.html", "at_2.90_kg.toml"):
        assert (done[0] / "compare-study" / file).read_bytes() == (elsewhere / "again" / file).read_bytes()


def test_study_files_of_an_earlier_run_go(done, elsewhere):
    shutil.copytree(done[0] / "compare-study", elsewhere / "compare-study")
    assert run("compare", written(masses_kg=[3.0, 3.2]), "--no-front-view", "--quiet") == 0
    names = {p.name for p in (elsewhere / "compare-study").glob("at_*")}
    assert names == {"at_3.00_kg.toml", "at_3.20_kg.toml"}


@pytest.mark.parametrize(
    ("explore", "said"),
    [
        ({"effort": "much"}, "explore.effort"),
        ({"key": [{**WALL, "path": "caliper.wall.thicknes_mm"}]}, "thicknes_mm"),
        ({"extra_g": {"two": 1.0}}, "explore.extra_g"),
        ({"key": [{**WALL, "range": [8.6, 9.0]}]}, "that can be had"),
    ],
)
def test_bad_input_is_one_line(capsys, explore, said):
    assert run("compare", written(**explore), "--no-front-view", "--quiet") == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1 and said in error


def test_bad_seed_is_one_line(capsys):
    assert run("compare", written(), "--seed", "-3") == 2
    assert capsys.readouterr().err.startswith("--seed: found -3")


def test_stopped_before_the_end_nothing_is_written(elsewhere, monkeypatch, capsys):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("stiffcalc.explore.compare.confirmed", stop)
    assert run("compare", written(), "--no-front-view", "--quiet") == 130
    assert "nothing was written" in capsys.readouterr().err
    assert not (elsewhere / "compare-study").exists()
