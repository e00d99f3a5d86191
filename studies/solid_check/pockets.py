"""A study's layouts as 3-D solids beside the front view: what pockets are worth against the even wall.

    python studies/solid_check/pockets.py pockets-hillclimb_front/proposal.toml [--pressure MPA] [--out FILE.csv]

Made for the file that `stiffcalc pockets` writes. Each layout is rebuilt with pockets, bores and holes, sharp corners,
and solved as in `solid.py`: one-piece glued, two-piece with a unilateral joint face at the settled minimum preload,
20 °C. Ports, reliefs and lands are left out of both models, which therefore differ a little from an assessment.
Needs the extra `dev`. Some minutes a layout: set OMP_NUM_THREADS=1 where cores are shared.
"""

from __future__ import annotations

import argparse
import csv
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from solid import Opening, build, glued, joint
from solid_mesh import Sizes

from stiffcalc.caliper import build as design_body
from stiffcalc.caliper import response
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.heat import ROOM
from stiffcalc.caliper.life import life
from stiffcalc.caliper.measures import weigh
from stiffcalc.study import load
from stiffcalc.study.schema import Design


@dataclass(frozen=True)
class Line:
    """One layout: mass kg, spread um of both models, seconds the solid took."""

    name: str
    mass: float
    solid: float
    front: float
    unknowns: int
    seconds: float


def main(argv: list[str] | None = None) -> int:
    options = _parser().parse_args(argv)
    study = load(options.study)
    lines: list[Line] = []
    for design in (d for d in study.designs if options.only in d.name):
        lines.append(solve(design, scale=options.scale, pressure=options.pressure))
        print(text(lines[-1], lines), flush=True)
    if options.out:
        with options.out.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream)
            writer.writerow(["layout", "mass_kg", "solid_um", "front_view_um", "unknowns", "seconds"])
            writer.writerows(vars(line).values() for line in lines)
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "study", type=Path, help="study file; every layout of it is solved, one after the other"
    )
    parser.add_argument("--pressure", type=float, help="MPa (default: the highest service pressure)")
    parser.add_argument("--scale", type=float, default=1.0, help="factor on the standard element sizes")
    parser.add_argument("--only", default="", metavar="WORD", help="layouts with this in their name")
    parser.add_argument("--out", type=Path, help="CSV file to write")
    return parser


def solve(design: Design, *, scale: float, pressure: float | None) -> Line:
    """Both models of one layout."""
    began = time.perf_counter()
    body = plain(design_body.build(design))
    p = pressure or max(c.pressure for c in design.load_cases if c.kind == "service")
    pair, _ = response.front_view_pair(body)
    preload = life(design, body, pair).own[ROOM].preload.min[0]
    answer = response.answer(pair, body, preload=preload[None, None], pressure=np.array([p]))
    front = 1e3 * float(answer.openings.spread[0, 0, 0])
    solid = build(body, sizes=Sizes().scaled(scale))
    opened = joint(solid, preload=preload, pressures=[p]).points[0].per_MPa if body.bolts else glued(solid)
    return Line(
        name=design.name,
        mass=weigh(design, body).total,
        solid=p * spread(opened, body, solid.bores),
        front=front,
        unknowns=solid.unknowns,
        seconds=time.perf_counter() - began,
    )


def plain(body: Body) -> Body:
    """Without what the solid leaves out."""
    bridges = tuple(replace(b, reliefs=(), land=None) for b in body.bridges)
    return replace(body, bridges=bridges, ports=())


def spread(opened: Opening, body: Body, bores: tuple[int, ...]) -> float:
    """Area mean of the openings, um/MPa."""
    area = np.array([body.outboard.bores[i].diameter ** 2 for i in bores])
    return float(opened.opening @ area / area.sum())


def text(line: Line, lines: list[Line]) -> str:
    """One line, against the even wall where that is known."""
    beside = next((e for e in lines if e.name.startswith("even wall")), lines[0])
    less = ", ".join(
        f"{name} {getattr(line, key):.1f} um ({getattr(line, key) / getattr(beside, key) - 1:+.1%})"
        for name, key in (("solid", "solid"), ("front view", "front"))
    )
    size = f"{line.unknowns} unknowns, {line.seconds:.0f} s"
    return f"{line.name}: {line.mass:.3f} kg, {less} against '{beside.name}'; {size}"


if __name__ == "__main__":
    sys.exit(main())
