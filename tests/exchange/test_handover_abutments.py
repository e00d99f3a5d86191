"""Abutments in the package: sets of their own, drag as traction on the trailing ones, and what is no longer open."""

import csv
import io
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("gmsh", reason="solids are meshed with gmsh")

from stiffcalc.commands.handover import write
from stiffcalc.handover.check import check_package
from stiffcalc.handover.job import Job, prepare
from stiffcalc.handover.questions import open_questions
from stiffcalc.handover.tables import tables
from stiffcalc.report.sheets import csv_text
from stiffcalc.study import parse

SMALL = Path(__file__).parents[2] / "studies/handover_check/small.toml"
TRAILING = {"bridge": "trailing end", "z_mm": [7.0, 17.5]}  # from the plate's side to the wall
ABUTMENTS = [
    TRAILING | {"y_mm": [96.0, 104.0]},
    TRAILING | {"y_mm": [108.0, 114.0], "half": "outboard"},
    {"bridge": "leading end", "y_mm": [96.0, 110.0], "z_mm": [0.0, 14.0]},
]


@pytest.fixture(scope="module")
def job() -> Job:
    source = tomllib.loads(SMALL.read_text())
    source["caliper"]["abutment"] = ABUTMENTS
    study = parse(source)
    return prepare(study, study.designs[0], size=20.0)


def rows(job: Job, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(csv_text(tables(job)[name]))))


def test_sets_have_the_patches_areas_and_look_at_the_pad(job: Job) -> None:
    sizes = {r["name"]: float(r["size"]) for r in rows(job, "sets.csv") if r["name"].startswith("abutment")}
    area = {
        "1_inboard": 84.0,
        "1_outboard": 84.0,
        "2_outboard": 63.0,
        "3_inboard": 196.0,
        "3_outboard": 196.0,
    }
    assert sizes == {f"abutment_{k}": pytest.approx(v, rel=1e-9) for k, v in area.items()}
    for s in (s for s in job.model.faces if s.name.startswith("abutment")):
        a, b, c = np.moveaxis(job.model.mesh.nodes[job.model.mesh.triangles[s.triangles][:, :3]], 1, 0)
        normal = np.cross(b - a, c - a).sum(axis=0)
        toward_pad = -1.0 if "trailing end" in s.what else 1.0
        assert normal / np.linalg.norm(normal) == pytest.approx([toward_pad, 0.0, 0.0], abs=1e-9)
        assert np.sign(a[:, 2].mean()) == (1.0 if s.part == "outboard_half" else -1.0)


def test_drag_of_one_pad_a_half_lies_on_its_trailing_patches(job: Job) -> None:
    """Statics: friction 0.4 x 10 MPa x pi/4 34^2, spread over 84 mm2 inboard and 84 + 63 mm2 outboard."""
    drag = {r["set"]: r for r in rows(job, "loads.csv") if r["step"] == "drag"}
    assert drag.keys() == {"abutment_1_inboard", "abutment_1_outboard", "abutment_2_outboard"}
    force, size = 4.0 * np.pi / 4 * 34.0**2, {r["name"]: r["size"] for r in rows(job, "sets.csv")}
    for half, area in (("inboard", 84.0), ("outboard", 147.0)):
        own = [r for name, r in drag.items() if name.endswith(half)]
        assert sum(float(r["fx_N"]) for r in own) == pytest.approx(force)
        for r in own:
            assert float(r["value"]) == pytest.approx(force / area)
            assert float(r["value"]) * float(size[r["set"]]) == pytest.approx(float(r["fx_N"]), rel=1e-6)
    (step,) = (r for r in rows(job, "steps.csv") if r["step"] == "drag")
    assert "abutments" not in step["what"]


def test_supports_hold_the_drag_by_statics(job: Job) -> None:
    """Statics of a free body: forces and moments of drag on the patches' middles and of all reactions vanish."""
    places = {
        r["point"]: np.array([float(r[k]) for k in ("x_mm", "y_mm", "z_mm")]) for r in rows(job, "points.csv")
    }
    force = 4.0 * np.pi / 4 * 34.0**2
    inboard, outboard = np.array([40.0, 100.0, -12.25]), [np.array([40.0, y, 12.25]) for y in (100.0, 111.0)]
    loads = [(inboard, force), *zip(outboard, (force * 84 / 147, force * 63 / 147), strict=True)]
    total = sum(wrench(at, np.array([f, 0.0, 0.0])) for at, f in loads)
    found = [
        r for r in rows(job, "expected.csv") if r["quantity"].startswith("reaction") and r["step"] == "drag"
    ]
    assert len(found) == 6
    for r in found:
        axis = np.eye(3)["xyz".index(r["quantity"].split()[2])]
        total = total + wrench(places[r["point"]], float(r["expected"]) * axis)
    assert total == pytest.approx(np.zeros(6), abs=1e-3)  # of kN times 100 mm, as printed to ten digits
    assert any(abs(float(r["expected"])) > 0.5 * force for r in found)


def wrench(at: np.ndarray, force: np.ndarray) -> np.ndarray:
    return np.concatenate([force, np.cross(at, force)])


def test_package_with_abutments_passes_its_own_check(job: Job, tmp_path: Path) -> None:
    write(tmp_path, job, ("vtu",))
    assert all(f.met for f in check_package(tmp_path, job))
    asked = " ".join(open_questions(job))
    assert "Abutments are not defined" not in asked and "on the leading ones" in asked


def test_one_piece_is_not_asked_about_joint_faces_and_screws(job: Job) -> None:
    """Reliefs that the study states for another layout are marked nowhere on a body without joint faces."""
    c = job.design.caliper
    stated = tuple(replace(b, reliefs=(np.zeros((3, 2)),)) for b in c.bridges)
    other = replace(job, design=replace(job.design, caliper=replace(c, bridges=stated)))
    asked = " ".join(open_questions(other))
    assert "Relief" not in asked and "bolted on" not in asked and "Screws" not in asked
    assert not any("screws" in r["what"] for r in rows(job, "steps.csv"))
