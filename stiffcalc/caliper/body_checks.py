"""Checks of the body's metal: floors, bridges, wall."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper.body import HalfShape
from stiffcalc.caliper.requirement import Context, Subject, at_most
from stiffcalc.caliper.results import Check
from stiffcalc.condensed import Array
from stiffcalc.mechanics import plates, strength
from stiffcalc.mechanics.joint_state import forces
from stiffcalc.mechanics.local import floor_thickness

NO_YIELD = ("service", "fatigue", "assembly")  # kinds in which not even a notch may yield
THICK_FLOOR = "floor thicker than a quarter of its bore: outside the range of plate theory"


def bridges(c: Context) -> Iterator[Check]:
    """Linear stress of the bridges' sections, the worst bridge and preload."""
    stress = bridge_stress(c)
    allowed, how = c.allowed_stress
    most = np.abs(stress).max(axis=(0, 2))
    i = int(np.argmax(most))
    tension = c.answer.loaded.tension[0, :, c.at, i]
    n, mx, my = tension[int(np.argmax(np.abs(stress[:, i]).max(axis=-1)))]
    subject = Subject(
        id="bridge",
        what=f"nominal stress, bridge {c.body.bridges[i].name}",
        unit="MPa",
        formula=(
            f"N/A + M/W at the section's corners, N = {n:.0f} N, Mx = {mx:.0f}, My = {my:.0f} N mm; allowed {how}"
        ),
        source="beam theory, unsymmetric bending of the arch section",
        note="worst preload" if c.answer.tightened else "",
    )
    yield at_most(subject, float(most[i]), allowed)


def bridge_stress(c: Context) -> Array:
    """Stress at the corners of every bridge's section, (preload states, N, 6), MPa."""
    tension = c.answer.loaded.tension[0, :, c.at]
    return np.asarray((c.metal.bridge_stress @ tension[..., None])[..., 0])


def fillets(c: Context) -> Iterator[Check]:
    """Peak tension in the fillets between integral bridges and the wall against yield.

    A sharp corner has no peak stress: `validity` asks for its fillet.
    """
    own = [i for i, b in enumerate(c.design.caliper.bridges) if b.kind == "integral" and b.fillet > 0]
    if c.case.kind not in NO_YIELD or not own:
        return
    factor = c.metal.corner
    rounded = np.where(np.isfinite(factor.value[0]), factor.value[0], 0.0)
    peak = (rounded * np.maximum(bridge_stress(c)[..., strength.LOWER], 0.0)).max(axis=0)
    i = max(own, key=lambda k: peak[k].max())
    corner = int(np.argmax(peak[i]))
    now = c.design.caliper.material.at(c.case.body_temperature_C)
    subject = Subject(
        id="fillet",
        what=f"peak stress in the fillet, bridge {c.body.bridges[i].name}",
        unit="MPa",
        formula=(
            f"K x tension at the underside, K = {factor.value[0, i, corner]:.2f}, r = {c.body.bridges[i].fillet:g} mm; "
            f"allowed yield {now.yield_MPa:.0f} at {c.case.body_temperature_C:g} °C"
        ),
        source="fillet factor fitted to plane and solid FE, mechanics/strength.py",
        note="" if factor.inside[0, i, corner] else "outside the range of the fillet factor",
    )
    yield at_most(subject, float(peak[i, corner]), now.yield_MPa)


def walls(c: Context) -> Iterator[Check]:
    """Bending of the bored wall out of its plane, worst station of each different half."""
    yield wall(c, "inboard")
    if not c.body.symmetric:
        yield wall(c, "outboard")


def wall(c: Context, side: str) -> Check:
    """Largest bending stress of one wall over its length and the preloads."""
    allowed, how = c.allowed_stress
    metal = c.metal.sides[side]
    moment = forces(c.answer.pair, c.answer.loaded)[0, :, c.at] @ metal.bending[0]
    stress = np.abs(moment) * metal.stress[0]
    state, station = np.unravel_index(int(np.argmax(stress)), stress.shape)
    subject = Subject(
        id=f"wall {side}",
        what=f"wall bending stress, {side}",
        unit="MPa",
        formula=(
            f"M c / I of the bored section at x = {metal.x[0, station]:.0f} mm, M = {moment[state, station]:.0f} N mm; "
            f"allowed {how}"
        ),
        source="beam theory, unsymmetric bending; Gere & Timoshenko, Mechanics of Materials",
        note="twist, notches and the pressure on the bore walls are not in it",
    )
    return at_most(subject, float(stress[state, station]), allowed)


def floors(c: Context) -> Iterator[Check]:
    """Bending of the floors, worst bore of each different half."""
    yield floor(c, "inboard", c.body.inboard)
    if not c.body.symmetric:
        yield floor(c, "outboard", c.body.outboard)


def floor(c: Context, side: str, half: HalfShape) -> Check:
    """Clamped edge, or centre with the edge turning in the wall, whichever is more."""
    allowed, how = c.allowed_stress
    a, p = np.array([b.diameter / 2 for b in half.bores]), c.case.pressure
    e = floor_thickness(c.metal.sides[side].walls)[0]
    turning = plates.root_fixity(a, thickness=e, nu=c.body.nu)
    edge = plates.plate_edge_stress(p, radius=a, thickness=e, fixity=1.0)
    centre = plates.plate_centre_stress(p, radius=a, thickness=e, nu=c.body.nu, fixity=turning)
    stress = np.maximum(edge, centre)
    i = int(np.argmax(stress))
    law = (
        "edge clamped, 3/4 p (a/e)^2"
        if edge[i] >= centre[i]
        else "centre, edge turning, [3(3+nu)/8 - 3f/4] p (a/e)^2"
    )
    subject = Subject(
        id=f"floor {side}",
        what=f"floor bending stress, {side}, bore {i + 1}",
        unit="MPa",
        formula=f"{law}, p = {p:g} MPa, a = {a[i]:g} mm, e = {e[i]:.3g} mm; allowed {how}",
        source="Timoshenko & Woinowsky-Krieger, circular plates, from memory",
        note="; ".join(
            filter(None, (*floor_notes(half), "" if plates.is_thin(a[i], thickness=e[i]) else THICK_FLOOR))
        ),
    )
    return at_most(subject, float(stress[i]), allowed)


def floor_notes(half: HalfShape) -> tuple[str, ...]:
    """What the floor's stress leaves out."""
    pocketed = "a pocket over a bore thins its floor by the mean stiffness only" if half.pockets else ""
    return "a notch at the floor's corner is not in it", pocketed
