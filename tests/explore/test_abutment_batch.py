"""Abutments and lugs of many designs read at once: the same numbers, faults and words as of each alone."""

from typing import Any

import numpy as np
from test_sweep_read import ODD, demo, of, same


def with_abutments() -> dict[str, Any]:
    found = demo("sweep_two_piece.toml")
    x, z = found["caliper"]["bridge"][1]["x_mm"][0], [14.0, 28.0]
    low = float(np.sqrt((found["rotor"]["outer_radius_mm"] + 3.0) ** 2 - x**2)) + 0.5
    ends = [{"bridge": b["name"], "y_mm": [low, low + 12.0], "z_mm": z} for b in found["caliper"]["bridge"]]
    ends[1:] = [ends[1] | {"half": half} for half in ("inboard", "outboard")]
    found["caliper"]["abutment"] = ends
    ear = {"x_mm": 60.0, "y_mm": 91.0, "diameter_mm": 20.0, "hole_mm": 9.0, "height_mm": 20.0}
    boss = ear | {"x_mm": 20.0, "y_mm": 165.0, "height_mm": 5.0, "stands": "on outer face"}
    found["caliper"]["lug"] = [ear, boss]
    found["caliper"]["wall"]["pockets"] = [{"x_mm": [20.0, 30.0], "y_mm": [146.0, 152.0], "depth_mm": 4.0}]
    return found


def test_any_number_set_to_what_it_may_not_be() -> None:
    job, own = of(with_abutments(), {})
    choices = np.tile(own, (len(own), len(ODD), 1))
    for k in range(len(own)):
        choices[k, :, k] = [*ODD[:3], *(share * own[k] for share in ODD[3:])]
    refused, _ = same(job, np.concatenate([own[None], choices.reshape(-1, len(own))]))
    assert len(own) < refused < choices.size // len(own)


def test_all_numbers_drawn_at_once() -> None:
    job, own = of(with_abutments(), {})
    draw = np.random.default_rng(7)
    scale = draw.choice([0.002, 0.01], size=(60, 1))
    refused, batches = same(job, own * (1.0 + scale * draw.standard_normal((60, len(own)))))
    assert 10 < refused < 60 and batches
