"""Designs read as batches are what the study reader makes of each alone: the same numbers, faults and words."""

import math
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import sweep_sample as sample

from stiffcalc.caliper.preloads import contradictions
from stiffcalc.condensed import Array
from stiffcalc.explore import sampling, sweep_read
from stiffcalc.explore.sweep_read import FIXED, Job
from stiffcalc.mechanics import trees
from stiffcalc.study import load
from stiffcalc.study.breach import SplitError, faults_of
from stiffcalc.study.reader import read_batch, read_design
from stiffcalc.study.schema import Level, SweepKey

STUDIES = Path(__file__).parents[2] / "studies"
WASHER = {"diameter_mm": 20.0, "thickness_mm": 2.0}
ODD = (math.nan, math.inf, -1.0, 0.5, 0.05)
ONE_PIECE = {"caliper.layout": "monoblock"}


def demo(name: str) -> dict[str, Any]:
    return tomllib.loads((STUDIES / name).read_text(encoding="utf-8"))


def rich() -> dict[str, Any]:
    """The sweep's demo with everything a two-piece body may have. Invented numbers."""
    found = demo("sweep_two_piece.toml")
    caliper = found["caliper"]
    caliper["port"] = {"x_mm": -74.5, "y_mm": 152.0}
    caliper["dowel"] = [{"x_mm": 73.0, "y_mm": 153.0, "diameter_mm": 6.0, "bore_mm": 2.0}]
    caliper["inboard"] = {
        "thickness_mm": 29.0,
        "pockets": [{"x_mm": [-20, 20], "y_mm": [150, 170], "depth_mm": 7}],
    }
    caliper["wall"]["pockets"] = [{"x_mm": [-40.0, -5.0], "y_mm": [104.0, 140.0], "depth_mm": 5.0}]
    caliper["bolt"][0] |= {"torque_Nm": 80.7, "preload_N": 45000.0, "tapped_depth_mm": 25.0, "friction": 0.13}
    caliper["bolt"][1] |= {
        "hole_mm": 11.0,
        "engagement_mm": 18.0,
        "friction_head": 0.14,
        "creep_loss_percent": 3.0,
    }
    caliper["bridge"][1]["fillet_mm"] = 5.0
    caliper["piston"] = {"wall_mm": 4.0}
    caliper["fittings_g"] = 46.0
    found["limits"]["clamp_force_N"] = 15000.0
    return found


def relieved() -> dict[str, Any]:
    found = demo("sweep_two_piece.toml")
    found["caliper"]["bridge"][0]["relief"] = {"x_mm": [-98.0, -92.0], "y_mm": [120.0, 145.0]}
    return found


def held(source: dict[str, Any]) -> dict[str, Any]:
    """The study with a centre bridge bolted in at its top."""
    caliper = source["caliper"]
    caliper["bridge"].append(
        {"name": "centre", "x_mm": [-12.0, 12.0], "y_mm": [160.0, 178.0], "kind": "bolted-in"}
    )
    caliper["bolt"].append({"x_mm": 0.0, "y_mm": 169.0, "thread": "M8x1.25", "grade": "10.9"})
    return source


def leaves(data: Any, path: str = "") -> Iterator[tuple[str, float]]:
    """Paths of the numbers that a batch may hold as arrays."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            if key not in FIXED:
                yield from leaves(value, f"{path}.{key}" if path else key)
    elif isinstance(data, list):
        for i, value in enumerate(data, start=1):
            yield from leaves(value, f"{path}[{i}]")
    elif isinstance(data, int | float) and not isinstance(data, bool):
        yield path, float(data)


def of(source: dict[str, Any], own: Mapping[str, object], *, but: str = " ") -> tuple[Job, Array]:
    """Every number of a study, `but` those, as a key of its own; and what the study has there."""
    free = {k: v for k, v in source.items() if k in sweep_read.FREE}
    found = [(path, value) for path, value in leaves(free) if not path.startswith(but)]
    keys = tuple(SweepKey(path, (path,), (), -1e9, 1e9, ()) for path, _ in found)
    return Job(source, own, sample.plan(layout="x", keys=keys)), np.array([value for _, value in found])


def same(job: Job, choices: Array) -> tuple[int, int]:
    """How many designs are refused and in how many batches the others are; each is what it is alone."""
    found, faults = sweep_read.read(job, choices)
    places = {int(row): (batch.design, d) for batch in found for d, row in enumerate(batch.rows)}
    assert len(places) + len(faults) == len(choices)
    for row, choice in enumerate(choices.tolist()):
        design, own = read_design(job.source, job.plan.layout, job.changes(tuple(choice)))
        own = own or tuple(faults_of(contradictions(design)))
        assert faults.get(row, ()) == own
        if not own:
            assert trees.single(*places[row]) == design
    return len(faults), len(found)


@pytest.mark.parametrize("source", [rich(), demo("centre_bridge.toml"), held(demo("sweep_two_piece.toml"))])
def test_any_number_set_to_what_it_may_not_be(source: dict[str, Any]) -> None:
    """One number at a time, all others as they are."""
    job, own = of(source, {})
    choices = np.tile(own, (len(own), len(ODD), 1))
    for k in range(len(own)):
        choices[k, :, k] = [*ODD[:3], *(share * own[k] for share in ODD[3:])]
    refused, _ = same(job, np.concatenate([own[None], choices.reshape(-1, len(own))]))
    assert len(own) < refused < choices.size // len(own)


@pytest.mark.parametrize(
    ("source", "own"),
    [
        (rich(), {}),
        (demo("centre_bridge.toml"), {}),
        (held(demo("sweep_two_piece.toml")), {}),
        (held(demo("sweep_two_piece.toml")), ONE_PIECE),
    ],
)
def test_all_numbers_drawn_at_once(source: dict[str, Any], own: dict[str, object]) -> None:
    job, known = of(source, own, but="caliper.bolt" if own else " ")  # own bolts would have to stay
    draw = np.random.default_rng(4)
    scale = draw.choice([0.002, 0.02, 0.2], size=(120, 1))
    refused, batches = same(job, known * (1.0 + scale * draw.standard_normal((120, len(known)))))
    assert 30 < refused < 120 and batches


def test_a_stepped_face_is_looked_at_design_by_design() -> None:
    job, known = of(relieved(), {})
    draw = np.random.default_rng(5)
    refused, batches = same(job, known * (1.0 + 0.01 * draw.standard_normal((20, len(known)))))
    assert 0 < refused < 20 and batches


def test_lists_split_what_differs_in_more_than_numbers() -> None:
    """Grades and numbers of bolts apart, whole tables and lists of numbers together; unknown names refused."""
    source = demo("sweep_two_piece.toml")
    two = [dict(b) for b in source["caliper"]["bolt"][::2]]
    entries: list[list[dict[str, object]]] = [
        [
            {"caliper.bolt": two},
            {"caliper.bolt": [{**b, "y_mm": 141.0} for b in two]},
            {"caliper.bolt[2].y_mm": 161},
        ],
        [{"caliper.bolt[1].grade": g} for g in ("10.9", "12.9", "99.9")],
        [{"caliper.bridge[1].x_mm": x} for x in ([-98, -66], [-98.0, -65.5], [-66, -98])],
        [{"load_case[1].pressure_MPa": p} for p in (7.0, 8)],
        [{"caliper.wall.thickness_mm": t} for t in (30, 31.5, 2_000_000, True, "thick")],
    ]
    keys = tuple(
        SweepKey(
            str(k), (), (), np.nan, np.nan, tuple(Level(str(i), np.nan, c) for i, c in enumerate(changes))
        )
        for k, changes in enumerate(entries)
    )
    job = Job(source, {}, sample.plan(layout="x", keys=keys))
    choices = (
        np.random.default_rng(6).integers(0, [len(e) for e in entries], (200, len(entries))).astype(float)
    )
    refused, batches = same(job, choices)
    assert batches == 2 * 2 * 2, "grades, numbers of bolts, pressures"
    assert 100 < refused < 200


def test_bolts_are_batched_by_the_bridge_they_stand_in() -> None:
    """A bolt in one end bridge or the other: the same parts, another joint."""
    source = demo("sweep_two_piece.toml")
    key = SweepKey("x", ("caliper.bolt[2].x_mm",), (), -90.0, 90.0, ())
    job = Job(source, {}, sample.plan(layout="x", keys=(key,)))
    found, faults = sweep_read.read(job, np.array([[-83.0], [-82.0], [0.0], [-84.0]]))
    assert list(faults) == [2] and [b.rows.tolist() for b in found] == [[0, 1, 3]]
    beside = np.array([[-83.0], [75.5], [-84.0]])  # room beside the others of the trailing end
    wide = {
        "caliper.bridge[2].x_mm[1]": 55.0,
        "caliper.bolt[2].washer": {"diameter_mm": 16.0, "thickness_mm": 2.0},
    }
    found, faults = sweep_read.read(Job(source, wide, job.plan), np.where(beside > 0, 62.5, beside))
    assert not faults and [b.rows.tolist() for b in found] == [[0, 2], [1]]


def test_walls_of_any_outline_are_read_one_by_one() -> None:
    source = demo("sweep_two_piece.toml")
    corners = [[-98.0, 99.0], [98.0, 99.0], [98.0, 178.0], [-98.0, 178.0]]
    wall = source["caliper"]["wall"]
    source["caliper"]["wall"] = {"outline_mm": corners, "thickness_mm": wall["thickness_mm"], "floor_mm": 8.5}
    with pytest.raises(SplitError):
        read_batch(source, "x", {"caliper.bolt[1].y_mm": np.array([140.0, 141.0])}, 2)
    key = SweepKey("y", ("caliper.bolt[1].y_mm",), (), 139.0, 141.0, ())
    job = Job(source, {}, sample.plan(layout="x", keys=(key,)))
    refused, batches = same(job, np.linspace(139.0, 141.0, 4)[:, None])
    assert (refused, batches) == (0, 1)


def keyed(path: str, *values: object) -> SweepKey:
    """A range without values, else a list of them."""
    levels = tuple(Level(f"#{i}", math.nan, {path: v}) for i, v in enumerate(values))
    return SweepKey(path, (path,), (), *((math.nan,) * 2 if values else (1.0, 2.0)), levels)


THICKNESS, PRESSURE = "caliper.wall.thickness_mm", "load_case[1].pressure_MPa"
DRAWN = [[-98.0, 99.0], [98.0, 99.0], [98.0, 178.0], [-98.0, 178.0]]


@pytest.mark.parametrize(
    ("keys", "alone"),
    [
        ((keyed(THICKNESS), keyed("caliper.layout", "two-piece", "monoblock")), False),
        ((keyed(THICKNESS), keyed(PRESSURE, *map(float, range(1, 100)))), False),
        ((keyed(THICKNESS), keyed(PRESSURE)), True),
        ((keyed(PRESSURE, *map(float, range(1, 100))), keyed("pad.name", *map(str, range(50)))), True),
        ((keyed(THICKNESS), keyed("caliper.wall.outline_mm", DRAWN)), True),
    ],
    ids=["numbers", "some kinds", "a range over load cases", "as many kinds as designs", "drawn walls"],
)
def test_a_sweep_knows_whether_its_designs_are_read_one_by_one(
    keys: tuple[SweepKey, ...], alone: bool
) -> None:
    job = sample.job(keys=keys)
    assert job.plan.alone == alone
    drawn = sampling.drawn(sample.plan(keys=keys, samples=32_768), 0)[:4096]
    kinds = len(list(sweep_read.alike(keys, drawn)))
    assert alone == (kinds > 1000 or "outline" in keys[-1].name)
    shaped = load(STUDIES / "shaped_body.toml")
    assert sweep_read.job(shaped, sample.plan(keys=keys[:1], layout=shaped.designs[1].name)).plan.alone
