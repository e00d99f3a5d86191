"""The section through a bridge against 3-D solids of whole bodies (corner_solids.csv): fillet stress, turn of the wall.

    python studies/solid_check/section_fillets.py        half a minute

Each solid's own N, Mx and My are put on the section through its bridge, as `stiffcalc section` does. Printed: the
fillet's stress of the section alone and with My and the arch, over the solid's; the movement of the wall behind the
bridge over the closed form of bridge and root.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from stiffcalc.caliper.body import Body, BoreShape, BridgeShape, HalfShape
from stiffcalc.caliper.metal import metals
from stiffcalc.caliper.section_model import SectionModel, section_model
from stiffcalc.caliper.section_read import fillet_stress
from stiffcalc.caliper.section_solve import Solved, solve_section
from stiffcalc.caliper.section_states import CutState
from stiffcalc.condensed import Array
from stiffcalc.mechanics.constants import FITTED
from stiffcalc.plane.section.motion import zone_motion

HERE = Path(__file__).parent
E, NU, GAP, FLOOR, BOTTOM, ARCH = 71000.0, 0.33, 30.5, 9.0, 105.0, 168.0
END, CENTRE = (78.0, 110.0), (-12.0, 12.0)
# What corner_solid.py built: length, top, bore (x, y, d), end bridge, centre bridge and whether it is arched.
BODIES = {
    "ends and centre": (220.0, 190.0, (30.0, 135.0, 42.0), END, CENTRE, False),
    "ends": (220.0, 190.0, (30.0, 135.0, 42.0), END, None, False),
    "wide ends": (220.0, 190.0, (30.0, 135.0, 42.0), (66.0, 110.0), None, False),
    "ends and arched centre": (220.0, 196.0, (30.0, 135.0, 42.0), END, (-15.0, 15.0), True),
    "long, low bores": (260.0, 190.0, (40.0, 130.0, 44.0), (100.0, 130.0), CENTRE, False),
}


@dataclass(frozen=True)
class Row:
    """One solid's bridge. Ratios to the solid's peak; ratios of movements to the closed form."""

    body: str
    bridge: str
    fillet: float
    thickness: float
    alone: float
    whole: float
    w: float
    turn: float


def solids() -> list[dict[str, str]]:
    """Rows of corner_solids.csv."""
    with (HERE / "corner_solids.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def body_of(row: dict[str, str]) -> tuple[Body, int]:
    """The body of a row, the end bridge first, and which of its bridges the row is of."""
    length, top, (x, y, d), end, centre, arched = BODIES[row["body"]]
    outline = np.array([(-length / 2, BOTTOM), (length / 2, BOTTOM), (length / 2, top), (-length / 2, top)])
    bores = BoreShape(x, y, d), BoreShape(-x, y, d)
    half = HalfShape(outline, float(row["thickness"]), FLOOR, bores, ())

    def bridge(name: str, x: tuple[float, float], low: float, arch: float | None) -> BridgeShape:
        return BridgeShape(name, *x, low, top, arch, float(row["fillet"]), E, NU, jointed=False)

    shapes = [bridge("end", end, BOTTOM, ARCH)]
    if centre:
        shapes.append(bridge("centre", centre, BOTTOM if arched else 172.0, ARCH if arched else None))
    return Body(half, half, GAP, tuple(shapes), (), E, NU), 0 if row["bridge"] == "end" else 1


def solved(
    row: dict[str, str], *, accuracy: float = 0.02
) -> tuple[Body, int, SectionModel, Solved, CutState]:
    """The section of a row under the solid's own forces."""
    body, i = body_of(row)
    model = section_model(body, i, side="outboard", loose=False)
    tension = np.array([float(row[k]) for k in ("N", "Mx", "My")])
    state = CutState(
        "solid", None, 1.0, "", 20.0, tension, (tension[0], tension[1]), np.zeros(0), np.zeros(0), "", 0.0
    )
    return body, i, model, solve_section(model, (state,), accuracy=accuracy), state


def compared(row: dict[str, str], *, accuracy: float = 0.02) -> Row:
    """One solid's bridge beside its section."""
    body, i, model, done, state = solved(row, accuracy=accuracy)
    found = fillet_stress(done, model, body, metals(body).bridge_stress[0, i], [state.tension])
    peak = float(row["peak"])
    w, turn = movements(body, i, model, done)
    return Row(
        row["body"],
        row["bridge"],
        model.fillet,
        float(row["thickness"]),
        float(np.abs(found.alone).max()) / peak,
        float(np.abs(found.whole).max()) / peak,
        w,
        turn,
    )


def movements(body: Body, i: int, model: SectionModel, done: Solved) -> tuple[float, float]:
    """Movement and turn of the wall behind the bridge over the closed form of the strip as a beam with its root."""
    assert done.closed is not None
    motion = zone_motion(done.closed.grid, done.closed.U, model.root_zones)
    lift = motion.x - motion.turn * (model.y_r - motion.centre[1])
    b, h = model.width, model.height
    depth = body.half_gap + FITTED.root * model.wall[2]
    return float(lift[0] * E * b * h / depth), float(-motion.turn[1] * E * b * h**3 / 12 / depth)


def main() -> None:
    rows = [compared(r) for r in solids()]
    for r in rows:
        print(
            f"{r.body:24} {r.bridge:7} r {r.fillet:g} t {r.thickness:g}: alone {r.alone:.2f}, whole {r.whole:.2f}, "
            f"w {r.w:.2f}, turn {r.turn:.2f}"
        )
    for kind in ("end", "centre"):
        whole: Array = np.array([r.whole for r in rows if r.bridge == kind])
        print(
            f"{kind}: {whole.mean():.3f} +- {whole.std(ddof=1):.3f}, {whole.min():.2f} to {whole.max():.2f}"
        )


if __name__ == "__main__":
    main()
