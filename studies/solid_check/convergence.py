"""Mesh convergence of the solids: three bodies on three or four meshes, written to convergence.csv."""

from __future__ import annotations

import csv
from pathlib import Path

from dataset import PRESSURES, read_rows
from random_bodies import Sample, by_name
from solid import build, glued, joint
from solid_mesh import Sizes

HERE = Path(__file__).parent
FACTORS = (1.4, 1.0, 0.7)
FINEST = 0.5  # for the first body only
BODIES = ("one_04", "one_07", "two_07")
COLUMNS = (
    *("body", "size_factor", "unknowns", "bore", "state", "pressure_MPa"),
    *("opening_um_per_MPa", "tilt_mrad_per_MPa", "bore_wall_volume_mm3_per_MPa", "contact_fraction"),
)


def main() -> None:
    with (HERE / "convergence.csv").open("w", newline="") as stream:
        writer = csv.DictWriter(stream, COLUMNS, restval="", lineterminator="\n")
        writer.writeheader()
        for name in BODIES:
            for factor in (*FACTORS, FINEST) if name == BODIES[0] else FACTORS:
                writer.writerows(_rows(by_name(name), factor))
                stream.flush()
                print(name, factor, flush=True)


def _rows(sample: Sample, factor: float) -> list[dict[str, object]]:
    """Glued answer, and for a bolted body the stored sweep, on a mesh `factor` times as coarse as the standard."""
    solid = build(sample.body, sizes=Sizes().scaled(factor))
    states = [({"state": "glued"}, glued(solid))]
    if sample.body.bolts:
        scale = next(float(r["preload_scale"]) for r in read_rows(HERE / "results.csv") if _swept(r, sample))
        answer = joint(solid, preload=sample.preload, pressures=PRESSURES, scale=scale)
        states += [
            (
                {"state": "sweep", "pressure_MPa": p.pressure, "contact_fraction": round(p.contact, 5)},
                p.per_MPa,
            )
            for p in answer.points
        ]
    common = {"body": sample.name, "size_factor": factor, "unknowns": solid.unknowns}
    return [
        common
        | state
        | {
            "bore": bore,
            "opening_um_per_MPa": float(f"{found.opening[k]:.7g}"),
            "tilt_mrad_per_MPa": float(f"{found.tilt[k]:.7g}"),
            "bore_wall_volume_mm3_per_MPa": float(f"{found.bore_wall_volume[k]:.7g}"),
        }
        for state, found in states
        for k, bore in enumerate(solid.bores)
    ]


def _swept(row: dict[str, str], sample: Sample) -> bool:
    return row["body"] == sample.name and row["state"] == "sweep"


if __name__ == "__main__":
    main()
