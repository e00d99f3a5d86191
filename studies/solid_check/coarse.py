"""Every stored body once more on a coarser mesh, glued: how far the stored meshes are from the limit."""

from __future__ import annotations

from pathlib import Path

from bodies import body_of_row
from dataset import append, done, read_rows
from solid import build, glued
from solid_mesh import Sizes

HERE = Path(__file__).parent
FACTOR = 1.4  # on every element size
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


if __name__ == "__main__":
    main()
