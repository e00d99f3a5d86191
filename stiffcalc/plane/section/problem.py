"""What is done to a section, by the names of its edges only, so that it can be asked again on any mesh; mm, N, MPa.

Forces and displacements along x and y, moments counter-clockwise. Pressures act on the edge times the thickness
of the metal behind it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import astuple, dataclass, field

import numpy as np

from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.section.outline import Part, Point

Place = str | Point  # an edge's name, or a corner of an outline
Gradient = tuple[tuple[float, float], tuple[float, float]]
NONE: Gradient = ((0.0, 0.0), (0.0, 0.0))


@dataclass(frozen=True)
class Support:
    """Displacement along x, y or both prescribed at a place: zero unless a load `Moved` says otherwise.

    Symmetry about a line parallel to y: x=True; parallel to x: y=True.
    """

    at: Place
    x: bool = False
    y: bool = False


@dataclass(frozen=True)
class Bed:
    """An edge on an elastic bed that also pulls: MPa of traction per mm across and along the edge."""

    edge: str
    normal: float
    tangential: float = 0.0


@dataclass(frozen=True)
class Pressure:
    """Pressure on an edge, MPa, positive into the metal."""

    edge: str
    value: float


@dataclass(frozen=True)
class Traction:
    """Traction (x, y) + gradient @ position on an edge, MPa (and MPa/mm)."""

    edge: str
    x: float = 0.0
    y: float = 0.0
    gradient: Gradient = NONE


@dataclass(frozen=True)
class Resultant:
    """Force, N, and moment about the edge's centroid, N mm, spread linearly over an edge's area."""

    edge: str
    x: float = 0.0
    y: float = 0.0
    moment: float = 0.0


@dataclass(frozen=True)
class PointForce:
    """Force on a corner of an outline, N; stress has no finite value there."""

    at: Point
    x: float = 0.0
    y: float = 0.0


@dataclass(frozen=True)
class BodyForce:
    """Force per volume, N/mm3, in one zone, or everywhere when none is named."""

    x: float = 0.0
    y: float = 0.0
    zone: str = ""


@dataclass(frozen=True)
class VolumeResultant:
    """Force, N, and moment about a point, N mm, on the metal of some zones: per volume even, plus in proportion to
    the distance from the metal's centroid and square to it, as in a body that is accelerated.
    """

    zones: tuple[str, ...]
    about: Point
    x: float = 0.0
    y: float = 0.0
    moment: float = 0.0


@dataclass(frozen=True)
class Moved:
    """Displacement (x, y) + gradient @ position at a place held by a `Support`, mm."""

    at: Place
    x: float = 0.0
    y: float = 0.0
    gradient: Gradient = NONE


Load = Pressure | Traction | Resultant | PointForce | BodyForce | VolumeResultant | Moved


@dataclass(frozen=True)
class Mean:
    """Mean displacement of an edge along a direction kept at a value, mm."""

    name: str
    edge: str
    direction: Point
    value: float = 0.0


@dataclass(frozen=True)
class Bar:
    """A bar (a bolt) between the means of two places along `direction`, which points from the first to the second.

    `second` None: its other end does not move. stiffness N/mm. With a preload, N, the section is first tightened
    with that force in the bar and nothing else acting; then force = preload + stiffness * further lengthening.
    """

    name: str
    first: Place
    second: Place | None
    direction: Point
    stiffness: float
    preload: float = 0.0


@dataclass(frozen=True)
class RigidLine:
    """A rigid straight obstacle through a point; what it faces lies on the side its normal points to."""

    point: Point
    normal: Point


@dataclass(frozen=True)
class Contact:
    """An edge that presses on another, or on a rigid line, without friction and without pulling.

    gap: free distance beyond the drawn one, mm (negative: overlap). bed: MPa per mm of a compressible layer
    between the two, None for none. Pressure is piecewise linear on `edge`, the finer meshed of the two, and is
    referred to the thickness behind `edge`.
    """

    name: str
    edge: str
    against: str | RigidLine
    gap: float = 0.0
    bed: float | None = None


@dataclass(frozen=True)
class Case:
    """One state asked for: every named load times its factor, every preload times `preload`."""

    name: str
    factors: Mapping[str, float]
    preload: float = 1.0


@dataclass(frozen=True)
class Problem:
    """A section and all that acts on it. Raises InputError for names that do not fit together."""

    parts: tuple[Part, ...]
    loads: Mapping[str, tuple[Load, ...]]
    cases: tuple[Case, ...]
    supports: tuple[Support, ...] = ()
    beds: tuple[Bed, ...] = ()
    means: tuple[Mean, ...] = ()
    bars: tuple[Bar, ...] = ()
    contacts: tuple[Contact, ...] = field(default=())

    def __post_init__(self) -> None:
        faults = _faults(self)
        if faults:
            raise InputError(faults)


def single(
    parts: tuple[Part, ...], *loads: Load, supports: tuple[Support, ...] = (), beds: tuple[Bed, ...] = ()
) -> Problem:
    """A linear problem with one case, "load"."""
    return Problem(parts, {"load": loads}, (Case("load", {"load": 1.0}),), supports=supports, beds=beds)


def _finite(load: Load) -> bool:
    """Whether every number of a load is finite."""
    values = [np.ravel(v) for v in astuple(load)]
    return all(bool(np.all(np.isfinite(v))) for v in values if v.dtype.kind in "if")  # names are no numbers


def _faults(problem: Problem) -> list[Fault]:
    faults = []
    for case in problem.cases:
        for name in sorted(set(case.factors) - set(problem.loads)):
            allowed = ", ".join(problem.loads)
            faults.append(Fault(f"case {case.name!r}", f"the load {name!r}", allowed, "name a load"))
    for name, loads in problem.loads.items():
        if not all(_finite(load) for load in loads):
            found = "a number that is not finite"
            faults.append(Fault(f"load {name!r}", found, "finite numbers", "correct it"))
    if not problem.loads:
        faults.append(Fault("loads", "none", "one or more, each with a name", "name what acts"))
    if not problem.cases:
        faults.append(Fault("cases", "none", "one or more", "say which loads act"))
    positive = [(f"bed on {b.edge!r}", b.normal) for b in problem.beds]
    positive += [(f"stiffness of bar {b.name!r}", b.stiffness) for b in problem.bars]
    positive += [(f"bed of contact {c.name!r}", c.bed) for c in problem.contacts if c.bed is not None]
    faults += [
        Fault(where, f"{value}", "a positive number", "give a stiffness")
        for where, value in positive
        if not 0 < value < math.inf
    ]
    lines = [(c.name, c.against) for c in problem.contacts if isinstance(c.against, RigidLine)]
    faults += [
        Fault(
            f"contact {name!r}", f"normal {line.normal}", "a vector with a length", "point it at the section"
        )
        for name, line in lines
        if not 0 < math.hypot(*line.normal) < math.inf
    ]
    names = [m.name for m in problem.means] + [b.name for b in problem.bars]
    names += [c.name for c in problem.contacts]
    repeated = sorted({n for n in names if names.count(n) > 1})
    return faults + [Fault("names", f"{n!r} twice", "one name each", "rename") for n in repeated]
