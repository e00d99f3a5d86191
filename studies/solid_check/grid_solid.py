"""The solids on a grid of `assess --solid` beside the stored 3-D solids: onset, bolt forces, openings.

    python studies/solid_check/grid_solid.py       adds to grid_solid.csv, some ten seconds a body on one core

Two-piece bodies of all four seeds and those of real shape. Onset is asked as `assess --solid` asks it. The other
figures are taken over the stored pressures, closed to strongly open. Nothing in the grid solids was fitted to a solid;
how fine their cells are was chosen with these figures in view.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import dataset
import numpy as np
from bodies import body_of_row
from compare import REAL_ONSET_MPa, Row, stored_clamped, stored_openings

from stiffcalc.caliper.response import first_loss, front_view_pair
from stiffcalc.caliper.solid_cases import states
from stiffcalc.caliper.solid_faces import closed_faces, closed_fields, joined_solid
from stiffcalc.mechanics.joint import tighten

HERE = Path(__file__).parent
FOLDERS = {n: n for n in ("fifth_seed", "third_seed", "fourth_seed", "shapes", "second_seed")} | {
    "first_seed": ""
}
OUT = HERE / "grid_solid.csv"


@dataclass(frozen=True)
class Line:
    """One body. MPa, N, shares; onset 0: gapes when tightened. Bolt forces: greatest errors, and greatest force."""

    folder: str
    body: str
    solid_onset_MPa: float
    plate_onset_MPa: float
    grid_onset_MPa: float
    bolts_worst_N: float
    bolts_worst_half_N: float  # while half of the joint touches
    bolts_greatest_N: float
    opening_mean: float
    opening_worst: float
    contact_worst: float


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--stored", action="store_true", help="sum up grid_solid.csv, solve nothing")
    parser.add_argument(
        "--folders", nargs="+", choices=list(FOLDERS), default=list(FOLDERS), help="of these solids alone"
    )
    options = parser.parse_args(argv)
    if not options.stored:
        known = {(r["folder"], r["body"]) for r in dataset.read_rows(OUT)} if OUT.exists() else set()
        for line in solved(options.folders, known):
            print(line, flush=True)
            dataset.append(OUT, [asdict(line)], list(asdict(line)))
    print(summary(dataset.read_rows(OUT)))
    return 0


def solved(folders: Sequence[str], known: set[tuple[str, str]]) -> Iterator[Line]:
    """Every stored two-piece body that is not known yet, those with a real onset first."""
    wanted = []
    for folder in folders:
        results = dataset.read_rows(HERE / FOLDERS[folder] / "results.csv")
        for row in dataset.read_rows(HERE / FOLDERS[folder] / "bodies.csv"):
            if row["kind"] == "two-piece" and (folder, row["body"]) not in known:
                stored = [r for r in results if r["body"] == row["body"] and r["state"] == "sweep"]
                wanted.append((folder, row, stored))
    wanted.sort(key=lambda item: float(item[2][0]["onset_MPa"]) <= REAL_ONSET_MPa)
    return (line(*item) for item in wanted)


def line(folder: str, row: Row, stored: list[Row]) -> Line:
    """One body; `stored` are its rows over pressure."""
    body, nominal = body_of_row(row)
    preload = float(stored[0]["preload_scale"]) * nominal
    bores = len(body.outboard.bores)
    known, opening = stored_clamped(stored[::bores]), stored_openings(stored, bores)
    pressure = np.array([float(r["pressure_MPa"]) for r in stored[::bores]])
    solid, (pair, _) = joined_solid(body), front_view_pair(body)
    tightened = tighten(pair, preload[None, None])
    by_solid = replace(pair, closed=closed_faces(closed_fields(solid), pair))
    onsets = [float(np.nanmin(first_loss(p, tightened).pressure)) for p in (pair, by_solid)]
    tight, *loaded = states(solid, preload, pressure.tolist())
    area = 0.25 * np.pi * np.array([b.diameter for b in body.outboard.bores]) ** 2
    found = np.array([(s.outputs - tight.outputs)[:bores] / area for s in loaded])
    off = 1e3 * found / pressure[:, None] / opening - 1.0
    bolts = np.array([s.bolt_force - tight.bolt_force for s in loaded]) - known.increment
    half = np.abs(bolts[known.contact > 0.5])
    figures = (
        known.onset,
        *onsets,
        np.abs(bolts).max(),
        half.max(initial=0.0),
        np.abs(known.increment).max(),
    )
    contact = np.array([s.contact for s in loaded]) - known.contact
    shares = (off.mean(), off.flat[np.abs(off).argmax()], contact[np.abs(contact).argmax()])
    return Line(folder, row["body"], *(float(f"{v:.4g}") for v in (*figures, *shares)))


def summary(rows: list[Row]) -> str:
    """Over all bodies."""
    value = {k: np.array([float(r[k]) for r in rows]) for k in rows[0] if k not in ("folder", "body")}
    real = value["solid_onset_MPa"] > REAL_ONSET_MPa
    lines = [f"{len(rows)} bodies, {real.sum()} with an onset above {REAL_ONSET_MPa:g} MPa"]
    for name in ("plate", "grid"):
        off = value[f"{name}_onset_MPa"][real] / value["solid_onset_MPa"][real] - 1.0
        size = np.abs(off)
        lines.append(
            f"onset, {name}: within 5 % {np.mean(size <= 0.05):.0%}, 10 % {np.mean(size <= 0.1):.0%}, "
            f"rms {np.sqrt(np.mean(off**2)):.1%}, worst {off[size.argmax()]:+.1%}"
        )
    gapes = value["solid_onset_MPa"] == 0.0
    lines.append(
        f"gape when tightened: solids {gapes.sum()}, grid too {(value['grid_onset_MPa'][gapes] == 0).sum()}"
    )
    worst, half = value["bolts_worst_N"], value["bolts_worst_half_N"]
    lines += [
        f"bolt forces: worst {worst.max():.0f} N, bodies within 400 N {np.mean(worst <= 400):.0%}; while half touches "
        f"worst {half.max():.0f} N; of the greatest force at worst {(worst / value['bolts_greatest_N']).max():.1%}",
        f"opening: mean of bodies {value['opening_mean'].mean():+.1%} +- {value['opening_mean'].std(ddof=1):.1%}, "
        f"worst {value['opening_worst'][np.abs(value['opening_worst']).argmax()]:+.1%}",
        f"share in contact: worst {value['contact_worst'][np.abs(value['contact_worst']).argmax()]:+.3f}",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
