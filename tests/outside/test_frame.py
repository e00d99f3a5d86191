"""The closed-form wall against published beams and portals, and against a general-purpose frame library.

Published cases: Timoshenko beams (V11, V12) and the portal V13, V14, closed forms quoted beside each. A
bridge meets the wall over its width, and My spread over a width is carried by shear within it; beams that are
fixed at a point have no such shear. So bending is checked with a point's fixing and the wall's shear left
out, shear under forces alone, and their sum against the published total.

Library: PyNiteFEA 3 (member stiffness matrices without shear deformation, so the wall's shear is left out
there too). Distortion of the cross-section belongs to none of these and is left out throughout.
"""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from Pynite import FEModel3D
from wall_cases import NU, E, bridged, bridges, flexibility, narrow, pressed, wall

from stiffcalc.mechanics.bridges import area_matrix, reference
from stiffcalc.mechanics.constants import THEORY
from stiffcalc.mechanics.sections import sections_at

TINY = 1e-6  # mm, diameter of a bore that stands for a point load
ALONE = ("wall distortion", "floor")
G, KAPPA = E / (2 * (1 + NU)), 5 / 6


def beam(*, length, b, h, load, ends):
    """Wall b high and h thick with a point load at x = `load` and point bridges at x = `ends`; bending and shear."""
    walls = wall(length=(0.0, length), y=(0.0, b), t=h, floor=h - 1e-9, bores=[(load, b / 2, TINY)])
    between = bridges(*[(x - 5.0, x + 5.0, 0.0, b, 0.0) for x in ends])
    half = flexibility(walls, between, prints=narrow(between), constants=THEORY)
    return replace(half, F=half.parts["wall bending"]), replace(half, F=half.parts["wall shear"])


def held(half, load):
    """Deflection under `load` at the bore, and forces of the bridges, where the bridges do not move."""
    n = 3 * half.points.bridges
    matrix = np.zeros((n + 3, n + 3))
    matrix[:n, :n], matrix[:n, n:], matrix[n:, :n] = half.F[0, :n, :n], half.R[0, :n], half.R[0, :n].T
    # Twist is not loaded: without it the couples Mx are idle.
    idle = np.arange(1, n, 3)
    matrix[idle, idle] += 1.0
    column = load * np.concatenate([half.F[0, :n, n], half.R[0, n]])
    x = np.linalg.lstsq(matrix, -column, rcond=None)[0]
    return half.F[0, n, :n] @ x[:n] + half.F[0, n, n] * load + half.R[0, n] @ x[n:], x[:n]


def supported(half, load):
    """Deflection under `load` at mid span between two bridges that carry forces N only, half each."""
    f = np.zeros(half.points.count)
    f[[0, 3]], f[half.points.bore] = -load / 2, load
    move = half.F[0] @ f
    return move[half.points.bore][0] - 0.5 * (move[0] + move[3]), f


def test_cantilever_v11():
    # V11, Timoshenko beam theory: L 50, b 20, h 30, P 1000: bending 0.0130412 + shear 0.0037465 = 0.0167877
    # mm. Half of a beam of twice the length, on two supports under 2 P.
    bending, shear = beam(length=100.0, b=20.0, h=30.0, load=50.0, ends=(0.0, 100.0))
    bent, sheared = supported(bending, 2000.0)[0], supported(shear, 2000.0)[0]
    assert bent == pytest.approx(1000.0 * 50**3 / (3 * E * 20 * 30**3 / 12), rel=1e-6)
    assert sheared == pytest.approx(1000.0 * 50 / (KAPPA * G * 600), rel=1e-6)
    assert (bent, sheared) == pytest.approx((0.0130412, 0.0037465), abs=6e-8)
    assert bent + sheared == pytest.approx(0.0167877, abs=1e-7)


def test_fixed_beam_v12():
    # V12: L 100, P 1000 at mid span: 0.00163015 + 0.00187324 = 0.00350339 mm, end moment P L / 8 = 12 500 N
    # mm.
    bending, shear = beam(length=100.0, b=20.0, h=30.0, load=50.0, ends=(0.0, 100.0))
    bent, ends = held(bending, 1000.0)
    sheared = supported(shear, 1000.0)[0]
    assert bent == pytest.approx(0.00163015, abs=6e-9)
    assert np.abs(ends[[2, 5]]) == pytest.approx(12500.0, rel=1e-6)
    assert bent + sheared == pytest.approx(0.00350339, abs=1e-8)


LEG, SPAN, FORCE = 60.0, 80.0, 10000.0


def portal():
    """V13: a leg is a wall 60 long with a point bridge (60 wide, 25 deep, span 80) at its end, a load at its tip."""
    walls = wall(length=(0.0, LEG), y=(0.0, 60.0), t=30.0, floor=30.0 - 1e-9, bores=[(LEG, 30.0, TINY)])
    between = bridges((-12.5, 12.5, 0.0, 60.0, 0.0), length=SPAN)
    half = flexibility(walls, between, prints=narrow(between), constants=THEORY, without=("floor",))
    stiff = replace(half, F=half.parts["wall bending"] + half.parts["wall twist"])
    given = pressed(half, walls, pressure=FORCE / (0.25 * np.pi * TINY**2))
    f, move = bridged(stiff, between, given)
    soft = SPAN / E * np.linalg.inv(area_matrix(between)[0, 0])
    strain_energy = f[0] @ stiff.F[0] @ f[0] + 0.5 * f[0, :3] @ soft @ f[0, :3]  # both legs, and the bridge
    return 2.0 * move[0, 3], strain_energy


def test_portal_v13_and_its_energy_v14():
    # V13, superposition 2 P h^3/3EI + 2 P h/kGA + P h^2 L/EI + P L/EA = 0.150235 + 0.029972 + 0.519211 +
    # 0.007512 mm; V14, Clapeyron: 3534.65 N mm.
    opening, energy = portal()
    _, shear = beam(length=2 * LEG, b=60.0, h=30.0, load=LEG, ends=(0.0, 2 * LEG))
    sheared, f = supported(shear, 2 * FORCE)
    assert opening == pytest.approx(0.150235 + 0.519211 + 0.007512, abs=1.5e-6)
    assert opening + 2.0 * sheared == pytest.approx(0.706930, abs=1e-6)
    assert energy == pytest.approx(0.5 * FORCE * opening, rel=1e-9)
    assert energy + 0.5 * f @ shear.F[0] @ f == pytest.approx(3534.65, abs=0.005)


BORES = ((-34.0, 147.5, 42.0), (28.0, 147.5, 30.0))
FLAT = (
    (-110.0, -78.0, 144.0, 190.0, 0.0),
    (70.0, 110.0, 150.0, 190.0, 0.0),
    (-14.0, 10.0, 172.0, 190.0, 0.0),
)
FINE = 0.25  # mm


class Line:
    """The wall's line in the library: our x, z, -y are its X, Y, Z, so that w = DY, theta_x = RX, theta_y =
    -RZ.

    `spread` are the shares of the loads at nodes: evenly or linearly over bridges, over circles of bores.
    """

    def __init__(self, walls, between):
        widths = zip(between.x[0], reference(between)[1][0] - walls.y[0].mean(), strict=True)
        self.feet = [(x0, x1, float(level)) for (x0, x1), level in widths]
        places = [e for x0, x1, _ in self.feet for e in (x0, x1)]
        places += [x + side * d / 2 for x, _, d in BORES for side in (-1, 1)]
        steps = [
            np.linspace(a, b, int(np.ceil((b - a) / FINE)), endpoint=False)
            for a, b in pairwise(sorted(set(places)))
        ]
        self.x = np.append(np.concatenate(steps), max(places))
        self.edges = np.concatenate([[-np.inf], 0.5 * (self.x[1:] + self.x[:-1]), [np.inf]])
        self.model = self.built(sections_at(walls, 0.5 * (self.x[1:] + self.x[:-1])[None]))

    def built(self, section):
        model = FEModel3D()
        model.add_material("metal", E, G, NU, 0.0)
        for i, at in enumerate(self.x):
            model.add_node(f"n{i}", at, 0.0, 0.0)
        for i in range(len(self.x) - 1):
            model.add_section(f"s{i}", 1e3, 1e6, section.I_bending[0, i], section.J_open[0, i])
            model.add_member(f"m{i}", f"n{i}", f"n{i + 1}", "metal", f"s{i}")
        model.def_support("n0", *[True] * 6)
        return model

    def even(self, x0, x1):
        return np.diff(np.clip((self.edges - x0) / (x1 - x0), 0.0, 1.0))

    def linear(self, x0, x1):
        """Forces of a unit My, -dw/dx: their moment about the middle is -1."""
        s = np.clip((self.edges - x0) / (x1 - x0), 0.0, 1.0)
        return np.diff(6.0 * s * (1.0 - s)) / (x1 - x0)

    def disc(self, centre, d):
        u = np.clip((self.edges - centre) / (d / 2), -1.0, 1.0)
        return np.diff(u * np.sqrt(1 - u * u) + np.arcsin(u)) / np.pi

    def patterns(self):
        """Forces FY and couples RX at nodes of each unit load, in the order of the points."""
        none = np.zeros_like(self.x)
        rows = []
        for x0, x1, level in self.feet:
            even, linear = self.even(x0, x1), self.linear(x0, x1)
            rows += [(even, even * level), (none, even), (linear, linear * level)]
        return rows + [(self.disc(x, d), none) for x, _, d in BORES]

    def movements(self, forces):
        """Movements of the points under forces in balance, the first node kept."""
        patterns = self.patterns()
        push, turn = (sum(f * p[i] for f, p in zip(forces, patterns, strict=True)) for i in (0, 1))
        for i in range(len(self.x)):
            self.model.add_node_load(f"n{i}", "FY", push[i])
            self.model.add_node_load(f"n{i}", "MX", turn[i])
        self.model.analyze_linear(check_stability=False)
        w, rx = (
            np.array([getattr(self.model.nodes[f"n{i}"], k)["Combo 1"] for i in range(len(self.x))])
            for k in ("DY", "RX")
        )
        return np.array([a @ w + b @ rx for a, b in patterns])


@pytest.mark.parametrize(("stations", "within"), [(3, 2e-3), (24, 1e-4)])
def test_bored_wall_with_three_bridges_against_a_frame_library(monkeypatch, stations, within):
    # The library's movements under our forces must fit the bridges' own, and give our openings. With many stations
    # the two agree; the three in use cost what the first line allows.
    for name, value in zip(("_NODES", "_WEIGHTS"), np.polynomial.legendre.leggauss(stations), strict=True):
        monkeypatch.setattr(f"stiffcalc.mechanics.beam.{name}", value)
    walls = wall(length=220.0, y=(105.0, 190.0), t=34.0, floor=9.0, bores=BORES)
    between = bridges(*FLAT)
    half = flexibility(walls, between, constants=THEORY, without=(*ALONE, "wall shear"))
    f, move = bridged(half, between, pressed(half, walls))
    ours = move[0]
    theirs = Line(walls, between).movements(f[0])
    rigid = np.linalg.lstsq(half.R[0, :9], ours[:9] - theirs[:9], rcond=None)[0]
    theirs = theirs + half.R[0] @ rigid
    assert theirs[9:] == pytest.approx(ours[9:], rel=within)
    assert theirs[:9] == pytest.approx(ours[:9], abs=within * np.abs(ours[:9]).max())
