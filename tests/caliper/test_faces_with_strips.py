"""A joint face in which a bolt hole leaves two strips whose centres all but coincide: contact still has one answer."""

import csv
from pathlib import Path

import numpy as np
import pytest
from bodies import body_of_row

from stiffcalc.caliper import idealise, response

FOLDER = Path(__file__).parents[2] / "studies" / "solid_check" / "sixth_seed"


@pytest.fixture(scope="module")
def stored():
    """Body, preload and row of a two-piece body with such holes."""
    rows = {}
    for name in ("bodies", "results"):
        with (FOLDER / f"{name}.csv").open(newline="") as file:
            of = [r for r in csv.DictReader(file) if r["body"] == "two_07"]
        rows[name] = next(r for r in of if r.get("state", "sweep") == "sweep")
    body, preload = body_of_row(rows["bodies"])
    return body, float(rows["results"]["preload_scale"]) * preload


def test_nothing_on_a_face_gives_the_wrong_way(stored):
    give = idealise.clamp_faces(stored[0], give=True).give[0]
    value = np.linalg.eigvalsh(give)
    assert np.all(value[:, 0] > -1e-9 * value[:, -1])


def test_equilibrium_is_found_at_every_pressure(stored):
    """Between 2.5 and 3 MPa contact went round in circles while two eigenvalues were negative."""
    body, preload = stored
    pressure = np.arange(0.5, 6.1, 0.25)
    found = response.answer(
        response.frame_pair(body), body, preload=preload[None, None], pressure=pressure
    ).openings.spread[0, 0]
    assert np.all(np.diff(found / pressure) > -1e-6) and found[-1] / pressure[-1] > found[0] / pressure[0]
