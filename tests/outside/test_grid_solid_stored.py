"""Grid solids of whole bodies against stored solids with contact (studies/solid_check), which are none of theirs.

The stored ones: ten-node tetrahedra meshed by gmsh, condensed to nodes of their faces; onset good to 2 %.
"""

import csv
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("gmsh", reason="the front view meshes with gmsh")

from bodies import body_of_row

from stiffcalc.caliper import response
from stiffcalc.caliper.solid_cases import BEARING
from stiffcalc.caliper.solid_faces import closed_faces, closed_fields, joined_solid
from stiffcalc.grid_solid.contact import Clamp, Face, sweep
from stiffcalc.mechanics.joint import tighten
from stiffcalc.mechanics.opening import onset

FOLDER = Path(__file__).parents[2] / "studies" / "solid_check"


def rows(file: Path, body: str) -> list[dict[str, str]]:
    with file.open(newline="") as stream:
        return [r for r in csv.DictReader(stream) if r["body"] == body]


@pytest.mark.parametrize("place", ["third_seed/two_21"])
def test_whole_bodies_do_as_their_stored_solids(place: str) -> None:
    folder, name = place.split("/")
    body, preload = body_of_row(rows(FOLDER / folder / "bodies.csv", name)[0])
    stored = [r for r in rows(FOLDER / folder / "results.csv", name) if r["state"] == "sweep"]
    preload = preload * float(stored[0]["preload_scale"])
    solid = joined_solid(body)
    bores = len(solid.half.bores)

    pair = response.front_view_pair(body)[0]
    closed = replace(pair, closed=closed_faces(closed_fields(solid), pair))
    found = onset(closed, tighten(closed, preload[None, None])).pressure
    assert float(found.min()) == pytest.approx(float(stored[0]["onset_MPa"]), rel=0.1)

    touching, faces = solid.touching, solid.trace
    face = Face(faces.value[touching], faces.weight[touching], faces.points[touching], spring=BEARING)
    bars = np.array([1.0 / response.bar_flexibility(body, j) for j in range(len(preload))])
    line = np.ones(len(solid.pair.C))
    line[solid.heads] = 0.0
    wanted = [r for r in stored if r["bore"] == "0"]
    pressures = [float(r["pressure_MPa"]) for r in wanted]
    tight, *states = sweep(
        solid.pair,
        face,
        Clamp(solid.heads, bars, preload, np.ones(len(preload))),
        load=line,
        pressures=pressures,
    )
    area = 0.25 * np.pi * np.array([b.diameter for b in solid.half.bores]) ** 2
    assert len(states) == 7
    for state, row, p in zip(states, wanted, pressures, strict=True):
        more = state.bolt_force - tight.bolt_force
        assert more == pytest.approx(np.array(json.loads(row["bolt_increment_N"])), abs=400.0)
        assert state.contact == pytest.approx(float(row["contact_fraction"]), abs=0.05)
        opening = 1e3 * (state.outputs - tight.outputs)[:bores] / area / p
        openings = [
            float(r["opening_um_per_MPa"]) for r in stored if r["pressure_MPa"] == row["pressure_MPa"]
        ]
        assert opening == pytest.approx(openings, rel=0.05)
