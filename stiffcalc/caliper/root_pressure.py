"""How unevenly the roots of jointed bridges are pressed in the front view, and what that makes of their closed faces.

The front view ties a bridge's footprint to the bridge by an elastic layer: its traction is -k (w - a.q).
"""

from __future__ import annotations

import numpy as np

from stiffcalc.caliper import idealise
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.wall_depth import owners
from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges, underside
from stiffcalc.mechanics.closed_pressure import ClosedPressure, Heads, bent_by_bolts, closed_pressure
from stiffcalc.mechanics.head_path import head_lean
from stiffcalc.mechanics.joint_state import Pair
from stiffcalc.plane.elements import sample
from stiffcalc.plane.front_view import FrontView

SIDES = ("inboard", "outboard")
# Waves that a root's traction is split into, so that what is local is not taken for twist or bow; the ridge, of the
# footprint's area, because the mesh is too coarse for the shortest of them.
ACROSS, UP = 5, 6
RIDGE = 5e-5


def closed_faces(body: Body, pair: Pair, views: dict[str, FrontView]) -> ClosedPressure | None:
    """Of one body joined as `pair`, `views` by side; None where part of a face does not touch, which is not linear."""
    faces = [i for i, b in enumerate(body.bridges) if b.jointed]
    if not faces or idealise.face_voids(body):
        return None
    bridges = idealise.bridges(body)
    half = [_roots(body, bridges, side, view, faces) for side, view in views.items()]
    even = closed_pressure(
        bridges,
        np.mean(half, axis=0),
        Heads(
            np.array([(q.x, q.y) for q in body.bolts]).reshape(-1, 2),
            [faces.index(q.bridge) if q.bridge in faces else -1 for q in body.bolts],
        ),
        thickness=0.5 * (body.inboard.thickness + body.outboard.thickness),
        points=pair.flexibility.points,
        places=faces,
    )
    return bent_by_bolts(even, _tension_by_lean(body, bridges, pair)[faces], pair.flexibility.points)


def _tension_by_lean(body: Body, bridges: Bridges, pair: Pair) -> Array:
    """What the roots' leaning under heads adds to the closed bridges' tension, (N, 3, J) per force at a bolt's point.

    Only to closed faces: what opens was fitted without it. The heads' column is in the halves (`wall_depth`).
    """
    owner = owners(body)
    moved = sum(head_lean(bridges, idealise.walls(body, side), owner=owner) for side in SIDES)
    q = pair.flexibility.points.bridge.stop
    R = pair.flexibility.R[0, :q]
    K = np.block([[pair.compliance(q, with_layer=True)[0], R], [R.T, np.zeros((3, 3))]])
    load = np.concatenate([np.reshape(moved, (q, -1)), np.zeros((3, len(owner)))])
    return np.asarray(np.linalg.solve(K, load)[:q].reshape(-1, 3, len(owner)))


def _roots(body: Body, bridges: Bridges, side: str, view: FrontView, faces: list[int]) -> Array:
    """Size (n, 2, m + 1) of twist and bow in the roots' traction, pressing, per force at a point and wall pressure."""
    layers = [foot.layer for foot in idealise.plate_plan(body, side).footprints]
    return np.array([-layers[i] * _shapes_in(view, bridges, i) for i in faces])


def _shapes_in(view: FrontView, bridges: Bridges, index: int) -> Array:
    """Size (2, m + 1) of twist and bow in the footprint's w, its plane part taken away."""
    triangles = view.mesh.triangles[view.mesh.groups[f"bridge {index}"]]
    at = sample(view.mesh.nodes, triangles, points=6)
    x, y = at.xy.reshape(-1, 2).T
    weight = at.weight.reshape(-1, 1)
    w = np.einsum("gn,enm->egm", at.N, view.fields[triangles]).reshape(len(x), -1)
    plane = np.stack([np.ones_like(x), x - x.mean(), y - y.mean()], axis=-1)
    w = w - plane @ np.linalg.solve(plane.T @ (weight * plane), plane.T @ (weight * w))
    waves = _waves(bridges, index, x, y)
    normal = waves.T @ (weight * waves) + RIDGE * weight.sum() * np.eye(ACROSS * UP)
    size = np.linalg.solve(normal, waves.T @ (weight * w)).reshape(ACROSS, UP, -1)
    return np.stack([size[1, 1], size[0, 2]])


def _waves(bridges: Bridges, index: int, x: Array, y: Array) -> Array:
    """cos(i pi u) cos(j pi v) at points of a footprint, (points, ACROSS UP)."""
    x0, x1 = bridges.x[0, index]
    low = underside(bridges, np.broadcast_to(x, (1, bridges.x.shape[1], len(x))))[0, index]
    u, v = (x - x0) / (x1 - x0), (y - low) / (bridges.y[0, index, 1] - low)
    across = np.cos(np.pi * np.arange(ACROSS) * u[:, None])
    up = np.cos(np.pi * np.arange(UP) * v[:, None])
    return np.asarray((across[:, :, None] * up[:, None, :]).reshape(len(x), -1))
