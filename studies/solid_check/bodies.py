"""Bodies from what is stored of them: a reference case (JSON), or a row of bodies.csv."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from stiffcalc.caliper.body import Body, BoltShape, BoreShape, BridgeShape, HalfShape, PocketShape
from stiffcalc.condensed import Array
from stiffcalc.contours import Contour
from stiffcalc.milling import Milled, Rib, WallShape


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
    bolt_E = given["bolt_material"]["E"]
    shapes = tuple(
        BoltShape(b["x"], b["y"], b["d"], 1.1 * b["d"], 1.7 * b["d"], bolt_E, _over(bridges, b["x"]))
        for b in bolts
    )
    body = Body(half, half, case["half_gap_mm"], bridges, shapes, E, nu)
    return body, np.array([float(b["preload"]) for b in bolts])


def body_of_row(row: Mapping[str, str]) -> tuple[Body, Array]:
    """Body and nominal bolt preloads N of one row of bodies.csv."""
    bores = tuple(BoreShape(**b) for b in json.loads(row["bores"]))
    inboard, outboard = (_half_of_row(row, side, bores) for side in ("inboard", "outboard"))
    body = Body(
        inboard,
        outboard,
        float(row["half_gap_mm"]),
        tuple(BridgeShape(**b) for b in json.loads(row["bridges"])),
        tuple(BoltShape(**b) for b in json.loads(row["bolts"])),
        float(row["E_MPa"]),
        float(row["nu"]),
    )
    return body, np.array(json.loads(row["preload_N"]))


def _half_of_row(row: Mapping[str, str], side: str, bores: tuple[BoreShape, ...]) -> HalfShape:
    if row.get(f"{side}_shape"):
        shape = shape_of_text(row[f"{side}_shape"])
        size = (float(row[f"{side}_{key}_mm"]) for key in ("thickness", "floor"))
        return HalfShape(shape.outline.polyline(), *size, bores, (), shape)
    pockets = json.loads(row[f"{side}_pockets"])
    return HalfShape(
        np.array(json.loads(row[f"{side}_outline_mm"])),
        float(row[f"{side}_thickness_mm"]),
        float(row[f"{side}_floor_mm"]),
        bores,
        tuple(PocketShape(np.array(p["outline"]), p["depth"]) for p in pockets),
    )


def shape_of_text(text: str) -> WallShape:
    """A wall's shape from JSON: corners as [x, y, bulge of the side after it]; no height: up to the outer face."""
    given = json.loads(text)
    return WallShape(
        _contour(given["outline"]),
        tuple(Milled(_contour(p["outline"]), p["depth"]) for p in given["pockets"]),
        tuple(Rib(_contour(r["outline"]), r.get("height", math.inf)) for r in given["ribs"]),
    )


def text_of_shape(shape: WallShape) -> str:
    """The same the other way."""
    ribs = [
        {"outline": r.outline.corners} | ({} if math.isinf(r.height) else {"height": r.height})
        for r in shape.ribs
    ]
    pockets = [{"outline": p.outline.corners, "depth": p.depth} for p in shape.pockets]
    return json.dumps({"outline": shape.outline.corners, "pockets": pockets, "ribs": ribs})


def _contour(corners: list[list[float]]) -> Contour:
    return Contour(tuple((x, y, bulge) for x, y, bulge in corners))


def _over(bridges: tuple[BridgeShape, ...], x: float) -> int:
    return next(i for i, b in enumerate(bridges) if b.x0 < x < b.x1)
