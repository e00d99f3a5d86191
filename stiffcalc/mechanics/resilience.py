"""How far a bolt and the plates it clamps give way, segment by segment and slice by slice; N, mm, MPa.

Resilience is displacement per force, mm/N. Every argument may be a number or an array; arrays broadcast.
Sources: VDI 2230 Part 1 for the substitute lengths and the cone's angle (seen in public engineering code,
the guideline was not opened); J. E. Shigley, Mechanical Engineering Design, chapter 8, for the frusta.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.refusals import refuse_unless
from stiffcalc.mechanics.values import Num

# Substitute lengths over the nominal diameter, VDI 2230 Part 1.
HEXAGON_HEAD, CAP_HEAD = 0.5, 0.4
ENGAGED_THREAD = 0.5  # on the root area
NUT, TAPPED_PART = 0.4, 0.33  # on the nominal area, the tapped part with its own modulus


def bar(length: Num, *, area: Num, E: Num) -> Array:
    """Resilience of one prismatic piece, mm/N: L / (E A)."""
    return np.asarray(length / (E * area))


def circle(diameter: Num) -> Array:
    """Area of a round section, mm2."""
    return np.asarray(0.25 * np.pi * np.asarray(diameter) ** 2)


@dataclass(frozen=True)
class BoltParts:
    """Resilience of each piece of a bolt in series, mm/N."""

    head: Array
    shank: Array
    free_thread: Array
    engaged: Array  # bolt thread inside the nut or the tapped part
    anchor: Array  # nut, or the tapped part round the thread (it has the tapped part's modulus)

    @property
    def total(self) -> Array:
        """delta_S, mm/N."""
        return np.asarray(self.head + self.shank + self.free_thread + self.engaged + self.anchor)


def bolt(
    d: Num,
    *,
    root_area: Num,
    shank: Num,
    free_thread: Num,
    E: Num,
    head: Num = CAP_HEAD,
    anchor: Num = TAPPED_PART,
    anchor_E: Num,
    shank_diameter: Num | None = None,
) -> BoltParts:
    """Resilience of a bolt by pieces, mm/N.

    d: nominal diameter, mm; root_area: pi d3^2/4, mm2; shank + free_thread: the grip's plain and threaded
    lengths, mm; head, anchor: substitute lengths over d (`CAP_HEAD`, `HEXAGON_HEAD`, `NUT`, `TAPPED_PART`);
    anchor_E: modulus of the nut or tapped part, MPa; shank_diameter: that of a waisted shank, d where None.
    Source: VDI 2230 Part 1.
    """
    nominal, waist = circle(d), circle(d if shank_diameter is None else shank_diameter)
    return BoltParts(
        head=bar(head * d, area=nominal, E=E),
        shank=bar(shank, area=waist, E=E),
        free_thread=bar(free_thread, area=root_area, E=E),
        engaged=bar(ENGAGED_THREAD * d, area=root_area, E=E),
        anchor=bar(anchor * d, area=nominal, E=anchor_E),
    )


# Plates


def cone_tangent(grip: Num, *, outer: Num, limit: Num, tapped: bool = False) -> Array:
    """tan(phi) of the pressure cone under a head of bearing diameter `outer` in plates of diameter `limit`.

    Through-bolted 0.362 + 0.032 ln(beta/2) + 0.153 ln y, tapped 0.348 + 0.013 ln beta + 0.193 ln y; beta =
    grip/outer, y = limit/outer. `limit`: diameter of the round plate, or twice the least distance to an edge
    (substitute diameter D_A'). Raises ValueError where limit is not above outer: no cone forms there, and the
    plates are a sleeve (`plates` takes any tangent then). Source: VDI 2230 Part 1.
    """
    beta, y = np.asarray(grip / outer, dtype=float), np.asarray(limit / outer, dtype=float)
    refuse_unless(beta > 0.0, "pressure cone, grip over bearing diameter", found=beta, allowed="above 0")
    refuse_unless(
        y > 1.0, "pressure cone, plates over bearing diameter", found=y, allowed="above 1; else a sleeve"
    )
    if tapped:
        return np.asarray(0.348 + 0.013 * np.log(beta) + 0.193 * np.log(y))
    return np.asarray(0.362 + 0.032 * np.log(0.5 * beta) + 0.153 * np.log(y))


def limit_diameter(grip: Num, *, outer: Num, tangent: Num, tapped: bool = False) -> Array:
    """Plate diameter from which on the cone is whole, mm: d_W + w l_K tan(phi), w 1 through, 2 tapped.

    Source: VDI 2230 Part 1.
    """
    return np.asarray(outer + (2.0 if tapped else 1.0) * grip * tangent)


def frustum(depth: Num, *, outer: Num, hole: Num, tangent: Num) -> Array:
    """Resilience times modulus of a hollow cone from diameter `outer` on, 1/mm.

    ln[(D + 2 t tan a - d)(D + d) / ((D + 2 t tan a + d)(D - d))] / (pi d tan a). Source: Shigley, chapter 8.
    """
    wide = outer + 2.0 * depth * tangent
    ratio = (wide - hole) * (outer + hole) / ((wide + hole) * (outer - hole))
    return np.asarray(np.log(ratio) / (np.pi * hole * tangent))


def cone_and_sleeve(depth: Num, *, outer: Num, hole: Num, tangent: Num, limit: Num) -> Array:
    """Resilience times modulus from under the head to `depth`, 1/mm: a cone, then a sleeve of `limit`."""
    turn = np.maximum((limit - outer) / (2.0 * np.asarray(tangent)), 0.0)
    cone = frustum(np.minimum(depth, turn), outer=outer, hole=hole, tangent=tangent)
    return np.asarray(cone + np.maximum(depth - turn, 0.0) / (circle(limit) - circle(hole)))


def plates(
    thickness: Num,
    *,
    E: Num,
    outer: Num,
    hole: Num,
    limit: Num = np.inf,
    tangent: Num,
    tapped: bool = False,
    outer_far: Num | None = None,
) -> Array:
    """Resilience of each layer of the clamped plates, head first, mm/N (..., L); delta_P is its sum over L.

    thickness, E (..., L), or one number for one layer; hole (...) or (..., L); the rest (...). The cone of
    `tangent` spreads from the bearing diameter `outer` into a sleeve of diameter `limit`: from one side only
    where `tapped` (to the first engaged thread), else from both, the far one from `outer_far` (`outer` where
    None), and each layer is cut out of it exactly. Against axisymmetric finite elements the guideline's cone is
    1 to 7 % too stiff under a rigid head, 3 to 15 % under an even pressure (tests/outside/test_bolt_plates_fe.py).
    Raises ValueError where a hole is not narrower than the
    bearing faces and the plates, or a thickness or tangent is not positive.
    Source: VDI 2230 Part 1; the sum over slices is Shigley's.
    """
    t, E, hole = (np.atleast_1d(np.asarray(v, dtype=float)) for v in (thickness, E, hole))
    outer, limit, tangent = (np.asarray(v, dtype=float)[..., None] for v in (outer, limit, tangent))
    far = outer if outer_far is None else np.asarray(outer_far, dtype=float)[..., None]
    for name, value in (("thickness", t), ("modulus", E), ("hole", hole), ("cone tangent", tangent)):
        refuse_unless(value > 0.0, f"clamped plates, {name}", found=value, allowed="above 0")
    narrow = (hole < outer) & (hole < far) & (hole < limit)
    refuse_unless(
        narrow, "clamped plates, hole", found=hole, allowed="narrower than bearing faces and plates"
    )
    end = np.cumsum(t, axis=-1)
    spread = _Spread(end[..., -1:], outer, far, hole, tangent, limit, tapped)
    return np.asarray((spread.until(end) - spread.until(end - t)) / E)


@dataclass(frozen=True)
class _Spread:
    """The whole pressure body of a joint; `until` integrates 1/A from the head on."""

    grip: Array
    outer: Array
    far: Array
    hole: Array
    tangent: Array
    limit: Array
    tapped: bool

    def until(self, z: Array) -> Array:
        """Integral of dz/A from the head to depth z, 1/mm."""
        if self.tapped:
            return self._from(self.outer, z)
        # Where the two cones are equally wide; an unequal far face moves it off the middle.
        meet = np.clip(0.5 * (self.grip + (self.far - self.outer) / (2.0 * self.tangent)), 0.0, self.grip)
        near = self._from(self.outer, np.minimum(z, meet))
        back = self._from(self.far, self.grip - meet) - self._from(self.far, self.grip - np.maximum(z, meet))
        return near + back

    def _from(self, outer: Array, z: Array) -> Array:
        return cone_and_sleeve(z, outer=outer, hole=self.hole, tangent=self.tangent, limit=self.limit)
