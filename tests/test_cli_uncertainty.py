"""`stiffcalc uncertainty` as a user meets it: files, exit status, one line a fault."""

import csv
import json
from pathlib import Path

import pytest

from stiffcalc.cli import main

STUDIES = Path(__file__).parents[1] / "studies"
DEMO = STUDIES / "hillclimb_front.toml"
ONE = ("uncertainty", DEMO, "--variant", "one piece", "--no-front-view", "--samples", 30)


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words):
    return main([str(w) for w in words])


def test_bands_are_written_and_printed(elsewhere, capsys):
    assert run(*ONE, "--seed", 7, "--json", "answer.json") == 0
    folder = elsewhere / "uncertainty-hillclimb_front"
    names = {f"uncertainty.{e}" for e in ("json", "html")} | {
        f"uncertainty_{n}.csv" for n in ("curve", "checks")
    }
    assert names <= {p.name for p in folder.iterdir()}
    assert (elsewhere / "answer.json").read_bytes() == (folder / "uncertainty.json").read_bytes()
    printed = capsys.readouterr()
    assert "30 bodies, seed 7" in printed.out and "Screening estimate only" in printed.out
    assert all(len(line) <= 100 for line in printed.out.splitlines())
    answer = json.loads((elsewhere / "answer.json").read_text())
    assert (answer["seed"], answer["samples"]) == (7, 30)
    curve = list(csv.DictReader((folder / "uncertainty_curve.csv").open()))
    assert float(curve[-1]["spread_5_percent_mm"]) < float(curve[-1]["spread_95_percent_mm"])
    checks = list(csv.DictReader((folder / "uncertainty_checks.csv").open()))
    assert len(checks) == len(answer["checks"]) + 1
    page = (folder / "uncertainty.html").read_text()
    assert page.count("<svg") == 2 and "src=" not in page and page.count("Screening estimate only") == 2
    assert "seed 7" in page


def test_same_seed_gives_the_same_bytes(elsewhere):
    for name in ("a", "b"):
        assert run(*ONE, "--quiet", "--out", name) == 0
    for file in ("uncertainty.json", "uncertainty_curve.csv", "uncertainty.html"):
        assert (elsewhere / "a" / file).read_bytes() == (elsewhere / "b" / file).read_bytes()


def test_numbers_out_of_range_are_one_line_each(capsys):
    assert run("uncertainty", DEMO, "--samples", 3, "--seed", -1) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 2 and "--samples" in error and "--seed" in error


def test_unknown_layout_is_one_line(capsys):
    assert run("uncertainty", DEMO, "--variant", "one peace") == 2
    assert capsys.readouterr().err.count("\n") == 1
