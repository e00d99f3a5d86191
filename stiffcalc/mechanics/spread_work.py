"""How the spread answers a change of the halves: real and virtual forces whose work on that change is the spread's.

The spread of a loaded joint is s = share . (floors loaded - floors tightened). Let the halves' flexibility change by dF
and dwall at given preloads and pressure. At an equilibrium the joint's own forces and contact may be taken as fixed to
first order (the energy is stationary), so that

    ds = g_L.(dF f_L + p dwall) + g_T.dF f_T

f_L, f_T: forces on the points, loaded and tightened; g_L: what a push on the floors alone (share, no bore wall) makes
of the loaded joint; g_T: minus the same of the tightened joint with its bolt forces given, plus what the tightened
heads' movement does to the loaded bolts. While every face stays closed g_T = -g_L and preload plays no part. Derived
here; the contact changes with the push, so that g is the joint's tangent at that state, read from small further pushes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.joint import glued, load, tighten
from stiffcalc.mechanics.joint_state import Pair, State, forces
from stiffcalc.mechanics.opening import spread

PUSH = 1e-4  # of a load, in reading a tangent: above the solves' rounding, below what moves the contact noticeably


@dataclass(frozen=True)
class SpreadWork:
    """Of one pair (D = 1) at P pressures, for the sum of both halves."""

    spread: Array  # (P,) mm, beyond the tightened state
    work: Array  # (P, m, m + 1): d(spread) = sum of work times (dF, dwall)


def spread_work(pair: Pair, *, preload: Array, pressure: Array) -> SpreadWork:
    """Spread and its work at the pressures (P,), all above zero; preload (J,) N of a pair with joint faces.

    Raises `UnheldError` and `JointError` as `joint.load`.
    """
    if not pair.jointed:
        loaded = glued(pair, pressure[None])
        real, virtual = _pushed(pair, pressure, loaded, glued(_wider(pair), pressure[None]))
        return SpreadWork(spread(pair, loaded.response)[0], _work(virtual, real, pressure))
    tight = tighten(pair, preload[None])
    loaded = load(pair, tight, pressure[None])
    real, virtual = _pushed(pair, pressure, loaded, load(_wider(pair), tight, pressure[None]))
    before = spread(pair, tight.response)[0]
    shut = _tightened_work(pair, preload, tight, virtual)
    held = forces(pair, tight.response)[0]
    none = np.zeros(len(pressure))
    return SpreadWork(
        spread(pair, loaded.response)[0] - before,
        _work(virtual, real, pressure) + _work(shut, np.broadcast_to(held, real.shape), none),
    )


def _work(virtual: Array, real: Array, pressure: Array) -> Array:
    """(P, m, m + 1)."""
    return np.asarray(virtual[:, :, None] * np.concatenate([real, pressure[:, None]], axis=1)[:, None, :])


def _wider(pair: Pair) -> Pair:
    """The pair with a little more pressure on the floors, none more on the bore walls."""
    return replace(pair, bore_area=pair.bore_area * (1.0 + PUSH))


def _pushed(pair: Pair, pressure: Array, loaded: State, further: State) -> tuple[Array, Array]:
    """Forces on the points (P, m), and what a unit push shared over the floors by their areas adds to them."""
    real = forces(pair, loaded.response)[0]
    more = forces(_wider(pair), further.response)[0] - real
    return real, more / (PUSH * pressure * pair.bore_area.sum())[:, None]


def _tightened_work(pair: Pair, preload: Array, tight: State, virtual: Array) -> Array:
    """g_T (P, m): see the heading. With bolts acting a push changes their forces; what that does is taken back."""
    bolt = pair.flexibility.points.bolt
    none = _floors_only(pair)
    held = forces(pair, tight.response)[0]
    small = PUSH * float(preload.sum()) / float(pair.bore_area.sum())
    acting = (forces(pair, load(none, tight, np.array([small])).response)[0] - held) / (PUSH * preload.sum())
    steps = PUSH * np.maximum(preload, 1.0)
    turned = tighten(pair, (preload + np.diag(steps))[None])
    by_bolt = (forces(pair, turned.response)[0] - held) / steps[:, None]
    # points read -B: a bolt's own change has the other sign
    gained = virtual[:, bolt] - acting[bolt]
    return np.asarray(gained @ by_bolt - acting)


def _floors_only(pair: Pair) -> Pair:
    """The pair whose bore walls and ports feel no pressure."""
    half = replace(pair.flexibility, wall=0.0 * pair.flexibility.wall)
    clamp = None if pair.clamp is None else replace(pair.clamp, fluid=None)
    return replace(pair, flexibility=half, clamp=clamp)
