"""Walls, bridges and their glued pair for the tests of the closed-form wall."""

from dataclasses import fields, replace

import numpy as np

from stiffcalc.mechanics.bridges import Bridges, area_matrix
from stiffcalc.mechanics.constants import FITTED
from stiffcalc.mechanics.wall import Footprints, footprints, wall_flexibility
from stiffcalc.mechanics.walls import Walls

E, NU = 71000.0, 0.33


def row(values, width):
    return np.array(values, dtype=float).reshape(1, -1, width)


def wall(*, length, y, t, floor, bores=(), pockets=(), holes=(), cuts=()):
    """One wall: bores (x, y, d), pockets (x0, x1, y0, y1, depth), holes (x, y, d, bearing d)."""
    b, p, h = row(bores, 3), row(pockets, 5), row(holes, 4)
    x = (-length / 2, length / 2) if np.isscalar(length) else length
    return Walls(
        x=np.array([x], dtype=float),
        y=np.array([y], dtype=float),
        thickness=np.array([float(t)]),
        floor=np.array([float(floor)]),
        bore_x=b[..., 0],
        bore_y=b[..., 1],
        bore_d=b[..., 2],
        pocket_x=p[..., 0:2],
        pocket_y=p[..., 2:4],
        pocket_depth=p[..., 4],
        hole_x=h[..., 0],
        hole_y=h[..., 1],
        hole_d=h[..., 2],
        bearing_d=h[..., 3],
        cut_x=np.array([cuts], dtype=float),
        E=np.array([E]),
        nu=np.array([NU]),
    )


def bridges(*given, length=61.0, holes=None):
    """Bridges (x0, x1, y0, y1, arch) of one design."""
    g = row(given, 5)
    none = np.zeros((*g.shape[:2], 1))
    xyd = none, none, none
    if holes is not None:
        xyd = tuple(np.array([[[q[i] for q in own] for own in holes]], dtype=float) for i in range(3))
    return Bridges(
        x=g[..., 0:2],
        y=g[..., 2:4],
        arch=g[..., 4],
        length=np.full(g.shape[:2], length),
        hole_x=xyd[0],
        hole_y=xyd[1],
        hole_d=xyd[2],
        E=np.full(g.shape[:2], E),
    )


def stacked(cases):
    """Designs of one topology as one batch."""
    first = cases[0]
    return replace(
        first,
        **{
            f.name: np.concatenate([getattr(c, f.name) for c in cases])
            for f in fields(first)
            if f.name != "slabs"
        },
    )


def narrow(between, width=1e-6):
    """Footprints of the bridges' own sections, but so narrow that they load the wall at a point along x."""
    prints = footprints(between)
    return Footprints(replace(prints.feet, width=np.full(prints.feet.x.shape, width)), prints.area)


def flexibility(walls, between, *, prints=None, constants=FITTED, without=()):
    """The half's flexibility, the parts named left out."""
    half = wall_flexibility(walls, prints or footprints(between), constants=constants)
    return replace(half, F=half.F - sum(half.parts[k] for k in without)) if without else half


def bridged(half, between, given, *, wall=0.0):
    """Forces f (D, m) and movements e of one of two equal halves under forces `given` at its points.

    The half bridges hold it; `wall` is the pressure on its bores' walls. Written out here, apart from the
    package's own joint, so that walls can be tested alone.
    """
    n = 3 * half.points.bridges
    soft = np.linalg.inv((2.0 * between.E / between.length)[..., None, None] * area_matrix(between))
    matrix = np.zeros((len(given), n + 3, n + 3))
    matrix[:, :n, :n] = half.F[:, :n, :n]
    for b in range(half.points.bridges):
        matrix[:, 3 * b : 3 * b + 3, 3 * b : 3 * b + 3] += soft[:, b]
    matrix[:, :n, n:] = half.R[:, :n]
    matrix[:, n:, :n] = half.R[:, :n].swapaxes(1, 2)
    free = np.einsum("dij,dj->di", half.F, given) + wall * half.wall
    load = np.concatenate([free[:, :n], np.einsum("dir,di->dr", half.R, given)], axis=1)
    x = np.linalg.solve(matrix, -load[..., None])[..., 0]
    f = given.copy()
    f[:, :n] += x[:, :n]
    move = np.einsum("dij,dj->di", half.F, f) + wall * half.wall + np.einsum("dir,dr->di", half.R, x[:, n:])
    return f, move


def pressed(half, walls, *, pressure=1.0):
    """Forces of line pressure on the floors."""
    given = np.zeros((len(walls.x), half.points.count))
    given[:, half.points.bore] = pressure * 0.25 * np.pi * walls.bore_d**2
    return given


def openings(walls, between, *, pressure=1.0, bore_wall=True, **more):
    """Openings (D, B) of the bores, mm, of the glued body of two equal halves."""
    half = flexibility(walls, between, **more)
    given = pressed(half, walls, pressure=pressure)
    _, move = bridged(half, between, given, wall=pressure if bore_wall else 0.0)
    return 2.0 * move[:, half.points.bore]


ENDS = ((-110.0, -78.0, 105.0, 190.0, 168.0), (78.0, 110.0, 105.0, 190.0, 168.0))
CENTRE = (-12.0, 12.0, 172.0, 190.0, 0.0)
TWO = ((-30.0, 135.0, 42.0), (30.0, 135.0, 42.0))


def four_bore(*, t=34.0, floor=9.0, bores=TWO, **more):
    return wall(length=220.0, y=(105.0, 190.0), t=t, floor=floor, bores=bores, **more)
