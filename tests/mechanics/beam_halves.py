"""Halves made of one uniform beam along x, condensed in closed form: realistic figures for the joint."""

import numpy as np

from stiffcalc.condensed import Flexibility, Outputs, Points, add
from stiffcalc.mechanics.bridges import Bridges, reference
from stiffcalc.mechanics.elastic_faces import FITTED, ElasticFaces, pressing_only, with_give
from stiffcalc.mechanics.face_cells import cut_faces
from stiffcalc.mechanics.joint import join

GAUSS_X, GAUSS_W = np.polynomial.legendre.leggauss(4)  # products of moments linear in x: exact


def make_bridges(x, y, arch, *, length=61.0, holes=(), E=71000.0):
    """Bridges of D designs; `holes` (D, N, H, 3) of x, y, d."""
    x, y, arch = (np.asarray(v, dtype=float) for v in (x, y, arch))
    holes = np.asarray(holes, dtype=float).reshape(*arch.shape, -1, 3)
    full = np.ones(arch.shape)
    return Bridges(
        x=x,
        y=y,
        arch=arch,
        length=length * full,
        hole_x=holes[..., 0],
        hole_y=holes[..., 1],
        hole_d=holes[..., 2],
        E=E * full,
    )


def beam_half(
    bridges, *, bolts, bores, y_beam, height, thickness, E=71000.0, nu=0.33, floor=2e-8, curvature=1e-9
):
    """One half: beam of height x thickness at y_beam (D,), clamped at its left end (any three pins will do).

    bolts, bores: (D, J, 2), (D, B, 2) of x, y. Bore-wall pressure curves the whole beam.
    """
    x_b, y_r = reference(bridges)
    left = bridges.x[..., 0].min(axis=-1)
    x = np.concatenate([np.repeat(x_b, 3, axis=-1), bolts[..., 0], bores[..., 0]], axis=-1)
    y = np.concatenate([np.repeat(y_r, 3, axis=-1), bolts[..., 1], bores[..., 1]], axis=-1)
    D, m = x.shape
    kind = np.zeros(m, dtype=int)
    kind[: 3 * x_b.shape[1]] = np.tile([0, 1, 2], x_b.shape[1])
    push, twist, bend = (np.broadcast_to(kind == k, (D, m)).astype(float) for k in range(3))
    EI = E * height * thickness**3 / 12
    GJ = E / (2 * (1 + nu)) * 0.25 * height * thickness**3
    kGA = 5 / 6 * E / (2 * (1 + nu)) * height * thickness

    # integral over x' from the clamp to the nearer of two points, moments as functions of x'
    near = np.minimum(x[:, :, None], x[:, None, :]) - left[:, None, None]
    at = left[:, None, None, None] + near[..., None] * (0.5 + 0.5 * GAUSS_X)
    weight = near[..., None] * 0.5 * GAUSS_W

    def moment(axis):
        reach = np.expand_dims(x, axis)[..., None] - at
        return np.expand_dims(push, axis)[..., None] * reach - np.expand_dims(bend, axis)[..., None]

    torque = push * (y - y_beam[:, None]) + twist
    bores_at = np.zeros((m, m))
    bores_at[-bores.shape[1] :, -bores.shape[1] :] = np.eye(bores.shape[1])
    parts = {
        "wall bending": (weight * moment(2) * moment(1)).sum(axis=-1) / _col(EI),
        "wall twist": torque[:, :, None] * torque[:, None, :] * near / _col(GJ),
        "wall shear": push[:, :, None] * push[:, None, :] * near / _col(kGA),
        "floor": np.broadcast_to(floor * bores_at, (D, m, m)),
    }
    curved = curvature * (0.5 * push * (x - left[:, None]) ** 2 - bend * (x - left[:, None]))
    R = np.stack([push, push * y + twist, bend - push * x], axis=-1)
    return Flexibility(
        points=Points(bridges=x_b.shape[1], bolts=bolts.shape[1], bores=bores.shape[1]),
        F=sum(parts.values()),
        R=R,
        wall=-curved,
        outputs=Outputs(O=sum(parts.values())[:, -1:], wall=-curved[:, -1:], R=R[:, -1:]),
        parts=parts,
    )


def _col(value):
    return np.reshape(value, (-1, 1, 1))


def caliper(
    designs=1, *, jointed=True, layer=0.85, centre=None, scale=1.0, E=71000.0, E_bolt=205000.0, thickness=30.0
):
    """Invented four-bore bodies of beam halves: end bridges with two M10-like bolts each.

    centre: None, "glued" or "jointed" adds an unbolted centre bridge. `scale` enlarges every length. Returns
    (pair, bridges).
    """

    def rep(values):
        array = np.asarray(values, dtype=float)
        return np.broadcast_to(array, (designs, *array.shape)).copy()

    x, y, arch = [[-110, -78], [78, 110]], [[105, 190]] * 2, [168.0] * 2
    bolts = [[-94, 156], [-94, 178], [94, 156], [94, 178]]
    holes = [[[*b, 11.0] for b in bolts[:2]], [[*b, 11.0] for b in bolts[2:]]]
    faces = [jointed, jointed]
    if centre:
        x, y, arch = [*x, [-12, 12]], [*y, [172, 190]], [*arch, 0.0]
        holes, faces = [*holes, [[0.0, 180.0, 0.0]] * 2], [*faces, centre == "jointed"]
    bridges = make_bridges(
        scale * rep(x), scale * rep(y), scale * rep(arch), length=61.0 * scale, holes=scale * rep(holes), E=E
    )
    half = beam_half(
        bridges,
        bolts=scale * rep(bolts),
        bores=scale * rep([[-30, 135], [32, 135]]),
        y_beam=scale * rep(147.5),
        height=scale * rep(85.0),
        thickness=scale * np.broadcast_to(thickness, (designs,)),
        E=E,
        floor=2e-8 * 71000.0 / E / scale,
        curvature=1e-9 * 71000.0 / E / scale,
    )
    pair = join(
        add(half, half),
        bridges=bridges,
        jointed=faces,
        layer=layer * bridges.length,
        bolt_flexibility=rep([129.0 / (E_bolt * 78.5) / scale] * 4),
        bore_area=scale**2 * rep([np.pi / 4 * 42.0**2, np.pi / 4 * 38.0**2]),
    )
    return pair, bridges


def elastic(pair, bridges, *, voids=(), constants=FITTED, nu=0.33, **cells):
    """The same halves, their faces cut into cells that give way; bolts stand in the holes of the jointed bridges."""
    faces = elastic_clamp(bridges, jointed=pair.jointed, voids=voids, constants=constants, nu=nu, **cells)
    return join(
        pair.flexibility,
        bridges=bridges,
        jointed=[i in pair.jointed for i in range(pair.faces.count)],
        layer=np.zeros(bridges.E.shape),
        clamp=faces,
        bolt_flexibility=pair.bolt_flexibility,
        bore_area=pair.bore_area,
    )


def elastic_clamp(
    bridges, *, jointed, voids=(), constants=FITTED, nu=0.33, height=60.0, give=True, **cells
) -> ElasticFaces:
    """Faces of the jointed bridges, pressed by a bolt in every hole (holes of no diameter are none)."""
    jointed = list(jointed)
    cut = cut_faces(bridges, jointed=jointed, voids=voids, **cells)
    there = np.argwhere(bridges.hole_d[0] > 0.0)
    bolts = np.stack(
        [np.stack([h[:, i, k] for i, k in there], -1) for h in (bridges.hole_x, bridges.hole_y)], -1
    )
    owner = [jointed.index(i) if i in jointed else -1 for i, _ in there]
    heights = np.full(bolts.shape[:2], height)
    pressed = pressing_only(cut, bolts=bolts, heights=heights, owner=owner, constants=constants)
    E = bridges.E[:, jointed]
    return with_give(pressed, E=E, nu=np.full(E.shape, nu), constants=constants) if give else pressed
