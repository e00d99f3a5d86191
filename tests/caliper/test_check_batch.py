"""Checks and sentences of many designs at once are those of each alone, words included."""

from dataclasses import fields, is_dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.caliper.batch import differ, least, most, of, row
from stiffcalc.caliper.build import build
from stiffcalc.caliper.cases import context_of
from stiffcalc.caliper.checks import run_checks
from stiffcalc.caliper.validity import sentences
from stiffcalc.catalogue import Material, material
from stiffcalc.explore.batches import WHOLE, layout, stacked_designs
from stiffcalc.mechanics.joint_state import Response
from stiffcalc.study import load
from stiffcalc.study.schema import Dowel

STUDIES = Path(__file__).parents[2] / "studies"
DESIGNS = {
    f"{name}: {d.name}": d
    for name in ("hillclimb_front", "centre_bridge", "sweep_two_piece")
    for d in load(STUDIES / f"{name}.toml").designs
}
SAME = (Material, *WHOLE)


def shaken(data, rng):
    """The same tree with every number up to 1 % larger, but for what a batch holds in common."""
    if isinstance(data, float):
        return data * (1.0 + 0.01 * rng.random())
    if is_dataclass(data) and not isinstance(data, SAME):
        return replace(data, **{f.name: shaken(getattr(data, f.name), rng) for f in fields(data)})
    if isinstance(data, tuple) and not (data and isinstance(data[0], tuple)):
        return tuple(shaken(value, rng) for value in data)
    return data


def equipped(design):
    """The design with two dowels, and bolts that differ in insert, rolling and washer."""
    c = design.caliper
    if c.layout != "two-piece":
        return design
    pins = tuple(
        Dowel(x, 150.0, 8.0, bore, 10.0, material("S355")) for x, bore in ((-80.0, 0.0), (80.0, 4.0))
    )
    first, second, *others = c.bolts
    first = replace(first, insert=True, washer_diameter=28.0, washer_thickness=2.0)
    return replace(
        design, caliper=replace(c, dowels=pins, bolts=(first, replace(second, rolled="after"), *others))
    )


def family(design, rng):
    """Four designs near one: equal halves and unequal ones, one whose dowels must carry, one hardly tightened."""
    found = [shaken(equipped(design), rng) for _ in range(4)]
    calipers = [d.caliper for d in found]
    calipers[1] = replace(calipers[1], outboard=calipers[1].inboard)
    calipers[2] = replace(calipers[2], joint_friction=0.01, joint_friction_high=0.01)
    loose = tuple(replace(b, preload_N=10.0, torque_Nm=None) for b in calipers[3].bolts)
    calipers[3] = replace(calipers[3], bolts=loose)
    return [replace(d, caliper=c) for d, c in zip(found, calipers, strict=True)]


def unheld(context, design):
    """The context where nothing holds the halves of one design together at any stage."""

    def blank(values):
        found = values.copy()
        found[design] = np.nan
        return found

    def gone(answer):
        parts = {
            n: Response(**{k: blank(v) for k, v in vars(getattr(answer, n)).items()})
            for n in ("loaded", "change")
        }
        return replace(answer, **parts)

    low, high = (tuple(replace(v, answer=gone(v.answer)) for v in c) for c in (context.low, context.high))
    return replace(context, answer=gone(context.answer), fluid=blank(context.fluid), low=low, high=high)


def tilted(context, designs):
    """The context with tilts, which the frame does not publish."""
    bores = len(context.design.caliper.bores)
    return replace(context, tilt_mrad=np.array([[0.1 * (d + 1)] * bores for d in designs]))


def assert_alike(whole, d, alone):
    """What is said of design d of a batch is what is said of it alone."""
    assert sentences(whole, tilted=False).one(d) == sentences(alone, tilted=False).one(0)
    found, wanted = run_checks(whole).one(d), run_checks(alone).one(0)
    assert {c.id for c in found} == {c.id for c in wanted}
    for b in wanted:
        a = next(c for c in found if c.id == b.id)
        assert (a.what, a.formula, a.source, a.note) == (b.what, b.formula, b.source, b.note)
        assert (a.actual, a.allowed, a.margin) == pytest.approx((b.actual, b.allowed, b.margin), rel=1e-9)
        assert a.met == b.met
    return {c.id for c in wanted}


@pytest.mark.parametrize("name", DESIGNS)
def test_many_at_once_are_as_each_alone(name):
    designs = family(DESIGNS[name], np.random.default_rng(5))
    batch, alone = layout(stacked_designs(designs), 4), [layout(d, 1) for d in designs]
    seen = set()
    for case in designs[0].load_cases:
        whole = tilted(context_of(batch, case), range(4))
        for d, one in enumerate(alone):
            seen |= assert_alike(whole, d, tilted(context_of(one, case), [d]))
        loose, first = unheld(whole, 0), tilted(context_of(alone[0], case), [0])
        assert_alike(loose, 0, unheld(first, 0))
        assert_alike(loose, 1, tilted(context_of(alone[1], case), [1]))
    assert {"bridge", "wall inboard", "floor outboard"} <= seen
    assert designs[0].caliper.layout != "two-piece" or {"dowel shear", "dowel bearing", "slip"} <= seen


def test_the_first_of_equals_governs_and_only_what_counts():
    values = np.array([[3.0, 1.0, 1.0], [np.inf, np.inf, np.inf]])
    assert least(values).flat.tolist() == [1, 0]
    counts = np.array([[True, False, True], [False, True, True]])
    assert least(values, counts).flat.tolist() == [2, 1]
    assert most(values, counts).flat.tolist() == [0, 1]
    nearly = np.array([[2.0, 1.0 + 1e-14, 1.0]])
    assert least(nearly).flat.tolist() == [1] and most(-nearly).flat.tolist() == [1]
    places = np.array([[[1.0, 5.0], [0.0, 7.0]]])
    assert [int(v[0]) for v in most(places).index] == [1, 1] and most(places).of(places).tolist() == [7.0]


def test_which_designs_differ():
    body = build(next(iter(DESIGNS.values())))
    thick = replace(body.inboard, thickness=body.inboard.thickness + np.array([0.0, 1.0]))
    assert not differ(body.inboard, body.inboard).any()
    assert differ(thick, body.inboard).tolist() == [False, True]
    moved = replace(body.inboard, outline=body.inboard.outline + np.array([0.0, 0.0, 1.0])[:, None, None])
    assert differ(body.inboard, moved).tolist() == [False, False, True]
    assert differ(body.inboard, replace(body.inboard, bores=body.inboard.bores[:-1])).all()


def test_rows_of_numbers_that_vary_and_of_such_that_do_not():
    assert row([1.0, 2.0]).tolist() == [1.0, 2.0]
    assert row([1.0, np.array([2.0, 3.0])]).tolist() == [[1.0, 2.0], [1.0, 3.0]]
    assert row([]).shape == (0,) and of(4.0, 1) == 4.0 and of(np.array([4.0, 5.0]), 1) == 5.0
