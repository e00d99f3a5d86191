"""`stiffcalc pockets` as a user meets it: files, exit status, the variant read back. Coarse meshes and few steps."""

import csv
import json
import re
from functools import partial
from pathlib import Path

import pytest

pytest.importorskip("gmsh", reason="the front view meshes with gmsh")

from stiffcalc.caliper.build import build
from stiffcalc.caliper.measures import weigh
from stiffcalc.cli import main
from stiffcalc.explore import pocket_boxes, pockets
from stiffcalc.study import load

STUDIES = Path(__file__).parents[1] / "studies"
DEMO = STUDIES / "hillclimb_front.toml"


@pytest.fixture(autouse=True)
def quick(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(pockets, "prepare", partial(pockets.prepare, elements=100))
    monkeypatch.setattr(pockets, "ELEMENTS", 100)
    monkeypatch.setattr(pockets, "optimum", partial(pockets.optimum, steps=8))
    monkeypatch.setattr(pocket_boxes, "GRID_MM", 6.0)
    return tmp_path


def study(folder, table):
    """The demo with a [pockets] table."""
    path = folder / "mine.toml"
    path.write_text(f"{DEMO.read_text(encoding='utf-8')}\n[pockets]\n{table}\n", encoding="utf-8")
    return path


def run(*words):
    return main([str(w) for w in words])


def test_pockets_are_proposed_written_and_printed(quick, capsys):
    assert run("pockets", DEMO, "--variant", "one piece", "--json", "answer.json") == 0
    folder = quick / "pockets-hillclimb_front"
    names = {"pockets.json", "field.csv", "pockets.csv", "proposal.toml", "pockets.html"}
    assert names <= {p.name for p in folder.iterdir()}
    assert (quick / "answer.json").read_bytes() == (folder / "pockets.json").read_bytes()
    printed = capsys.readouterr()
    assert "Screening estimate only" in printed.out and "depth field: step" in printed.err
    assert all(len(line) <= 100 for line in printed.out.splitlines())
    answer = json.loads((quick / "answer.json").read_text())
    stages = {s["name"]: s for s in answer["stages"]}
    assert stages["depth field"]["spread_less"] > 0.08 and stages["proposed"]["spread_less"] > 0.04
    assert answer["expected_spread_less"] < stages["proposed"]["spread_less"]
    for name in ("even wall", "depth field", "proposed"):
        assert stages[name]["mass_kg"] == pytest.approx(stages["as drawn"]["mass_kg"], abs=1e-3)
    page = (folder / "pockets.html").read_text(encoding="utf-8")
    assert page.count("<svg") == 3 and page.count("Screening estimate only") == 2 and "src=" not in page
    widths = [float(w) for w in re.findall(r'<svg[^>]*viewBox="0 0 ([\d.]+) ', page)]
    assert (
        len(widths) == 3 and max(widths) <= 72 * 4.35
    )  # points: wider ones are not readable on a narrow screen
    boxes = list(csv.DictReader((folder / "pockets.csv").open()))
    assert 1 <= len(boxes) <= 8 and all(float(b["depth_mm"]) > 0 for b in boxes)

    proposal = load(folder / "proposal.toml")
    assert [d.name for d in proposal.designs][1:] == ["one piece", "even wall, same mass", "proposed pockets"]
    body = build(proposal.designs[-1])
    assert float(weigh(proposal.designs[-1], body).total) == pytest.approx(
        stages["proposed"]["mass_kg"], abs=1e-6
    )
    assert len(body.outboard.pockets) == len(boxes)


def test_one_half_alone_at_least_mass(quick):
    """The even wall's spread with less metal, milled from the outboard half only."""
    path = study(quick, 'aim = "least mass"\nhalves = "outboard"\nspread_mm = 0.2')
    assert run("pockets", path, "--variant", "one piece", "--quiet") == 0
    answer = json.loads((quick / "pockets-mine" / "pockets.json").read_text())
    assert not any("Rectangles of the depth allowed" in n for n in answer["notices"])
    assert [h["side"] for h in answer["halves"]] == ["outboard"]
    assert set(answer["variant"]["set"]) == {
        "caliper.outboard.thickness_mm",
        "caliper.outboard.floor_mm",
        "caliper.outboard.pockets",
    }
    proposed = answer["stages"][-1]
    assert proposed["spread_mm"]["hard stop, hot"] == pytest.approx(0.2, rel=0.01)


def test_a_blank_that_cannot_lose_enough_is_refused(quick, capsys):
    path = study(quick, "least_thickness_mm = 36")
    assert run("pockets", path, "--variant", "one piece", "--quiet") == 2
    error = capsys.readouterr().err
    assert error.startswith("pockets.blank_mm: found") and "Traceback" not in error
    assert not (quick / "pockets-mine" / "pockets.json").exists()


def test_unknown_layout_is_one_line(capsys):
    assert run("pockets", DEMO, "--variant", "one peace") == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
