"""Solve samples and append their rows to bodies.csv and results.csv, one body at a time."""

from __future__ import annotations

import csv
import json
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from random_bodies import Sample, row_of
from solid import Joint, Opening, Solid, build, glued, joint, preload_scale
from solid_mesh import Sizes

from stiffcalc.caliper.body import BoltShape, BoreShape
from stiffcalc.condensed import Array

PRESSURES = (2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 16.0)
DIGITS = 8


def standard_names(count: int) -> list[str]:
    """The first `count` of the standard list: one-piece and two-piece in turn, then pockets, then unequal halves."""
    pairs = [f"{kind}_{n:02d}" for n in range(1, 33) for kind in ("one", "two")]
    extra = [f"one_{n:02d}" for n in range(33, 37)]
    extra += [f"pocket_{n:02d}" for n in range(1, 11)] + [f"unequal_{n:02d}" for n in range(1, 7)]
    return (pairs + extra)[:count]


def solve_sample(
    sample: Sample, *, sizes: Sizes | None = None
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """The body's row of bodies.csv and its rows of results.csv (one a state and bore)."""
    began = time.perf_counter()
    solid = build(sample.body, sizes=sizes)
    rows = list(_state_rows(sample, solid, "glued", glued(solid)))
    if sample.body.bolts:
        rows += _joint_rows(sample, solid)
    seconds = round(time.perf_counter() - began, 2)
    row = row_of(sample) | {
        "unknowns": solid.unknowns,
        "seconds": seconds,
        "cad_volume_mm3": round(solid.cad_volume, 2),
        "mesh": json.dumps(vars(sizes or Sizes())),
    }
    return row, rows


def _joint_rows(sample: Sample, solid: Solid) -> list[dict[str, Any]]:
    scale = preload_scale(solid, preload=sample.preload, pressure=PRESSURES[-1], remaining=sample.remaining)
    answer = joint(solid, preload=sample.preload, pressures=PRESSURES, scale=scale)
    common = {
        "preload_scale": _plain(scale),
        "onset_MPa": _plain(answer.onset),
        "onset_x_mm": _plain(answer.onset_point[0]),
        "onset_y_mm": _plain(answer.onset_point[1]),
        "tightened_contact": _plain(answer.tightened_contact),
    }
    rows = [row | common for row in _state_rows(sample, solid, "closed", answer.closed)]
    return rows + [row | common for row in _sweep_rows(sample, solid, answer)]


def _sweep_rows(sample: Sample, solid: Solid, answer: Joint) -> Iterator[dict[str, Any]]:
    bolts = sample.body.bolts
    for point in answer.points:
        increment = point.bolt_increment[_sources(bolts, solid.bolts)]
        more = {
            "pressure_MPa": point.pressure,
            "contact_fraction": _plain(point.contact),
            "bolt_increment_N": json.dumps([round(float(v), 3) for v in increment]),
        }
        for row in _state_rows(sample, solid, "sweep", point.per_MPa):
            yield row | more


def _state_rows(sample: Sample, solid: Solid, state: str, answer: Opening) -> Iterator[dict[str, Any]]:
    """One row a bore of the whole body; mirrored bores repeat the modelled ones, their yaw with the other sign."""
    bores = sample.body.outboard.bores
    for index, source in enumerate(_sources(bores, solid.bores)):
        mirrored = solid.bores[source] != index
        yield {
            "body": sample.name,
            "group": sample.group,
            "kind": "two-piece" if sample.body.bolts else "one-piece",
            "state": state,
            "bore": index,
            "opening_um_per_MPa": _plain(answer.opening[source]),
            "tilt_mrad_per_MPa": _plain(answer.tilt[source]),
            "yaw_mrad_per_MPa": _plain(answer.yaw[source] * (-1.0 if mirrored else 1.0)),
            "floor_volume_mm3_per_MPa": _plain(answer.floor_volume[source]),
            "bore_wall_volume_mm3_per_MPa": _plain(answer.bore_wall_volume[source]),
        }


def _sources(shapes: Sequence[BoreShape] | Sequence[BoltShape], modelled: Sequence[int]) -> Array:
    """For each shape, the position in `modelled` of itself or of its mirror image."""
    places = np.array([[s.x, s.y] for s in shapes])
    kept = places[list(modelled)]
    distance = np.abs(np.abs(places[:, None, 0]) - np.abs(kept[None, :, 0])) + np.abs(
        places[:, None, 1] - kept[None, :, 1]
    )
    own = np.isin(np.arange(len(shapes)), modelled)
    nearest = distance.argmin(axis=1)
    nearest[own] = [list(modelled).index(i) for i in np.flatnonzero(own)]
    return nearest


def _plain(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


RESULT_COLUMNS = (
    *("body", "group", "kind", "state", "pressure_MPa", "preload_scale", "bore"),
    *("opening_um_per_MPa", "tilt_mrad_per_MPa", "yaw_mrad_per_MPa"),
    *("floor_volume_mm3_per_MPa", "bore_wall_volume_mm3_per_MPa", "contact_fraction", "bolt_increment_N"),
    *("onset_MPa", "onset_x_mm", "onset_y_mm", "tightened_contact"),
)


def append(path: Path, rows: Sequence[Mapping[str, Any]], columns: Sequence[str]) -> None:
    """Add rows to a CSV file, with the header when it is new."""
    new = not path.exists()
    with path.open("a", newline="") as stream:
        writer = csv.DictWriter(stream, columns, restval="", lineterminator="\n")
        if new:
            writer.writeheader()
        writer.writerows(rows)


def done(path: Path) -> set[str]:
    """Names of the bodies a CSV file already holds."""
    if not path.exists():
        return set()
    with path.open(newline="") as stream:
        return {row["body"] for row in csv.DictReader(stream)}


def read_rows(path: Path) -> list[dict[str, str]]:
    """All rows of a CSV file, as text."""
    with path.open(newline="") as stream:
        return list(csv.DictReader(stream))


def as_text(row: Mapping[str, Any]) -> dict[str, str]:
    """The row as it reads back from its file."""
    blank = dict.fromkeys(RESULT_COLUMNS, "") if "state" in row else {}
    return blank | {key: str(value) for key, value in row.items()}
