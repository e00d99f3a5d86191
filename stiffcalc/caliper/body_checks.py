"""Checks of the body's metal: floors, bridges, wall."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper.body import HalfShape
from stiffcalc.caliper.requirement import Context, Subject, at_most
from stiffcalc.caliper.results import Check
from stiffcalc.mechanics import plates


def floors(c: Context) -> Iterator[Check]:
    """Bending of the floors, worst bore of each different half."""
    yield floor(c, "inboard", c.body.inboard)
    if not c.body.symmetric:
        yield floor(c, "outboard", c.body.outboard)


def floor(c: Context, side: str, half: HalfShape) -> Check:
    """Clamped edge, or centre with the edge turning in the wall, whichever is more."""
    allowed, how = c.allowed_stress
    a, e, p = np.array([b.diameter / 2 for b in half.bores]), half.floor, c.case.pressure
    turning = plates.root_fixity(a, thickness=e, nu=c.body.nu)
    edge = plates.plate_edge_stress(p, radius=a, thickness=e, fixity=1.0)
    centre = plates.plate_centre_stress(p, radius=a, thickness=e, nu=c.body.nu, fixity=turning)
    stress = np.maximum(edge, centre)
    i = int(np.argmax(stress))
    subject = Subject(
        id=f"floor {side}",
        what=f"floor bending stress, {side}, bore {i + 1}",
        unit="MPa",
        formula=f"3/4 p (a/e)^2, p = {p:g} MPa, a = {a[i]:g} mm, e = {e:g} mm; allowed {how}",
        source="Timoshenko & Woinowsky-Krieger, circular plates, from memory",
        note="a notch at the floor's corner is not in it"
        if plates.is_thin(a[i], thickness=e)
        else THICK_FLOOR,
    )
    return at_most(subject, float(stress[i]), allowed)


THICK_FLOOR = "floor thicker than a quarter of its bore: outside the range of plate theory"
