"""What a section is made of: closed outlines of straight edges and circular arcs, holes, regions; mm, MPa.

A `Part` is one body. Regions of it have a thickness and material of their own and lie over its outline; where
two overlap the later one counts. Parts share no nodes, even where they touch: contact is between parts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.section import outline_checks as checks

Point = tuple[float, float]
CHORD = math.radians(3.0)  # turn of the chords that stand for an arc when outlines are checked


@dataclass(frozen=True)
class Edge:
    """A straight edge, or with a `centre` a circular arc of less than a full turn.

    name: edges of one name form one group (loads, supports, stress are asked for by it); "" for none.
    """

    start: Point
    end: Point
    name: str = ""
    centre: Point | None = None
    clockwise: bool = False

    @property
    def radius(self) -> float:
        """Radius of an arc, mm; infinite for a straight edge."""
        return math.inf if self.centre is None else math.dist(self.centre, self.start)

    @property
    def turn(self) -> float:
        """Angle from start to end about the centre, rad, positive counter-clockwise; 0 for a straight edge."""
        if self.centre is None:
            return 0.0
        angle = (self._angle(self.end) - self._angle(self.start)) % (2 * math.pi)
        return angle - 2 * math.pi if self.clockwise else angle

    @property
    def length(self) -> float:
        """Length, mm."""
        return math.dist(self.start, self.end) if self.centre is None else self.radius * abs(self.turn)

    def _angle(self, point: Point) -> float:
        assert self.centre is not None
        return math.atan2(point[1] - self.centre[1], point[0] - self.centre[0])

    def at(self, share: Array) -> Array:
        """Points (..., 2) at shares (...) of the length from the start."""
        start, end = np.array(self.start), np.array(self.end)
        if self.centre is None:
            return np.asarray(start + share[..., None] * (end - start))
        angle = self._angle(self.start) + share * self.turn
        return np.array(self.centre) + self.radius * np.stack([np.cos(angle), np.sin(angle)], axis=-1)

    def share(self, points: Array) -> Array:
        """Shares (...) of the length at which points (..., 2) of the edge lie; what `at` was given."""
        if self.centre is None:
            along = np.subtract(self.end, self.start)
            return np.asarray((points - np.array(self.start)) @ along / (along @ along))
        x, y = np.moveaxis(points - np.array(self.centre), -1, 0)
        half = (
            self._angle(self.start) + 0.5 * self.turn
        )  # angles are counted from the middle: no jump on the arc
        beyond = (np.arctan2(y, x) - half + math.pi) % (2 * math.pi) - math.pi
        return np.asarray(0.5 + beyond / self.turn)

    def directions(self) -> tuple[Array, Array]:
        """Unit tangents (2,) at start and end, along the edge."""
        if self.centre is None:
            along = np.subtract(self.end, self.start) / self.length
            return along, along
        sign = math.copysign(1.0, self.turn)
        spokes = [np.subtract(p, self.centre) / self.radius for p in (self.start, self.end)]
        first, last = (sign * np.array([-s[1], s[0]]) for s in spokes)
        return first, last

    def reversed(self) -> Edge:
        """The same edge run the other way."""
        return replace(self, start=self.end, end=self.start, clockwise=not self.clockwise)

    def chords(self) -> Array:
        """Points (k, 2) from the start to just before the end, close enough together to stand for the edge."""
        count = max(1, math.ceil(abs(self.turn) / CHORD))
        return self.at(np.arange(count) / count)

    def holds(self, points: Array, *, tolerance: float) -> checks.Flags:
        """Whether points (..., 2) lie on the edge, bool (...)."""
        if self.centre is None:
            along = np.subtract(self.end, self.start) / self.length
            away = points - np.array(self.start)
            s, off = away @ along, np.abs(along[0] * away[..., 1] - along[1] * away[..., 0])
            return np.asarray((off < tolerance) & (s > -tolerance) & (s < self.length + tolerance))
        x, y = np.moveaxis(points - np.array(self.centre), -1, 0)
        sign = math.copysign(1.0, self.turn)
        angle = (sign * (np.arctan2(y, x) - self._angle(self.start))) % (2 * math.pi)
        slack = tolerance / self.radius
        within = (angle < abs(self.turn) + slack) | (angle > 2 * math.pi - slack)
        return np.asarray((np.abs(np.hypot(x, y) - self.radius) < tolerance) & within)


Loop = tuple[Edge, ...]


@dataclass(frozen=True)
class Material:
    """Isotropic and linear: Young's modulus E, MPa; Poisson's ratio nu."""

    E: float
    nu: float

    @property
    def plane_strain(self) -> Material:
        """The material that answers in plane stress as this one does in plane strain."""
        return Material(self.E / (1 - self.nu**2), self.nu / (1 - self.nu))


@dataclass(frozen=True)
class Region:
    """An area of a part with its own thickness and, where given, material; what lies off the part is ignored."""

    name: str
    outline: Loop
    thickness: float
    material: Material | None = None


@dataclass(frozen=True)
class Part:
    """One body. Raises InputError with every fault: open or crossing outlines, holes outside, no thickness, ..."""

    name: str
    outline: Loop
    thickness: float
    material: Material
    holes: tuple[Loop, ...] = ()
    regions: tuple[Region, ...] = ()

    def __post_init__(self) -> None:
        faults = [*_shape_faults(self), *_property_faults(self)]
        if faults:
            raise InputError(faults)

    @property
    def loops(self) -> tuple[Loop, ...]:
        """Outline, counter-clockwise, and holes, clockwise: metal on the left of every edge."""
        return (oriented(self.outline), *(oriented(h, clockwise=True) for h in self.holes))

    @property
    def extent(self) -> float:
        """Largest side of the box round the outline, mm."""
        return float(np.ptp(chain(self.outline), axis=0).max())


def polygon(
    points: Sequence[Point], *, names: Sequence[str] = (), radii: Sequence[float] = (), fillet: str = ""
) -> Loop:
    """Closed outline through `points`, rounded at point i with radii[i] (0: sharp), mm.

    names[i] names the edge from point i to the next, `fillet` the arcs (its number of the point is appended).
    Raises InputError where a radius is negative or too large for its edges.
    """
    names, radii = names or [""] * len(points), radii or [0.0] * len(points)
    if not len(points) == len(names) == len(radii) >= 3:
        found = f"{len(points)} points, {len(names)} names, {len(radii)} radii"
        raise InputError(
            [Fault("outline", found, "3 points or more, a name and a radius each", "count them")]
        )
    corners = [_corner(points, i, radii[i], f"{fillet}{i}" if fillet else "") for i in range(len(points))]
    edges: list[Edge] = []
    for i, (corner, after) in enumerate(zip(corners, corners[1:] + corners[:1], strict=True)):
        edges += [corner] if radii[i] else []
        _refuse_overlap(corner.end, after.start, points[i], points[(i + 1) % len(points)], i)
        edges += [Edge(corner.end, after.start, names[i])] if corner.end != after.start else []
    return tuple(edges)


def _corner(points: Sequence[Point], i: int, radius: float, name: str) -> Edge:
    """The arc that rounds point i, or an edge of no length there."""
    if radius == 0:
        return Edge(points[i], points[i])
    before, here, after = (np.array(points[(i + k) % len(points)]) for k in (-1, 0, 1))
    a, b = (here - before) / np.linalg.norm(here - before), (after - here) / np.linalg.norm(after - here)
    turn = math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b))
    if not 0 < radius < math.inf or not 1e-6 < abs(turn) < math.pi - 1e-6:
        found = f"radius {radius} where the outline turns by {math.degrees(turn):.3g} degrees"
        raise InputError([Fault(f"outline point {i}", found, "a positive radius at a corner", "drop it")])
    cut = radius * math.tan(abs(turn) / 2)
    inward = math.copysign(1.0, turn) * np.array([-a[1], a[0]])
    start, end, centre = here - cut * a, here + cut * b, here - cut * a + radius * inward
    return Edge(_point(start), _point(end), name, _point(centre), clockwise=turn < 0)


def _point(xy: Array) -> Point:
    return float(xy[0]), float(xy[1])


def _refuse_overlap(start: Point, end: Point, first: Point, last: Point, i: int) -> None:
    along = np.subtract(last, first)
    if np.subtract(end, start) @ along < -1e-9 * (along @ along):
        found = "roundings longer than the edge between them"
        raise InputError([Fault(f"outline edge {i}", found, "roundings that fit", "give smaller radii")])


def circle(x: float, y: float, diameter: float, *, name: str = "") -> Loop:
    """A full circle, as two arcs; mm."""
    left, right = (x - diameter / 2, y), (x + diameter / 2, y)
    return Edge(right, left, name, (x, y)), Edge(left, right, name, (x, y))


def chain(loop: Loop) -> Array:
    """Points (k, 2) once round an outline, arcs by chords of 3 degrees."""
    return np.concatenate([edge.chords() for edge in loop])


def signed_area(loop: Loop) -> float:
    """Area, mm2, arcs exact; positive counter-clockwise."""
    points = np.array([edge.start for edge in loop])
    x, y = points.T
    straight = (x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
    bulges = sum(e.radius**2 * (e.turn - math.sin(e.turn)) / 2 for e in loop if e.centre)
    return float(straight + bulges)


def oriented(loop: Loop, *, clockwise: bool = False) -> Loop:
    """The outline run counter-clockwise, or clockwise."""
    if (signed_area(loop) < 0) == clockwise:
        return loop
    return tuple(edge.reversed() for edge in reversed(loop))


def _shape_faults(part: Part) -> list[Fault]:
    where = part.name or "part"
    loops = {f"{where}.outline": part.outline}
    loops |= {f"{where}.holes[{i}]": hole for i, hole in enumerate(part.holes)}
    loops |= {f"{where}.{region.name}.outline": region.outline for region in part.regions}
    faults = [fault for name, loop in loops.items() for fault in _loop_faults(name, loop)]
    if faults:
        return faults  # crossings of broken outlines would only repeat them
    chains = {name: chain(loop) for name, loop in loops.items()}
    faults = [fault for name, points in chains.items() for fault in checks.crossing_faults(name, points)]
    holes = [f"{where}.holes[{i}]" for i in range(len(part.holes))]
    return faults or checks.hole_faults(chains[f"{where}.outline"], {h: chains[h] for h in holes})


def _loop_faults(where: str, loop: Loop) -> list[Fault]:
    if len(loop) < 2:
        return [Fault(where, f"{len(loop)} edges", "2 or more", "give a closed outline")]
    numbers = np.array([[*e.start, *e.end, *(e.centre or (0.0, 0.0))] for e in loop])
    if not np.all(np.isfinite(numbers)):
        return [Fault(where, "a coordinate that is no finite number", "finite numbers, mm", "correct it")]
    extent = float(np.ptp(numbers[:, :2], axis=0).max()) or 1.0
    faults = []
    for i, (edge, after) in enumerate(zip(loop, loop[1:] + loop[:1], strict=True)):
        faults += _edge_faults(f"{where}[{i}]", edge, after, 1e-7 * extent)
    return faults


def _edge_faults(where: str, edge: Edge, after: Edge, tolerance: float) -> list[Fault]:
    faults = []
    if math.dist(edge.end, after.start) > tolerance:
        found = f"an end at {edge.end} and the next start at {after.start}"
        faults.append(Fault(where, found, "edges that join", "close the outline"))
    if math.dist(edge.start, edge.end) <= tolerance:
        faults.append(Fault(where, "start and end in one point", "an edge with a length", "drop it"))
    if edge.centre is not None:
        radii = edge.radius, math.dist(edge.centre, edge.end)
        if not min(radii) > tolerance or abs(radii[0] - radii[1]) > tolerance:
            found = f"distances {radii[0]:.6g} and {radii[1]:.6g} mm from its centre"
            faults.append(Fault(where, found, "one positive radius", "move the centre"))
    return faults


def _property_faults(part: Part) -> list[Fault]:
    pieces = [(part.name or "part", part.thickness, part.material)]
    pieces += [(f"{part.name}.{r.name}", r.thickness, r.material or part.material) for r in part.regions]
    faults = []
    for where, thickness, material in pieces:
        if not 0 < thickness < math.inf:
            faults.append(Fault(f"{where}.thickness", f"{thickness}", "a positive number", "give it in mm"))
        if not isinstance(material, Material):
            faults.append(Fault(f"{where}.material", f"{material}", "E and nu", "give the part a material"))
            continue
        if not 0 < material.E < math.inf:
            faults.append(Fault(f"{where}.E", f"{material.E}", "a positive number", "give it in MPa"))
        if not 0 <= material.nu < 1:  # up to 1: a plane-strain material in plane-stress terms
            faults.append(Fault(f"{where}.nu", f"{material.nu}", "0 to below 1", "give Poisson's ratio"))
    names = [r.name for r in part.regions]
    repeated = sorted({n for n in names if names.count(n) > 1 or not n})
    return faults + [Fault(part.name, f"the region {n!r} twice", "one name each", "rename") for n in repeated]
