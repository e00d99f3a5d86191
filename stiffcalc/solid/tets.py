"""Ten-node tetrahedra of an assembly, its boundary as six-node triangles, and how good the elements are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import ModuleType

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.solid.build import Parts, build, volumes
from stiffcalc.solid.session import solid_session
from stiffcalc.solid.shapes import Assembly
from stiffcalc.solid.sizing import set_sizes

Index = NDArray[np.int64]
EDGES = ((0, 1), (1, 2), (0, 2), (0, 3), (2, 3), (1, 3))  # of the middle nodes, in gmsh's order
TETRAHEDRON, TRIANGLE = 11, 9  # gmsh's ten-node and six-node elements
POOR = 0.1
DIGITS = 8  # of a mm: the mesher leaves the last bits to chance
LEFT_OUT = "fillets left out: the CAD kernel could not build them"


@dataclass(frozen=True)
class Quality:
    """Scaled Jacobian: at the worst of the four corners, sqrt(2) times the triple product of the curved edges'
    directions; 1 for a regular tetrahedron, 0 or less for one folded over. `curving`: the least Jacobian anywhere in an
    element over that of the straight one with its corners, worst element."""

    worst: float
    one_percent: float  # the worst one in a hundred is below this
    median: float
    curving: float
    elements: int
    poor: int  # below POOR: where the geometry itself runs out at no angle, as at the feet of fillets
    folded: int


@dataclass(frozen=True)
class Tets:
    """Elements in gmsh's node order (corners, then edges 01, 12, 02, 03, 23, 13); lengths mm."""

    nodes: Array  # (N, 3)
    tets: Index  # (T, 10)
    part: Index  # (T,) into `parts`
    parts: tuple[str, ...]
    triangles: (
        Index  # (F, 6): every CAD face once for each part it bounds, inner ones of screws and halves too
    )
    triangle_part: Index  # (F,) into `parts`
    quality: Quality
    cad_volume: Mapping[str, float]  # mm3 by part
    plain_volume: float  # mm3 of the body without its fillets and screws
    without_fillets: str  # why fillets were left out, '' where they are in


def mesh_assembly(a: Assembly, *, size: float) -> Tets:
    """Mesh an assembly; the same input gives the same mesh. Raises InputError where the mesher refuses."""
    with solid_session() as gmsh:
        plain = body_volume(volumes(gmsh, build(gmsh, a, imprints=False, fillets=False)))
    for fillets, reason in ((True, ""), (False, LEFT_OUT)):
        with solid_session() as gmsh:
            try:
                parts = build(gmsh, a, imprints=True, fillets=fillets)
            except Exception as error:  # the CAD kernel raises nothing finer
                if fillets:
                    continue
                raise _refused(error) from error
            return _meshed(gmsh, a, parts, size=size, plain=plain, reason=reason)
    raise AssertionError("the second attempt returns or raises")


def _meshed(gmsh: ModuleType, a: Assembly, parts: Parts, *, size: float, plain: float, reason: str) -> Tets:
    set_sizes(gmsh, a, parts, size)
    try:
        gmsh.model.mesh.generate(3)
    except Exception as error:  # gmsh raises nothing finer
        raise _refused(error) from error
    tags, flat, _ = gmsh.model.mesh.getNodes()
    by_part = {n: np.vstack([_elements(gmsh, TETRAHEDRON, v) for v in solids]) for n, solids in parts.items()}
    faces = {n: np.vstack([_faces(gmsh, v) for v in solids]) for n, solids in parts.items()}
    used, tets = np.unique(np.vstack(list(by_part.values())), return_inverse=True)
    tets = tets.reshape(-1, 10)
    order = np.argsort(tags)
    xyz = np.asarray(flat, dtype=float).reshape(-1, 3)[order[np.searchsorted(tags[order], used)]]
    nodes = np.round(xyz, DIGITS)
    return Tets(
        nodes=nodes,
        tets=tets,
        part=np.repeat(np.arange(len(parts)), [len(t) for t in by_part.values()]),
        parts=tuple(parts),
        triangles=np.searchsorted(used, np.vstack(list(faces.values()))),
        triangle_part=np.repeat(np.arange(len(parts)), [len(f) for f in faces.values()]),
        quality=_quality(gmsh, nodes, tets),
        cad_volume=volumes(gmsh, parts),
        plain_volume=plain,
        without_fillets=reason,
    )


def _refused(error: Exception) -> InputError:
    return InputError(
        [Fault("solid", f"a body the mesher refuses ({error})", "a plain body", "try another --size")]
    )


def _elements(gmsh: ModuleType, kind: int, tag: tuple[int, int]) -> Index:
    _, flat = gmsh.model.mesh.getElementsByType(kind, tag[1])
    return np.asarray(flat, dtype=np.int64).reshape(-1, {TETRAHEDRON: 10, TRIANGLE: 6}[kind])


def _faces(gmsh: ModuleType, solid: tuple[int, int]) -> Index:
    """Triangles on the CAD faces of one volume."""
    around = gmsh.model.getBoundary([solid], oriented=False)
    return np.vstack([_elements(gmsh, TRIANGLE, face) for face in around])


def _quality(gmsh: ModuleType, nodes: Array, tets: Index) -> Quality:
    tags, _ = gmsh.model.mesh.getElementsByType(TETRAHEDRON)
    shape = scaled_jacobians(nodes, tets)
    return Quality(
        worst=float(shape.min()),
        one_percent=float(np.quantile(shape, 0.01)),
        median=float(np.median(shape)),
        curving=float(np.min(gmsh.model.mesh.getElementQualities(tags, "minSJ"))),
        elements=len(tets),
        poor=int((shape < POOR).sum()),
        folded=folded(nodes, tets),
    )


def scaled_jacobians(nodes: Array, tets: Index) -> Array:
    """Scaled Jacobian (T,) of curved elements at the worst of their corners."""
    slopes = np.einsum("tnk,qnd->tqdk", nodes[tets], shape_slopes(CORNERS))  # row d: along local axis d
    worst = np.full(len(tets), np.inf)
    for corner in range(4):
        own = slopes[:, corner]
        if corner:  # the three edges that leave this corner, right-handed
            others = [k for k in range(3) if k != corner - 1]
            own = np.stack([-own[:, corner - 1], *(own[:, k] - own[:, corner - 1] for k in others)], axis=1)
            own[:, [1, 2]] = own[:, [2, 1]] if corner != 2 else own[:, [1, 2]]
        size = np.prod(np.linalg.norm(own, axis=-1), axis=-1)
        worst = np.minimum(worst, np.sqrt(2.0) * np.linalg.det(own) / size)
    return worst


def body_volume(by_part: Mapping[str, float]) -> float:
    """Volume without the screws, mm3."""
    return sum(v for name, v in by_part.items() if not name.startswith("bolt_"))


def tet_volumes(nodes: Array, tets: Index) -> Array:
    """Volumes (T,) of curved ten-node tetrahedra, mm3; negative where folded over as a whole."""
    return np.asarray((jacobians(nodes, tets, POINTS) * WEIGHT).sum(axis=-1))


# Keast's rule of 11 points, exact to degree 4; a ten-node element's Jacobian has degree 3.
_A, _B, _C = 0.3994035761667992, 0.1005964238332008, 0.07142857142857142
POINTS = np.array(
    [(0.25, 0.25, 0.25)]
    + [tuple(0.7857142857142857 if i == k else _C for i in range(3)) for k in range(4)]
    + [(_A, _B, _B), (_B, _A, _B), (_B, _B, _A), (_A, _A, _B), (_A, _B, _A), (_B, _A, _A)]
)
CORNERS = np.array([(0.0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)])
WEIGHT = np.array([-0.01315555555555556] + [0.007622222222222222] * 4 + [0.02488888888888889] * 6)


def jacobians(nodes: Array, tets: Index, points: Array) -> Array:
    """Jacobian determinants (T, Q) at local points (Q, 3)."""
    place = nodes[tets]
    slopes = np.einsum("tnk,qnd->tqkd", place, shape_slopes(points))
    return np.asarray(np.linalg.det(slopes))


def shape_slopes(points: Array) -> Array:
    """Slopes (Q, 10, 3) of the ten shape functions in gmsh's node order."""
    r, s, t = points.T
    corner = np.stack([1 - r - s - t, r, s, t])  # (4, Q)
    slope = np.array([(-1.0, -1, -1), (1, 0, 0), (0, 1, 0), (0, 0, 1)])
    found = [(4 * corner[i] - 1)[:, None] * slope[i] for i in range(4)]
    for i, j in EDGES:
        found.append(4 * (corner[i][:, None] * slope[j] + corner[j][:, None] * slope[i]))
    return np.stack(found, axis=1)


def folded(nodes: Array, tets: Index) -> int:
    """Elements whose Jacobian is not positive at a corner, an edge's middle or a point of the rule."""
    middles = np.array([(CORNERS[i] + CORNERS[j]) / 2 for i in range(4) for j in range(i)])
    found = jacobians(nodes, tets, np.vstack([CORNERS, middles, POINTS]))
    return int((~(found > 0).all(axis=-1)).sum())
