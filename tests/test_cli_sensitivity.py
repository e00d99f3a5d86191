"""`stiffcalc sensitivity` as a user meets it: files, exit status, one line a fault."""

import csv
import json
from pathlib import Path

import pytest

from stiffcalc.cli import main

STUDIES = Path(__file__).parents[1] / "studies"
DEMO = STUDIES / "hillclimb_front.toml"


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words):
    return main([str(w) for w in words])


def test_slopes_are_written_and_printed(elsewhere, capsys):
    words = ("sensitivity", DEMO, "--variant", "one piece", "--no-front-view", "--json", "answer.json")
    assert run(*words) == 0
    folder = elsewhere / "sensitivity-hillclimb_front"
    assert {"sensitivity.json", "sensitivity.csv", "sensitivity.html"} <= {p.name for p in folder.iterdir()}
    assert (elsewhere / "answer.json").read_bytes() == (folder / "sensitivity.json").read_bytes()
    printed = capsys.readouterr()
    assert "Screening estimate only" in printed.out and "wall thickness" in printed.out
    assert all(len(line) <= 100 for line in printed.out.splitlines())
    answer = json.loads((elsewhere / "answer.json").read_text())
    rows = list(csv.DictReader((folder / "sensitivity.csv").open()))
    assert len(rows) == len(answer["slopes"]) > 25
    assert float(rows[0]["spread_mm"]) == pytest.approx(answer["slopes"][0]["spread"])
    assert answer["here"]["tilt_mrad"] is None and answer["front_view"]["confirmed"] == []
    page = (folder / "sensitivity.html").read_text()
    assert (
        page.count("<svg") == 3
        and "src=" not in page
        and "http://" not in page.replace("http://www.w3.org", "")
    )
    assert page.count("Screening estimate only") == 2


def test_same_inputs_give_the_same_bytes(elsewhere):
    for name in ("a", "b"):
        assert (
            run("sensitivity", DEMO, "--variant", "one piece", "--no-front-view", "--quiet", "--out", name)
            == 0
        )
    for file in ("sensitivity.json", "sensitivity.csv", "sensitivity.html"):
        assert (elsewhere / "a" / file).read_bytes() == (elsewhere / "b" / file).read_bytes()


def test_unknown_layout_is_one_line(capsys):
    assert run("sensitivity", DEMO, "--variant", "one peace") == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1 and 'write "one piece"' in error


def test_quiet_says_nothing(capsys):
    assert run("sensitivity", DEMO, "--variant", "one piece", "--no-front-view", "--quiet") == 0
    printed = capsys.readouterr()
    assert printed.out == printed.err == ""
