"""A joined pair at another temperature: the same shape, other moduli.

With Poisson's ratio kept, every movement under given forces goes as 1/E, so a softer body is the same pair with its
flexibilities multiplied. Rigid motions are shape and stay. Free expansion of the whole moves nothing against anything:
what bridges of another metal outgrow the body by is an imposed length of theirs, and what bolts and their grips expand
apart is handed to `joint.load` as a lengthening.
"""

from __future__ import annotations

from dataclasses import replace

from stiffcalc.condensed import Array, Flexibility, Outputs
from stiffcalc.mechanics.elastic_faces import stiffened
from stiffcalc.mechanics.joint_state import Pair


def warmed(pair: Pair, *, body: Array, bridges: Array, bolts: Array, grown: Array | None = None) -> Pair:
    """The pair with its moduli multiplied by the factors E(T) / E(20 °C), each above zero.

    body (D,) of both halves, bridges (D, N), bolts (D, J); grown (D, N) as in `joint_state.Pair`.
    """
    return replace(
        pair,
        flexibility=softened(pair.flexibility, body),
        bridge_flexibility=pair.bridge_flexibility / bridges[..., None, None],
        faces=replace(pair.faces, foundation=pair.faces.foundation * bridges),
        clamp=None if pair.clamp is None else stiffened(pair.clamp, bridges[:, list(pair.jointed)]),
        bolt_flexibility=pair.bolt_flexibility / bolts,
        grown=grown,
    )


def softened(half: Flexibility, modulus: Array) -> Flexibility:
    """A condensed half, or the sum of two of one material, its modulus multiplied by `modulus` (D,)."""
    one, two = modulus[:, None], modulus[:, None, None]
    out = half.outputs
    return Flexibility(
        points=half.points,
        F=half.F / two,
        R=half.R,
        wall=half.wall / one,
        outputs=Outputs(O=out.O / two, wall=out.wall / one, R=out.R),
        parts={name: part / two for name, part in half.parts.items()},
    )


def lengthening(*, grip: Array, grip_strain: Array, bolt_strain: Array) -> Array:
    """By how much each grip grows against its bolt, mm: sum over layers of length x free strain, less the bolt's.

    grip (..., J, L) mm: layers under the head, in order; grip_strain (..., J, L) and bolt_strain (..., J): free
    expansion since tightening, alpha (T - T_tightened).
    """
    grown: Array = (grip * (grip_strain - bolt_strain[..., None])).sum(axis=-1)
    return grown
