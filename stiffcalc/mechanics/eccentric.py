"""Bolts beside the axis of what they clamp, and loads beside the bolt: bending of the plates; N, N mm, mm, MPa.

s_sym: distance of the bolt from the axis of the clamped body; a: distance of the working load from that axis,
positive; s_sym positive on the same side. Every argument may be a number or an array; arrays broadcast.
Source: VDI 2230 Part 1, 5.1.2 and 5.3 (seen in public engineering code, not opened); each equation was derived again
from beam theory (plates as a short beam, bolt and plates bent alike), which is what the tests hold it to.
"""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.refusals import refuse_unless
from stiffcalc.mechanics.resilience import circle
from stiffcalc.mechanics.values import Num


def cone_inertia(outer: Num, *, wide: Num, shift: Num = 0.0) -> Array:
    """Substitute second moment of a cone from diameter `outer` to `wide`, mm4.

    0.147 (D - d_W) d_W^3 D^3 / (D^3 - d_W^3), and s^2 pi D^2/4 where its axis lies `shift` off the body's axis.
    0.147 is 3 pi / 64, from the mean of 1/I along the cone; the bolt hole is left out. Source: VDI 2230 Part 1.
    """
    a, b = np.asarray(outer, dtype=float), np.asarray(wide, dtype=float)
    refuse_unless(
        (a > 0.0) & (b > a),
        "cone, far diameter",
        found=wide,
        allowed="wider than the near one, which is above 0; else take a sleeve's inertia",
    )
    own = 3.0 * np.pi / 64.0 * (b - a) * a**3 * b**3 / (b**3 - a**3)
    return np.asarray(own + np.asarray(shift) ** 2 * circle(b))


def bending(length: Num, *, inertia: Num, E: Num) -> Array:
    """Bending resilience of one piece of the plates, 1/(N mm): l / (E I); the plates' is the sum over pieces."""
    return np.asarray(length / (E * inertia))


def clamped_off_axis(plates: Num, *, bending: Num, offset: Num) -> Array:
    """Resilience of eccentrically clamped plates to the bolt's force, delta_P* = delta_P + s^2 beta_P, mm/N."""
    return np.asarray(plates + np.asarray(offset) ** 2 * bending)


def loaded_off_axis(plates: Num, *, bending: Num, offset: Num, lever: Num) -> Array:
    """Movement of the plates at the bolt under a load at `lever`, delta_P** = delta_P + a s beta_P, mm/N."""
    return np.asarray(plates + np.asarray(lever) * offset * bending)


def eccentric_load_factor(
    bolt: Num, *, plates: Num, bending: Num, offset: Num, lever: Num, introduction: Num = 1.0
) -> Array:
    """Share of an eccentric load that the bolt takes, Phi_en* = n delta_P** / (delta_S + delta_P*).

    Where `lever` and `offset` lie on opposite sides it may be negative: the load unloads the bolt.
    """
    loaded = loaded_off_axis(plates, bending=bending, offset=offset, lever=lever)
    return np.asarray(
        introduction * loaded / (bolt + clamped_off_axis(plates, bending=bending, offset=offset))
    )


def edge_share(distance: Num, *, area: Num, inertia: Num, edge: Num) -> Array:
    """Pressure at the edge per unit force at `distance` from the face's axis, 1/mm2: 1/A + distance u / I.

    u (`edge`): distance of the edge that opens, on the side of the load. Source: beam theory.
    """
    return np.asarray(1.0 / np.asarray(area) + np.asarray(distance) * edge / inertia)


def clamp_to_stay_closed(
    load: Num, *, area: Num, inertia: Num, edge: Num, offset: Num = 0.0, lever: Num
) -> Array:
    """Residual clamp F_KA that keeps the whole face closed, N: F_A A (a u - s u) / (I + s u A).

    area, inertia: of the parting face, mm2, mm4. Negative where the load itself keeps the edge closed.
    """
    return np.asarray(load * area * edge * (lever - np.asarray(offset)) / (inertia + offset * edge * area))


def opening_load(
    preload: Num, *, factor: Num, area: Num, inertia: Num, edge: Num, offset: Num = 0.0, lever: Num
) -> Array:
    """Load at which the edge first opens, N; inf where none does.

    F_V k_s / (k_a - Phi k_s), k = `edge_share` of the bolt's offset and of the load's lever. Without levers it
    is F_V / (1 - Phi); with a far lever it is the kern rule, F_A a = F_V I / (A u). Source: derived from beam
    theory; VDI 2230 Part 1 has the same condition.
    """
    by_bolt = edge_share(offset, area=area, inertia=inertia, edge=edge)
    pull = edge_share(lever, area=area, inertia=inertia, edge=edge) - factor * by_bolt
    found = np.asarray(preload * by_bolt / np.where(pull > 0.0, pull, np.nan))
    return np.where(pull > 0.0, found, np.inf)


def bolt_bending_stress(
    added_force: Num, *, factor: Num, lever: Num, offset: Num, bending: Num, d: Num, length: Num, E: Num
) -> Array:
    """Bending stress of the bolt under an eccentric load, MPa: it bends by the angle of the plates.

    added_force: the bolt's share F_SA = Phi_en* F_A, N; angle = beta_P F_SA (a/Phi - s); stress = angle E d /
    (2 l). d: diameter that bends (root), mm; length l: substitute bending length of the bolt, mm (the sum of its
    segments' l I_3/I); E: of the bolt. Add it to the axial amplitude. Raises ValueError where the factor is 0.
    """
    share = np.asarray(factor, dtype=float)
    refuse_unless(np.abs(share) > 0.0, "bolt bending, load factor", found=share, allowed="not 0")
    angle = bending * added_force * (lever / share - offset)
    return np.asarray(0.5 * angle * E * d / length)
