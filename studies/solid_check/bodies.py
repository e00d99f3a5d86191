"""Bodies of the solid check: the five stored cases, and random admissible ones."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from stiffcalc.caliper.body import Body, BoltShape, BoreShape, BridgeShape, HalfShape
from stiffcalc.condensed import Array


def rectangle(x0: float, x1: float, y0: float, y1: float) -> Array:
    """Outline of a box seen from the front, counter-clockwise (4, 2)."""
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def body_of_case(case: Mapping[str, Any]) -> tuple[Body, Array]:
    """Body and bolt preloads N of one stored case."""
    given = case["body"]
    wall, rotor = given["wall"], given["rotor"]
    L, y0, y1 = float(wall["length"]), float(wall["y_bottom"]), float(wall["y_top"])
    bores = tuple(BoreShape(float(b["x"]), float(b["y"]), float(b["d"])) for b in given["bores"])
    half = HalfShape(
        rectangle(-L / 2, L / 2, y0, y1), float(wall["thickness"]), float(wall["bore_end"]), bores, ()
    )
    E, nu, bolts = given["material"]["E"], given["material"]["nu"], given.get("bolts", [])
    bridges = tuple(
        BridgeShape(
            f"bridge {i}",
            float(b["x0"]),
            float(b["x1"]),
            float(b.get("y0", y0)),
            float(b.get("y1", y1)),
            None if "y0" in b else rotor["radius"] + rotor["clearance"],
            0.0,
            E,
            nu,
            bool(bolts),
        )
        for i, b in enumerate(given["bridges"])
    )
    shapes = tuple(
        BoltShape(b["x"], b["y"], b["d"], 1.1 * b["d"], 1.7 * b["d"], given["bolt_material"]["E"], _over(bridges, b["x"]))
        for b in bolts
    )
    body = Body(half, half, case["half_gap_mm"], bridges, shapes, E, nu)
    return body, np.array([float(b["preload"]) for b in bolts])


def _over(bridges: tuple[BridgeShape, ...], x: float) -> int:
    return next(i for i, b in enumerate(bridges) if b.x0 < x < b.x1)
