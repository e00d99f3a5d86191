"""`assess --solid` on a small study, solids on a coarse grid: what results, JSON, files and page then say."""

import csv
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import scipy.sparse as sp

pytest.importorskip("gmsh", reason="the solid stands beside the front view, which meshes with gmsh")

from stiffcalc import load
from stiffcalc.caliper import assess
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.build import build
from stiffcalc.caliper.solid_cases import why_not
from stiffcalc.caliper.solid_faces import Joined, joined_solid
from stiffcalc.cli import main
from stiffcalc.errors import ConvergenceError
from stiffcalc.grid_solid.contact import Clamp, Face, contact_state
from stiffcalc.grid_solid.grid import Fineness
from stiffcalc.grid_solid.half import Condensed

STUDIES = Path(__file__).parents[2] / "studies"
COARSE = Fineness(across=7.0, between=14.0, up=8.0, through=14.0, edge=6.0)
MORE = "".join(
    f'\n[[variant]]\nname = "{name}"\n[variant.set]\n'
    + "".join(f'"caliper.bolt[{k}].preload_N" = {preload}\n' for k in range(1, 5))
    for name, preload in (("hardly tightened", 2000.0), ("slack", 60.0))
)


@pytest.fixture(scope="module", autouse=True)
def coarse() -> Iterator[None]:
    """One solid for every variant: they differ in preload alone, which is not in it."""
    known: list[Joined] = []

    def once(body: Body) -> Joined:
        if not known:
            known.append(joined_solid(body, fineness=COARSE))
        return known[0]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(assess, "joined_solid", once)
        yield


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("solid") / "bolted.toml"
    path.write_text((STUDIES / "handover_check/bolted.toml").read_text() + MORE)
    return path


@pytest.fixture(scope="module")
def folder(study: Path) -> Path:
    out = study.parent / "out"
    assert main(["assess", str(study), "--solid", "--no-page", "--quiet", "--out", str(out)]) == 0
    return out


def variants(folder: Path) -> list[dict[str, Any]]:
    found = json.loads((folder / "results.json").read_text())["variants"]
    assert isinstance(found, list)
    return found


def finite(value: object) -> bool:
    if isinstance(value, dict | list):
        return all(finite(v) for v in (value.values() if isinstance(value, dict) else value))
    return not isinstance(value, float) or bool(np.isfinite(value))


def test_json_has_the_solid_s_figures_beside_the_front_view_s(folder: Path) -> None:
    base = variants(folder)[0]
    assert [(c["load_case"], c["pressure_MPa"]) for c in base["solid"]] == [
        ("hard stop", 10.0),
        ("far beyond", 30.0),
    ]
    closed, opened = base["solid"]
    assert closed["onset_MPa"] == opened["onset_MPa"]
    assert closed["onset_MPa"]["solid"] != closed["onset_MPa"]["front_view"]
    for c in (closed, opened):
        for key, rel in (
            ("onset_MPa", 0.15),
            ("opening_by_bore_mm", 0.2),
            ("bolt_force_beyond_preload_N", 0.3),
        ):
            pair = c[key]
            assert pair["solid"] == pytest.approx(
                pair["front_view"], rel=rel, abs=150.0 if "N" in key else 0.0
            )
    assert closed["touching"] == pytest.approx(1.0, abs=0.01)
    assert 0.1 < opened["touching"] < 0.6


def test_the_solid_s_onset_is_the_one_that_is_judged(folder: Path) -> None:
    base = variants(folder)[0]
    found = [c for c in base["load_cases"][1]["checks"] if c["what"].startswith("onset pressure")]
    assert len(found) == 2
    for c in found:
        assert "by the 3-D solid" in c["note"]
        assert "by 3-D elasticity" in c["source"]
    worst = min(c["actual"] for c in found)
    assert (
        worst <= base["solid"][0]["onset_MPa"]["solid"] + 1e-9
    )  # of all stages of life, that at 20 C among them


def test_joints_that_hardly_hold_have_figures_or_none_and_keep_their_reasons(folder: Path) -> None:
    _, weak, slack = variants(folder)
    assert finite(weak["solid"]) and finite(slack["solid"])
    assert weak["solid"][0]["onset_MPa"]["solid"] < 1.0
    assert slack["solid"] == []  # settling takes all of its preload
    for v in (weak, slack):
        missed = [c["what"] for c in v["load_cases"][0]["checks"] if not c["met"]]
        assert any(w.startswith("onset pressure") for w in missed)


def test_solids_csv_has_them_too(folder: Path) -> None:
    with (folder / "solids.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    base = variants(folder)[0]["solid"][0]
    mine = [r for r in rows if (r["variant"], r["load_case"]) == ("base", "hard stop")]
    forces = [float(r["solid"]) for r in mine if r["figure"] == "bolt_increment"]
    assert forces == pytest.approx(base["bolt_force_beyond_preload_N"]["solid"])


def test_without_the_option_there_is_none_and_the_front_view_is_judged(tmp_path: Path) -> None:
    plain = str(STUDIES / "handover_check/bolted.toml")
    assert main(["assess", plain, "--no-page", "--quiet", "--out", str(tmp_path / "out")]) == 0
    (found,) = variants(tmp_path / "out")
    assert found["solid"] == []
    checks = found["load_cases"][0]["checks"]
    notes = [c["note"] for c in checks if c["what"].startswith("onset pressure")]
    assert notes
    assert not any("3-D solid" in n for n in notes)


def test_layouts_without_a_solid_are_named_with_the_reason() -> None:
    found = assess.assess(load(STUDIES / "handover_check/small.toml"), solid=True)
    assert found.variants[0].solid == ()
    assert "no 3-D solid of base: no joint to solve" in found.notices
    without = assess.assess(load(STUDIES / "handover_check/small.toml"), front_view=False, solid=True)
    assert any("no 3-D solid of base: it stands beside the front view" in n for n in without.notices)
    reasons = {d.name: why_not(build(d)) for d in load(STUDIES / "centre_bridge.toml").designs}
    assert reasons == {
        "no centre bridge": "no joint to solve",
        "in one piece": "no joint to solve",
        "two bolts along z": "",
        "bar, two bolts a side along y": "a bar bolted on pads is not in the solid",
    }


def test_solid_without_the_front_view_is_refused_in_one_line(
    study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = study.parent / "refused"
    assert main(["assess", str(study), "--solid", "--no-front-view", "--out", str(out)]) == 2
    said = capsys.readouterr().err
    assert said.startswith("--solid: found with --no-front-view")
    assert said.count("\n") == 1
    assert not out.exists()


def test_contact_that_nothing_holds_is_a_named_error() -> None:
    face = Face(sp.csr_matrix(np.eye(3)), np.ones(3), np.zeros((3, 2)))
    free = Condensed(np.zeros((3, 3)), -np.ones((3, 1)), np.eye(1), 9)
    clamp = Clamp(slice(0, 1), np.ones(1), np.zeros(1), np.ones(1))
    with pytest.raises(ConvergenceError, match="joint face that nothing holds"):
        contact_state(free, face, clamp, load=np.ones(1), tight=None, start=np.ones(3))
