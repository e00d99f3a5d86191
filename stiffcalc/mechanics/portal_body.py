"""What the symbolic portal is given of simple bodies, and which are simple. D designs of one topology."""

from __future__ import annotations

import numpy as np
from sympy import lambdify

from stiffcalc.condensed import Array
from stiffcalc.mechanics.bridges import Bridges, area_matrix, reference
from stiffcalc.mechanics.constants import FITTED, FrameConstants
from stiffcalc.mechanics.local import floor_flexibility, root_flexibility
from stiffcalc.mechanics.portal import BORE, Portal, portal
from stiffcalc.mechanics.sections import sections_at
from stiffcalc.mechanics.stacked import inverse, transposed
from stiffcalc.mechanics.wall import beam_flexibilities, footprints, pressure_curvature, wall_flexibility
from stiffcalc.mechanics.walls import Walls

STAGGER = 0.2  # of the mean: bores' areas farther apart than that are no longer taken as their mean
ALIKE = 1e-6  # mm
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)
_ANGLES = 0.25 * np.pi * (_NODES + 1.0)  # over a quarter circle, so that the chord's root does not matter


def not_simple(walls: Walls, bridges: Bridges) -> str:
    """Why the portal does not describe these walls (both halves alike) and bridges; "" where it does."""
    width = np.diff(bridges.x, axis=2)[:, :, 0]
    x_b, y_b = reference(bridges)
    order = np.argsort(walls.bore_x, axis=1)
    bore_x, bore_y, area = (
        np.take_along_axis(v, order, axis=1) for v in (walls.bore_x, walls.bore_y, walls.bore_d**2)
    )
    pair = 0.5 * (area + area[:, ::-1])
    inner = np.where(x_b > ALIKE, bridges.x[..., 0], np.inf).min(axis=1)
    reach = (np.abs(walls.bore_x) + 0.5 * walls.bore_d).max(axis=1)
    rules = {
        "pockets": walls.pocket_depth.max(initial=0.0) == 0.0,
        "a wall that is no box": walls.slabs is None,
        "bolt holes": walls.hole_d.max(initial=0.0) == 0.0 and bridges.hole_d.max(initial=0.0) == 0.0,
        "more than three bores": bore_x.shape[1] <= 3,
        "other than two or three bridges": x_b.shape[1] in (2, 3),
        "bridges that are not mirrored": _mirrored(x_b, width, y_b),
        "bores that are not mirrored": bool(np.allclose(bore_x, -bore_x[:, ::-1], atol=ALIKE))
        and bool(np.allclose(bore_y, bore_y[:, ::-1], atol=ALIKE)),
        f"stagger of more than {STAGGER:.0%}": bool((np.abs(area - pair) <= STAGGER * pair).all()),
        "a bore beside an end bridge": bool((reach < inner).all()),
    }
    return ", ".join(name for name, fine in rules.items() if not fine)


def _mirrored(*figures: Array) -> bool:
    """Whether bridges are mirrored: x changes sign, the rest does not."""
    order = np.argsort(figures[0], axis=1)
    x, *rest = (np.take_along_axis(v, order, axis=1) for v in figures)
    return bool(np.allclose(x, -x[:, ::-1], atol=ALIKE)) and all(
        bool(np.allclose(v, v[:, ::-1], atol=ALIKE)) for v in rest
    )


def portal_of(walls: Walls, bridges: Bridges) -> Portal:
    """The arrangement of simple bodies."""
    return portal(bores=walls.bore_x.shape[1], centre=bridges.x.shape[1] == 3)


def values(walls: Walls, bridges: Bridges, *, constants: FrameConstants = FITTED) -> dict[str, Array]:
    """The portal's symbols of simple bodies, (D,) each; see `portal.GLOSSARY`.

    Bores of a stagger count with their mean area, floors and sections with their mean too: what is left over is odd
    about x = 0 and adds to the spread by its square only.
    """
    x_b, y_r = reference(bridges)
    middle = walls.y.mean(axis=1)
    last = np.argmax(x_b, axis=1)
    rows = np.arange(len(x_b))
    found = {
        "a": x_b[rows, last],
        "B": np.diff(bridges.x, axis=2)[rows, last, 0],
        "y_e": y_r[rows, last] - middle,
        **_solid(walls, constants),
        **_bores(walls, constants),
    }
    root = root_flexibility(walls, area=area_matrix(bridges), constants=constants)
    half = (0.5 * bridges.length / bridges.E)[..., None, None] * inverse(area_matrix(bridges)) + root
    end = half[rows, last]
    found |= {f"e_{i + 1}{j + 1}": end[:, i, j] for i in range(3) for j in range(i, 3)}
    if x_b.shape[1] == 3:
        centre = np.argsort(x_b, axis=1)[:, 1]
        own = half[rows, centre]
        found |= {"y_c": y_r[rows, centre] - middle}
        found |= {f"c_{i + 1}{j + 1}": own[:, i, j] for i in range(2) for j in range(i, 2)}
    return found


def distortion(walls: Walls, bridges: Bridges, *, constants: FrameConstants = FITTED) -> dict[str, Array]:
    """d_ij of simple bodies: the frame's distortion of the section under the portal's force systems, (D,) each."""
    of, given = portal_of(walls, bridges), values(walls, bridges, constants=constants)
    names = [str(s) for s in sorted(of.forces.free_symbols, key=str)]
    acting = lambdify(names, of.forces.tolist())(*(given[n] for n in names))
    n = of.forces.shape[1]
    rows = [[np.broadcast_to(np.asarray(v, dtype=float), given["a"].shape) for v in row] for row in acting]
    systems = _on_points(np.array(rows).transpose(2, 0, 1), walls, bridges)
    half = wall_flexibility(walls, footprints(bridges), constants=constants)
    own = transposed(systems) @ half.parts["wall distortion"] @ systems
    return {f"d_{i}{j}": own[:, i, j] for i in range(n) for j in range(i, n)}


def _on_points(forces: Array, walls: Walls, bridges: Bridges) -> Array:
    """The portal's forces (D, 7, n) at a half's points (bridges, bores), (D, m, n)."""
    order, bores = np.argsort(bridges.x.mean(axis=2)[0]), np.argsort(walls.bore_x[0])
    first, last = 3 * order[0], 3 * order[-1]
    points = np.zeros((len(forces), 3 * len(order) + len(bores), forces.shape[2]))
    points[:, last : last + 3] = points[:, first : first + 3] = forces[:, :3]
    points[:, first + 2] *= -1.0
    if len(order) == 3:
        middle = 3 * order[1]
        points[:, middle : middle + 2] = -forces[:, 5:]
    own = 3 * len(order) + bores
    if len(bores) > 1:
        points[:, own[0]] = points[:, own[-1]] = forces[:, 3]
    if len(bores) != 2:
        points[:, own[len(bores) // 2]] = forces[:, 4]
    return points


def _solid(walls: Walls, constants: FrameConstants) -> dict[str, Array]:
    """f, g, h of the wall where no bore is."""
    s = sections_at(walls, walls.x[:, :1])
    f, h, g = (v[:, 0] for v in beam_flexibilities(walls, s, constants=constants))
    return {"f": f, "g": g, "h": h}


def _bores(walls: Walls, constants: FrameConstants) -> dict[str, Array]:
    """What belongs to bores: the middle one's names end in 0, those of the outer ones (their mean) in b."""
    solid = _solid(walls, constants)
    each = [_bore(walls, i, solid, constants) for i in range(walls.bore_x.shape[1])]
    order = np.argsort(walls.bore_x[0])
    found: dict[str, Array] = {}
    if len(order) != 2:
        found |= {f"{k}_0": v for k, v in each[order[len(order) // 2]].items()}
    if len(order) > 1:
        first, last = each[order[0]], each[order[-1]]
        outer = {k: 0.5 * (first[k] + last[k]) for k in first}
        found |= {k if k == "w" else f"{k}_b": v for k, v in outer.items()}
        found["b"] = 0.5 * (walls.bore_x[:, order[-1]] - walls.bore_x[:, order[0]])
    return found


def _bore(walls: Walls, i: int, solid: dict[str, Array], constants: FrameConstants) -> dict[str, Array]:
    """One bore: integrals over its circle, given to the rectangle of width w beside solid wall."""
    d = walls.bore_d[:, i]
    reach, width = 0.5 * d, BORE * d
    x = walls.bore_x[:, i, None] + reach[:, None] * np.sin(_ANGLES)
    weight = _WEIGHTS * 0.25 * np.pi * np.cos(_ANGLES)  # of the half circle, summing to 1
    s = sections_at(walls, x)
    f, h, g = beam_flexibilities(walls, s, constants=constants)
    curved = pressure_curvature(walls, x, s)[:, i]
    beside = d - width

    def kept(along: Array, outside: Array | float) -> Array:
        return np.asarray((d * (along @ weight) - beside * outside) / width)

    return {
        "w": width,
        "f": kept(f, solid["f"]),
        "g": kept(g, solid["g"]),
        "h": kept(h, solid["h"]),
        "s": np.asarray(s.shear_y @ weight),
        "k": kept(curved, 0.0),
        "A": 0.25 * np.pi * d**2,
        "y": walls.bore_y[:, i] - walls.y.mean(axis=1),
        "phi": floor_flexibility(walls)[:, i],
    }
