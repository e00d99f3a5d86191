"""Local flexibilities of the wall and the modes of its distortion: derived by other routes."""

import dataclasses

import numpy as np
import pytest
from numpy.polynomial import Polynomial
from numpy.polynomial.legendre import leggauss
from wall_cases import CENTRE, ENDS, NU, E, bridges, flexibility, four_bore

from stiffcalc.mechanics.beam import beam, stations_of
from stiffcalc.mechanics.bridges import area_matrix
from stiffcalc.mechanics.constants import THEORY
from stiffcalc.mechanics.distortion import WAVES, modes
from stiffcalc.mechanics.local import bore_growth, floor_flexibility, floor_thickness, root_flexibility
from stiffcalc.mechanics.places import places
from stiffcalc.mechanics.plates import floor_bending_flexibility
from stiffcalc.mechanics.sections import sections_at
from stiffcalc.mechanics.wall import condensed_wall, footprints

BORE = (5.0, 135.0, 42.0)
BETWEEN = bridges(*ENDS, CENTRE)


def test_mean_of_the_clamped_floor_v20():
    # V20 (Timoshenko & Woinowsky-Krieger; Roark table 11.2): clamped, nu 0.3: centre 0.17063 q a^4 / E h^3.
    # The deflection goes as (1 - r^2/a^2)^2, whose mean is a third.
    mean = floor_bending_flexibility(np.array(21.0), thickness=np.array(9.0), E=np.array(E), nu=np.array(0.3))
    assert mean == pytest.approx(0.17063 / 3 * 21.0**4 / (E * 9.0**3), rel=5e-4)


def test_floor_flexibility_against_its_three_terms():
    # By hand: a^4 / 192 D + a^2 / 8 kappa G e + (16.67 / pi) (1 - nu^2) / 32 a^3 / E e^2, per unit force.
    a, e, G = 21.0, 9.0, E / (2 * (1 + NU))
    D = E * e**3 / (12 * (1 - NU**2))
    by_hand = (
        a**4 / (192 * D) + a**2 / (8 * 5 / 6 * G * e) + 16.67 / np.pi * (1 - NU**2) / 32 * a**3 / (E * e**2)
    )
    found = floor_flexibility(four_bore(bores=[BORE]))
    assert found[0, 0] == pytest.approx(by_hand / (np.pi * a**2), rel=1e-12)


@pytest.mark.parametrize(
    ("pocket", "left"),
    [
        ((-30.0, 40.0, 110.0, 160.0, 4.0), 5.0),
        ((-100.0, -60.0, 110.0, 160.0, 4.0), 9.0),
        ((5.0, 40.0, 110.0, 160.0, 4.0), np.cbrt((9.0**3 + 5.0**3) / 2)),
    ],
    ids=["under a pocket", "beside it", "half under it"],
)
def test_floor_left_by_a_pocket(pocket, left):
    assert floor_thickness(four_bore(bores=[BORE], pockets=[pocket]))[0, 0] == pytest.approx(left, rel=1e-12)


def test_root_is_a_layer_over_the_footprint():
    # A layer of depth d under a rectangle b x h about its centroid: d/EA, 12 d/E b h^3, 12 d/E h b^3.
    between = bridges((-12.0, 12.0, 150.0, 190.0, 0.0))
    constants = dataclasses.replace(THEORY, root=0.25)
    root = root_flexibility(four_bore(), area=area_matrix(between), constants=constants)[0, 0]
    depth = 0.25 * 34.0
    expected = depth / E / np.array([24.0 * 40.0, 24.0 * 40.0**3 / 12, 40.0 * 24.0**3 / 12])
    np.testing.assert_allclose(root, np.diag(expected), rtol=1e-10, atol=1e-18)


def test_growth_of_a_bore_without_a_floors_restraint_v23():
    # V23 (Lame, plane stress): ri 20, ro 30, p 10, E 71 000, nu 0.33: the radius grows 0.0082535 mm.
    walls = dataclasses.replace(
        four_bore(bores=[(0.0, 145.0, 40.0)]), y=np.array([[115.0, 190.0]]), thickness=np.array([40.0])
    )
    volume = 2 * np.pi * 20.0 * 0.00082535 * (40.0 - 9.0)
    assert bore_growth(walls, constants=THEORY)[0, 0] == pytest.approx(volume, rel=1e-4)
    held = bore_growth(walls, constants=dataclasses.replace(THEORY, bore_restraint=0.5))[0, 0]
    assert held == pytest.approx(volume * 31.0 / (31.0 + 20.0), rel=1e-4)


LEGENDRE = [Polynomial([-0.5, 0.0, 1.5]), Polynomial([0.0, -1.5, 0.0, 2.5])]


class Sampled:
    """psi(eta) cos(n pi x / L) of the wall 220 x 85 on a fine grid: fields and energies by quadrature."""

    def __init__(self, shape, n):
        self.psi, self.k, self.half = LEGENDRE[shape], n * np.pi / 220.0, 42.5

    def __call__(self, x, y, *, dx=0, dy=0):
        eta = (y - 147.5) / self.half
        along = [np.cos, lambda v: -np.sin(v), lambda v: -np.cos(v)][dx](self.k * (x + 110.0)) * self.k**dx
        return (self.psi.deriv(dy) if dy else self.psi)(eta) / self.half**dy * along

    def energies(self, *, nu, t):
        """Twice the energy of bending at given m (E t^3 / 12 across), and of shear."""
        g, w = leggauss(60)
        x, y = np.meshgrid(110.0 * g, 147.5 + 42.5 * g)
        dA = np.outer(w, w) * 110.0 * 42.5
        D, S = E * t**3 / (12 * (1 - nu**2)), 5 / 6 * E / (2 * (1 + nu)) * t
        xx, yy, xy = self(x, y, dx=2), self(x, y, dy=2), self(x, y, dx=1, dy=1)
        # P2's bow across has E t^3 / 12: at given m the beam's own curvature takes -nu times its mean.
        bow = nu**2 * (yy.mean(axis=0) ** 2)[None] if self.psi is LEGENDRE[0] else 0.0
        bending = D * (xx**2 + yy**2 + 2 * nu * xx * yy + 2 * (1 - nu) * xy**2 - bow)
        shear = S * (self(x, y, dx=1) ** 2 + self(x, y, dy=1) ** 2)
        return (bending * dA).sum(), (shear * dA).sum()


@pytest.fixture(scope="module")
def found():
    walls, feet = (
        four_bore(bores=[BORE], holes=[(-94.0, 175.0, 11.0, 17.0)], cuts=(20.0,)),
        footprints(BETWEEN).feet,
    )
    place = places(walls, feet)
    line = beam(walls, feet, place, stations_of(walls, feet))
    return walls, place, line, modes(walls, feet, place, line, bored=0.0)


@pytest.mark.parametrize("n", [0, 1, 4, WAVES - 1])
@pytest.mark.parametrize("shape", [0, 1])
def test_yields_are_plate_energies(found, shape, n):
    bending, shear = Sampled(shape, n).energies(nu=NU, t=34.0)
    yields, at = found[3].yields[0], shape * WAVES + n
    assert yields[at] == pytest.approx(1.0 / bending, rel=1e-9)
    assert yields[2 * WAVES + at] == pytest.approx(1.0 / shear, rel=1e-9)


@pytest.mark.parametrize("n", [0, 1, WAVES - 1])
def test_a_free_bow_adds_nothing(found, n):
    # Bending alone, without what varies along x: at n = 0 the wave of P2 is free, so both terms of the bow
    # cancel; at shorter waves twist and slope restrain it, and what is left stiffens.
    yields = found[3].yields[0]
    left = yields[n] + yields[4 * WAVES + n]
    assert yields[4 * WAVES + n] == pytest.approx(-yields[0] * (1.0 if n == 0 else 2.0), rel=1e-12)
    assert left == pytest.approx(0.0, abs=1e-12 * yields[0]) if n == 0 else left < 0.0


def rectangle(x0, x1, y0, y1, count=400):
    x, y = (a + (b - a) * (np.arange(count) + 0.5) / count for a, b in ((x0, x1), (y0, y1)))
    return np.meshgrid(x, y)


def disc(centre_x, centre_y, diameter, count=600):
    r = diameter / 2
    x, y = rectangle(centre_x - r, centre_x + r, centre_y - r, centre_y + r, count)
    inside = (x - centre_x) ** 2 + (y - centre_y) ** 2 < r**2
    return x[inside], y[inside]


@pytest.mark.parametrize("n", [0, 2, WAVES - 1])
@pytest.mark.parametrize("shape", [0, 1])
def test_movements_are_means_over_what_is_loaded(found, shape, n):
    # The centre bridge's footprint is a rectangle, exact; over discs psi and phi are averaged apart, within
    # 0.01 of 1.
    w = Sampled(shape, n)
    moved = found[3].movement[0, :, 2 * WAVES + shape * WAVES + n]
    x, y = rectangle(*CENTRE[:4])
    dx, dy = x - x.mean(), y - y.mean()
    field = w(x, y)
    scale = np.abs(moved[6]) + 0.1
    assert moved[6] == pytest.approx(field.mean(), abs=1e-5 * scale)
    assert moved[7] == pytest.approx((field * dy).mean() / (dy**2).mean(), rel=1e-4, abs=1e-7)
    assert moved[8] == pytest.approx(-(field * dx).mean() / (dx**2).mean(), rel=1e-4, abs=1e-7)
    assert moved[9] == pytest.approx(w(*disc(-94.0, 175.0, 11.0)).mean(), abs=0.005)
    x, y = disc(*BORE)
    assert moved[10] == pytest.approx(w(x, y).mean(), abs=0.01)
    tilt = w(x, y, dy=1).mean(), -w(x, y, dx=1).mean()
    assert moved[11:13] == pytest.approx(tilt, abs=0.02 * max(w.k, 1.0 / 42.5))
    assert moved[14] == pytest.approx(w(np.array(20.0), np.array(135.0)), rel=1e-9)
    assert moved[15] == pytest.approx(w(np.array(20.0), np.array(135.0), dy=1), rel=1e-9)


@pytest.mark.parametrize("shape", [0, 1])
def test_work_of_the_bore_walls_pressure(found, shape):
    # -depth * e * int Laplacian(w) over the bore, e = -floor / 2; by quadrature over the disc.
    x, y = disc(*BORE)
    w = Sampled(shape, 2)
    area = np.pi * 21.0**2
    by_hand = 25.0 * 4.5 * area * (w(x, y, dx=2) + w(x, y, dy=2)).mean()
    load = found[3].load[0, 0, shape * WAVES + 2]
    assert load == pytest.approx(by_hand, rel=0.02)


def test_bow_of_a_unit_load(found):
    # c = -(12 nu / H^2) int m phi dx with the beam's own bending moments.
    walls, _, line, bent = found
    phi = np.cos(3 * np.pi / 220.0 * (line.x[0] + 110.0))
    c = -(12 * NU / 85.0**2) * (line.bending[0] * phi * line.weight[0]).sum(axis=1)
    np.testing.assert_allclose(bent.movement[0, :, 4 * WAVES + 3], c, rtol=1e-10, atol=1e-9)
    assert np.diff(walls.y)[0, 0] == 85.0


def test_without_poissons_ratio_there_is_no_bow():
    walls, feet = dataclasses.replace(four_bore(bores=[BORE]), nu=np.zeros(1)), footprints(BETWEEN).feet
    place = places(walls, feet)
    bent = modes(walls, feet, place, beam(walls, feet, place, stations_of(walls, feet)), bored=0.0)
    assert np.all(bent.movement[:, :, 4 * WAVES :] == 0.0)
    distortion = flexibility(walls, BETWEEN).parts["wall distortion"][0]
    assert np.linalg.eigvalsh(distortion).min() > -1e-12 * np.trace(distortion)


@pytest.mark.parametrize("pockets", [(), [(-20.0, 40.0, 110.0, 160.0, 5.0)]], ids=["plain", "pocket"])
def test_shear_area_by_quadrature(pockets):
    # I^2 / int S^2 / b dz with S and b from fine slices of the section (Zhuravskii).
    found = sections_at(four_bore(bores=[BORE], pockets=pockets), np.array([[9.0]]))
    z = (np.arange(340000) + 0.5) / 1e4 - 17.0
    b = 85.0 - np.where(z < 8.0, 2 * np.sqrt(21.0**2 - 4.0**2), 0.0)
    b -= np.where(z > 12.0, 50.0, 0.0) if pockets else 0.0
    dz = z[1] - z[0]
    lever = z - (b * z).sum() / b.sum()
    S = np.cumsum((b * lever)[::-1])[::-1] * dz
    expected = (b * lever**2).sum() * dz
    assert found.Iw[0, 0] == pytest.approx(expected, rel=1e-6)
    assert found.shear_area[0, 0] == pytest.approx(expected**2 / ((S**2 / b).sum() * dz), rel=1e-4)


def test_a_wall_in_brief_is_the_same_wall():
    walls, prints = four_bore(cuts=(-20.0, 13.0)), footprints(BETWEEN)
    (whole, line), (bare, bare_line) = (condensed_wall(walls, prints, brief=b) for b in (False, True))
    kept = 3 * whole.points.bores
    assert whole.outputs.O.shape[1] == kept + 2 * walls.cut_x.shape[1] and bare.outputs.O.shape[1] == kept
    np.testing.assert_allclose(bare.F, whole.F, rtol=1e-12)
    np.testing.assert_allclose(sum(bare.parts.values()), sum(whole.parts.values()), rtol=1e-12)
    np.testing.assert_allclose(bare.wall, whole.wall, rtol=1e-12)
    np.testing.assert_allclose(bare.outputs.O, whole.outputs.O[:, :kept], rtol=1e-12)
    np.testing.assert_allclose(bare_line.bending, line.bending, rtol=1e-12)
