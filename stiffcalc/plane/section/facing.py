"""Integration points of one edge and what lies opposite each of them on another edge or a rigid line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.plane.elements import Index
from stiffcalc.plane.section.outline_checks import Flags, cross
from stiffcalc.plane.section.problem import RigidLine

POINTS = 8  # a side: the opposite mesh may change within it
SLACK = (
    0.02  # of half a side: how far beyond its ends a foot still counts, so that none falls between two sides
)


@dataclass(frozen=True)
class EdgePoints:
    """Points on three-node sides: k sides, g points each."""

    N: Array  # (g, 3) shape functions of first, last, middle
    hat: Array  # (g, 2) linear shares of first and last
    length: Array  # (k, g) mm
    normal: Array  # (k, g, 2) outward unit normal
    xy: Array  # (k, g, 2) mm


@dataclass(frozen=True)
class Opposite:
    """What each point meets along its own normal; `met` false where it meets nothing."""

    side: Index  # (k, g) side of the other edge; -1 for a rigid line
    N: Array  # (k, g, 3) its shape functions there; 0 for a rigid line
    gap: Array  # (k, g) distance, negative where the two overlap, mm
    direction: Array  # (k, g, 2) along which an approach closes the gap
    met: Flags  # (k, g)


def side_shapes(x: Array) -> Array:
    """Shape functions (..., 3) of first, last and middle node at x from -1 to 1."""
    return np.stack([x * (x - 1) / 2, x * (x + 1) / 2, 1 - x * x], axis=-1)


def side_slopes(x: Array) -> Array:
    """Their derivatives."""
    return np.stack([x - 0.5, x + 0.5, -2 * x], axis=-1)


def edge_points(nodes: Array, sides: Index) -> EdgePoints:
    """Gauss points of every side."""
    x, weight = np.polynomial.legendre.leggauss(POINTS)
    tangent = np.einsum("gn,kni->kgi", side_slopes(x), nodes[sides])
    speed = np.linalg.norm(tangent, axis=-1)
    normal = np.stack([tangent[..., 1], -tangent[..., 0]], axis=-1) / speed[..., None]
    N = side_shapes(x)
    hat = np.stack([(1 - x) / 2, (1 + x) / 2], axis=-1)
    return EdgePoints(N, hat, speed * weight, normal, np.einsum("gn,kni->kgi", N, nodes[sides]))


def opposite_line(at: EdgePoints, line: RigidLine) -> Opposite:
    """Distance along the obstacle's normal: what has no friction is pushed that way."""
    normal = np.array(line.normal) / np.hypot(*line.normal)
    shape = at.length.shape
    return Opposite(
        side=np.full(shape, -1),
        N=np.zeros((*shape, 3)),
        gap=(at.xy - np.array(line.point)) @ normal,
        direction=np.broadcast_to(-normal, (*shape, 2)),
        met=np.ones(shape, dtype=bool),
    )


def opposite_edge(at: EdgePoints, nodes: Array, sides: Index) -> Opposite:
    """The nearest side that faces the point, along the point's own normal."""
    points, normals = at.xy.reshape(-1, 2), at.normal.reshape(-1, 2)
    side = _nearest(points, normals, nodes[sides[:, :2]])
    other = nodes[sides[np.maximum(side, 0)]]
    x, gap = _foot(points, normals, other)
    met = (side >= 0) & (np.abs(x) < 1 + SLACK)
    shape = at.length.shape
    return Opposite(
        side=side.reshape(shape),
        N=side_shapes(x).reshape(*shape, 3),
        gap=gap.reshape(shape),
        direction=at.normal,
        met=met.reshape(shape),
    )


def _nearest(points: Array, normals: Array, ends: Array) -> Index:
    """Side whose chord a point's normal meets nearest to it, of those that face it; -1 for none."""
    chord = ends[:, 1] - ends[:, 0]
    away = ends[None, :, 0] - points[:, None]
    turn = cross(normals[:, None], chord[None])
    facing = turn < -1e-3 * np.linalg.norm(chord, axis=-1)  # metal beyond the chord
    safe = np.where(facing, turn, 1.0)
    share, gap = cross(away, normals[:, None]) / safe, cross(away, chord[None]) / safe
    half = SLACK / 2
    distance = np.where(facing & (share > -half) & (share < 1 + half), np.abs(gap), np.inf)
    nearest = np.argmin(distance, axis=1)
    return np.where(np.isfinite(distance[np.arange(len(points)), nearest]), nearest, -1)


def _foot(points: Array, normals: Array, other: Array) -> tuple[Array, Array]:
    """Place x (-1 to 1) on each three-node side and distance along the normal, by Newton."""
    x, gap = np.zeros(len(points)), np.zeros(len(points))
    for _ in range(6):
        miss = np.einsum("pn,pni->pi", side_shapes(x), other) - points - gap[:, None] * normals
        jacobian = np.stack([np.einsum("pn,pni->pi", side_slopes(x), other), -normals], axis=-1)
        singular = np.abs(np.linalg.det(jacobian)) < 1e-14  # sides along the normal, dismissed before
        step = np.linalg.solve(np.where(singular[:, None, None], np.eye(2), jacobian), -miss[..., None])
        x, gap = x + np.clip(step[:, 0, 0], -2, 2), gap + step[:, 1, 0]
    return x, gap
