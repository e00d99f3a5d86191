"""Every stored body once more on a coarser mesh, glued: how far the stored meshes are from the limit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from bodies import body_of_row
from dataset import append, done, read_rows
from solid import build, glued
from solid_mesh import Sizes

HERE = Path(__file__).parent
FACTOR = 1.4  # on every element size
ORDER = 1.5  # of convergence of the opening, seen over four meshes of one_04 (convergence.csv)
COLUMNS = ("body", "bore", "size_factor", "unknowns", "opening_um_per_MPa", "tilt_mrad_per_MPa")


def main() -> None:
    path = HERE / "coarse.csv"
    known = done(path)
    for row in (r for r in read_rows(HERE / "bodies.csv") if r["body"] not in known):
        solid = build(body_of_row(row)[0], sizes=Sizes().scaled(FACTOR))
        answer = glued(solid)
        lines = [
            {
                "body": row["body"],
                "bore": bore,
                "size_factor": FACTOR,
                "unknowns": solid.unknowns,
                "opening_um_per_MPa": float(f"{answer.opening[k]:.8g}"),
                "tilt_mrad_per_MPa": float(f"{answer.tilt[k]:.8g}"),
            }
            for k, bore in enumerate(solid.bores)
        ]
        append(path, lines, COLUMNS)
        print(row["body"], solid.unknowns, round(solid.seconds, 1), flush=True)
    for key in ("opening_um_per_MPa", "tilt_mrad_per_MPa"):
        print(key, _distance(key))


def _distance(key: str) -> str:
    """What the stored mesh lacks of the limit of ever finer meshes, in percent, over all bodies and bores."""
    stored = {
        (r["body"], r["bore"]): float(r[key])
        for r in read_rows(HERE / "results.csv")
        if r["state"] == "glued"
    }
    step = np.array(
        [stored[r["body"], r["bore"]] / float(r[key]) - 1.0 for r in read_rows(HERE / "coarse.csv")]
    )
    lack = 100.0 * step / (FACTOR**ORDER - 1.0)
    return f"below the limit by {lack.mean():.2f} +- {lack.std(ddof=1):.2f} %, {lack.min():.2f} to {lack.max():.2f} %"


if __name__ == "__main__":
    main()
