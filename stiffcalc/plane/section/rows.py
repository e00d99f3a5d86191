"""Linear functionals r = R u that a section is held, tied or touched by, and the law of the force q behind each.

K u = f + R^T q. A closed row obeys r + C q = d, an open one has a given q. Contact: r is the mean opening over
the linear hat of a corner node of the edge, d = -gap, q the force of that hat's pressure, 0 when open; pressure is
then linear between corner nodes while displacements are quadratic, so that nodal forces of opposite signs, which
quadratic sides have under even pressure, do not decide on contact. Bar: r its lengthening, q = -force, C = 1 /
stiffness. Mean: r the mean, d its value, C = 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy.linalg
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.elements import Index, sample_sides
from stiffcalc.plane.section.facing import EdgePoints, Opposite, edge_points, opposite_edge, opposite_line
from stiffcalc.plane.section.grid import Grid
from stiffcalc.plane.section.loads import outer
from stiffcalc.plane.section.outline import Point
from stiffcalc.plane.section.outline_checks import Flags
from stiffcalc.plane.section.problem import Bar, Contact, Mean, Place, Problem


@dataclass(frozen=True)
class ContactFace:
    """Corner nodes of a contact edge in their order along it."""

    rows: slice
    nodes: Index  # (m,)
    along: Array  # (m,) mm from the first
    area: Array  # (m,) mm2 of hat
    length: Array  # (m,) mm of hat


@dataclass(frozen=True)
class Rows:
    """All rows of a problem: means, bars, contacts, in this order; m of them."""

    R: sp.csr_matrix  # (m, 2n)
    C: Array  # (m, m) mm/N
    d: Array  # (m,) mm
    unilateral: Flags  # (m,)
    bars: slice
    faces: tuple[ContactFace, ...]


@dataclass(frozen=True)
class _Block:
    R: sp.csr_matrix
    C: Array
    d: Array
    face: tuple[Index, Array, Array, Array] | None = None  # nodes, along, area, length


def build_rows(grid: Grid, problem: Problem) -> Rows:
    """Rows of a problem on a grid; InputError where an edge does not exist or two contacting edges never meet."""
    singles = [_mean(grid, mean) for mean in problem.means] + [_bar(grid, bar) for bar in problem.bars]
    faces = [_contact(grid, contact) for contact in problem.contacts]
    blocks = [*singles, *faces]
    if not blocks:
        empty = sp.csr_matrix((0, grid.unknowns))
        return Rows(empty, np.zeros((0, 0)), np.zeros(0), np.zeros(0, dtype=bool), slice(0, 0), ())
    size = [len(block.d) for block in blocks]
    ends = np.cumsum(size)
    first = len(problem.means)
    return Rows(
        R=sp.vstack([block.R for block in blocks]).tocsr(),
        C=scipy.linalg.block_diag(*(block.C for block in blocks)),
        d=np.concatenate([block.d for block in blocks]),
        unilateral=np.repeat([block.face is not None for block in blocks], size),
        bars=slice(first, first + len(problem.bars)),
        faces=tuple(
            ContactFace(slice(int(end - n), int(end)), *block.face)
            for block, n, end in zip(blocks, size, ends, strict=True)
            if block.face is not None
        ),
    )


def mean_row(grid: Grid, place: Place) -> Array:
    """Share (n,) of each node in the area-weighted mean over an edge, or of the node at a point."""
    share = np.zeros(len(grid.nodes))
    if not isinstance(place, str):
        share[grid.node_at(place)] = 1.0
        return share
    sides = grid.edge(place)
    line = sample_sides(grid.nodes, sides.nodes)
    weight = line.length * grid.thickness[sides.owner][:, None]
    np.add.at(share, sides.nodes, weight @ line.N / weight.sum())
    return share


def _along(share: Array, direction: Point, where: str) -> sp.csr_matrix:
    length = math.hypot(*direction)
    if not 0 < length < math.inf:
        raise InputError([Fault(where, f"direction {direction}", "a vector", "give it a length")])
    return sp.csr_matrix((share[:, None] * np.array(direction) / length).reshape(1, -1))


def _mean(grid: Grid, mean: Mean) -> _Block:
    row = _along(mean_row(grid, mean.edge), mean.direction, mean.name)
    return _Block(row, np.zeros((1, 1)), np.array([mean.value]))


def _bar(grid: Grid, bar: Bar) -> _Block:
    far = 0.0 if bar.second is None else mean_row(grid, bar.second)
    row = _along(far - mean_row(grid, bar.first), bar.direction, bar.name)
    return _Block(row, np.array([[1 / bar.stiffness]]), np.zeros(1))


def _contact(grid: Grid, contact: Contact) -> _Block:
    sides = outer(grid, contact.edge)
    at = edge_points(grid.nodes, sides.nodes)
    if isinstance(contact.against, str):
        other = outer(grid, contact.against).nodes
        opposite = opposite_edge(at, grid.nodes, other)
    else:
        other, opposite = np.zeros((1, 3), dtype=np.int64), opposite_line(at, contact.against)
    nodes, along = walk(sides.nodes, grid.nodes)
    weight = np.where(opposite.met, at.length * grid.thickness[sides.owner][:, None], 0.0)
    hats = _hats(sides.nodes, nodes, at, weight)
    area = np.asarray(hats.sum(axis=1)).ravel()
    length = _hats(sides.nodes, nodes, at, np.where(opposite.met, at.length, 0.0)).sum(axis=1)
    kept = area > 1e-9 * weight.sum()
    if not kept.any():
        found = f"edges {contact.edge!r} and {contact.against!r} that never face each other"
        raise InputError([Fault(f"contact {contact.name!r}", found, "facing edges", "name the edges")])
    hats, nodes, along, area = hats[kept], nodes[kept], along[kept], area[kept]
    face = nodes, along, area, np.asarray(length).ravel()[kept]
    mean = sp.diags(1 / area) @ hats
    gap = mean @ np.where(opposite.met, opposite.gap, 0.0).ravel() + contact.gap
    C = np.zeros((len(area), len(area)))
    if contact.bed is not None:
        C = _overlap(sides.nodes, nodes, at, weight) / (contact.bed * np.outer(area, area))
    return _Block((mean @ _opening(grid, sides.nodes, other, at, opposite)).tocsr(), C, -gap, face)


def walk(sides: Index, nodes: Array) -> tuple[Index, Array]:
    """Corner nodes of sides in their order along the edge (pieces one after the other), and the way, mm."""
    after = {int(a): (int(b), k) for k, (a, b) in enumerate(sides[:, :2])}
    starts = [a for a in after if a not in {b for b, _ in after.values()}]
    length = sample_sides(nodes, sides).length.sum(axis=1)
    order: list[int] = []
    way: list[float] = []
    here = 0.0
    while after:
        node = first = starts.pop(0) if starts else next(iter(after))
        order, way = [*order, node], [*way, here]
        while node in after:
            node, side = after.pop(node)
            here += float(length[side])
            if node != first:
                order, way = [*order, node], [*way, here]
    return np.array(order), np.array(way)


def _places(sides: Index, nodes: Index) -> Index:
    """Position (k, 2) of each side's first and last node among the edge's corner nodes, -1 where dropped."""
    position = {int(node): i for i, node in enumerate(nodes)}
    return np.array([[position.get(int(a), -1), position.get(int(b), -1)] for a, b in sides[:, :2]])


def _hats(sides: Index, nodes: Index, at: EdgePoints, weight: Array) -> sp.csr_matrix:
    """Weight times hat (m, k g) of every corner node at every point."""
    k, g = weight.shape
    rows = np.broadcast_to(_places(sides, nodes)[:, None], (k, g, 2))
    columns = np.broadcast_to(np.arange(k * g).reshape(k, g, 1), (k, g, 2))
    values = weight[..., None] * at.hat
    return sp.csr_matrix((values.ravel(), (rows.ravel(), columns.ravel())), shape=(len(nodes), k * g))


def _overlap(sides: Index, nodes: Index, at: EdgePoints, weight: Array) -> Array:
    """Integrals (m, m) of the products of two hats, mm2."""
    block, place = np.einsum("kg,ga,gb->kab", weight, at.hat, at.hat), _places(sides, nodes)
    total = np.zeros((len(nodes) + 1, len(nodes) + 1))  # the last for nodes that were dropped
    np.add.at(total, (place[:, :, None], place[:, None, :]), block)
    return total[:-1, :-1]


def _opening(grid: Grid, sides: Index, other: Index, at: EdgePoints, opposite: Opposite) -> sp.csr_matrix:
    """Opening (k g, 2n) at every point: the other edge's displacement less this one's, along the direction."""
    k, g = at.length.shape
    own = -at.N[None, :, :, None] * opposite.direction[:, :, None]
    far = opposite.N[..., None] * opposite.direction[:, :, None]
    nodes = np.concatenate(
        [np.broadcast_to(sides[:, None], (k, g, 3)), other[np.maximum(opposite.side, 0)]], axis=2
    )
    values = np.concatenate([own, far], axis=2)
    values = np.where(opposite.met[..., None, None], values, 0.0)
    columns = 2 * nodes[..., None] + np.arange(2)
    rows = np.broadcast_to(np.arange(k * g).reshape(k, g, 1, 1), values.shape)
    return sp.csr_matrix((values.ravel(), (rows.ravel(), columns.ravel())), shape=(k * g, grid.unknowns))
