"""`stiffcalc section` as a user meets it: folder, contract, mesh files, page, own outlines, refusals."""

import csv
import dataclasses
import importlib.util
import json
import re
import sys
import typing
from pathlib import Path

import meshio
import numpy as np
import pytest

from stiffcalc.caliper import section_results as contract
from stiffcalc.cli import main
from stiffcalc.plane import mesh
from stiffcalc.quantities import QUANTITIES

STUDY = """
format = 1
study = { title = "Invented <bracket> & caliper" }
rotor = { outer_radius_mm = 165.0, thickness_mm = 28.0 }
pad = { thickness_mm = 16.0, height_mm = 50.0, length_mm = 110.0 }

[caliper]
layout = "monoblock"
wall = { length_mm = 220.0, bottom_y_mm = 105.0, top_y_mm = 190.0, thickness_mm = 34.0, floor_mm = 9.0 }
bore = [{ x_mm = -32.0, y_mm = 135.0, diameter_mm = 40.0 }, { x_mm = 32.0, y_mm = 135.0, diameter_mm = 40.0 }]
bridge = [
  { name = "leading end", x_mm = [-110.0, -80.0], fillet_mm = 5.0 },
  { name = "trailing end", x_mm = [80.0, 110.0], fillet_mm = 5.0 },
  { name = "centre", x_mm = [-12.0, 12.0], y_mm = [171.0, 190.0], kind = "bolted-in" },
]
bolt = [{ x_mm = 0.0, y_mm = 180.0, thread = "M10x1.5", grade = "12.9", preload_N = 40000.0, engagement_mm = 20.0 }]

[[load_case]]
name = "stop"
pressure_MPa = 10.0

[section.bracket]
outline = "bracket.csv"
thickness_mm = 10.0
at_pressure_MPa = 20.0
support = [{ at_mm = [0.0, 10.0], x = true, y = true }]
load = [{ at_mm = [60.0, 10.0], force_N = [0.0, -500.0] }]
"""
BRACKET = "x_cm,y_cm,radius_cm\n0,0,0\n6,0,0\n6,2,0.3\n0,2,0\n\n3.5,0.8,0\n4,0.8,0\n4,1.2,0\n3.5,1.2,0\n"


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """The folder of one run of everything, and what was printed."""
    folder = tmp_path_factory.mktemp("section")
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    (folder / "bracket.csv").write_text(BRACKET, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        assert run("study.toml", "--no-front-view", "--json", "answer.json", "--accuracy", "10") == 0
    return folder


def run(*words):
    return main(["section", *(str(w) for w in words)])


def test_the_folder(ran):
    out = ran / "sections-study"
    names = {"sections.html", "sections.json", "sections.csv", "bracket.vtu", "centre.vtu", "leading-end.vtu"}
    assert names <= {p.name for p in out.iterdir()}
    assert (ran / "answer.json").read_bytes() == (out / "sections.json").read_bytes()
    assert not list(ran.rglob("*.tmp*"))


def test_the_contract_and_the_table_say_the_same(ran):
    answer = json.loads((ran / "answer.json").read_text(encoding="utf-8"))
    assert [s["bridge"] for s in answer["sections"]] == ["leading end", "trailing end", "centre"]
    assert [s["name"] for s in answer["own_sections"]] == ["bracket"]
    assert answer["own_sections"][0]["notes"][0] == "file in cm: converted to mm"
    rows = list(csv.DictReader((ran / "sections-study" / "sections.csv").open(encoding="utf-8")))
    assert {r["section"] for r in rows} == {"leading end", "trailing end", "centre", "bracket"}
    fillet = answer["sections"][0]["load_cases"][0]["fillet"]
    first = next(r for r in rows if r["section"] == "leading end")
    assert float(first["fillet_surface_stress_MPa"]) == pytest.approx(fillet["stress"])
    assert {e["preload"] for e in answer["sections"][2]["load_cases"][0]["ends"]} == {
        "minimum preload",
        "maximum preload",
    }


def test_mesh_files_hold_the_stress(ran):
    """Any reader of the format sees the same peak: here meshio."""
    answer = json.loads((ran / "answer.json").read_text(encoding="utf-8"))
    mesh = meshio.read(ran / "sections-study" / "bracket.vtu")
    (cells,) = mesh.cells
    assert cells.type == "triangle6"
    assert np.all(mesh.cell_data["thickness"][0] == 10.0)
    worst = answer["own_sections"][0]["load_cases"][0]["worst"]
    near = np.hypot(mesh.points[:, 0] - worst["z"], mesh.points[:, 1] - worst["y"]).argmin()
    assert mesh.point_data["von Mises stop"][near] == pytest.approx(worst["stress"])
    joint = meshio.read(ran / "sections-study" / "centre.vtu")
    assert "von Mises stop, minimum preload" in joint.point_data
    assert not any(k.startswith("von Mises no pressure") or "probe" in k for k in joint.point_data)


def test_the_page(ran):
    page = (ran / "sections-study" / "sections.html").read_text(encoding="utf-8")
    assert "Invented &lt;bracket&gt; &amp; caliper" in page
    assert page.count("<svg") == 3 + 3 + 4 + 3
    assert page.count("Screening estimate only") >= 2
    assert not re.search(r"""(?:src|href)=["'](?!data:|#)""", page)
    for said in (
        "estimated error",
        "First loss of contact",
        "Idle:",
        "no peak exists",
        "Own section: bracket",
    ):
        assert said in page


def test_the_page_as_a_browser_shows_it(ran):
    source = Path(__file__).parents[1] / ".ci" / "check_page.py"
    spec = importlib.util.spec_from_file_location("check_page", source)
    check_page = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(check_page)
    if check_page.browser() is None:
        pytest.skip("Chromium is not installed (Debian package `chromium`)")
    assert check_page.check(ran / "sections-study" / "sections.html") == []


def test_without_the_mesher_one_line_says_what_to_install(ran, capsys, monkeypatch):
    monkeypatch.setitem(sys.modules, "gmsh", None)
    assert run(ran / "study.toml", "--bridge", "leading end", "--out", ran / "none", "--quiet") == 1
    error = capsys.readouterr().err
    assert "gmsh does not load" in error
    assert "libglu1-mesa" in error
    assert len(error.strip().splitlines()) == 1
    assert not (ran / "none").exists()


def test_without_its_system_libraries_the_debian_packages_are_named(ran, tmp_path, capsys, monkeypatch):
    """As the mesher's own module fails where a library is missing."""
    (tmp_path / "gmsh.py").write_text('raise OSError("libGLU.so.1: cannot open shared object file")', "utf-8")
    monkeypatch.delitem(sys.modules, "gmsh", raising=False)
    monkeypatch.syspath_prepend(tmp_path)
    assert run(ran / "study.toml", "--bridge", "leading end", "--out", ran / "none", "--quiet") == 1
    error = capsys.readouterr().err
    assert "libGLU.so.1: cannot open shared object file" in error
    assert "apt-get install libgl1 libglu1-mesa" in error
    assert len(error.strip().splitlines()) == 1
    assert not (ran / "none").exists()


@pytest.mark.parametrize(
    ("fails", "status", "said"),
    [
        ("generate", 2, "bracket: found an outline the mesher refuses (no way); allowed: a plain outline"),
        ("fold", 1, "calculation failed: the mesh folds over near"),
    ],
)
def test_a_mesh_that_fails_is_one_line(ran, capsys, monkeypatch, fails, status, said):
    """A mesher that gives up, and one whose elements are turned inside out."""
    import gmsh

    def no_way(dimension):
        raise RuntimeError("no way")

    if fails == "generate":
        monkeypatch.setattr(gmsh.model.mesh, "generate", no_way)
    else:
        whole = mesh._collect
        monkeypatch.setattr(mesh, "_collect", lambda *a: folded(whole(*a)))
    assert run(ran / "study.toml", "--bridge", "bracket", "--out", ran / "none", "--quiet") == status
    error = capsys.readouterr().err
    assert said in error
    assert len(error.strip().splitlines()) == 1
    assert not (ran / "none").exists()


def folded(found):
    """A middle node far off its side."""
    nodes = found.nodes.copy()
    nodes[found.triangles[0, 3]] += 1000.0
    return dataclasses.replace(found, nodes=nodes)


def test_what_is_left_out_is_said(ran):
    """On the page and in the contract."""
    said = "drillings and seal grooves of ports"
    answer = json.loads((ran / "answer.json").read_text(encoding="utf-8"))
    assert any(said in n and "inclined joint face" in n for n in answer["notices"])
    assert said in (ran / "sections-study" / "sections.html").read_text(encoding="utf-8")


def test_one_bridge_or_one_own_section(ran, capsys):
    assert run(ran / "study.toml", "--bridge", "bracket", "--out", ran / "one", "--accuracy", "10") == 0
    printed = capsys.readouterr()
    assert "bracket: von Mises" in printed.out
    assert "Screening estimate only" in printed.out
    answer = json.loads((ran / "one" / "sections.json").read_text(encoding="utf-8"))
    assert answer["sections"] == []
    assert answer["own_sections"][0]["load_cases"][0]["worst"]["stress"] > 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--bridge", "center"), 'write "centre"'),
        (("--variant", "two"), "--variant: found unknown layout"),
        (("--accuracy", "0"), "--accuracy: found 0; allowed: 0.01 to 50 percent"),
        (("--accuracy", "nan"), "--accuracy: found nan"),
    ],
)
def test_refusals_write_nothing(ran, capsys, words, said):
    assert run(ran / "study.toml", *words, "--out", ran / "refused") == 2
    error = capsys.readouterr().err
    assert said in error
    assert len(error.strip().splitlines()) == 1
    assert not (ran / "refused").exists()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (None, "bracket.csv: found no such file"),
        ("x_mm,y_mm\n0,0\n60,20\n60,0\n0,20\n", "an outline that meets itself"),
        ("x_mm,y_mm\n0,0\n60,0\n", "2 points"),
        ("x_mm,y_mm\n0,0\n60,0\n30,0\n", "an outline that folds back at (60, 0)"),
        (
            "x_mm,y_mm\n0,0\n60,0\n60,20\n0,20\n0,11\n59.99999,10.5\n0,10\n",
            "an outline that meets itself near",
        ),
        (
            "x_mm,y_mm,radius_mm\n0,0,0\n60,0,40\n60,20,0\n0,20,0\n",
            "roundings longer than the edge between them",
        ),
    ],
)
def test_a_bad_outline_is_one_line(tmp_path, capsys, text, said):
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    if text:
        (tmp_path / "bracket.csv").write_text(text, encoding="utf-8")
    words = "--bridge", "bracket", "--out", tmp_path / "out", "--quiet"
    assert run(tmp_path / "study.toml", *words) == 2
    error = capsys.readouterr().err
    assert said in error
    assert len(error.strip().splitlines()) == 1
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("thickness_mm = 10.0", "thickness_mm = 0.0", "section.bracket.thickness_mm: found 0; allowed"),
        ("thickness_mm = 10.0", "thickness_mm = nan", "section.bracket.thickness_mm: found nan"),
        ("at_pressure_MPa", 'material = "unheard-of"\nat_pressure_MPa', "section.bracket.material: found unknown"),
        ("at_pressure_MPa", 'material = ""\nat_pressure_MPa', 'section.bracket.material: found ""'),
    ],
)  # fmt: skip
def test_no_thickness_or_no_material_is_one_line(tmp_path, capsys, old, new, said):
    (tmp_path / "bracket.csv").write_text(BRACKET, encoding="utf-8")
    (tmp_path / "study.toml").write_text(STUDY.replace(old, new), encoding="utf-8")
    assert run(tmp_path / "study.toml", "--bridge", "bracket", "--out", tmp_path / "out", "--quiet") == 2
    error = capsys.readouterr().err
    assert said in error
    assert len(error.strip().splitlines()) == 1
    assert not (tmp_path / "out").exists()


OWNED = {
    contract.Surface: "surface.",
    contract.Face: "contact.",
    contract.EndState: "cut.",
    contract.SectionCase: "section.",
    contract.OwnCase: "section.",
    contract.SectionResult: "section.",
    contract.Trust: "trust.",
    contract.Onset: "onset.",
    contract.Flexibility: "flexibility.",
    contract.Idle: "idle.",
    contract.OwnResult: "section.",
}


@pytest.mark.parametrize("owner", OWNED, ids=lambda c: c.__name__)
def test_every_number_is_in_the_table_of_quantities(owner):
    hints = typing.get_type_hints(owner)
    numbers = [
        f.name
        for f in dataclasses.fields(owner)
        if {float, int, contract.Array} & {hints[f.name], *typing.get_args(hints[f.name])}
    ]
    assert [n for n in numbers if OWNED[owner] + n not in QUANTITIES] == []
