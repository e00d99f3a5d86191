"""The closed-form wall against a symbolic derivation (Castigliano in sympy) of the same portal.

Half of one half of the body, cut at its plane of symmetry x = 0: the end bridge's My and the centre bridge's
N and Mx are the redundants, the end bridge's N and Mx follow from equilibrium. The beam alone: distortion of
the section is left out, bores are points. Source: derived here.
"""

import dataclasses
import itertools

import numpy as np
import pytest
import sympy as sp
from wall_cases import CENTRE, ENDS, NU, E, bridges, four_bore, openings

from stiffcalc.mechanics.bridges import area_matrix, reference
from stiffcalc.mechanics.constants import FITTED, THEORY
from stiffcalc.mechanics.local import root_flexibility
from stiffcalc.mechanics.sections import rectangle_torsion

TINY = 1e-3  # mm, diameter of a bore that stands for a point load
GAP = 30.5
x, P, My, Nc, Mc = sp.symbols("x P My Nc Mc", real=True)


def stiffness(walls, constants):
    """E I, kappa G A (energy: 5/6) and G J of the solid wall."""
    t, H = float(walls.thickness[0]), float(np.diff(walls.y[0])[0])
    G = E / (2 * (1 + NU))
    J = constants.torsion * float(rectangle_torsion(np.array(H), np.array(t)))
    return E * H * t**3 / 12, 5 / 6 * G * H * t, G * J


def bridge_compliance(walls, between, constants):
    area = area_matrix(between)
    root = root_flexibility(walls, area=area, constants=constants)[0]
    return [sp.Matrix(GAP / E * np.linalg.inv(a) + r) for a, r in zip(area[0], root, strict=True)]


def strip(low, high, *, N, Mx, My, lever):
    """m, v, t beyond x of a bridge from low to high: left of it (rigid resultant), and within it."""
    w, middle = high - low, (low + high) / 2
    s = (high - x) / w
    v = N * s - My * 6 * s * (1 - s) / w
    within = (N * w * s**2 / 2 - My * s**2 * (3 - 2 * s), v, v * lever + Mx * s)
    return (N * (middle - x) - My, N, N * lever + Mx), within


def derived(*, x1, share, y_bore, between, walls, constants):
    """Opening per unit force at each bore of both halves; `share` of it acts on x > 0, at x1."""
    centre = between.x.shape[1] == 3
    soft = bridge_compliance(walls, between, constants)
    ys = reference(between)[1][0] - walls.y[0].mean()
    (low, high), half = map(float, between.x[0, 1]), float(between.x[0, -1, 1])
    load, lever = share * P, y_bore - float(walls.y[0].mean())
    N = -load - (Nc / 2 if centre else 0)
    Mx = -load * lever - N * float(ys[1]) - ((Nc * float(ys[2]) + Mc) / 2 if centre else 0)
    before, within = strip(low, high, N=N, Mx=Mx, My=My, lever=float(ys[1]))
    bore = (load * (x1 - x), load, load * lever)
    _, middle = strip(-half, half, N=Nc, Mx=Mc, My=0, lever=float(ys[-1]))
    ends = sorted({0.0, x1, low, high} | ({half} if centre else set()))
    U = 0
    for a, b in itertools.pairwise(ends):
        acting = [within if a >= low else before] + [bore] * (b <= x1) + [middle] * (centre and b <= half)
        forces = [sum(f) for f in zip(*acting, strict=True)]
        U += sum(
            sp.integrate(sp.expand(f**2), (x, a, b)) / (2 * k)
            for f, k in zip(forces, stiffness(walls, constants), strict=True)
        )
    f, c = sp.Matrix([N, Mx, My]), sp.Matrix([Nc, Mc, 0])
    U += (f.T * soft[1] * f)[0] / 2 + ((c.T * soft[-1] * c)[0] / 4 if centre else 0)
    unknown = [My, Nc, Mc] if centre else [My]
    found = sp.solve([sp.diff(U, u) for u in unknown], unknown, dict=True)[0]
    return float(2 / share * sp.diff(sp.expand(U.subs(found)), P).subs(P, 1))


@pytest.mark.parametrize(
    ("constants", "centre"),
    [(THEORY, False), (FITTED, False), (FITTED, True)],
    ids=["theory", "fitted", "fitted, centre bridge"],
)
@pytest.mark.parametrize("bores", [1, 2])
def test_portal_with_a_prismatic_wall(monkeypatch, bores, centre, constants):
    # Four Gauss points a stretch take the moments under a bridge exactly; the three in use are tested below.
    for name, value in zip(("_NODES", "_WEIGHTS"), np.polynomial.legendre.leggauss(4), strict=True):
        monkeypatch.setattr(f"stiffcalc.mechanics.beam.{name}", value)
    constants = dataclasses.replace(constants, torsion_bored=0.0)
    x1 = 0.0 if bores == 1 else 30.0
    places = [(at, 135.0, TINY) for at in ([0.0] if bores == 1 else [-x1, x1])]
    walls = four_bore(bores=places, floor=34.0 - 1e-9)
    between = bridges(*ENDS, *([CENTRE] if centre else []))
    opening = openings(
        walls,
        between,
        pressure=1000.0 / (0.25 * np.pi * TINY**2),
        bore_wall=False,
        constants=constants,
        without=["floor", "wall distortion"],
    )
    share = sp.Rational(1, 2) if bores == 1 else sp.Integer(1)
    expected = derived(x1=x1, share=share, y_bore=135.0, between=between, walls=walls, constants=constants)
    assert opening[0] == pytest.approx(np.full(bores, 1000.0 * expected), rel=1e-6)


@pytest.mark.parametrize("centre", [(), (CENTRE,)])
def test_two_stations_a_stretch_are_enough(monkeypatch, centre):
    # Regression of the quadrature: two against forty points, bored wall; 2e-3 is what `beam` promises.
    walls, between = four_bore(bores=((-34.0, 135.0, 44.0), (30.0, 140.0, 34.0))), bridges(*ENDS, *centre)
    coarse = openings(walls, between)
    for name, value in zip(("_NODES", "_WEIGHTS"), np.polynomial.legendre.leggauss(40), strict=True):
        monkeypatch.setattr(f"stiffcalc.mechanics.beam.{name}", value)
    np.testing.assert_allclose(coarse, openings(walls, between), rtol=2e-3)
