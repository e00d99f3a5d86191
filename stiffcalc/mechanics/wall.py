"""A wall's flexibility by the force method (unit loads), D designs at once.

    F_ij = int (m_i m_j / E I + v_i v_j / kappa G A + t_i t_j / G J) dx + distortion + floors + roots

Internal forces come from statics alone (`beam`) and distortion from plain sums (`distortion`), so nothing is
assembled or solved. Points and signs are those of `stiffcalc.condensed`. Source: Castigliano's theorem, any
text.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.condensed import Array, Flexibility, Outputs
from stiffcalc.mechanics.beam import Beam, beam, stations_of
from stiffcalc.mechanics.bridges import Bridges, area_matrix, reference
from stiffcalc.mechanics.constants import FITTED, FrameConstants
from stiffcalc.mechanics.distortion import Modes, modes
from stiffcalc.mechanics.local import bore_growth, floor_flexibility, root_flexibility
from stiffcalc.mechanics.places import Feet, Places, bore_level, places
from stiffcalc.mechanics.sections import Sections, chord
from stiffcalc.mechanics.stacked import SLAB, in_slabs, some
from stiffcalc.mechanics.strength import edge_stress
from stiffcalc.mechanics.walls import Walls

# A C library that has seen an array of this length freed keeps what is freed later, instead of handing it back page by
# page; without it a third of the time of a large batch goes into pages.
KEPT = 3_900_000


@dataclass(frozen=True)
class WallLine:
    """What stresses ask of a wall as a beam, Q stations along it."""

    x: Array  # (D, Q) mm
    bending: Array  # (D, m, Q) moment, N mm, under unit forces at the points
    stress: Array  # (D, Q) MPa per N mm


@dataclass(frozen=True)
class Footprints:
    """Where bridges meet the wall, and their sections there."""

    feet: Feet
    area: Array  # (D, N, 3, 3) int a a^T dA about the reference point, a = [1, y - y_r, -(x - x_b)]


def footprints(bridges: Bridges) -> Footprints:
    """Footprints of bridges on the wall they meet."""
    x, y = reference(bridges)
    area = area_matrix(bridges)
    width = np.diff(bridges.x, axis=2)[:, :, 0]
    return Footprints(Feet(x=x, y=y, width=width, height=area[..., 0, 0] / width), area)


def wall_line(walls: Walls, feet: Feet) -> WallLine:
    """Walls as beams, with bridges at `feet`."""
    plain = _without_cuts(walls)
    place = places(plain, feet)
    return _line(plain, beam(plain, feet, place, stations_of(plain, feet)), place)


def _line(walls: Walls, line: Beam, place: Places) -> WallLine:
    stress = edge_stress(walls, line.x, line.sections, moment=np.ones_like(line.x))
    # A copy, or the whole would stay and the next batch need pages of its own.
    bending = line.bending[:, : place.points.count].copy()
    return WallLine(line.x, bending, stress)


def wall_flexibility(walls: Walls, prints: Footprints, *, constants: FrameConstants = FITTED) -> Flexibility:
    """`condensed_wall` without its line."""
    return condensed_wall(walls, prints, constants=constants)[0]


def condensed_wall(
    walls: Walls, prints: Footprints, *, constants: FrameConstants = FITTED, brief: bool = False
) -> tuple[Flexibility, WallLine]:
    """Condense D walls to their points, see `stiffcalc.condensed.Flexibility`.

    Parts: "wall bending", "wall twist", "wall shear", "wall distortion", "floor", "root". The `bore_wall` outputs are
    the wall's by reciprocity, plus a thick cylinder's own growth. `brief` leaves out what no check reads: the `cut`
    outputs, half of a wall's rows, and which part gives how much, all being one part, "wall".
    """
    if len(walls.x) > SLAB:
        np.empty(KEPT)
    return in_slabs(lambda d: _condensed(some(walls, d), some(prints, d), constants, brief), len(walls.x))


def _without_cuts(walls: Walls) -> Walls:
    """No force acts at cuts: without them a wall has a third less stations."""
    return replace(walls, cut_x=walls.cut_x[:, :0])


def _condensed(
    walls: Walls, prints: Footprints, constants: FrameConstants, brief: bool
) -> tuple[Flexibility, WallLine]:
    half, line = _condensed_to(_without_cuts(walls), prints, constants, together=brief)
    if brief or not walls.cut_x.shape[1]:
        return half, line
    along = _condensed_to(walls, prints, constants, together=True)[0].outputs
    return replace(half, outputs=_with_cuts(half.outputs, along)), line


def _with_cuts(own: Outputs, along: Outputs) -> Outputs:
    """The outputs, and those at the cuts of a wall that has them."""
    n = own.O.shape[1]
    O, wall, R = (
        np.concatenate([a, b[:, n:]], axis=1)
        for a, b in ((own.O, along.O), (own.wall, along.wall), (own.R, along.R))
    )
    return Outputs(O, wall, R)


def _condensed_to(
    walls: Walls, prints: Footprints, constants: FrameConstants, *, together: bool
) -> tuple[Flexibility, WallLine]:
    """Condensed to points and outputs, cuts among them; `together` as one part."""
    stations = stations_of(walls, prints.feet)
    place = places(walls, prints.feet)
    m = place.points.count
    line = beam(walls, prints.feet, place, stations)
    bent = modes(walls, prints.feet, place, line, bored=constants.distortion_bored)
    stacked = _line_parts(walls, line, place, constants, together=together)
    stacked["wall distortion"] = _gram(bent.movement, bent.yields, place)
    swept = _swept(walls, line, bent, place)
    parts = {name: part[:, :m] for name, part in stacked.items()}
    parts["floor"] = _floors(walls, place)
    parts["root"] = _roots(walls, prints, place, constants)
    F = _total(parts.values())
    half = Flexibility(
        points=place.points,
        F=F,
        R=_rigid_points(walls, prints.feet, place),
        wall=swept[:, :m].sum(axis=2),
        outputs=_outputs(walls, place, stacked, swept, constants),
        parts={"wall": F} if together else parts,
    )
    return half, _line(walls, line, place)


def _total(parts: Iterable[Array]) -> Array:
    first, *rest = parts
    total = first.copy()
    for part in rest:
        total += part
    return total


def _line_parts(
    walls: Walls, line: Beam, place: Places, constants: FrameConstants, *, together: bool
) -> dict[str, Array]:
    """The three integrals, (D, size, m) each, or their sum: rows are points and outputs, columns points."""
    weight = np.stack(beam_flexibilities(walls, line.sections, constants=constants), axis=1)
    weight *= line.weight[:, None]
    if together:
        return {"wall": _gram(_flat(line.forces, 2), _flat(weight, 1), place)}
    names = ("wall bending", "wall twist", "wall shear")
    return {name: _gram(line.forces[:, :, k], weight[:, k], place) for k, name in enumerate(names)}


def _flat(values: Array, axis: int) -> Array:
    """The axes from `axis` on as one."""
    return values.reshape(*values.shape[:axis], -1)


def beam_flexibilities(walls: Walls, s: Sections, *, constants: FrameConstants) -> tuple[Array, Array, Array]:
    """1 / E I, 1 / G J and 1 / kappa G A at the sections' stations, (D, Q) each."""
    E = walls.E[:, None]
    G = E / (2.0 * (1.0 + walls.nu[:, None]))
    mixed = (1.0 - constants.torsion_bored) * s.J_solid + constants.torsion_bored * s.J_open
    return 1.0 / (E * s.I_bending), 1.0 / (G * constants.torsion * mixed), 1.0 / (G * s.shear_area)


def _gram(rows: Array, weight: Array, place: Places) -> Array:
    """Sum over the last axis of rows i and j times weight, (D, size, m)."""
    columns = rows[:, : place.points.count] * weight[:, None]
    product: Array = rows @ columns.swapaxes(1, 2)
    return product


def _swept(walls: Walls, line: Beam, bent: Modes, place: Places) -> Array:
    """Movement of each point and output per MPa on each bore's cylinder wall, (D, size, B).

    By reciprocity it is also the volume that each bore's cylinder wall sweeps per unit load.
    """
    curvature = pressure_curvature(walls, line.x, line.sections) * line.weight[:, None]
    terms = bent.load.shape[2]
    whole: Array = bent.movement[:, :, :terms] @ (bent.load * bent.yields[:, None, :terms]).swapaxes(1, 2)
    whole += line.bending @ curvature.swapaxes(1, 2)
    return whole


def pressure_curvature(walls: Walls, x: Array, s: Sections) -> Array:
    """d2w/dx2 per MPa on each bore's cylinder wall, (D, B, Q): the metal carries p c d at the pressure's
    centre.

    With c the chord, d the depth, e_y and e_z the pressure's centre from the centroid:
    -(c d / E) (e_z - e_y Iyz / Iv) / I_bending. Source: derived, bending of an unsymmetrical section.
    """
    chords = chord(x, centre=walls.bore_x, diameter=walls.bore_d)
    e_y = (walls.bore_y - walls.y.mean(axis=1)[:, None])[:, :, None] - s.y[:, None]
    e_z = (-0.5 * walls.floor)[:, None] - s.z
    depth = (walls.thickness - walls.floor) / walls.E
    skew, stiffness = s.Iyz / s.Iv, s.I_bending
    curvature: Array = -chords * depth[:, None, None] * (e_z[:, None] - e_y * skew[:, None])
    return curvature / stiffness[:, None]


def _floors(walls: Walls, place: Places) -> Array:
    m = place.points.count
    part = np.zeros((len(walls.x), m, m))
    at = np.arange(m)[place.points.bore]
    part[:, at, at] = floor_flexibility(walls)
    return part


def _roots(walls: Walls, prints: Footprints, place: Places, constants: FrameConstants) -> Array:
    m = place.points.count
    part = np.zeros((len(walls.x), m, m))
    roots = root_flexibility(walls, area=prints.area, constants=constants)
    for b in range(place.points.bridges):
        part[:, 3 * b : 3 * b + 3, 3 * b : 3 * b + 3] = roots[:, b]
    return part


def _outputs(
    walls: Walls, place: Places, stacked: dict[str, Array], swept: Array, constants: FrameConstants
) -> Outputs:
    m = place.points.count
    O = _total(stacked.values())
    O[:, place.bore_wall] = swept[:, :m].swapaxes(1, 2)
    wall = swept.sum(axis=2)
    wall[:, place.bore_wall] = bore_growth(walls, constants=constants)
    return Outputs(O=O[:, m:], wall=wall[:, m:], R=_rigid_outputs(walls))


def _rigid_points(walls: Walls, feet: Feet, place: Places) -> Array:
    """Movements of the points in unit rigid motions about the origin, (D, m, 3)."""
    rigid = np.zeros((len(walls.x), place.points.count, 3))
    n = place.points.bridge.stop
    rigid[:, 0:n:3] = _lift(feet.x, feet.y)
    rigid[:, 1:n:3, 1] = rigid[:, 2:n:3, 2] = 1.0
    rigid[:, place.points.bolt] = _lift(walls.hole_x, walls.hole_y)
    rigid[:, place.points.bore] = _lift(walls.bore_x, walls.bore_y)
    return rigid


def _rigid_outputs(walls: Walls) -> Array:
    """The same for the outputs, (D, n, 3)."""
    bores, cuts = walls.bore_x.shape[1], walls.cut_x.shape[1]
    rigid = np.zeros((len(walls.x), 3 * bores + 2 * cuts, 3))
    rigid[:, 0 : 2 * bores : 2, 1] = rigid[:, 1 : 2 * bores : 2, 2] = 1.0
    rigid[:, 3 * bores :: 2] = _lift(walls.cut_x, np.broadcast_to(bore_level(walls), walls.cut_x.shape))
    rigid[:, 3 * bores + 1 :: 2, 1] = 1.0
    return rigid


def _lift(x: Array, y: Array) -> Array:
    """w of the points (D, n) in unit rigid motions (w0, theta_x, theta_y): 1, y, -x."""
    return np.stack([np.ones_like(x), y, -x], axis=-1)
