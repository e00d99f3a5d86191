"""Fit how joint faces give way to the stored solids: `python studies/solid_check/fit_faces.py`.

Two-piece bodies of the `fit` group choose the constants of `stiffcalc.mechanics.elastic_faces`: least sum of squares
of the front view's opening and bolt forces over the pressure sweep and of the onset pressure, each against what an
engineer would still accept. The `blind` group only shows what they are worth.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np
from bodies import body_of_row
from dataset import read_rows

from stiffcalc.caliper import response
from stiffcalc.caliper.body import Body
from stiffcalc.condensed import Array, Flexibility
from stiffcalc.mechanics.elastic_faces import FITTED, FaceConstants
from stiffcalc.mechanics.opening import onset as opening_of

HERE = Path(__file__).parent
GIVES, HEIGHTS, SEATS = (1.3, 1.4, 1.5, 1.6, 1.7), (0.6, 0.65, 0.7, 0.75, 0.8, 0.9), (0.25, 0.3, 0.35, 0.4)
OPENING, FORCE_N, ONSET = 0.015, 300.0, 0.15  # errors of one sigma
REAL_ONSET_MPa = 1.0  # below, the solid's face is all but open when tightened


@dataclass(frozen=True)
class Swept:
    """One two-piece body with its solid's answers over P pressures."""

    group: str
    body: Body
    halves: Flexibility  # front view, both together
    preload: Array  # (J,)
    pressure: Array  # (P,)
    opening: Array  # (P, B) um/MPa
    increment: Array  # (P, J) N
    onset: float  # MPa


@dataclass(frozen=True)
class Errors:
    """Relative errors of opening (P, B), errors of bolt forces (P, J) N, relative errors of onset (0 or 1,)."""

    opening: Array
    increment: Array
    onset: Array


def main() -> None:
    bodies = load()
    print(
        f"{'give':>5} {'height':>6} {'seat':>5} | fit: cost, rms opening, force, onset, worst opening | blind"
    )
    ranked = sorted(((cost(bodies, c), c) for c in candidates()), key=lambda item: item[0])
    for value, constants in [*ranked[:5], (cost(bodies, FITTED), FITTED)]:
        print(f"{constants.give:5.2f} {constants.height:6.2f} {constants.seat:5.2f} | {value:.3f} ", end="")
        print(" | ".join(summary([b for b in bodies if b.group == g], constants) for g in ("fit", "blind")))


def candidates() -> list[FaceConstants]:
    return [FaceConstants(give=g, height=h, seat=s) for g, h, s in product(GIVES, HEIGHTS, SEATS)]


def load() -> list[Swept]:
    """Every stored two-piece body, its halves condensed by the front view."""
    results = read_rows(HERE / "results.csv")
    found = []
    for row in read_rows(HERE / "bodies.csv"):
        rows = [r for r in results if r["body"] == row["body"] and r["state"] == "sweep"]
        if rows:
            found.append(swept(row, rows))
    return found


def swept(row: dict[str, str], rows: Sequence[dict[str, str]]) -> Swept:
    body, preload = body_of_row(row)
    bores = len(body.outboard.bores)
    return Swept(
        group=row["group"],
        body=body,
        halves=response.front_view_pair(body)[0].flexibility,
        preload=float(rows[0]["preload_scale"]) * preload,
        pressure=np.array([float(r["pressure_MPa"]) for r in rows[::bores]]),
        opening=np.array([float(r["opening_um_per_MPa"]) for r in rows]).reshape(-1, bores),
        increment=np.array([json.loads(r["bolt_increment_N"]) for r in rows[::bores]]),
        onset=float(rows[0]["onset_MPa"]),
    )


def errors(case: Swept, constants: FaceConstants) -> Errors:
    pair = response.joined(case.body, case.halves, constants=constants)
    found = response.answer(pair, case.body, preload=case.preload[None, None], pressure=case.pressure)
    opening = 1e3 * found.openings.by_bore[0, 0] / case.pressure[:, None]
    assert found.tightened is not None
    onset = (
        opening_of(pair, found.tightened).pressure.min() / case.onset - 1.0
        if case.onset > REAL_ONSET_MPa
        else []
    )
    return Errors(
        opening / case.opening - 1.0, found.change.bolt[0, 0] - case.increment, np.atleast_1d(onset)
    )


def pooled(cases: Sequence[Swept], constants: FaceConstants) -> Errors:
    all_of = [errors(case, constants) for case in cases]
    return Errors(
        *(np.concatenate([getattr(e, k).ravel() for e in all_of]) for k in ("opening", "increment", "onset"))
    )


def cost(cases: Sequence[Swept], constants: FaceConstants) -> float:
    found = pooled([c for c in cases if c.group == "fit"], constants)
    parts = (found.opening / OPENING, found.increment / FORCE_N, found.onset / ONSET)
    return float(sum(np.mean(part**2) for part in parts))


def summary(cases: Sequence[Swept], constants: FaceConstants) -> str:
    found = pooled(cases, constants)
    worst = np.abs(found.opening).max()
    return (
        f"{rms(found.opening):.2%} {rms(found.increment):4.0f} N {rms(found.onset):4.0%}, worst {worst:.1%}"
    )


def rms(values: Array) -> float:
    return float(np.sqrt(np.mean(values**2)))


if __name__ == "__main__":
    main()
