"""Fit the closed-form wall's constants to the solids of group "fit", and print its errors there and on group "blind".

    python studies/solid_check/fit_frame.py            fit, then errors
    python studies/solid_check/fit_frame.py --shipped  errors of the shipped constants only
    ... --shipped --solids studies/solid_check/second_seed    the same on bodies solved after the model was frozen

Openings of the glued bodies (no joint, bolts' holes kept), both halves, every bore counts once.
"""

from __future__ import annotations

import argparse
import dataclasses
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from bodies import body_of_row
from dataset import read_rows
from scipy.optimize import least_squares

from stiffcalc.caliper import idealise
from stiffcalc.caliper.body import Body
from stiffcalc.condensed import Array, add
from stiffcalc.mechanics import trees
from stiffcalc.mechanics.constants import FITTED, FrameConstants
from stiffcalc.mechanics.joint import glued, join
from stiffcalc.mechanics.wall import footprints, wall_flexibility

HERE = Path(__file__).parent
SHAPE = ("root", "torsion", "torsion_bored", "distortion_bored")
IDLE = 1e9  # mm/N, flexibility of a bolt that carries nothing


@dataclass(frozen=True)
class Batch:
    """Bodies of one topology, (D,), and what the solids say of each bore, (D, B)."""

    names: tuple[str, ...]
    blind: np.ndarray
    bodies: tuple[Body, ...]
    opening: Array  # mm per MPa
    swept: Array  # mm3 per MPa, by the bores' cylinder walls
    tilt: Array  # mrad per MPa, outboard half


def batches(folder: Path = HERE) -> list[Batch]:
    """All bodies stored in a folder, by topology."""
    results = defaultdict(list)
    for r in read_rows(folder / "results.csv"):
        if r["state"] == "glued":
            results[r["body"]].append(r)
    groups = defaultdict(list)
    for row in read_rows(folder / "bodies.csv"):
        body = body_of_row(row)[0]
        halves = (body.inboard, body.outboard)
        key = len(halves[0].bores), len(body.bridges), len(body.bolts), *(len(h.pockets) for h in halves)
        groups[key].append((row, body, results[row["body"]]))
    return [_batch(g) for g in groups.values()]


def _batch(group: Sequence[tuple[dict[str, str], Body, list[dict[str, str]]]]) -> Batch:
    rows, bodies, results = zip(*group, strict=True)

    def column(key: str) -> Array:
        return np.array([[float(r[key]) for r in own] for own in results])

    return Batch(
        names=tuple(r["body"] for r in rows),
        blind=np.array([r["group"] == "blind" for r in rows]),
        bodies=bodies,
        opening=1e-3 * column("opening_um_per_MPa"),
        swept=column("bore_wall_volume_mm3_per_MPa"),
        tilt=column("tilt_mrad_per_MPa"),
    )


def answer(batch: Batch, constants: FrameConstants) -> tuple[Array, Array, Array]:
    """The frame's opening, swept volume and mean tilt of both halves, (D, B) each."""
    body = trees.stack(batch.bodies)
    between = idealise.bridges(body)
    walls = [idealise.walls(body, side) for side in ("inboard", "outboard")]
    halves = [wall_flexibility(w, footprints(between), constants=constants) for w in walls]
    pair = join(
        add(*halves),
        bridges=between,
        jointed=[False] * between.x.shape[1],
        layer=np.zeros(between.x.shape[:2]),
        bolt_flexibility=np.full(walls[0].hole_x.shape, IDLE),
        bore_area=0.25 * np.pi * walls[0].bore_d ** 2,
    )
    state = glued(pair, np.ones(len(batch.bodies))).response
    bores = pair.flexibility.points.bores
    outputs = state.outputs
    return (
        state.points[:, pair.flexibility.points.bore],
        outputs[:, 2 * bores : 3 * bores],
        500.0 * outputs[:, 0 : 2 * bores : 2],
    )


def fitted(data: Sequence[Batch], start: FrameConstants) -> FrameConstants:
    """Least squares of the logarithm of opening (robust against single bodies), then of the swept volume."""

    def shape_of(values: Array) -> FrameConstants:
        return dataclasses.replace(start, **dict(zip(SHAPE, map(float, values), strict=True)))

    def misfit(values: Array) -> Array:
        pairs = ((b, answer(b, shape_of(values))[0]) for b in data if not b.blind.all())
        return np.concatenate([np.log(own / b.opening)[~b.blind].ravel() for b, own in pairs])

    first = [getattr(start, k) for k in SHAPE]
    shaped = shape_of(least_squares(misfit, first, loss="soft_l1", f_scale=0.05, diff_step=1e-3).x)

    def swept(values: Array) -> Array:
        held = dataclasses.replace(shaped, bore_restraint=float(values[0]))
        pairs = ((b, answer(b, held)[1]) for b in data if not b.blind.all())
        return np.concatenate([(own - b.swept)[~b.blind].ravel() for b, own in pairs])

    return dataclasses.replace(
        shaped, bore_restraint=float(least_squares(swept, [start.bore_restraint]).x[0])
    )


def statistics(errors: Array) -> str:
    """Bias, scatter (1 s) and worst of relative errors."""
    worst = errors[np.abs(errors).argmax()]
    return f"{errors.size:4d} bores: bias {errors.mean():+6.1%}  scatter {errors.std(ddof=1):5.1%}  worst {worst:+6.1%}"


def report(data: Sequence[Batch], constants: FrameConstants) -> str:
    """Errors by group and by family of bodies."""
    errors, swept, tilt = defaultdict(list), defaultdict(list), defaultdict(list)
    for b in data:
        opening, volume, lean = answer(b, constants)
        for i, name in enumerate(b.names):
            group = "blind" if b.blind[i] else "fit"
            family = name.split("_")[0]
            for key in ((group, "all"), (group, family)):
                errors[key].append(opening[i] / b.opening[i] - 1.0)
                area = np.array([0.25 * np.pi * q.diameter**2 for q in b.bodies[i].outboard.bores])
                swept[key].append((volume[i] - b.swept[i]) / (area * b.opening[i]))
                tilt[key].append(lean[i] / b.tilt[i] - 1.0)
    lines = [f"constants: {constants}"]
    for group, family in sorted(errors, key=lambda k: (k[0] != "fit", k[1] != "all", k[1])):
        own = [np.concatenate(d[group, family]) for d in (errors, swept, tilt)]
        lines.append(f"{group:5s} {family:8s} opening {statistics(own[0])}")
        if family == "all":
            lines.append(f"{'':14s} volume of bore walls / of floors {statistics(own[1])}")
            lines.append(f"{'':14s} tilt (not published) {statistics(own[2])}")
    return "\n".join(lines)


def main(argv: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--shipped", action="store_true", help="do not fit: errors of the shipped constants")
    parser.add_argument("--solids", type=Path, default=HERE, help="folder of bodies.csv and results.csv")
    options = parser.parse_args(argv)
    data = batches(options.solids)
    print(report(data, FITTED if options.shipped else fitted(data, FITTED)))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
