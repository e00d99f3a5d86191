"""Properties of engaged threads that need no book: which strips, what carries, limits, inserts."""

import numpy as np
import pytest

from stiffcalc.catalogue import thread
from stiffcalc.mechanics import thread_limits as limits
from stiffcalc.mechanics import threads as t

M10 = limits.nominal(thread("M10x1.5"))
STRIP = {"mesh": M10, "bolt_shear_MPa": 0.6 * 1220.0}


def test_the_weaker_thread_strips_first():
    """R_S tells which; near R = 1 the two forces meet."""
    tau = np.linspace(150.0, 1100.0, 40)
    found = t.stripping(15.0, tapped_shear_MPa=tau, **STRIP)
    decided = np.abs(found.ratio - 1.0) > 0.01
    assert np.array_equal((found.tapped < found.bolt)[decided], (found.ratio < 1.0)[decided])
    soft = found.ratio < 0.9  # the published fits dip by 0.1 % around R = 1
    assert np.all(np.diff(found.force[soft]) > 0)


def test_a_strong_tapped_part_strips_the_bolt():
    """C2 C1 tau_BS A_S m with C1 = 1, R_S about 1.6."""
    found = t.stripping(15.0, tapped_shear_MPa=850.0, **STRIP)
    c2 = t.bolt_factor(found.ratio).value
    assert found.ratio > 1.5 and found.force == found.bolt
    assert found.bolt == pytest.approx(c2 * 0.6 * 1220.0 * t.bolt_shear_area(M10) * (15.0 - 1.2), rel=1e-12)


def test_the_run_in_carries_nothing():
    found = t.stripping(np.array([0.5, 1.2, 1.3, 2.4]), tapped_shear_MPa=300.0, **STRIP)
    assert found.force[:2].tolist() == [0.0, 0.0]
    assert found.force[3] / found.force[2] == pytest.approx(1.2 / 0.1, rel=1e-12)


def test_a_near_edge_weakens_the_tapped_part():
    near = t.stripping(15.0, tapped_shear_MPa=300.0, width=16.0, **STRIP)
    far = t.stripping(15.0, tapped_shear_MPa=300.0, **STRIP)
    assert near.force / far.force == pytest.approx(0.91, rel=1e-12)
    assert near.inside and not t.stripping(15.0, tapped_shear_MPa=300.0, width=13.0, **STRIP).inside


def test_needed_engagement_is_stripping_turned_round():
    tau = np.array([150.0, 300.0, 700.0, 900.0])
    needed = t.needed_engagement(50e3, tapped_shear_MPa=tau, width=17.0, **STRIP)
    found = t.stripping(needed.value, tapped_shear_MPa=tau, width=17.0, **STRIP)
    assert found.force == pytest.approx(50e3, rel=1e-12)
    assert np.array_equal(found.inside, needed.inside)


@pytest.mark.parametrize("bad", [0.0, -1.0, np.nan])
def test_a_strength_that_is_none_is_refused(bad):
    with pytest.raises(ValueError, match="shear strength"):
        t.needed_engagement(50e3, tapped_shear_MPa=bad, **STRIP)
    with pytest.raises(ValueError, match="shear strength"):
        t.needed_engagement(50e3, mesh=M10, tapped_shear_MPa=300.0, bolt_shear_MPa=bad)


@pytest.mark.parametrize("name", ["M6x1", "M8x1.25", "M10x1.5", "M12x1.75", "M14x2", "M12x1.25", "M6x0.75"])
def test_tolerances_only_take_away(name):
    """6g and 6H leave 70 to 90 % of the nominal shear areas; the nut keeps its thread outside the bolt's core."""
    th = thread(name)
    nominal, least = limits.nominal(th), limits.least_overlap(th)
    assert least.d < nominal.d and least.d2 < nominal.d2 and least.D1 > nominal.D1 and least.D2 > nominal.D2
    assert th.d3 < least.D1 < least.d2
    for area in (t.tapped_shear_area, t.bolt_shear_area):
        assert 0.70 < area(least) / area(nominal) < 0.90


def test_limits_take_a_batch():
    names = ("M8x1.25", "M10x1.5", "M14x2")

    class Batch:
        d, P, d2, D1, A_s = (
            np.array([getattr(thread(n), k) for n in names]) for k in ("d", "P", "d2", "D1", "A_s")
        )

    found = limits.least_overlap(Batch)
    single = [limits.least_overlap(thread(n)) for n in names]
    assert found.D2.tolist() == [s.D2 for s in single] and found.d.tolist() == [s.d for s in single]


@pytest.mark.parametrize("d", [1.4, 181.0, np.nan])
def test_a_thread_without_tolerances_is_refused(d):
    with pytest.raises(ValueError, match="thread tolerance"):
        limits.tolerance_d2(1.0, d=d)


def test_an_insert_helps_a_soft_part_and_not_a_hard_one():
    """In aluminium a coil gains by its wider thread, and a solid insert of two sizes more; where the part is as
    strong as the insert, the inner thread limits."""
    strength = {"mesh": M10, "bolt_shear_MPa": 0.6 * 1220.0, "insert_shear_MPa": 600.0}
    soft = {"tapped_shear_MPa": 200.0}
    bare = t.stripping(15.0, **soft, **STRIP).force
    coil = t.insert_stripping(15.0, outer=limits.wire_insert(M10), **soft, **strength)
    solid = t.insert_stripping(15.0, outer=limits.nominal(thread("M14x1.5")), **soft, **strength)
    assert bare < coil.force < solid.force
    assert coil.force == coil.outer.tapped
    assert coil.outer.tapped / bare == pytest.approx(coil_gain(), rel=0.05)
    hard = t.insert_stripping(15.0, outer=limits.wire_insert(M10), tapped_shear_MPa=600.0, **strength)
    assert hard.force == hard.inner.force


def test_an_insert_is_two_threads_each_by_the_same_rule():
    outer = limits.nominal(thread("M14x1.5"))
    found = t.insert_stripping(
        15.0,
        mesh=M10,
        outer=outer,
        tapped_shear_MPa=300.0,
        insert_shear_MPa=450.0,
        bolt_shear_MPa=732.0,
        width=24.0,
    )
    inner = t.stripping(15.0, mesh=M10, tapped_shear_MPa=450.0, bolt_shear_MPa=732.0)
    around = t.stripping(15.0, mesh=outer, tapped_shear_MPa=300.0, bolt_shear_MPa=450.0, width=24.0)
    assert found.inner == inner and found.outer == around
    assert found.force == min(inner.force, around.force)


def coil_gain() -> float:
    """Shear area round the coil over that of the bare thread, 0.875 pi d: the diameters."""
    return 11.949 / 10.0
