"""Round plates and thick cylinders against handbook closed forms, and against each other."""

import numpy as np
import pytest

from stiffcalc.mechanics import plates

# w = k1 q a^4 / (E h^3), sigma = k2 q (a/h)^2 for nu = 0.3: Timoshenko & Woinowsky-Krieger; Roark table 11.2
CLAMPED = {"fixity": 1.0}
SIMPLE = {"fixity": 0.0}
SIZES = {"radius": 20.0, "thickness": 4.0}


def deflection(**edge):
    w = plates.plate_centre_deflection(2.0, E=70e3, nu=0.3, **SIZES, **edge)
    return w * 70e3 * 4.0**3 / (2.0 * 20.0**4)


def stress(found):
    return found / (2.0 * 25.0)


def test_clamped_round_plate():
    assert deflection(**CLAMPED) == pytest.approx(0.17063, rel=5e-4)
    assert stress(plates.plate_edge_stress(2.0, **SIZES, **CLAMPED)) == pytest.approx(0.750, rel=5e-4)


def test_simply_supported_round_plate():
    assert deflection(**SIMPLE) == pytest.approx(0.69563, rel=5e-4)
    assert stress(plates.plate_centre_stress(2.0, nu=0.3, **SIZES, **SIMPLE)) == pytest.approx(
        1.2375, rel=5e-4
    )
    assert plates.plate_edge_stress(2.0, **SIZES, **SIMPLE) == 0.0


def test_clamped_centre_stress_is_half_of_1_plus_nu_of_the_edge_s():
    """Timoshenko & Woinowsky-Krieger: centre moment q a^2 (1 + nu)/16 against q a^2 / 8 at the edge."""
    centre = plates.plate_centre_stress(2.0, nu=0.3, **SIZES, **CLAMPED)
    assert centre / plates.plate_edge_stress(2.0, **SIZES, **CLAMPED) == pytest.approx(0.65, rel=1e-12)


def test_mean_deflection_of_the_floor_is_a_third_of_its_centre_s():
    """w = w0 (1 - (r/a)^2)^2 has the mean w0 / 3: the response and the stress check use one plate."""
    mean = plates.floor_bending_flexibility(20.0, thickness=4.0, E=70e3, nu=0.3)
    centre = plates.plate_centre_deflection(1.0, E=70e3, nu=0.3, **SIZES, **CLAMPED)
    assert centre == pytest.approx(3.0 * mean, rel=1e-13)


def test_shear_deflection_of_a_floor():
    """w = p (a^2 - r^2) / (4 kappa G e), kappa = 5/6, has half its centre's value as its mean (derived)."""
    G = 70e3 / 2.6
    centre = 20.0**2 / (4.0 * 5.0 / 6.0 * G * 4.0)
    assert plates.floor_shear_flexibility(20.0, thickness=4.0, E=70e3, nu=0.3) == pytest.approx(0.5 * centre)


def test_fixity_of_the_root_follows_from_the_edge_flexibility():
    """The edge turns by theta = 4 w_mean / a under the clamped moment p a^2 / 8; against the free plate's
    edge stiffness D (1 + nu) / a that is the fixity."""
    a, e, E, nu = 21.0, 9.0, 71e3, 0.33
    turn = 4.0 * plates.floor_edge_flexibility(a, thickness=e, E=E, nu=nu) / a
    give = turn / (a**2 / 8.0)
    stiffness = E * e**3 / (12.0 * (1.0 - nu**2)) * (1.0 + nu) / a
    assert plates.root_fixity(a, thickness=e, nu=nu) == pytest.approx(
        1.0 / (1.0 + give * stiffness), rel=1e-12
    )


def test_partly_fixed_plate_lies_between():
    f = np.linspace(0.0, 1.0, 11)
    centre = plates.plate_centre_stress(2.0, nu=0.33, fixity=f, **SIZES)
    assert np.all(np.diff(centre) < 0)
    assert np.all(np.diff(plates.plate_edge_stress(2.0, fixity=f, **SIZES)) > 0)


def test_range_of_plate_theory():
    """Roark, flat plates: thickness up to a quarter of the diameter (looked up)."""
    assert plates.is_thin(21.0, thickness=np.array([9.0, 10.5, 10.6])).tolist() == [True, True, False]


def test_thick_cylinder():
    """Lame, ri 20, ro 30 mm, 10 MPa (evaluated and by finite elements): hoop 26.0 and 16.0, radial -10 MPa;
    the bore grows 0.0082535 mm in plane stress."""
    tube = {"inner": 20.0, "outer": 30.0}
    assert plates.cylinder_hoop_stress(10.0, radius=20.0, **tube) == pytest.approx(26.0, rel=1e-3)
    assert plates.cylinder_hoop_stress(10.0, radius=30.0, **tube) == pytest.approx(16.0, rel=1e-3)
    assert plates.cylinder_radial_stress(10.0, radius=20.0, **tube) == pytest.approx(-10.0, rel=1e-12)
    assert plates.cylinder_radial_stress(10.0, radius=30.0, **tube) == pytest.approx(0.0, abs=1e-12)
    assert plates.cylinder_growth(10.0, E=71e3, nu=0.33, **tube) == pytest.approx(0.0082535, rel=1e-5)


def test_hoop_and_pressure_balance():
    """The hoop stress over the wall carries p times the bore's diameter (statics)."""
    r, w = np.polynomial.legendre.leggauss(20)
    radius = 25.0 + 5.0 * r
    hoop = plates.cylinder_hoop_stress(10.0, inner=20.0, outer=30.0, radius=radius)
    assert 5.0 * (w * hoop).sum() == pytest.approx(10.0 * 20.0, rel=1e-12)
