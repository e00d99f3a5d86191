"""Mass of mounting lugs against the CAD kernel inside gmsh (Open CASCADE); in batches and as sets of the solids."""

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

pytest.importorskip("gmsh", reason="the CAD kernel is gmsh's")

from stiffcalc.caliper import assess
from stiffcalc.caliper.build import build
from stiffcalc.caliper.measures import body_solids
from stiffcalc.explore import batches
from stiffcalc.handover.model import assembly
from stiffcalc.mechanics import trees
from stiffcalc.solid.build import build as solid
from stiffcalc.solid.model import SolidModel, solid_model, triangle_areas
from stiffcalc.solid.session import solid_session
from stiffcalc.study import parse
from stiffcalc.study.schema import Design

STUDIES = Path(__file__).parents[2] / "studies"
EAR = {"x_mm": -45.0, "y_mm": 56.0, "diameter_mm": 20.0, "hole_mm": 9.0, "height_mm": 14.0}
CORNER = EAR | {"x_mm": 64.0, "y_mm": 58.0, "hole_mm": 6.0, "stands": "from inner face"}  # over two edges
TAPPED = {"x_mm": 45.0, "y_mm": 54.0, "diameter_mm": 20.0, "thread": "M10x1.5", "height_mm": 24.0}
BOSS = EAR | {"x_mm": 48.0, "y_mm": 108.0, "hole_mm": 8.0, "height_mm": 10.0, "stands": "on outer face"}


def small(*lugs: dict[str, Any]) -> Design:
    source = tomllib.loads((STUDIES / "handover_check/small.toml").read_text())
    source["caliper"]["lug"] = list(lugs)
    return parse(source).designs[0]


def milled() -> Design:
    """The demo milled to shape, with ears over a slanted edge and a rounded corner, and a boss beside its pockets."""
    source = tomllib.loads((STUDIES / "shaped_body.toml").read_text())
    wall, changes = source["caliper"]["wall"], source.pop("variant")[0]["set"]
    for key in ("length_mm", "bottom_y_mm", "top_y_mm"):
        wall.pop(key)
    wall |= {path.removeprefix("caliper.wall."): value for path, value in changes.items()}
    source["caliper"]["lug"] = [
        {"x_mm": 74.0, "y_mm": 98.0, "diameter_mm": 28.0, "hole_mm": 12.5, "height_mm": 18.0},
        {"x_mm": 99.0, "y_mm": 180.0, "diameter_mm": 16.0, "hole_mm": 6.0, "height_mm": 10.0},
        {
            "x_mm": -78.0,
            "y_mm": 150.0,
            "diameter_mm": 20.0,
            "hole_mm": 8.0,
            "height_mm": 6.0,
            "stands": "on outer face",
        },
    ]
    return parse(source).designs[0]


@pytest.mark.parametrize(
    "design", [small(EAR, CORNER, BOSS), small(TAPPED), milled()], ids=["box", "tapped", "milled"]
)
def test_volume_and_centre_against_the_cad_kernel(design: Design) -> None:
    with solid_session() as gmsh:
        (whole,) = solid(gmsh, assembly(design), imprints=False, fillets=False)["body"]
        volume, centre = gmsh.model.occ.getMass(*whole), gmsh.model.occ.getCenterOfMass(*whole)
    own = body_solids(build(design)).sum(axis=0)
    assert own[0] == pytest.approx(volume, rel=1e-6)
    assert own[1:] / own[0] == pytest.approx(centre, abs=2e-5)  # mm; the kernel joins what lies within 1e-5
    bare = replace(design, caliper=replace(design.caliper, lugs=()))
    assert own[0] > 1.005 * body_solids(build(bare)).sum(axis=0)[0]


def test_lugs_weigh_and_do_nothing_else_and_that_is_said() -> None:
    with_, without = (assess.variant_result(d, with_front_view=False) for d in (small(EAR, BOSS), small()))
    assert with_.mass.total > without.mass.total
    assert with_.mass.centre_of_mass[2] < without.mass.centre_of_mass[2]
    a, b = with_.load_cases[0], without.load_cases[0]
    assert (a.spread, a.checks) == (b.spread, b.checks)
    assert any("no model knows their stiffness" in s for s in a.validity)
    assert not any("Lugs" in s for s in b.validity)


def test_a_batch_weighs_what_each_weighs() -> None:
    many = [
        small(EAR | {"y_mm": y, "height_mm": h}, BOSS) for y, h in ((56.0, 14.0), (55.0, 20.0), (54.5, 8.0))
    ]
    bodies = [build(d) for d in many]
    expected = [body_solids(b)[:, 0].sum() for b in bodies]
    assert body_solids(trees.stack(bodies))[..., 0].sum(axis=1) == pytest.approx(expected, rel=1e-14)
    for one, found in zip(many, batches.solve(many), strict=True):
        assert isinstance(found, batches.Solved)
        assert found.mass.total == pytest.approx(assess.variant_result(one, with_front_view=False).mass.total)


@pytest.fixture(scope="module")
def model() -> SolidModel:
    return solid_model(
        assembly(small(TAPPED, EAR | {"height_mm": 20.0, "stands": "from inner face"}, BOSS)), size=20.0
    )


def test_ends_and_holes_are_sets(model: SolidModel) -> None:
    """A ring and a tube each: pi/4 (D^2 - d^2) of the end, pi d h of the hole.

    An end within the wall's thickness is what stands out: less the segment beyond the chord 6 mm off its axis.
    """
    segment = 100.0 * np.arccos(0.6) - 6.0 * 8.0
    sets = {s.name: s for s in model.faces if s.name.startswith("lug")}
    hole = 10.0 - 0.649519 * 1.5  # pitch diameter, ISO 724
    sizes = {1: (20.0, hole, 24.0, -41.5), 2: (20.0, 9.0, 20.0, -37.5), 3: (20.0, 8.0, 10.0, -51.5)}
    assert sets.keys() == {f"lug_{k}_{what}" for k in sizes for what in ("face", "hole")}
    for k, (diameter, hole, height, z) in sizes.items():
        face, tube = sets[f"lug_{k}_face"], sets[f"lug_{k}_hole"]
        end = np.pi / 4 * (diameter**2 - hole**2) - (segment if k == 2 else 0.0)
        area = end, np.pi * hole * height
        for own, expected in zip((face, tube), area, strict=True):
            found = triangle_areas(model.mesh.nodes, model.mesh.triangles[own.triangles]).sum()
            assert found == pytest.approx(expected, rel=3e-3)
            assert own.part == "inboard_half"
        assert model.mesh.nodes[model.mesh.triangles[face.triangles]][..., 2] == pytest.approx(z)
    assert "tapped M10x1.5" in sets["lug_1_hole"].what
    assert assembly(small()).mirrored and not model.a.mirrored
    assert "symmetry_z0" not in {s.name for s in model.faces}
