"""Pads of a bar bolted across the opening: statics, limits, brute force, and the stored solids of the study."""

import csv
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.mechanics.pads import (
    FITTED,
    bolt_bending,
    closed_moments,
    covered,
    edge_pressures,
    grip,
    group_shear,
    pad_flexibility,
    pull_needed,
    seat,
    seat_moment,
    tipped,
)

ROOT = Path(__file__).parents[2]
PAD = {"width": 40.0, "height": 25.0, "length": 20.0, "lever": 12.5, "E_wall": 71000.0, "E_bar": 71000.0}
SEAT = seat(width=40.0, length=20.0, setback=10.0, holes=2.0, hole=9.0)


def test_flexibility_is_symmetric_and_positive() -> None:
    found = pad_flexibility(**PAD)
    assert np.array_equal(found, found.T)
    assert np.linalg.eigvalsh(found * np.outer([1, 20, 20], [1, 20, 20])).min() > 0


def test_flexibility_moves_with_its_point() -> None:
    # A point e above the seat: w rises by theta e, M on the seat by N e (virtual work: T^T C T).
    at_seat = pad_flexibility(**(PAD | {"lever": 0.0}))
    T = np.array([[1.0, 0.0, 0.0], [12.5, 1.0, 0.0], [0.0, 0.0, 1.0]])
    assert pad_flexibility(**PAD) == pytest.approx(T.T @ at_seat @ T, rel=1e-12)
    assert seat_moment(100.0, 7.0, lever=12.5) == (T @ [100.0, 7.0, 0.0])[1]


def test_similar_pads_of_stiffer_metal() -> None:
    s = 1.7
    large = pad_flexibility(**{k: v * (s if k[0] != "E" else 3.0) for k, v in PAD.items()})
    powers = np.array([[1, 2, 2], [2, 3, 3], [2, 3, 3]])
    assert large * 3.0 * s**powers == pytest.approx(pad_flexibility(**PAD), rel=1e-12)


def test_many_pads_at_once() -> None:
    lengths = np.array([16.0, 20.0, 28.0])
    batch = pad_flexibility(**(PAD | {"length": lengths, "E_bar": np.array([71e3, 205e3, 114e3])}))
    one = pad_flexibility(**(PAD | {"length": 20.0, "E_bar": 205e3}))
    assert batch.shape == (3, 3, 3)
    assert batch[1] == pytest.approx(one, rel=1e-14)


def local_rows() -> list[dict[str, float]]:
    with (ROOT / "studies/solid_check/pad_local.csv").open(encoding="utf-8", newline="") as file:
        return [{k: float(v) for k, v in row.items()} for row in csv.DictReader(file)]


@pytest.mark.parametrize(("name", "place", "scatter"), [("Mx_Mx", (1, 1), 0.10), ("My_My", (2, 2), 0.08)])
def test_against_solids(name: str, place: tuple[int, int], scatter: float) -> None:
    # 10-node tetrahedra of the same pads, studies/solid_check/pad_solid.py; odd ones were not fitted to
    rows = local_rows()
    blind = np.array([r["pad"] % 2 == 1 for r in rows])
    found = [
        pad_flexibility(
            width=r["width"],
            height=r["height"],
            length=r["length"],
            lever=r["height"] / 2,
            E_wall=71000.0,
            E_bar=r["E_bar"],
        )[place]
        for r in rows
    ]
    error = np.array(found) / np.array([r[name] for r in rows]) - 1
    for group in (blind, ~blind):
        assert abs(error[group].mean()) < 0.06
        assert error[group].std() < scatter
    assert np.abs(error).max() < 0.20


def test_constants_are_of_the_size_elasticity_gives() -> None:
    # Two bonded half-planes tip by 16 (1 - nu^2)/pi each and the pad's cantilever adds 13/35 x 12 h/L (all of
    # 1/(E b L^2)); the fit has a root of the wall taken off and must stay below that sum, but not far.
    theory = 2 * 16 * (1 - 0.33**2) / np.pi + 12 * 13 / 35
    assert 0.5 * theory < sum(FITTED.tip) < theory


# Friction


def test_two_bolts_across_the_pull_are_exact() -> None:
    # Each bolt carries up to mu F along the pull: f1 + f2 = N, a (f1 - f2) = M. What the first can hold, exactly:
    clamp, mu, a = 15000.0, 0.1, 10.0
    own = grip(np.full(2, clamp), x=np.array([-a, a]), hole=9.0, bearing=13.0, friction=mu)
    for pull in (0.0, 800.0, 2500.0):
        most = a * (2 * mu * clamp - pull)
        assert pull_needed(pull, torque=most, grip=own) == pytest.approx(own.force, rel=1e-12)


@pytest.mark.parametrize("n", [3, 4, 5])
def test_more_bolts_hold_at_least_as_much(n: int) -> None:
    # Exact limit of bolts in a row across the pull: maximum of M under sum f = N, |f_i| <= mu F, by linear programming.
    from scipy.optimize import linprog

    x, mu, clamp = 14.0 * (np.arange(n) - 0.5 * (n - 1)), 0.12, 10000.0
    own = grip(np.full(n, clamp), x=x, hole=9.0, bearing=13.0, friction=mu)
    better = False
    for share in np.linspace(0.0, 0.95, 6):
        pull = share * float(own.force)
        best = -linprog(-x, A_eq=[np.ones(n)], b_eq=[pull], bounds=[(-mu * clamp, mu * clamp)] * n).fun
        ringless = grip(np.full(n, clamp), x=x, hole=1e-6, bearing=2e-6, friction=mu)
        needed = pull_needed(pull, torque=best, grip=ringless)
        assert needed >= ringless.force * (1 - 1e-6)  # what is just held is called just held or not held
        better |= bool(needed > ringless.force * 1.01)
    assert better


def test_the_ring_is_a_lower_bound() -> None:
    # Friction torque of a uniformly pressed ring about a centre off its own, by points over the ring.
    R, r, x = 6.5, 4.5, 3.0
    radius = np.sqrt(r**2 + (R**2 - r**2) * (np.arange(400) + 0.5) / 400)  # equal areas
    angle = 2 * np.pi * (np.arange(400) + 0.5) / 400
    rho, phi = np.meshgrid(radius, angle)
    exact = np.hypot(x + rho * np.cos(phi), rho * np.sin(phi)).mean()
    own = grip(np.array([1000.0]), x=np.array([x]), hole=2 * r, bearing=2 * R, friction=0.1)
    assert 0.9 * 100.0 * exact < own.torque < 100.0 * exact
    centred = grip(np.array([1000.0]), x=np.array([0.0]), hole=2 * r, bearing=2 * R, friction=0.1)
    assert centred.torque == pytest.approx(100.0 * rho.mean(), rel=1e-5)


def test_friction_follows_clamp_and_coefficient() -> None:
    x = np.array([-9.0, 9.0])
    one = grip(np.full(2, 8000.0), x=x, hole=9.0, bearing=13.0, friction=np.array([0.1, 0.2]))
    two = grip(np.full(2, 16000.0), x=x, hole=9.0, bearing=13.0, friction=0.1)
    assert one.force.tolist() == pytest.approx([1600.0, 3200.0])
    assert (two.force, two.torque) == (pytest.approx(3200.0), pytest.approx(one.torque[1]))


@pytest.mark.parametrize("bearing", [9.0, np.nan])
def test_a_head_no_wider_than_its_hole_is_refused(bearing: float) -> None:
    with pytest.raises(ValueError, match="wider than its hole"):
        grip(np.ones(1), x=np.zeros(1), hole=9.0, bearing=bearing, friction=0.1)


def test_shear_of_a_group_balances() -> None:
    x = np.array([-15.0, 0.0, 15.0])
    each = group_shear(9000.0, torque=60000.0, x=x)
    assert each.sum() == pytest.approx(9000.0)
    assert each @ x == pytest.approx(60000.0)
    assert group_shear(500.0, torque=1e6, x=np.zeros(1)).tolist() == [500.0]  # one bolt carries no torque


# Pressure and tipping


def test_pressure_balances_clamp_and_moment() -> None:
    off = seat(width=40.0, length=20.0, setback=11.5, holes=2.0, hole=9.0)
    F, M = 30000.0, 25000.0
    inner, outer = edge_pressures(F, M, seat=off)
    mean, slope = 0.5 * (inner + outer), 0.5 * (outer - inner)
    assert mean * off.area == pytest.approx(F)
    assert slope * off.inertia / 10.0 == pytest.approx(F * 1.5 - M)
    low, high = closed_moments(F, seat=off)
    assert edge_pressures(F, high, seat=off)[1] == pytest.approx(0.0, abs=1e-9)
    assert edge_pressures(F, low, seat=off)[0] == pytest.approx(0.0, abs=1e-9)


def fibres(F0: float, M: float, own, k: float, K: float, n: int = 20000) -> tuple[float, float, float]:
    """Brute force: strips that only press, bolts as springs, by damped Newton on (lift, turn)."""
    z = own.length * ((np.arange(n) + 0.5) / n - 0.5)
    dA, m = own.area / n, own.offset

    def tightened() -> np.ndarray:
        return np.array([-F0 / (k * own.area), -F0 * m / (k * own.inertia)])

    tight = tightened()
    u = tight.copy()
    for _ in range(200):
        gap = u[0] + u[1] * z
        pressed = gap < 0.0
        stretch = (u - tight) @ [1.0, m]
        bolt = F0 + K * stretch
        residual = np.array(
            [k * gap[pressed].sum() * dA + bolt, k * (gap * z)[pressed].sum() * dA + bolt * m - M]
        )
        own_K = (
            np.array([[pressed.sum(), z[pressed].sum()], [z[pressed].sum(), (z**2)[pressed].sum()]]) * k * dA
        )
        step = np.linalg.solve(own_K + K * np.outer([1.0, m], [1.0, m]), -residual)
        u = u + step
        if np.abs(residual).max() < 1e-7 * F0:
            break
    return float(bolt), float(u[1] - tight[1]), float(pressed.mean())


@pytest.mark.parametrize("M", [-160e3, -60e3, 30e3, 90e3, 101e3, 200e3, 400e3])
@pytest.mark.parametrize("setback", [8.5, 10.0, 12.0])
def test_tipping_against_fibres(M: float, setback: float) -> None:
    own = seat(width=40.0, length=20.0, setback=setback, holes=2.0, hole=9.0)
    F0, k, K = 30000.0, 3500.0, 6.0e5
    found = tipped(F0, M, seat=own, foundation=k, bolts=K)
    bolt, turn, contact = fibres(F0, M, own, k, K)
    assert found.bolt == pytest.approx(bolt, rel=2e-4)
    assert found.turn == pytest.approx(turn, rel=2e-3)
    assert found.contact == pytest.approx(contact, abs=2e-3)


def test_tipping_is_continuous_at_lift_off_and_softens() -> None:
    low, high = closed_moments(30000.0, seat=SEAT)
    M = high * np.array([1.0 - 1e-9, 1.0 + 1e-9, 1.2, 1.4, 1.8])
    found = tipped(30000.0, M, seat=SEAT, foundation=3500.0, bolts=6e5)
    assert found.bolt[1] == pytest.approx(found.bolt[0], rel=1e-6)
    assert found.turn[1] == pytest.approx(found.turn[0], rel=1e-6)
    assert np.all(np.diff(found.turn / M) > -1e-12)  # never stiffer
    assert np.all(np.diff(found.added) >= -1e-6)
    assert low == pytest.approx(-high)


def test_bolts_without_preload_carry_the_moment() -> None:
    found = tipped(0.0, np.array([0.0, 2e4]), seat=SEAT, foundation=3500.0, bolts=6e5)
    assert found.bolt[0] == 0.0
    assert found.bolt[1] == pytest.approx(2e4 / (10.0 - found.contact[1] * 20.0 / 3), rel=1e-12)
    # the least contact length: c^2 = 2 r L (a - c), r = K / (k A)
    c, r = float(found.contact[1]) * 20.0, 6e5 / (3500.0 * float(SEAT.area))
    assert c**2 == pytest.approx(2 * r * 20.0 * (10.0 - c), rel=1e-6)


def test_bolts_in_the_middle_feel_nothing_while_closed() -> None:
    found = tipped(30000.0, np.array([-50e3, 0.0, 50e3]), seat=SEAT, foundation=3500.0, bolts=6e5)
    assert found.added.tolist() == [0.0, 0.0, 0.0]
    assert found.turn[0] == -found.turn[2]


def test_cone_covers_or_not() -> None:
    x = np.array([-10.0, 10.0])
    assert covered(width=40.0, length=20.0, setback=10.0, x=x, reach=14.2)
    assert not covered(width=40.0, length=20.0, setback=10.0, x=x, reach=14.1)


def test_bending_grows_with_shift_and_turn() -> None:
    # E d (3 u / l^2 + 2 theta / l), signs taken at their worst
    assert bolt_bending(-0.01, turn=2e-4, length=30.0, d=6.8, E=205e3) == pytest.approx(
        205e3 * 6.8 * (3 * 0.01 / 900 + 2 * 2e-4 / 30)
    )


def test_no_metal_beside_the_holes_is_refused() -> None:
    with pytest.raises(ValueError, match="fewer or smaller bolts"):
        seat(width=6.0, length=20.0, setback=10.0, holes=2.0, hole=9.0)
    with pytest.raises(ValueError, match="over the pad"):
        seat(width=40.0, length=20.0, setback=21.0, holes=1.0, hole=9.0)
