"""The search for least mass against optima in closed form: stepped cantilevers, beam theory and plane elements."""

import numpy as np
import pytest

from stiffcalc.explore.size_search import PENALTY, Sample, Slopes, least
from stiffcalc.plane.section.grid import mesh_section
from stiffcalc.plane.section.moving import moved
from stiffcalc.plane.section.outline import Material, Part, polygon
from stiffcalc.plane.section.problem import Support, Traction, single
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.section.solve import solve
from stiffcalc.plane.section.stress import recover, sample_at


class Cantilever:
    """Five pieces b x h of 100 cm each, 50 kN at the tip, 14 kN/cm2 allowed, h at most 20 b; cm and N.

    Vanderplaats, Numerical Optimization Techniques for Engineering Design, stepped cantilever; continuous optimum
    61 914.79 cm3 in Thanedar & Vanderplaats, Survey of discrete variable optimization for structural design, J. Struct.
    Eng. 121 (1995); both from memory. The limit on the tip's deflection, which does not act there, is left out.
    """

    LOAD, ALLOWED = 50_000.0, 14_000.0
    REACH = np.array([500.0, 400.0, 300.0, 200.0, 100.0])

    def sample(self, x):
        b, h = x[:5], x[5:]
        return Sample(100 * float(b @ h), np.r_[self._stress(b, h), h / (20 * b)])

    def slopes(self, x):
        b, h = x[:5], x[5:]
        stress = self._stress(b, h)
        rows = np.block(
            [
                [np.diag(-stress / b), np.diag(-2 * stress / h)],
                [np.diag(-h / (20 * b**2)), np.diag(1 / (20 * b))],
            ]
        )
        return Slopes(100 * np.r_[h, b], rows)

    def _stress(self, b, h):
        return 6 * self.LOAD * self.REACH / (b * h**2) / self.ALLOWED


LOW, HIGH = np.r_[np.full(5, 1.0), np.full(5, 5.0)], np.r_[np.full(5, 10.0), np.full(5, 100.0)]


def test_stepped_cantilever_by_beam_theory():
    found = least(
        Cantilever(),
        start=np.r_[np.full(5, 5.0), np.full(5, 40.0)],
        low=LOW,
        high=HIGH,
        most=60,
        tolerance=1e-6,
    )
    # Every piece at its stress and its slenderness: 6 P x / (400 b^3) = allowed.
    b = (6 * Cantilever.LOAD * Cantilever.REACH / (400 * Cantilever.ALLOWED)) ** (1 / 3)
    assert found.converged
    assert found.x == pytest.approx(np.r_[b, 20 * b], rel=1e-4)
    assert Cantilever().sample(found.x).cost == pytest.approx(61_914.79, abs=0.5)


def test_where_nothing_meets_every_limit_the_worst_is_least():
    """Pieces so low that the root is overloaded at every bound: it ends at the root's best."""
    high = np.r_[np.full(5, 2.5), np.full(5, 50.0)]
    found = least(Cantilever(), start=np.r_[np.full(5, 2.0), np.full(5, 30.0)], low=LOW, high=high, most=60)
    uses = Cantilever().sample(found.x).uses
    root = 6 * Cantilever.LOAD * 500.0 / (2.5 * 50.0**2) / Cantilever.ALLOWED
    assert uses.max() == pytest.approx(root, rel=1e-3)
    assert uses[0] == pytest.approx(uses.max(), rel=1e-6)
    assert PENALTY > 1


class PlaneCantilever:
    """Three pieces of 60 mm, 10 mm thick, 600 N at the tip, 60 MPa allowed, in six-node triangles on one moving mesh.

    Beam theory (Gere & Timoshenko, Mechanics of Materials, nonprismatic beams): where the surface stress is looked at,
    at the middle of each piece, least area has h = sqrt(6 P x / (b s)).
    """

    PIECE, WIDTH, LOAD, ALLOWED = 60.0, 10.0, 600.0, 60.0
    REACH = np.array([150.0, 90.0, 30.0])  # of the middles from the tip
    STEP = 1e-3

    def __init__(self):
        self.drawn = self.part(np.array([40.0, 34.0, 28.0]))
        self.grid = mesh_section([self.drawn], sizing=Sizing(5.0))

    def part(self, h):
        ends = self.PIECE * np.arange(4)
        upper = [
            (float(x), float(y / 2)) for k, y in enumerate(h) for x, y in ((ends[k], y), (ends[k + 1], y))
        ]
        lower = [(x, -y) for x, y in upper]
        names = ["side"] * 5 + ["tip"] + ["side"] * 5 + ["root"]
        return Part("beam", polygon([*lower, *upper[::-1]], names=names), self.WIDTH, Material(70000.0, 0.3))

    def sample(self, h):
        part = self.part(h)
        grid = moved(self.grid, [self.drawn], [part])
        shear = Traction("tip", y=-self.LOAD / (self.WIDTH * h[-1]))
        problem = single(
            (part,), shear, supports=(Support("root", x=True), Support((0.0, -h[0] / 2), y=True))
        )
        stress = recover(grid, solve(problem, grid).U)
        places = np.stack([3 * self.PIECE - self.REACH, h / 2], axis=1)
        area = self.PIECE * float(h.sum())
        return Sample(area, sample_at(stress, places)[0, :, 0] / self.ALLOWED)

    def slopes(self, h):
        base = self.sample(h)
        near = [self.sample(h + self.STEP * e) for e in np.eye(3)]
        cost = np.array([s.cost - base.cost for s in near]) / self.STEP
        return Slopes(cost, np.stack([s.uses - base.uses for s in near], axis=1) / self.STEP)


def test_stepped_cantilever_in_plane_elements():
    model = PlaneCantilever()
    found = least(
        model, start=np.array([40.0, 34.0, 28.0]), low=np.full(3, 8.0), high=np.full(3, 60.0), most=40
    )
    exact = np.sqrt(6 * model.LOAD * model.REACH / (model.WIDTH * model.ALLOWED))
    assert found.x == pytest.approx(exact, rel=0.01)  # 30.0, 23.2, 13.4 mm
    assert model.sample(found.x).uses == pytest.approx(1.0, abs=1e-3)
