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
from stiffcalc.solid.elements import Index, folded, scaled_jacobians, unbent
from stiffcalc.solid.session import solid_session
from stiffcalc.solid.shapes import SIDES, Assembly
from stiffcalc.solid.sizing import set_sizes
from stiffcalc.solid.unfolded import unfolded

TETRAHEDRON, TRIANGLE = 11, 9  # gmsh's ten-node and six-node elements
POOR = 0.1
LEAST = 0.12  # below it edges are bent less
TOUCH = 1e-3  # mm
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
    poor: int  # below POOR
    folded: int
    unbent: int  # middle nodes of arcs moved toward their chord: faces run out at no angle, or webs are thin
    unbent_mm: float  # farthest of them from where it was


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
    # The second optimiser lifts the worst one in a hundred from 0.23 to 0.29, but folds elements of some coarse meshes.
    for better in (1, 0):
        gmsh.option.setNumber("Mesh.OptimizeNetgen", better)
        try:
            gmsh.model.mesh.clear()
            gmsh.model.mesh.generate(3)
        except Exception as error:  # gmsh raises nothing finer
            raise _refused(error) from error
        found = _collected(gmsh, a, parts, plain=plain, reason=reason)
        if not found.quality.folded:
            break
    return found


def _collected(gmsh: ModuleType, a: Assembly, parts: Parts, *, plain: float, reason: str) -> Tets:
    tags, flat, _ = gmsh.model.mesh.getNodes()
    by_part = {n: np.vstack([_elements(gmsh, TETRAHEDRON, v) for v in solids]) for n, solids in parts.items()}
    faces = {n: np.vstack([_faces(gmsh, v) for v in solids]) for n, solids in parts.items()}
    used, tets = np.unique(np.vstack(list(by_part.values())), return_inverse=True)
    tets = tets.reshape(-1, 10)
    order = np.argsort(tags)
    xyz = np.asarray(flat, dtype=float).reshape(-1, 3)[order[np.searchsorted(tags[order], used)]]
    true, ways = np.round(xyz, DIGITS), plane_normals(gmsh, used)
    kept = _pressed(a, true)
    nodes = unbent(unfolded(true, tets, ways=ways, kept=kept), tets, fixed=kept, least=LEAST)
    nodes = np.round(nodes, DIGITS)
    return Tets(
        nodes=nodes,
        tets=tets,
        part=np.repeat(np.arange(len(parts)), [len(t) for t in by_part.values()]),
        parts=tuple(parts),
        triangles=np.searchsorted(used, np.vstack(list(faces.values()))),
        triangle_part=np.repeat(np.arange(len(parts)), [len(f) for f in faces.values()]),
        quality=_quality(gmsh, used, true, nodes, tets, arcs=np.isnan(ways[:, 0])),
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


def plane_normals(gmsh: ModuleType, numbers: Index) -> Array:
    """Of nodes (N,) by their numbers: within the metal zero, within a plane face its unit normal, else NaN."""
    found = np.full((len(numbers), 3), np.nan)
    for dim, tag in (*gmsh.model.getEntities(2), *gmsh.model.getEntities(3)):
        if dim == 3 or gmsh.model.getType(dim, tag) == "Plane":
            own = gmsh.model.mesh.getNodes(dim, tag)[0]
            found[np.isin(numbers, own)] = gmsh.model.getNormal(tag, [0.0, 0.0]) if dim == 2 else 0.0
    return found


def _pressed(a: Assembly, nodes: Array) -> NDArray[np.bool_]:
    """Nodes (N,) on the round of a bore or a port's seal: what pressure acts on stays true."""
    x, y, _ = nodes.T
    rounds = [(b.x, b.y, b.diameter) for side, _ in SIDES for b in a.half(side).bores]
    rounds += [(p.x, p.y, p.seal) for p in a.body.ports]
    away = np.array([np.abs(np.hypot(x - u, y - v) - d / 2) for u, v, d in rounds])
    return np.asarray((away < TOUCH).any(axis=0))


def _quality(
    gmsh: ModuleType, numbers: Index, true: Array, nodes: Array, tets: Index, *, arcs: NDArray[np.bool_]
) -> Quality:
    tags, _ = gmsh.model.mesh.getElementsByType(TETRAHEDRON)
    shape, away = scaled_jacobians(nodes, tets), np.linalg.norm(nodes - true, axis=1)
    for k in np.flatnonzero(away):
        gmsh.model.mesh.setNode(int(numbers[k]), nodes[k].tolist(), [])
    return Quality(
        worst=float(shape.min()),
        one_percent=float(np.quantile(shape, 0.01)),
        median=float(np.median(shape)),
        curving=float(np.min(gmsh.model.mesh.getElementQualities(tags, "minSJ"))),
        elements=len(tets),
        poor=int((shape < POOR).sum()),
        folded=folded(nodes, tets),
        unbent=int((away[arcs] > 0).sum()),
        unbent_mm=float(away[arcs].max()),
    )


def body_volume(by_part: Mapping[str, float]) -> float:
    """Volume without the screws, mm3."""
    return sum(v for name, v in by_part.items() if not name.startswith("bolt_"))
