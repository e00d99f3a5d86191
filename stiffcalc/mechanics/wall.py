"""A wall's flexibility by the force method (unit loads), D designs at once.

    F_ij = int (m_i m_j / E I + v_i v_j / kappa G A + t_i t_j / G J) dx + floors + roots

Internal forces come from statics alone (`beam`), so nothing is assembled or solved. Points and signs are
those of `stiffcalc.condensed`. Source: Castigliano's theorem, any text.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array, Flexibility, Outputs, Points
from stiffcalc.mechanics.beam import Beam, Forces, beam, bore_level
from stiffcalc.mechanics.bridges import Bridges, area_matrix, reference
from stiffcalc.mechanics.constants import FITTED, FrameConstants
from stiffcalc.mechanics.local import bore_growth, floor_flexibility, root_flexibility
from stiffcalc.mechanics.sections import chord
from stiffcalc.mechanics.walls import Walls


@dataclass(frozen=True)
class Footprints:
    """Where bridges meet the wall. Axes: D designs, N bridges. mm."""

    x: Array  # (D, N) reference point
    y: Array
    area: Array  # (D, N, 3, 3) int a a^T dA about it, a = [1, y - y_r, -(x - x_b)]
    width: Array  # (D, N) along x


def footprints(bridges: Bridges) -> Footprints:
    """Footprints of bridges on the wall they meet."""
    x, y = reference(bridges)
    return Footprints(x=x, y=y, area=area_matrix(bridges), width=np.diff(bridges.x, axis=2)[:, :, 0])


def wall_flexibility(walls: Walls, feet: Footprints, *, constants: FrameConstants = FITTED) -> Flexibility:
    """Condense D walls to their points, see `stiffcalc.condensed.Flexibility`.

    Parts: "wall bending", "wall twist", "wall shear", "floor", "root". Outputs: the tilt rows come from the
    beam, about 20 % low against solids, and are not to be published; `bore_wall` is the beam's by
    reciprocity, plus a thick cylinder's growth under its own pressure.
    """
    points = Points(bridges=feet.x.shape[1], bolts=walls.hole_x.shape[1], bores=walls.bore_x.shape[1])
    m, tilts = points.count, 2 * points.bores
    size = m + 3 * points.bores + 2 * walls.cut_x.shape[1]
    line = beam(walls, x_b=feet.x, y_r=feet.y, points=points)
    stacked = _beam_parts(walls, line, shape=(size, m), constants=constants)
    swept = _swept(walls, line, size)
    parts = {name: part[:, :m] for name, part in stacked.items()}
    parts["floor"] = _floors(walls, points)
    parts["root"] = _roots(walls, feet, points=points, constants=constants)
    O = _total(part[:, m:] for part in stacked.values())
    O[:, tilts : tilts + points.bores] = swept[:, :m].swapaxes(1, 2)
    wall = swept.sum(axis=2)
    wall[:, m + tilts : m + tilts + points.bores] = bore_growth(walls)
    outputs = Outputs(O=O, wall=wall[:, m:], R=_rigid_outputs(walls))
    return Flexibility(
        points=points,
        F=_total(parts.values()),
        R=_rigid_points(walls, feet, points),
        wall=wall[:, :m],
        outputs=outputs,
        parts=parts,
    )


def _total(parts: Iterable[Array]) -> Array:
    first, *rest = parts
    total = first.copy()
    for part in rest:
        total += part
    return total


def _beam_parts(
    walls: Walls, line: Beam, *, shape: tuple[int, int], constants: FrameConstants
) -> dict[str, Array]:
    """The three integrals, (D, *shape) each: rows are points and outputs, columns points."""
    s, c = line.sections, constants
    E = walls.E[:, None]
    G = E / (2.0 * (1.0 + walls.nu[:, None]))
    J = c.torsion * ((1.0 - c.torsion_bored) * s.J_solid + c.torsion_bored * s.J_open)
    return {
        "wall bending": _integral(line.bending, line.weight / (E * s.I_bending), shape),
        "wall twist": _integral(line.twist, line.weight / (G * J), shape),
        "wall shear": _integral(line.shear, line.weight / (G * s.shear_area), shape),
    }


def _integral(forces: Forces, weight: Array, shape: tuple[int, int]) -> Array:
    """int f_i f_j weight dx, each entry put in its place."""
    columns = forces.value[:, : forces.points]
    whole = np.zeros((len(weight), *shape))
    whole[:, forces.rows[:, None], forces.rows[: forces.points]] = (
        forces.value * weight[:, None]
    ) @ columns.swapaxes(1, 2)
    return whole


def _swept(walls: Walls, line: Beam, size: int) -> Array:
    """Movement of each point and output per MPa on each bore's cylinder wall, (D, size, B).

    By reciprocity it is also the volume that each bore's cylinder wall sweeps per unit load.
    """
    curvature = _pressure_curvature(walls, line) * line.weight[:, None]
    whole = np.zeros((len(curvature), size, curvature.shape[1]))
    whole[:, line.bending.rows] = line.bending.value @ curvature.swapaxes(1, 2)
    return whole


def _pressure_curvature(walls: Walls, line: Beam) -> Array:
    """d2w/dx2 per MPa on each bore's cylinder wall, (D, B, Q): the metal carries p c d at the pressure's
    centre.

    With c the chord, d the depth, e_y and e_z the pressure's centre from the centroid:
    -(c d / E) (e_z - e_y Iyz / Iv) / I_bending. Source: derived, bending of an unsymmetrical section.
    """
    s = line.sections
    chords = chord(line.x, centre=walls.bore_x, diameter=walls.bore_d)
    e_y = (walls.bore_y - walls.y.mean(axis=1)[:, None])[:, :, None] - s.y[:, None]
    e_z = (-0.5 * walls.floor)[:, None] - s.z
    depth = (walls.thickness - walls.floor) / walls.E
    skew, stiffness = s.Iyz / s.Iv, s.I_bending
    curvature: Array = -chords * depth[:, None, None] * (e_z[:, None] - e_y * skew[:, None])
    return curvature / stiffness[:, None]


def _floors(walls: Walls, points: Points) -> Array:
    part = np.zeros((len(walls.x), points.count, points.count))
    at = np.arange(points.count)[points.bore]
    part[:, at, at] = floor_flexibility(walls)
    return part


def _roots(walls: Walls, feet: Footprints, *, points: Points, constants: FrameConstants) -> Array:
    part = np.zeros((len(walls.x), points.count, points.count))
    roots = root_flexibility(walls, area=feet.area, width=feet.width, constants=constants)
    for b in range(points.bridges):
        part[:, 3 * b : 3 * b + 3, 3 * b : 3 * b + 3] = roots[:, b]
    return part


def _rigid_points(walls: Walls, feet: Footprints, points: Points) -> Array:
    """Movements of the points in unit rigid motions about the origin, (D, m, 3)."""
    rigid = np.zeros((len(walls.x), points.count, 3))
    n = 3 * points.bridges
    rigid[:, 0:n:3] = _lift(feet.x, feet.y)
    rigid[:, 1:n:3, 1] = rigid[:, 2:n:3, 2] = 1.0
    rigid[:, points.bolt] = _lift(walls.hole_x, walls.hole_y)
    rigid[:, points.bore] = _lift(walls.bore_x, walls.bore_y)
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
