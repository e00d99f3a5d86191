"""Bodies drawn by chance about one layout: preload, friction, moduli, lengths, and the model's own error.

Where only an interval is known, every value inside it is as likely (JCGM 100:2008, 4.3.7); where a standard deviation
is given the value is normal. Draws are independent of each other: one friction of threads and one of heads for all
bolts of a body, one preload for each bolt. A bolt's preload lies in its tightening interval whichever way it is
tightened: the tightening factor holds wrench and friction together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.caliper.accuracy import SCATTER
from stiffcalc.caliper.preloads import nominal_preload, preloads
from stiffcalc.condensed import Array
from stiffcalc.explore.dimensions import Dimension, changed, dimensions
from stiffcalc.mechanics import tightening
from stiffcalc.study.schema import Bolt, Design, Screw, Uncertainty
from stiffcalc.study.uncertainty import tolerance_mm

CAUSES = ("preload", "bolt friction", "joint friction", "pad friction", "modulus", "tolerances", "model")
FITTED = ("diameter_mm", "fillet_mm")  # bores are fits of a hundredth of a mm; fillets are a cutter's


@dataclass(frozen=True)
class Draws:
    """n bodies: unit draws by input (n,), and what they make of the layout and of the model's figures."""

    unit: Mapping[
        tuple[str, str], Array
    ]  # (cause, input) -> n draws of zero mean and unit standard deviation
    designs: tuple[Design, ...]
    opening: Array  # (n,) true over model
    tilt: Array
    onset: Array


def draw(design: Design, what: Uncertainty, *, model: str) -> Draws:
    """The bodies of a study's table; `model`: whose error counts, "frame" or "front view"."""
    random = np.random.default_rng(what.seed)
    unit: dict[tuple[str, str], Array] = {}

    def flat(cause: str, name: str) -> Array:
        """Between -1 and 1, each as likely."""
        found = random.uniform(-1.0, 1.0, what.samples)
        unit[cause, name] = found * np.sqrt(3.0)
        return found

    def normal(cause: str, name: str) -> Array:
        unit[cause, name] = random.standard_normal(what.samples)
        return unit[cause, name]

    moves = {d: flat("tolerances", d.path) * half for d, half in tolerances(design, what).items()}
    moves |= {
        d: normal("modulus", d.path) * what.modulus * d.value
        for d in dimensions(design)
        if d.kind == "modulus"
    }
    bolts = [flat("preload", f"bolt {i + 1}") for i in range(len(design.caliper.bolts))]
    bars = {i: flat("preload", b.name) for i, b in enumerate(design.caliper.bridges) if b.pads is not None}
    friction = {k: flat("bolt friction", k) for k in ("thread", "head")} if bolts or bars else {}
    rubbing = flat("joint friction", "clamp plane"), flat("pad friction", "pad")
    model_error = _model_errors(design, what, model=model)
    errors = {k: 1.0 + share * normal("model", k) for k, share in model_error.items()}
    designs = []
    for i in range(what.samples):
        one = changed(design, {d: float(v[i]) for d, v in moves.items()})
        own = {k: float(v[i]) for k, v in friction.items()}
        one = _tightened(one, design, [float(b[i]) for b in bolts], own, what)
        one = _bars_tightened(one, design, {k: float(b[i]) for k, b in bars.items()}, own, what)
        designs.append(_rubbing(one, float(rubbing[0][i]), float(rubbing[1][i]), what))
    return Draws(unit, tuple(designs), errors["opening"], errors["tilt"], errors["onset"])


def tolerances(design: Design, what: Uncertainty) -> dict[Dimension, float]:
    """Half the tolerance of each length that has one, mm."""
    lengths = [d for d in dimensions(design) if d.kind == "length" and not d.path.endswith(FITTED)]
    found = {d: tolerance_mm(d.value, what.tolerances) for d in lengths}
    return {d: half for d, half in found.items() if half > 0.0}


def _model_errors(design: Design, what: Uncertainty, *, model: str) -> dict[str, float]:
    """Standard deviations of the model's opening, tilt and onset."""
    bolted = bool(design.caliper.bolts)
    opening = SCATTER[model, "opening", bolted] if what.opening_model is None else what.opening_model
    return {"opening": opening, "tilt": SCATTER["front view", "tilt", bolted], "onset": what.onset_model}


def _tightened(
    one: Design, given: Design, places: Sequence[float], friction: Mapping[str, float], what: Uncertainty
) -> Design:
    """Each bolt at its own preload, a place from -1 to 1 in the interval of tightening."""
    if not places:
        return one
    interval = preloads(given)
    bolts = [
        _screw(bolt, float(low), float(high), place, friction, what)
        for bolt, low, high, place in zip(
            one.caliper.bolts, interval.min[0], interval.max[0], places, strict=True
        )
    ]
    return replace(one, caliper=replace(one.caliper, bolts=tuple(b for b in bolts if isinstance(b, Bolt))))


def _screw(
    bolt: Screw, low: float, high: float, place: float, friction: Mapping[str, float], what: Uncertainty
) -> Screw:
    """One bolt of known preload: nothing is left to scatter."""
    return replace(
        bolt,
        preload_N=0.5 * (low + high) + 0.5 * (high - low) * place,
        torque_Nm=None,
        scatter=1.0,
        friction_thread=bolt.friction_thread * (1.0 + what.bolt_friction * friction["thread"]),
        friction_head=bolt.friction_head * (1.0 + what.bolt_friction * friction["head"]),
    )


def _bars_tightened(
    one: Design, given: Design, places: Mapping[int, float], friction: Mapping[str, float], what: Uncertainty
) -> Design:
    """Bolts of bars on pads; seats' friction stays at the study's lowest, which their checks take."""
    bridges = list(one.caliper.bridges)
    for i, place in places.items():
        pads, own = bridges[i].pads, given.caliper.bridges[i].pads
        assert pads is not None and own is not None  # chosen so
        nominal = np.array([nominal_preload(own.screw)])
        interval = tightening.preload_interval(nominal, scatter=np.array([own.screw.scatter]))
        screw = _screw(pads.screw, float(interval.min[0]), float(interval.max[0]), place, friction, what)
        bridges[i] = replace(bridges[i], pads=replace(pads, screw=screw))
    return replace(one, caliper=replace(one.caliper, bridges=tuple(bridges)))


def _rubbing(one: Design, joint: float, pad: float, what: Uncertainty) -> Design:
    """Friction of the clamp plane and of the pads, places from -1 to 1 in what the study gives."""
    c = one.caliper
    low, high = c.joint_friction, c.joint_friction_high
    if low == high:
        low, high = low * (1.0 - what.joint_friction), high * (1.0 + what.joint_friction)
    mu = _inside((low, high), joint)
    grip = _inside(one.pad.friction_range, pad)
    caliper = replace(c, joint_friction=mu, joint_friction_high=mu)
    return replace(one, caliper=caliper, pad=replace(one.pad, friction=grip, friction_range=(grip, grip)))


def _inside(interval: tuple[float, float], place: float) -> float:
    low, high = interval
    return 0.5 * (low + high) + 0.5 * (high - low) * place
