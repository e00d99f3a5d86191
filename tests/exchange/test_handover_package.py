"""The package read back: every format, tables that agree with each other, and a self-check that finds faults."""

import csv
import hashlib
import html
import io
import json
import re
from dataclasses import replace
from pathlib import Path

import meshio
import numpy as np
import pytest

from stiffcalc.caliper.accuracy import ONSET_BY_CELLS, ONSET_BY_POINTS, STATEMENT, WORST
from stiffcalc.commands.handover import write
from stiffcalc.errors import InputError
from stiffcalc.handover import check
from stiffcalc.handover.check import PackageError, check_package
from stiffcalc.handover.expected import FILLET, onset_share
from stiffcalc.handover.job import prepare
from stiffcalc.handover.mesh_files import FORMATS, checked_formats, mesh_bytes, node_sets, numbers
from stiffcalc.handover.package import manifest
from stiffcalc.handover.questions import open_questions
from stiffcalc.handover.read import read_mesh
from stiffcalc.handover.tables import tables
from stiffcalc.report import brief
from stiffcalc.report.sheets import csv_text
from stiffcalc.study import load

STUDIES = Path(__file__).parents[2] / "studies"
BOLTED = """
[[caliper.bolt]]
x_mm = -50.0
y_mm = 108.0
thread = "M8x1.25"
grade = "10.9"
[[caliper.bolt]]
x_mm = 50.0
y_mm = 108.0
thread = "M8x1.25"
grade = "10.9"
[caliper.port]
x_mm = 48.0
y_mm = 95.5
diameter_mm = 3.0
seal_diameter_mm = 6.0
"""


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    """A small bolted body, coarse."""
    text = (STUDIES / "handover_check" / "small.toml").read_text()
    path = tmp_path_factory.mktemp("study") / "small.toml"
    path.write_text(text.replace('"monoblock"', '"two-piece"') + BOLTED)
    study = load(path)
    return prepare(study, study.designs[0], size=20.0)


@pytest.fixture(scope="module")
def package(job, tmp_path_factory):
    folder = tmp_path_factory.mktemp("package")
    write(folder, job, ("vtu", "med"))
    return folder


@pytest.fixture(scope="module")
def rows(job):
    """Rows of a table of that name; tables are functions of the job alone."""
    made = tables(job)
    return lambda name: list(csv.DictReader(io.StringIO(csv_text(made[name]))))


@pytest.fixture(scope="module")
def findings(job, package):
    return check_package(package, job)


def test_a_bolted_body_is_asked_about_parts_bolted_on_and_screws(job, rows):
    asked = " ".join(open_questions(job))
    assert "(from d on those of parts bolted on)" in asked and "Screws are cylinders" in asked
    assert any(f.name.startswith("relief_") for f in job.model.faces) == ("Reliefs are marked" in asked)
    assert all("screws" in r["what"] for r in rows("steps.csv") if r["step"] == "temperature")


def test_package_passes_its_own_check(findings):
    assert len(findings) > 10
    assert all(f.met for f in findings)


@pytest.mark.parametrize("ending", FORMATS)
def test_every_format_gives_back_elements_and_sets(job, tmp_path, ending):
    content = mesh_bytes(job.model, ending)
    assert content == mesh_bytes(job.model, ending)
    path = tmp_path / f"mesh.{ending}"
    path.write_bytes(content)
    found, mesh = read_mesh(path, numbers(job.model)), job.model.mesh
    assert np.allclose(found.nodes[found.tets], mesh.nodes[mesh.tets], atol=1e-7)
    for k, name in enumerate(mesh.parts):
        assert np.array_equal(found.parts[name], np.flatnonzero(mesh.part == k))
    for s in job.model.faces:
        own = found.nodes[found.triangles[found.faces[s.name]]]
        assert np.allclose(own, mesh.nodes[mesh.triangles[s.triangles]], atol=1e-7)
    wanted = {} if ending == "msh" else job.model.nodes if ending == "med" else node_sets(job.model)
    for name, nodes in wanted.items():
        a, b = (np.sort(p.round(6), axis=0) for p in (found.nodes[found.node_sets[name]], mesh.nodes[nodes]))
        assert np.allclose(a, b, atol=2e-6)


def test_plain_meshio_reads_the_default_format(package):
    """With meshio alone: quadratic tetrahedra whose straight corners have nearly the volume of sets.csv."""
    mesh = meshio.read(package / "mesh.vtu")
    corners = mesh.points[mesh.cells_dict["tetra10"][:, :4]]
    volume = np.linalg.det(corners[:, 1:] - corners[:, :1]) / 6
    with (package / "sets.csv").open() as stream:
        stated = sum(float(r["size"]) for r in csv.DictReader(stream) if r["kind"] == "volume")
    assert volume.min() > 0
    assert volume.sum() == pytest.approx(stated, rel=0.01)


def test_tables_speak_of_sets_that_exist(job, rows):
    names = {r["name"] for r in rows("sets.csv")}
    points = {r["point"] for r in rows("points.csv")}
    assert {r["set"] for r in rows("loads.csv")} <= names | points
    assert {r["set"] for r in rows("preloads.csv")} <= names
    assert {r["set"] for r in rows("supports.csv")} <= names
    assert {r[k] for r in rows("contacts.csv") for k in ("face_a", "face_b")} <= names
    assert {s for r in rows("expected.csv") for s in r["sets"].split()} <= names
    assert {r["part"] for r in rows("materials.csv")} == set(job.model.mesh.parts)


def test_loads_hold_the_balance_of_statics(rows):
    """Statics: pressure on both sides cancels; drag is twice friction times the clamp force."""
    own = rows("loads.csv")
    assert sum(float(r["fz_N"]) for r in own) == pytest.approx(0.0, abs=1e-6)
    clamp = 10.0 * np.pi * 34.0**2 / 4
    assert sum(float(r["fx_N"]) for r in own) == pytest.approx(2 * 0.4 * clamp, rel=1e-9)


def test_fluid_of_a_port_presses_on_both_parts_within_its_seal(rows):
    own = {r["set"]: r for r in rows("loads.csv") if r["set"].startswith("port_seal_1_")}
    assert {name.split("_")[3]: float(r["fz_N"]) for name, r in own.items()} == pytest.approx(
        {"inboard": -10.0 * np.pi * 3.0**2, "outboard": 10.0 * np.pi * 3.0**2}
    )
    area = {r["name"]: float(r["size"]) for r in rows("sets.csv") if r["kind"] == "face"}
    expected = {r["sets"]: float(r["expected"]) for r in rows("expected.csv") if "seal" in r["point"]}
    for name, r in own.items():
        assert float(r["value"]) == 10.0 and area[name] == pytest.approx(np.pi * 3.0**2, rel=3e-3)
        assert expected[name] == pytest.approx(float(r["fz_N"]))


def test_bands_are_the_stated_accuracy(job, rows):
    for share in WORST.values():
        assert f"{100 * share:.1f} %" in STATEMENT
    opening = next(r for r in rows("expected.csv") if r["point"] == "bore 1" and r["unit"] == "mm")
    value, low, high = (float(opening[k]) for k in ("expected", "low", "high"))
    worst = WORST["front view", "opening", True]
    assert high / value - 1 == pytest.approx(worst)
    # fillets of 4 mm over a half gap of 7 + 10 + 0.5 mm, a quarter of that
    assert 1 - low / value == pytest.approx(worst + 0.25 * 4.0 / job.answer.body.half_gap)


def test_onsets_basis_is_that_of_the_model_that_was_asked(job, rows):
    asked = [r["basis"] for r in rows("expected.csv") if "first parts" in r["quantity"]]
    assert asked and all(ONSET_BY_CELLS in basis for basis in asked)  # one face has a port
    assert ONSET_BY_CELLS in html.unescape(brief.render(job))
    (variant,) = job.results.variants
    whole = replace(variant, body=replace(variant.body, ports=()))
    plain = replace(job, results=replace(job.results, variants=(whole,)))
    case = variant.load_cases[0]
    assert ONSET_BY_POINTS in onset_share(plain, case)[1]
    assert ONSET_BY_CELLS in onset_share(plain, replace(case, model="frame"))[1]


def test_shares_of_onsets_are_the_stored_ones():
    stored = (STUDIES / "solid_check" / "README.md").read_text()
    within = {
        how: int(re.search(rf"asked of {how}(?:, as before)? \|[^|]*\| \d+ %, (\d+) %", stored)[1])
        for how in ("points", "cells")
    }
    told = {"nine in ten": 90, "three in four": 75}
    for how, words in (("points", ONSET_BY_POINTS), ("cells", ONSET_BY_CELLS)):
        (share,) = (v for k, v in told.items() if f"{k} within 20 %" in words)
        assert within[how] == pytest.approx(share, abs=2.5)
    assert f"{within['points']} % within 20 %" in (STUDIES.parent / "README.md").read_text()
    assert "within 20 % for nine in ten" in STATEMENT


def test_fillets_took_less_than_is_allowed_for():
    with (STUDIES / "handover_check" / "fillets.csv").open() as stream:
        shares = [float(r["share"]) for r in csv.DictReader(stream)]
    assert min(shares) > 0 and max(shares) < FILLET < 1.1 * max(shares)


def test_preloads_in_order_and_of_every_stage(rows):
    own = rows("preloads.csv")
    assert {"tightened", "settled"} <= {r["stage"] for r in own}
    assert all(float(r["min_N"]) <= float(r["nominal_N"]) <= float(r["max_N"]) for r in own)
    assert all(float(r["torque_Nm"]) > 0 for r in own if r["stage"] == "tightened")


def test_steps_end_with_unloading(rows):
    own = [r["step"] for r in rows("steps.csv")]
    assert own == ["tighten", "settle", "temperature", "pressure", "drag", "unload"]


def test_every_step_says_what_to_expect_or_why_nothing(rows):
    """Without a band there is a reason."""
    expected = rows("expected.csv")
    asked = [(r["load_case"], r["step"]) for r in rows("steps.csv")]
    assert {(r["load_case"], r["step"]) for r in expected} == set(asked)
    for r in (r for r in expected if not r["low"]):
        assert len(r["basis"]) > 20 and not r["high"]
    assert [r["expected"] for r in expected if r["step"] == "unload"] == ["0"]


def test_a_set_too_short_stops_the_package(job, package, tmp_path):
    for path in package.iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    text = (tmp_path / "sets.csv").read_text()
    broken = text.replace("floor_outboard_1,face,outboard_half,", "floor_outboard_1,face,outboard_half,1")
    assert broken != text
    (tmp_path / "sets.csv").write_text(broken)
    with pytest.raises(PackageError, match="empty or short"):
        check_package(tmp_path, job)


def test_a_wrong_density_stops_the_package(job, package, tmp_path):
    for path in package.iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    text = (tmp_path / "materials.csv").read_text()
    (tmp_path / "materials.csv").write_text(text.replace(",2800,", ",2810,"))
    with pytest.raises(PackageError, match="mass of the body"):
        check_package(tmp_path, job)


def test_faces_in_two_sets_are_found(job, package):
    mesh = read_mesh(package / "mesh.vtu", numbers(job.model))
    assert check._twice(mesh) == 0
    shared = {**mesh.faces, "other": mesh.faces["floor_outboard_1"]}
    assert check._twice(replace(mesh, faces=shared)) == len(mesh.faces["floor_outboard_1"])


def test_manifest_says_what_lies_there(job, package, findings):
    found = json.loads(manifest(package, job, findings))
    assert found["files"].keys() == {p.name for p in package.iterdir()}
    for name, entry in found["files"].items():
        assert entry["sha256"] == hashlib.sha256((package / name).read_bytes()).hexdigest()
    assert found["mesh"]["scaled_jacobian"]["folded"] == 0
    assert found["open_questions"] and found["cautions"]


def test_unknown_formats_are_refused_together():
    with pytest.raises(InputError) as error:
        checked_formats([".VTU", "doc", "xyz"])
    assert len(error.value.faults) == 2
    assert checked_formats([".VTU", "vtu", "med"]) == ("vtu", "med")
