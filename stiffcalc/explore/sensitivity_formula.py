"""The symbolic portal of a layout that is simple enough for it, beside the batched frame."""

from __future__ import annotations

import numpy as np

from stiffcalc.caliper import idealise, response
from stiffcalc.caliper.build import build
from stiffcalc.explore.sensitivity_results import Formula
from stiffcalc.mechanics import portal, portal_body, portal_words
from stiffcalc.study.schema import Design

DERIVED = (
    "a",
    "f",
    "h",
    "e_33",
)  # whose derivatives are printed out: span, bending, twist, the bridge's rotation


def formula(design: Design) -> tuple[Formula | None, str]:
    """The portal in numbers, or None and why the layout is not simple."""
    body = build(design)
    if not body.symmetric:
        return None, "the halves are unequal"
    if any(b.jointed or b.pads is not None for b in body.bridges):
        return None, "a bridge is bolted"
    walls, bridges = idealise.walls(body, "inboard"), idealise.bridges(body)
    if why := portal_body.not_simple(walls, bridges):
        return None, f"it has {why}"
    of = portal_body.portal_of(walls, bridges)
    values = portal_body.values(walls, bridges) | portal_body.distortion(walls, bridges)
    slopes = portal.slopes(of, values)
    pair = response.frame_pair(body)
    unit = response.answer(pair, body, preload=np.zeros((1, 1, 0)), pressure=np.ones(1))
    used = portal.numbers(of, values)
    return (
        Formula(
            portal=float(portal.at(of, values)[0]),
            frame=float(unit.openings.spread[0, 0, 0]),
            bores=len(body.inboard.bores),
            centre=len(body.bridges) == 3,
            slopes={k: float(v[0] * np.ravel(used[k])[0]) for k, v in slopes.items()},
            values={k: float(np.ravel(v)[0]) for k, v in used.items()},
            words={k: portal.GLOSSARY[k] for k in used},
            lines=portal_words.lines(of),
            derivatives=portal_words.derivatives(of, DERIVED),
        ),
        "",
    )
