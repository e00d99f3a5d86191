"""Joint faces whose land is any polygon, with bolt holes and a relief, beside 3-D solids with contact.

    python studies/solid_check/polygon_face.py       writes polygon_face.csv, half an hour on one core

A bridge of rectangular section with two through holes stands on a rigid plane; only the land touches it (what is
relieved stands back by a step too shallow to matter). Its far end stays plane and is pressed by N at ever greater
eccentricity, so that the land opens. No friction, sides free. Ten-node tetrahedra, contact as in `solid_joint`.
Movements are those of the far end about the section's reference point, both halves together. All shapes are invented.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import gmsh
import numpy as np
import scipy.sparse as sp
import solid_mesh
from skfem import MeshTet2
from solid import _face, _facets
from solid_fem import Condensed, as_skfem, bulk_basis, condense, stiffness, surface
from solid_joint import SPRING, Clamp, Face, JointState, contact_state
from solid_mesh import TetMesh

from stiffcalc.condensed import Array, Flexibility, Outputs, Points
from stiffcalc.mechanics.bridges import Bridges
from stiffcalc.mechanics.clamp_plane import open_fraction
from stiffcalc.mechanics.elastic_faces import (
    FITTED,
    RIGID_WALL,
    FaceConstants,
    pressing_only,
    with_give,
)
from stiffcalc.mechanics.face_cells import COLUMNS, ROWS, SPLIT, cut_faces
from stiffcalc.mechanics.joint import join, load, tighten
from stiffcalc.mechanics.voids import Void, inside

HERE = Path(__file__).parent
E, NU = 71000.0, 0.33
WIDTH, HEIGHT, REACH = 40.0, 56.0, 30.0  # section along x and y, half the bridge's length
HOLES = ((-4.0, -15.0, 10.5), (5.0, 13.0, 10.5))  # x, y, diameter about the section's middle
MIDDLE = 150.0  # y of the section's middle as a bridge of the model; everything else counts from the middle
FORCE = 40e3
FACE_SIZE, SIZE = 1.4, 7.0
OWN = replace(FITTED, give=RIGID_WALL)
ZERO = slice(0, 0)
NO_BOLTS = Clamp(ZERO, np.zeros(0), np.zeros(0), np.zeros(0))


@dataclass(frozen=True)
class Land:
    """What touches: a polygon without another one. mm about the section's middle; `eccentric` (K, 2): N's places."""

    name: str
    outline: Array
    relief: Array | None
    eccentric: Array

    @property
    def voids(self) -> tuple[Void, ...]:
        """As the face's cells are given it."""
        cut = () if self.relief is None else (Void(raised(self.relief)),)
        return (Void(raised(self.outline), face=0, outside=True), *cut)


def raised(outline: Array) -> Array:
    """From the section's middle to where the model's bridge stands."""
    return outline + np.array([0.0, MIDDLE])


def places(*ends: tuple[float, float], levels: Sequence[float] = (0.0, 0.4, 0.7, 1.0)) -> Array:
    """Places of N on straight ways from the middle to each end (the middle itself once)."""
    ways = [np.outer(levels if i == 0 else levels[1:], end) for i, end in enumerate(ends)]
    return np.concatenate(ways)


FIVE = Land(
    "five corners",
    outline=np.array([(-19.0, -26.0), (12.0, -27.0), (19.0, -2.0), (8.0, 27.0), (-18.0, 20.0)]),
    relief=np.array([(-14.0, -4.0), (-4.0, -7.0), (-1.0, 3.0), (-12.0, 6.0)]),
    eccentric=places((0.0, 18.0), (0.0, -18.0), (11.0, 0.0), (-12.0, 0.0), (-8.0, -12.0)),
)
ELL = Land(
    "L",
    outline=np.array([(-20.0, -28.0), (20.0, -28.0), (20.0, -6.0), (14.0, 2.0), (14.0, 28.0), (-20.0, 28.0)]),
    relief=np.array([(-20.0, 0.0), (-8.0, 4.0), (-8.0, 28.0), (-20.0, 28.0)]),
    eccentric=places((0.0, 18.0), (0.0, -18.0), (11.0, 0.0), (-12.0, 0.0), (8.0, -12.0)),
)
WHOLE = Land(
    "whole",
    outline=np.array([(-20.0, -28.0), (20.0, -28.0), (20.0, 28.0), (-20.0, 28.0)]),
    relief=None,
    eccentric=places((0.0, 20.0), (13.0, 0.0), (8.0, 12.0)),
)
LANDS = (FIVE, ELL, WHOLE)


@dataclass(frozen=True)
class Row:
    """One land under N at (x, y) mm: far end's movements, share of the land in contact, share of N above y = 0."""

    land: str
    x: float
    y: float
    approach_um: float
    theta_x_mrad: float
    theta_y_mrad: float
    contact: float
    upper: float


def main() -> None:
    rows = [row for land in LANDS for row in solid_rows(land)]
    with (HERE / "polygon_face.csv").open("w", newline="") as stream:
        writer = csv.DictWriter(stream, list(asdict(rows[0])), lineterminator="\n")
        writer.writeheader()
        writer.writerows({k: _plain(v) for k, v in asdict(row).items()} for row in rows)
    for land in LANDS:
        show([r for r in rows if r.land == land.name], model_rows(land))


def stored() -> list[Row]:
    """The solids' rows as they were solved."""
    with (HERE / "polygon_face.csv").open(newline="") as stream:
        return [_row(r) for r in csv.DictReader(stream)]


def show(solids: Sequence[Row], models: Sequence[Row]) -> None:
    print(
        f"{'land':>13} {'x':>6} {'y':>6} | approach um | theta_x, theta_y mrad | contact | upper, solid and model"
    )
    for s, m in zip(solids, models, strict=True):
        pairs = ("approach_um", "theta_x_mrad", "theta_y_mrad", "contact", "upper")
        both = " | ".join(f"{getattr(s, k):7.3f} {getattr(m, k):7.3f}" for k in pairs)
        print(f"{s.land:>13} {s.x:6.1f} {s.y:6.1f} | {both} | {error(s, m):+.1%}")


def error(solid: Row, model: Row) -> float:
    """Greatest error of the section's movement at its corners, against the greatest movement there."""
    moved, wrong = (_at_corners(v) for v in (_vector(solid), _vector(model) - _vector(solid)))
    worst = wrong[np.abs(wrong).argmax()]
    return float(worst / np.abs(moved).max())


def _vector(row: Row) -> Array:
    return np.array([1e-3 * row.approach_um, 1e-3 * row.theta_x_mrad, 1e-3 * row.theta_y_mrad])


def _at_corners(v: Array) -> Array:
    y, x = (0.5 * HEIGHT * np.array([-1, -1, 1, 1]), 0.5 * WIDTH * np.array([-1, 1, -1, 1]))
    return np.asarray(v[0] + v[1] * y - v[2] * x)


# The solid


def solid_rows(land: Land, *, size: float = FACE_SIZE) -> list[Row]:
    """Solve the land's solid, elements of `size` mm at the face, at each place of N."""
    fem = as_skfem(_mesh(land, size))
    solid, face = _condensed(fem, land)
    touching = face.shape @ face.nodes
    rows, state = [], None
    for x, y in land.eccentric:
        start = np.zeros(len(solid.S)) if state is None else state.lift
        state = contact_state(solid, face, NO_BOLTS, load=_pressed(x, y), tight=None, start=start)
        rows.append(_solid_row(land, state, face, touching, x=x, y=y))
    return rows


def _pressed(x: float, y: float) -> Array:
    """Forces (N, Mx, My) that press the section at (x, y)."""
    return -FORCE * np.array([1.0, y, -x])


def _solid_row(land: Land, state: JointState, face: Face, touching: Array, *, x: float, y: float) -> Row:
    force = -SPRING * face.weight * np.minimum(face.shape @ state.lift, 0.0)
    np.testing.assert_allclose(force @ touching, FORCE * np.array([x, y]), atol=1e-5 * FORCE)
    w, theta_x, theta_y = 2.0 * state.outputs
    upper = float(force[touching[:, 1] > 0.0].sum() / force.sum())
    return Row(land.name, x, y, 1e3 * w, 1e3 * theta_x, 1e3 * theta_y, state.contact, upper)


def _mesh(land: Land, size: float) -> TetMesh:
    with solid_mesh._model():
        occ = gmsh.model.occ
        box = [(3, occ.addBox(-WIDTH / 2, -HEIGHT / 2, 0, WIDTH, HEIGHT, REACH))]
        tools = [(3, occ.addCylinder(x, y, -1, 0, 0, REACH + 2, d / 2)) for x, y, d in HOLES]
        box, _ = occ.cut(box, tools)
        cuts = [(2, _plane(o)) for o in (land.outline, land.relief) if o is not None]
        occ.fragment(box, occ.intersect(cuts, box, removeTool=False)[0])
        occ.synchronize()
        for dim, tag in gmsh.model.getEntities(0):
            low = abs(gmsh.model.getValue(dim, tag, [])[2]) < 1e-6
            gmsh.model.mesh.setSize([(dim, tag)], size if low else SIZE)
        gmsh.model.mesh.generate(3)
        nodes, tets = solid_mesh._read_tets()
    return TetMesh(nodes, tets, False, True, 0.0)


def _plane(outline: Array) -> int:
    occ = gmsh.model.occ
    points = [occ.addPoint(x, y, 0.0) for x, y in outline]
    lines = [occ.addLine(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)]
    return int(occ.addPlaneSurface([occ.addCurveLoop(lines)]))


def _condensed(fem: MeshTet2, land: Land) -> tuple[Condensed, Face]:
    """The solid on the land's axial movements, its outputs the far end's (w, theta_x, theta_y)."""
    basis = bulk_basis(fem)
    x, y, z = basis.doflocs
    n = 3 * basis.N
    far = np.flatnonzero(np.abs(z - REACH) < 1e-6)
    rigid = sp.coo_matrix(
        (
            np.concatenate([np.ones(len(far)), y[far], -x[far]]),
            (np.tile(3 * far + 2, 3), np.repeat([0, 1, 2], len(far))),
        ),
        shape=(n, 3),
    )
    moved = sp.hstack([sp.diags(np.where(np.isin(np.arange(n), 3 * far + 2), 0.0, 1.0)), rigid]).tocsr()
    upper = stiffness(basis, E=E, nu=NU)
    full = upper + sp.triu(upper, 1).T
    matrix = sp.triu(moved.T @ full @ moved, format="csr")
    a, b = far[x[far].argmin()], far[x[far].argmax()]
    facets = _land_facets(fem, land)
    kept = _nodes_of(fem, facets)
    columns = np.zeros((n + 3, 3))
    columns[n:] = np.eye(3)
    held = np.concatenate([3 * far + 2, [3 * a, 3 * a + 1, 3 * b + 1]])
    return condense(matrix, columns, held=held, kept=3 * kept + 2), _face(fem, facets, kept)


def _land_facets(fem: MeshTet2, land: Land) -> Array:
    facets = _facets(fem, np.abs(fem.p[2]) < 1e-6)
    x, y, _ = fem.p[:, fem.facets[:, facets]].mean(axis=1)
    touches = inside(land.outline, x=x, y=y)
    if land.relief is not None:
        touches &= ~inside(land.relief, x=x, y=y)
    return facets[touches]


def _nodes_of(fem: MeshTet2, facets: Array) -> Array:
    return np.unique(surface(fem, facets).nodes)


# The model


def model_rows(
    land: Land,
    *,
    constants: FaceConstants = OWN,
    columns: int = COLUMNS,
    rows: int = ROWS,
    split: int = SPLIT,
) -> list[Row]:
    """The same by the cells of an elastic face between rigid walls, as one design's answer has them."""
    count = len(land.eccentric)
    bridges = _bridges(count)
    cells = cut_faces(bridges, jointed=[0], voids=land.voids, columns=columns, rows=rows, split=split)
    none = np.zeros((count, 0))
    pressed = pressing_only(cells, bolts=np.zeros((count, 0, 2)), heights=none, owner=[])
    moduli = np.full((2, count, 1), [[[E]], [[NU]]])
    pair = join(
        _rigid_walls(count),
        bridges=bridges,
        jointed=[True],
        layer=np.zeros((count, 1)),
        clamp=with_give(pressed, E=moduli[0], nu=moduli[1], constants=constants),
        bolt_flexibility=none,
        bore_area=np.array([_pressed(x, y) for x, y in land.eccentric]),
    )
    found = load(pair, tighten(pair, none), np.ones(count)).response
    closed = 1.0 - open_fraction(pair, found)[:, 0]
    upper = found.cells * (cells.y[:, 0] > MIDDLE)
    w, theta_x, theta_y = 1e3 * found.points[:, -3:].T
    share = upper.sum(axis=-1) / FORCE
    figures = zip(land.eccentric, w, theta_x, theta_y, closed, share, strict=True)
    return [Row(land.name, *(float(v) for v in (*e, *rest))) for e, *rest in figures]


def _bridges(count: int) -> Bridges:
    one = np.ones((count, 1))
    holes = np.broadcast_to(np.array(HOLES), (count, 1, len(HOLES), 3))
    return Bridges(
        x=one[..., None] * [-WIDTH / 2, WIDTH / 2],
        y=one[..., None] * [MIDDLE - HEIGHT / 2, MIDDLE + HEIGHT / 2],
        arch=0.0 * one,
        length=2 * REACH * one,
        hole_x=holes[..., 0],
        hole_y=holes[..., 1] + MIDDLE,
        hole_d=holes[..., 2],
        E=E * one,
    )


def _rigid_walls(count: int) -> Flexibility:
    """One bridge, and N, Mx, My as the three known forces."""
    points = Points(bridges=1, bolts=0, bores=3)
    return Flexibility(
        points=points,
        F=np.zeros((count, points.count, points.count)),
        R=np.tile(np.vstack([np.eye(3), np.eye(3)]), (count, 1, 1)),
        wall=np.zeros((count, points.count)),
        outputs=Outputs(
            O=np.zeros((count, 0, points.count)), wall=np.zeros((count, 0)), R=np.zeros((count, 0, 3))
        ),
        parts={},
    )


def _row(row: Mapping[str, str]) -> Row:
    return Row(row["land"], *(float(v) for k, v in row.items() if k != "land"))


def _plain(value: str | float) -> str | float:
    return value if isinstance(value, str) else float(f"{value:.7g}")


if __name__ == "__main__":
    main()
