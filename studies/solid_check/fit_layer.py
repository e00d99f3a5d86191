"""Fit the depth of a joint face's elastic layer to the stored solids: `python studies/solid_check/fit_layer.py`.

Two-piece bodies of the `fit` group choose it (least rms error of the front view's opening over the pressure sweep); the
`blind` group only shows what it is worth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from bodies import body_of_row
from dataset import read_rows

from stiffcalc.caliper import idealise, response
from stiffcalc.caliper.body import Body
from stiffcalc.condensed import Array, Flexibility
from stiffcalc.mechanics.faces import elastic_layer

HERE = Path(__file__).parent
DEPTHS = np.arange(0.40, 0.701, 0.02)


@dataclass(frozen=True)
class Swept:
    """One two-piece body with its solid's openings (P, B), um/MPa."""

    group: str
    body: Body
    halves: Flexibility  # front view, both together
    preload: Array  # (J,)
    pressure: Array  # (P,)
    solid: Array


def main() -> None:
    bodies = load()
    print("depth   rms fit   rms blind   worst blind")
    for depth in DEPTHS:
        fit, blind = (errors([b for b in bodies if b.group == g], depth) for g in ("fit", "blind"))
        print(f"{depth:5.2f} {rms(fit):9.2%} {rms(blind):11.2%} {np.abs(blind).max():13.2%}")


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
        solid=np.array([float(r["opening_um_per_MPa"]) for r in rows]).reshape(-1, bores),
    )


def errors(bodies: Sequence[Swept], depth: float) -> Array:
    """Relative errors of opening, all bores and pressures."""
    return np.concatenate([error(b, depth).ravel() for b in bodies])


def error(case: Swept, depth: float) -> Array:
    layer = elastic_layer(idealise.bridges([case.body]), depth=depth)
    pair = response.joined([case.body], case.halves, layer=layer)
    found = response.answer(pair, [case.body], preload=case.preload[None, None], pressure=case.pressure)
    return 1e3 * found.openings.by_bore[0, 0] / case.pressure[:, None] / case.solid - 1.0


def rms(values: Array) -> float:
    return float(np.sqrt((values**2).mean()))


if __name__ == "__main__":
    main()
