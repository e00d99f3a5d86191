"""Fit what a clamped pad gives to the solids of pad_solid.py (even numbers) and print the errors there and on odd ones.

    python studies/solid_check/fit_pads.py

couple, tip and turn come from the local blocks, each on its own; slide from the openings of whole bodies (front view),
for it depends on how the wall bends round its slot. Of what bar and wall share, sliding takes a third from the bar.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np
from pad_solid import BODIES, LOCAL, SEED, E, Pad, random_body, random_pad
from scipy.optimize import least_squares

from stiffcalc.caliper import response
from stiffcalc.caliper.body import Body, PadShape
from stiffcalc.condensed import Array
from stiffcalc.mechanics.joint_state import Pair
from stiffcalc.mechanics.pads import FITTED, PadConstants, pad_flexibility

HERE = Path(__file__).parent
FIT, BLIND = slice(0, None, 2), slice(1, None, 2)
BAR_SHARE = 1.0 / 3.0  # of sliding, as in the local blocks
Row = Mapping[str, str]


def rows(name: str) -> list[Row]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def numbers(table: Sequence[Row], key: str) -> Array:
    return np.array([float(r[key]) for r in table])


# Local blocks


def measured(table: Sequence[Row]) -> dict[str, Array]:
    """couple, tip and turn of each block: the flexibility taken to the seat."""
    lever = 0.5 * numbers(table, "height")
    tip = numbers(table, "Mx_Mx")
    return {"couple": numbers(table, "N_Mx") - lever * tip, "tip": tip, "turn": numbers(table, "My_My")}


PLACE = {"couple": (0, 1), "tip": (1, 1), "turn": (2, 2)}


def predicted(table: Sequence[Row], constants: PadConstants) -> dict[str, Array]:
    found = pad_flexibility(
        width=numbers(table, "width"),
        height=numbers(table, "height"),
        length=numbers(table, "length"),
        lever=0.0,
        E_wall=E,
        E_bar=numbers(table, "E_bar"),
        constants=constants,
    )
    return {name: found[:, i, j] for name, (i, j) in PLACE.items()}


def fitted_locally(table: Sequence[Row], constants: PadConstants) -> PadConstants:
    """couple, tip and turn by least squares of logarithms, every figure kept above zero."""
    target = measured(table)
    for name in PLACE:
        start = np.log(getattr(constants, name))

        def misfit(values: Array, name: str = name, known: PadConstants = constants) -> Array:
            tried = replace(known, **{name: tuple(np.exp(values))})
            return np.log(predicted(table, tried)[name] / target[name])[FIT]

        found = np.exp(least_squares(misfit, start).x)
        constants = replace(constants, **{name: tuple(float(v) for v in found)})
    return constants


# Whole bodies


@dataclass(frozen=True)
class Case:
    """One body with the pair of a model without pads, and its solids' openings, um per MPa."""

    body: Body
    pair: Pair
    integral: float
    pads: float


def cases(table: Sequence[Row], join: Callable[[Body], Pair]) -> list[Case]:
    """Bodies drawn again from the seed."""
    draw = np.random.default_rng(SEED)
    for _ in range(LOCAL):
        random_pad(draw)
    drawn = [random_body(draw) for _ in range(BODIES)]
    return [
        Case(with_pad(body, pad), join(body), float(row["integral_um"]), float(row["pads_um"]))
        for (body, pad), row in zip(drawn, table, strict=True)
        if checked(pad, row)
    ]


def checked(pad: Pad, row: Row) -> bool:
    """That the stored body is the one drawn."""
    if any(abs(float(row[f.name]) - getattr(pad, f.name)) > 1e-6 for f in fields(pad)):
        raise ValueError(f"body {row['body']} is not the one of seed {SEED}")
    return True


def with_pad(body: Body, pad: Pad) -> Body:
    bar = body.bridges[-1]
    places = tuple(float(x) for x in pad.places)
    # what its bolts are like does not matter here
    shape = PadShape(pad.length, bar.y0, places, pad.length / 2, pad.hole, 13.0, 7.2, depth=12.0)
    return replace(body, bridges=(*body.bridges[:-1], replace(bar, pads=shape)))


def spread(case: Case, constants: PadConstants | None) -> float:
    """um per MPa; None: in one piece."""
    pair = case.pair
    if constants is not None:
        both = response.with_pads(pair.flexibility, case.body, constants=constants)
        pair = replace(pair, flexibility=both)
    found = response.answer(pair, case.body, preload=np.zeros((1, 1, 0)), pressure=np.ones(1))
    return 1e3 * float(found.openings.spread[0, 0, 0])


def softening(data: Sequence[Case], constants: PadConstants) -> tuple[Array, Array]:
    """Opening that pads add beyond the bar in one piece, model and solid, um per MPa."""
    model = np.array([spread(c, constants) - spread(c, None) for c in data])
    return model, np.array([c.pads - c.integral for c in data])


def fitted_on_bodies(data: Sequence[Case], constants: PadConstants) -> PadConstants:
    """slide by least squares of the opening's error."""
    whole = np.array([c.pads for c in data])

    def of(total: float) -> PadConstants:
        return replace(constants, slide=((1.0 - BAR_SHARE) * total, BAR_SHARE * total))

    def misfit(total: Array) -> Array:
        model, solid = softening(data, of(float(total[0])))
        return ((model - solid) / whole)[FIT]

    return of(float(least_squares(misfit, [sum(constants.slide)], diff_step=0.02).x[0]))


def statistics(error: Array) -> str:
    worst = error[np.argmax(np.abs(error))]
    return f"{error.mean():+6.1%} bias, {error.std():5.1%} scatter, {worst:+6.1%} worst ({len(error)})"


def main() -> int:
    local, bodies = rows("pad_local.csv"), rows("pad_bodies.csv")
    front = cases(bodies, lambda b: response.front_view_pair(b)[0])
    frame = cases(bodies, lambda b: response.frame_pair(b))
    constants = fitted_on_bodies(front, fitted_locally(local, FITTED))
    print(constants)
    print(f"shipped: {FITTED}")
    for group, part in (("fit", FIT), ("blind", BLIND)):
        for name, model in predicted(local, FITTED).items():
            print(
                f"{group:5s} local {name:7s}         {statistics((model / measured(local)[name] - 1)[part])}"
            )
        for model_name, data in (("front view", front), ("frame", frame)):
            model, solid = softening(data, FITTED)
            whole = np.array([c.pads for c in data])
            print(f"{group:5s} {model_name:10s} added      {statistics((model / solid - 1)[part])}")
            print(f"{group:5s} {model_name:10s} of opening {statistics(((model - solid) / whole)[part])}")
            own = np.array([spread(c, FITTED) for c in data])
            print(f"{group:5s} {model_name:10s} opening    {statistics((own / whole - 1)[part])}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
