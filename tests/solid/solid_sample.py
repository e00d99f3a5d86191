"""Small invented bodies, meshed coarsely so that a test takes seconds."""

import numpy as np

from stiffcalc.caliper.body import Body, BoreShape, BridgeShape, HalfShape, PocketShape
from stiffcalc.solid.shapes import Assembly, ScrewShape, slugs


def rectangle(x, y):
    return np.array([(x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])], dtype=float)


def wall(**changes):
    plain = {
        "outline": rectangle((-60.0, 60.0), (60.0, 112.0)),
        "thickness": 24.0,
        "floor": 7.0,
        "bores": (BoreShape(0.0, 80.0, 30.0),),
        "pockets": (PocketShape(rectangle((-58.0, -44.0), (62.0, 72.0)), 6.0),),
    }
    return HalfShape(**(plain | changes))


def bridge(name="leading end", x=(-60.0, -42.0), fillet=4.0, **changes):
    return BridgeShape(name, *x, 60.0, 112.0, 93.0, fillet, 71000.0, 0.33, False, **changes)


ENDS = (bridge(), bridge("trailing end", (42.0, 60.0)))
PIECE = Body(wall(), wall(), 22.0, ENDS, (), 71000.0, 0.33)


def one_piece(body=PIECE):
    return Assembly(body, (), frozenset(), False, slugs([b.name for b in body.bridges]))


def bolted(body):
    """Two halves with one bolt through each end bridge."""
    h = body.half_gap
    screws = tuple(
        ScrewShape(
            name=f"bolt_{k}",
            seat=(b.x, b.y, -(h + body.inboard.thickness)),
            axis=(0.0, 0.0, 1.0),
            diameter=b.diameter,
            thread=b.diameter,
            grip=body.inboard.thickness + 2 * h + body.outboard.thickness - 14.0,
            engaged=14.0,
            head_diameter=13.0,
            head_height=8.0,
            washer=0.0,
            bearing=b.bearing,
            hole=b.hole,
            near="inboard_half",
            far="outboard_half",
        )
        for k, b in enumerate(body.bolts, start=1)
    )
    return Assembly(body, screws, frozenset(), True, slugs([b.name for b in body.bridges]))
