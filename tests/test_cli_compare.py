"""`stiffcalc compare` as a user meets it: files, exit status, one line a fault, nothing half-written."""

import csv
import json
import sys
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


def test_a_comparison_is_written_and_printed(elsewhere, capsys):
    assert run("compare", written(), "--no-front-view", "--json", "answer.json") == 0
    folder, printed = elsewhere / "compare-study", capsys.readouterr()
    names = {p.name for p in folder.iterdir()}
    assert {"compare.html", "compare.json", "compare.csv", "at_2.90_kg.toml", "at_3.10_kg.toml"} <= names
    assert (elsewhere / "answer.json").read_bytes() == (folder / "compare.json").read_bytes()
    assert "Screening estimate only" in printed.out and "one piece" in printed.out
    assert all(len(line) <= 100 for line in printed.out.splitlines())
    assert "one piece: generation" in printed.err or "steps" in printed.err
    answer = json.loads((folder / "compare.json").read_text())
    rows = list(csv.DictReader((folder / "compare.csv").open()))
    shown = [p for c in answer["layouts"] for p in c["points"]]
    assert [float(r["spread_mm"]) for r in rows] == pytest.approx([p["spread_mm"] for p in shown])
    assert load(folder / "at_3.10_kg.toml").designs[1].name == "one piece, 3.10 kg"
    page = (folder / "compare.html").read_text()
    assert page.count("<svg") == 2 and "src=" not in page
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert page.count("Screening estimate only") == 2


def test_same_seed_same_bytes(elsewhere):
    for name in ("a", "b"):
        assert run("compare", written(), "--no-front-view", "--quiet", "--out", name) == 0
    for file in ("compare.json", "compare.csv", "compare.html", "at_2.90_kg.toml"):
        assert (elsewhere / "a" / file).read_bytes() == (elsewhere / "b" / file).read_bytes()


def test_study_files_of_an_earlier_run_go(elsewhere):
    assert run("compare", written(), "--no-front-view", "--quiet") == 0
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
