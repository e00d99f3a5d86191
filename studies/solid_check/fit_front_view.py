"""Fit the front view's two root constants to the solids of group "fit", and print its errors there and on "blind".

    python studies/solid_check/fit_front_view.py            fit, then errors
    python studies/solid_check/fit_front_view.py --shipped  errors of the shipped constants only

Opening and tilt of the glued bodies (no joint, bolts' holes kept); every body counts once, tilt 0.6 times as much as
opening.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence

import numpy as np
from fit_frame import IDLE, Batch, batches, statistics
from scipy.optimize import least_squares

from stiffcalc.caliper import idealise
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.wall_depth import with_depth
from stiffcalc.condensed import Array, add
from stiffcalc.mechanics.hydraulics import piston_area
from stiffcalc.mechanics.joint import glued, join
from stiffcalc.plane.front_view import front_view
from stiffcalc.plane.plan import FITTED, RootConstants

TILT_WEIGHT = 0.6


def answer(body: Body, root: RootConstants) -> tuple[Array, Array]:
    """Opening of both halves, mm per MPa, and tilt of one, mrad per MPa, by bore."""
    sides = ("outboard",) if body.symmetric else ("outboard", "inboard")
    halves = [
        with_depth(front_view(idealise.plate_plan(body, s, root=root)).flexibility, body, s) for s in sides
    ]
    between = idealise.bridges(body)
    pair = join(
        add(halves[0], halves[-1]),
        bridges=between,
        jointed=[False] * between.x.shape[1],
        layer=np.zeros(between.x.shape[:2]),
        bolt_flexibility=np.full((1, len(body.bolts)), IDLE),
        bore_area=piston_area(np.array([[b.diameter for b in body.outboard.bores]])),
    )
    state = glued(pair, np.ones(1)).response
    points = pair.flexibility.points
    return state.points[0, points.bore], 500.0 * state.outputs[0, 0 : 2 * points.bores : 2]


def errors(data: Sequence[Batch], root: RootConstants, *, blind: bool) -> tuple[Array, Array, Array]:
    """Logarithm of model over solid for opening and tilt, every bore, and the weight of each."""
    opening, tilt, weight = [], [], []
    for batch in data:
        for i in np.flatnonzero(batch.blind == blind):
            own = answer(batch.bodies[i], root)
            opening.append(np.log(own[0] / batch.opening[i]))
            tilt.append(np.log(own[1] / batch.tilt[i]))
            weight.append(np.full(own[0].shape, own[0].size ** -0.5))
    return np.concatenate(opening), np.concatenate(tilt), np.concatenate(weight)


def fitted(data: Sequence[Batch]) -> RootConstants:
    """Least squares from the shipped constants."""

    def misfit(values: Array) -> Array:
        opening, tilt, weight = errors(data, RootConstants(*map(float, values)), blind=False)
        return np.concatenate([opening * weight, TILT_WEIGHT * tilt * weight])

    # Steps of a few percent: below them the mesh's own noise shows.
    found = least_squares(misfit, [FITTED.wall, FITTED.stiffener], diff_step=0.05, xtol=1e-3, ftol=1e-4)
    return RootConstants(*map(float, found.x))


def main(argv: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--shipped", action="store_true", help="do not fit: errors of the shipped constants")
    options = parser.parse_args(argv)
    data = batches()
    root = FITTED if options.shipped else fitted(data)
    print(f"constants: {root}")
    for group, blind in (("fit", False), ("blind", True)):
        opening, tilt, _ = errors(data, root, blind=blind)
        print(f"{group:5s} opening {statistics(np.expm1(opening))}")
        print(f"{group:5s} tilt    {statistics(np.expm1(tilt))}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
