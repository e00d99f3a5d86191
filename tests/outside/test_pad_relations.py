"""Pads of a bar against handbook relations and a general frame library; the source stands beside each check."""

import numpy as np
import pytest
from Pynite import FEModel3D

from stiffcalc.mechanics.pads import (
    bolt_bending,
    edge_pressures,
    grip,
    group_shear,
    pull_needed,
    seat,
    tipped,
)


def test_eccentric_shear_of_a_bolt_group() -> None:
    # Elastic vector method: J. E. Shigley, Mechanical Engineering Design, chapter 8 (primary shear V/n, secondary
    # shear M r_n / sum r^2), from memory; four bolts in one row, pitch 60 mm, 24 kN at 125 mm from their centre along
    # the row. By hand: V/n = 6 kN; M = 3 kN m; sum r^2 = 2 (90^2 + 30^2) = 18 000 mm2; M 90 / 18 000 = 15 kN.
    each = group_shear(24000.0, torque=24000.0 * 125.0, x=np.array([-90.0, -30.0, 30.0, 90.0]))
    assert each == pytest.approx([6000 - 15000, 6000 - 5000, 6000 + 5000, 6000 + 15000])


def test_friction_torque_of_a_ring() -> None:
    # Disc clutch, uniform pressure: F = pi p (D^2 - d^2)/4, T = pi f p (D^3 - d^3)/12. Source: Shigley, Mechanical
    # Engineering Design, chapter 16, from memory.
    D, d, f, p = 13.0, 9.0, 0.12, 100.0
    F, T = np.pi * p * (D**2 - d**2) / 4, np.pi * f * p * (D**3 - d**3) / 12
    found = grip(np.array([F]), x=np.zeros(1), hole=d, bearing=D, friction=f)
    assert found.torque == pytest.approx(T, rel=1e-12)
    assert found.force == pytest.approx(f * F, rel=1e-12)


def test_clamp_that_force_and_torque_need() -> None:
    # F_KQ = F_Q / (q_F mu) + M_Y / (q_M r_a mu), one interface. Source: VDI 2230 Part 1, step R2, from memory.
    mu, arm, Q, M = 0.1, 10.0, 3000.0, 8000.0
    F_KQ = Q / mu + M / (arm * mu)
    held = grip(np.full(2, F_KQ / 2), x=np.array([-arm, arm]), hole=9.0, bearing=13.0, friction=mu)
    assert pull_needed(Q, torque=M, grip=held) == pytest.approx(held.force, rel=1e-12)


def test_kern_of_a_rectangle() -> None:
    # p = N/(b L) (1 +- 6 e/L) inside the kern L/6. Source: any handbook of foundations, such as B. M. Das, Principles
    # of Foundation Engineering, from memory.
    own = seat(width=40.0, length=24.0, setback=12.0, holes=0.0, hole=9.0)
    N, e = 20000.0, 3.0
    inner, outer = edge_pressures(N, N * e, seat=own)
    assert inner == pytest.approx(N / 960.0 * (1 + 6 * e / 24.0), rel=1e-12)
    assert outer == pytest.approx(N / 960.0 * (1 - 6 * e / 24.0), rel=1e-12)


@pytest.mark.parametrize("e", [5.0, 7.0, 9.0])
def test_contact_length_beyond_the_kern(e: float) -> None:
    # Dead load (bolts so soft that their force stays): contact length 3 (L/2 - e), p_max = 4 N / (3 b (L - 2 e)).
    # Source: as above.
    own = seat(width=40.0, length=24.0, setback=12.0, holes=0.0, hole=9.0)
    N, k = 20000.0, 3000.0
    found = tipped(N, N * e, seat=own, foundation=k, bolts=1e-3)
    assert found.bolt == pytest.approx(N, rel=1e-6)
    assert found.contact * 24.0 == pytest.approx(3 * (12.0 - e), rel=1e-5)
    largest = (
        k * float(found.turn) * float(found.contact) * 24.0
    )  # a wedge of that slope, nothing turned before
    assert largest == pytest.approx(4 * N / (3 * 40.0 * (24.0 - 2 * e)), rel=1e-5)


@pytest.mark.parametrize(("shift", "turn"), [(0.01, 0.0), (0.0, 3e-4), (0.008, 2e-4)])
def test_bending_of_a_bolt_against_a_frame_program(shift: float, turn: float) -> None:
    # PyNiteFEA: one member built in at the thread, its head shifted and turned the worse way round.
    d, E, length = 6.47, 205e3, 32.0
    inertia = np.pi * d**4 / 64
    model = FEModel3D()
    model.add_node("thread", 0.0, 0.0, 0.0)
    model.add_node("head", length, 0.0, 0.0)
    model.add_material("steel", E, E / 2.6, 0.3, 7.85e-6)
    model.add_section("round", np.pi * d**2 / 4, inertia, inertia, 2 * inertia)
    model.add_member("bolt", "thread", "head", "steel", "round")
    model.def_support("thread", *[True] * 6)
    model.def_support("head", *[True] * 6)
    model.def_node_disp("head", "DY", shift)
    model.def_node_disp("head", "RZ", -turn)
    model.analyze_linear(log=False)
    bolt = model.members["bolt"]
    moment = max(abs(bolt.moment("Mz", x)) for x in (0.0, length))
    assert bolt_bending(shift, turn=turn, length=length, d=d, E=E) == pytest.approx(
        moment * d / 2 / inertia, rel=1e-6
    )
