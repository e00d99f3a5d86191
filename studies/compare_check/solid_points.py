"""Final designs of a comparison beside 3-D solids of the same bodies: spread by front view, frame and solid.

    python studies/compare_check/solid_points.py FOLDER [--mass KG] [--layout NAME] [--to FILE]

FOLDER: what `stiffcalc compare` wrote. Bodies as `studies/solid_check` solves them: 20 °C, without fillets, settled
minimum preload, at the comparison's pressure; some minutes each. The stated error of the models is README's (worst
2.8 % one-piece, 4.9 % two-piece for the front view's opening by bore). Needs the extra `dev`.
"""

from __future__ import annotations

import argparse
import csv
import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "solid_check"))

import solid

from stiffcalc.caliper import response
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.build import build
from stiffcalc.caliper.life import life
from stiffcalc.condensed import Array
from stiffcalc.explore.compare_results import kg as said
from stiffcalc.study import load
from stiffcalc.study.schema import Design


@dataclass(frozen=True)
class Row:
    """One design at one pressure, 20 °C; spreads um."""

    layout: str
    mass: float
    pressure: float
    solid: float
    front_view: float
    frame: float


def main(argv: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("--mass", type=float, help="this one alone")
    parser.add_argument("--layout", help="this one alone")
    parser.add_argument("--to", type=Path, help="CSV file that rows are added to")
    given = parser.parse_args(argv)
    print("layout                            mass kg  solid um  front view %  frame %", flush=True)
    for row in rows(given.folder, mass=given.mass, layout=given.layout):
        off = [100.0 * (v / row.solid - 1.0) for v in (row.front_view, row.frame)]
        print(f"{row.layout:33s} {row.mass:7.2f} {row.solid:9.1f} {off[0]:13.2f} {off[1]:8.2f}", flush=True)
        if given.to:
            keep(given.to, row)
    return 0


def keep(path: Path, row: Row) -> None:
    """Add a row to a CSV file."""
    fields = {k: f"{v:.6g}" if isinstance(v, float) else v for k, v in vars(row).items()}
    new = not path.exists()
    with path.open("a", newline="") as stream:
        writer = csv.DictWriter(stream, fields, lineterminator="\n")
        if new:
            writer.writeheader()
        writer.writerow(fields)


def rows(folder: Path, *, mass: float | None, layout: str | None) -> Iterator[Row]:
    """Each design that meets its checks."""
    answer = json.loads((folder / "compare.json").read_text(encoding="utf-8"))
    pressure = answer["load_case"]["pressure_MPa"]
    for curve in answer["layouts"]:
        for point in curve["points"]:
            if point is None or not point["meets_checks"] or layout not in (None, curve["name"]):
                continue
            if mass is None or abs(point["mass_allowed_kg"] - mass) < 1e-6:
                yield _row(folder, curve["name"], point, pressure)


def _row(folder: Path, name: str, point: Mapping[str, Any], pressure: float) -> Row:
    kg = point["mass_allowed_kg"]
    study = load(folder / f"at_{said(kg)}_kg.toml")
    design = next(d for d in study.designs if d.name == f"{name}, {said(kg)} kg")
    body = build(design)
    pairs = {"front view": response.front_view_pair(body)[0], "frame": response.frame_pair(body)}
    preload = settled(design, body, pairs["front view"])
    found = {m: _by_model(pair, body, preload, pressure) for m, pair in pairs.items()}
    return Row(name, kg, pressure, by_solid(body, preload, pressure), found["front view"], found["frame"])


def settled(design: Design, body: Body, pair: Any) -> Array:
    """Least preload of each bolt after settling, N."""
    known = life(design, body, pair)
    return np.asarray(next(s for s in known.stages if s.name == "settled").preload.min).reshape(-1)


def _by_model(pair: Any, body: Body, preload: Array, pressure: float) -> float:
    answer = response.answer(pair, body, preload=preload[None, None], pressure=np.array([pressure]))
    return 1e3 * float(answer.openings.spread[0, 0, 0])


def by_solid(body: Body, preload: Array, pressure: float) -> float:
    """Spread of the solid, um: opening of the bores weighted by their areas."""
    solved = solid.build(body)
    if body.bolts:
        per_MPa = solid.joint(solved, preload=preload, pressures=[pressure]).points[0].per_MPa
    else:
        per_MPa = solid.glued(solved)
    area = np.array([body.outboard.bores[i].diameter ** 2 for i in solved.bores]) * solved.share
    return float(pressure * per_MPa.opening @ area / area.sum())


if __name__ == "__main__":
    sys.exit(main())
