"""Nodal forces and prescribed displacements of a problem on a grid; two freedoms a node, x then y."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.elements import Index, LineSamples, Samples, sample, sample_sides
from stiffcalc.plane.section.grid import Grid, Sides
from stiffcalc.plane.section.outline_checks import Flags, cross
from stiffcalc.plane.section.problem import (
    Bed,
    BodyForce,
    Load,
    Moved,
    Place,
    PointForce,
    Pressure,
    Resultant,
    Support,
    Traction,
    VolumeResultant,
)

Spread = Callable[[LineSamples, Array], Array]  # line and thickness (k,) -> traction (k, 3, 2), MPa


@dataclass(frozen=True)
class Pattern:
    """One named load: nodal forces (n, 2), N, and displacements (n, 2), mm, where held."""

    force: Array
    moved: Array


def held(grid: Grid, supports: Sequence[Support]) -> Index:
    """Freedoms that supports prescribe, ascending."""
    picked = [np.zeros(0, dtype=np.int64)]
    for support in supports:
        nodes = place_nodes(grid, support.at)
        picked += [2 * nodes + axis for axis, fixed in enumerate((support.x, support.y)) if fixed]
    return np.unique(np.concatenate(picked))


def place_nodes(grid: Grid, place: Place) -> Index:
    """Nodes of an edge or the node at a point."""
    if isinstance(place, str):
        return np.unique(grid.edge(place).nodes)
    return np.array([grid.node_at(place)])


def pattern(grid: Grid, loads: Sequence[Load], *, pinned: Index) -> Pattern:
    """Sum of some loads. Raises InputError for unknown places and for moving what is not held."""
    force, moved = np.zeros((len(grid.nodes), 2)), np.zeros((len(grid.nodes), 2))
    for load in loads:
        if isinstance(load, Moved):
            _move(grid, load, pinned, moved)
        elif isinstance(load, PointForce):
            force[grid.node_at(load.at)] += load.x, load.y
        elif isinstance(load, BodyForce):
            force += _body(grid, load)
        elif isinstance(load, VolumeResultant):
            force += _volume(grid, load)
        else:
            force += edge_force(grid, load.edge, _spread(load))
    return Pattern(force, moved)


def edge_force(grid: Grid, name: str, spread: Spread) -> Array:
    """Nodal forces (n, 2) of tractions on an edge, times the thickness behind it."""
    sides = outer(grid, name)
    line, thickness = sample_sides(grid.nodes, sides.nodes), grid.thickness[sides.owner]
    traction = spread(line, thickness) * (line.length * thickness[:, None])[..., None]
    force = np.zeros((len(grid.nodes), 2))
    np.add.at(force, sides.nodes, np.einsum("kgi,gn->kni", traction, line.N))
    return force


def outer(grid: Grid, name: str) -> Sides:
    """Sides of an edge that has metal on one side only; InputError otherwise."""
    sides = grid.edge(name)
    if sides.inner.any():
        found = "metal on both sides"
        raise InputError([Fault(f"edge {name!r}", found, "an edge of a part", "load an outer edge")])
    return sides


def _spread(load: Pressure | Traction | Resultant) -> Spread:
    if isinstance(load, Pressure):
        value = load.value
        return lambda line, _: -value * line.normal / line.length[..., None]
    if isinstance(load, Traction):
        return lambda line, _: _affine(load, line.xy)
    return lambda line, thickness: _linear(load, line, thickness)


def _affine(law: Traction | Moved, xy: Array) -> Array:
    return np.asarray(np.array([law.x, law.y]) + xy @ np.array(law.gradient).T)


def _linear(load: Resultant, line: LineSamples, thickness: Array) -> Array:
    """Force spread evenly, moment as M z x r over the integral of r^2, r from the centroid of the edge's area."""
    weight = line.length * thickness[:, None]
    away = line.xy - np.einsum("kg,kgi->i", weight, line.xy) / weight.sum()
    turn = np.stack([-away[..., 1], away[..., 0]], axis=-1)
    second = np.einsum("kg,kgi,kgi->", weight, away, away)
    return np.asarray(np.array([load.x, load.y]) / weight.sum() + load.moment * turn / second)


def _body(grid: Grid, load: BodyForce) -> Array:
    inside = zone_triangles(grid, (load.zone,) if load.zone else tuple(z.name for z in grid.zones))
    at, weight = volumes(grid, inside)
    return _spread_over(grid, inside, np.einsum("eg,gn,i->eni", weight, at.N, np.array([load.x, load.y])))


def _volume(grid: Grid, load: VolumeResultant) -> Array:
    """Force even, moment as M z x r over the integral of r^2, r from the centroid of the zones' metal."""
    inside = zone_triangles(grid, load.zones)
    at, weight = volumes(grid, inside)
    centre = np.einsum("eg,egi->i", weight, at.xy) / weight.sum()
    away, force = at.xy - centre, np.array([load.x, load.y])
    moment = load.moment - float(cross(centre - np.array(load.about), force))
    turn = np.stack([-away[..., 1], away[..., 0]], axis=-1)
    density = force / weight.sum() + moment * turn / np.einsum("eg,egi,egi->", weight, away, away)
    return _spread_over(grid, inside, np.einsum("eg,gn,egi->eni", weight, at.N, density))


def zone_triangles(grid: Grid, names: Sequence[str]) -> Flags:
    """Whether each triangle lies in one of some zones, bool (e,). InputError for a zone that is not there."""
    known = [zone.name for zone in grid.zones]
    for name in names:
        if name not in known:
            raise InputError([Fault(f"zone {name!r}", "no such zone", ", ".join(known), "rename it")])
    return np.array([name in names for name in known])[grid.zone]


def volumes(grid: Grid, inside: Flags) -> tuple[Samples, Array]:
    """Integration points of some triangles, and the volume (e, g) that each stands for."""
    at = sample(grid.nodes, grid.triangles[inside], points=6)
    return at, at.weight * grid.thickness[inside][:, None]


def _spread_over(grid: Grid, inside: Flags, share: Array) -> Array:
    force = np.zeros((len(grid.nodes), 2))
    np.add.at(force, grid.triangles[inside], share)
    return force


def _move(grid: Grid, load: Moved, pinned: Index, moved: Array) -> None:
    nodes = place_nodes(grid, load.at)
    value = _affine(load, grid.nodes[nodes])
    fixed = np.isin(2 * nodes[:, None] + np.arange(2), pinned)
    if np.any((value != 0) & ~fixed):
        found = "a displacement where nothing holds"
        raise InputError([Fault(f"moved {load.at!r}", found, "a place with a support", "add the support")])
    moved[nodes] = np.where(fixed, value, moved[nodes])


def bed_blocks(grid: Grid, beds: Sequence[Bed]) -> list[tuple[Array, Index]]:
    """Side stiffness (k, 6, 6) and freedoms (k, 6) of every bed."""
    blocks = []
    for bed in beds:
        sides = outer(grid, bed.edge)
        line, thickness = sample_sides(grid.nodes, sides.nodes), grid.thickness[sides.owner]
        normal = line.normal / line.length[..., None]
        across = np.einsum("kgi,kgj->kgij", normal, normal)
        law = bed.normal * across + bed.tangential * (np.eye(2) - across)
        weight = line.length * thickness[:, None]
        block = np.einsum("kg,gm,gn,kgij->kminj", weight, line.N, line.N, law).reshape(-1, 6, 6)
        blocks.append((block, (2 * sides.nodes[..., None] + np.arange(2)).reshape(-1, 6)))
    return blocks


def patterns(grid: Grid, loads: Mapping[str, Sequence[Load]], *, pinned: Index) -> dict[str, Pattern]:
    """Every named load."""
    return {name: pattern(grid, group, pinned=pinned) for name, group in loads.items()}
