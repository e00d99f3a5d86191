"""A layout at another temperature: moduli of its pair, how its grips outgrow the bolts, what the data do not cover."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper.batch import row
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.response import bolt_flexibility
from stiffcalc.catalogue import Material
from stiffcalc.condensed import Array
from stiffcalc.mechanics import warming
from stiffcalc.mechanics.joint_state import Pair
from stiffcalc.mechanics.trees import column, number, table
from stiffcalc.study.schema import Bolt, Bridge, Design

ROOM_C = 20.0  # at which everything is measured and tightened
WASHER = "8.8"  # washers are of steel, taken to expand as this grade
UNLIKE_UM = 1.0  # free mismatch of a bridge beyond which it is worth a word


@dataclass(frozen=True)
class Warmth:
    """Even temperatures of body and bolts, °C."""

    body_C: float
    bolt_C: float

    def __str__(self) -> str:
        if self.body_C == self.bolt_C:
            return f"{self.body_C:g} °C".replace("-", "−")
        return f"body {self.body_C:g} °C, bolts {self.bolt_C:g} °C".replace("-", "−")


ROOM = Warmth(ROOM_C, ROOM_C)


def at_warmth(pair: Pair, design: Design, body: Body, warmth: Warmth) -> Pair:
    """The pair of a layout or a batch of D at that temperature: other moduli, unlike bridges grown against the body."""
    if warmth == ROOM:
        return pair
    c, D = design.caliper, body.count
    metal = modulus_ratio(c.material, warmth.body_C)
    return warming.warmed(
        pair,
        body=column(metal, D),
        bridges=table([modulus_ratio(b.material, warmth.body_C) for b in c.bridges], D),
        bolts=table([bolt_ratio(body, j, b, warmth, metal) for j, b in enumerate(c.bolts)], D),
        grown=grown(design, body, warmth),
    )


def grown(design: Design, body: Body, warmth: Warmth) -> Array | None:
    """By how much each bridge outgrows the body from inner face to inner face when warmed from 20 °C, both free (D, N).

    mm; None where all are of the body's metal.
    """
    found = table([1e-3 * free_mismatch(design, b, warmth) for b in design.caliper.bridges], body.count)
    return found if found.any() else None


def at_each(pair: Pair, design: Design, body: Body, warmths: Iterable[Warmth]) -> dict[Warmth, Pair]:
    """The pair at several temperatures."""
    return {w: at_warmth(pair, design, body, w) for w in dict.fromkeys(warmths)}


def bolt_ratio(body: Body, index: int, bolt: Bolt, warmth: Warmth, metal: float) -> float:
    """Flexibility at 20 °C over that at temperature, of a bolt with what the walls give under its head."""
    grade, own = catalogue.grade(bolt.grade), body.bolts[index].flexibility
    whole = bolt_flexibility(body, index)
    own = whole if own is None else own
    return whole / (own / (grade.E_at(warmth.bolt_C)[0] / grade.E) + (whole - own) / metal)


def modulus_ratio(material: Material, temperature_C: float) -> float:
    """E(T) over E at room temperature."""
    return material.value_at("E", temperature_C)[0] / material.E


def strength_ratio(material: Material, temperature_C: float) -> tuple[float, str]:
    """Yield at temperature over that at room temperature, and the flag of its data."""
    value, flag = material.value_at("yield_MPa", temperature_C)
    return value / material.yield_MPa, flag


def lengthening(design: Design, body: Body, warmth: Warmth) -> Array:
    """By how much each bolt's grip outgrows the bolt when warmed from 20 °C, both free (D, J), mm.

    The grip as if its bridge were of the wall's metal: by how much an unlike one outgrows that is `grown`'s.
    """
    if warmth == ROOM:
        return np.zeros((body.count, len(body.bolts)))
    return table([bolt_lengthening(design, body, warmth, j) for j in range(len(body.bolts))], body.count)


def bolt_lengthening(design: Design, body: Body, warmth: Warmth, index: int) -> float:
    """`lengthening` of one bolt: layer by layer from head to first engaged thread."""
    bolt = design.caliper.bolts[index]
    bolt_expansion, _ = catalogue.grade(bolt.grade).expansion_at(warmth.bolt_C)
    parts = layers(design, body, bolt, warmth.body_C)
    length, expansion = (row(v) for v in zip(*parts, strict=True))
    return number(
        warming.lengthening(
            grip=length,
            grip_strain=expansion * (warmth.body_C - ROOM_C),
            bolt_strain=np.array(bolt_expansion * (warmth.bolt_C - ROOM_C)),
        )
    )


def layers(design: Design, body: Body, bolt: Bolt, body_C: float) -> tuple[tuple[float, float], ...]:
    """Length, mm, and mean expansion, 1/K, of what a bolt clamps: washer, then body up to the thread."""
    wall = design.caliper.material.value_at("expansion_per_K", body_C)[0]
    washer = catalogue.grade(WASHER).expansion_at(body_C)[0]
    far = body.outboard.thickness - bolt.engagement
    thickness = 0.0 if bolt.washer_diameter is None else bolt.washer_thickness
    return (thickness, washer), (body.inboard.thickness + 2.0 * body.half_gap + far, wall)


def flags(design: Design, warmth: Warmth) -> tuple[str, ...]:
    """One sentence for each modulus or expansion that its data do not cover."""
    c = design.caliper
    metals = dict.fromkeys((c.material.name, *(b.material.name for b in c.bridges)))
    known = {m.name: m for m in (c.material, *(b.material for b in c.bridges))}
    found = [known[n].value_at(key, warmth.body_C)[1] for n in metals for key in ("E", "expansion_per_K")]
    for name in dict.fromkeys(b.grade for b in c.bolts):
        grade = catalogue.grade(name)
        found += [grade.E_at(warmth.bolt_C)[1], grade.expansion_at(warmth.bolt_C)[1]]
    return tuple(dict.fromkeys(f for f in found if f))


def free_mismatch(design: Design, bridge: Bridge, warmth: Warmth) -> Array:
    """By how much a bridge grows against the body from inner face to inner face when warmed from 20 °C, µm."""
    gap = 2 * (design.rotor.thickness / 2 + design.pad.thickness + design.pad.running_clearance)
    own, other = (
        m.value_at("expansion_per_K", warmth.body_C)[0] for m in (design.caliper.material, bridge.material)
    )
    return np.asarray(1e3 * gap * (warmth.body_C - ROOM_C) * (other - own))
