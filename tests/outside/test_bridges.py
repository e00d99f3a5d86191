"""Bridge sections against the CAD kernel inside gmsh (Open CASCADE mass properties), to 1e-9."""

import gmsh
import numpy as np
import pytest

from stiffcalc.errors import InputError
from stiffcalc.mechanics.bridges import (
    Bridges,
    about,
    area_matrix,
    columns,
    integral_aa,
    reference,
    section,
    underside,
)

# ends x, y0, top, arch radius, holes (x, y, d)
SECTIONS = {
    "end bridge with two holes": (
        78.0,
        110.0,
        105.0,
        190.0,
        168.0,
        [(94.0, 156.0, 11.0), (94.0, 178.0, 11.0)],
    ),
    "arch runs out into the wall's bottom": (98.0, 150.0, 105.0, 190.0, 168.0, [(110.0, 160.0, 11.0)]),
    "leading, arch runs out": (-150.0, -98.0, 105.0, 190.0, 168.0, []),
    "flat centre bridge": (-12.0, 12.0, 172.0, 190.0, 0.0, [(0.0, 181.0, 6.6)]),
    "centre bridge under the crown": (-20.0, 24.0, 120.0, 190.0, 168.0, []),
    "floor above the crown": (-12.0, 12.0, 172.0, 190.0, 168.0, []),
}


def batch(*cases):
    """All cases as the bridges of one design, holes padded with diameter 0."""
    most = max(1, *(len(c[5]) for c in cases))
    holes = np.array([c[5] + [(c[0], c[3], 0.0)] * (most - len(c[5])) for c in cases])[None]
    flat = np.array([c[:5] for c in cases])[None]
    return Bridges(
        x=flat[..., 0:2],
        y=flat[..., 2:4],
        arch=flat[..., 4],
        length=np.full(flat.shape[:2], 61.0),
        hole_x=holes[..., 0],
        hole_y=holes[..., 1],
        hole_d=holes[..., 2],
        E=np.full(flat.shape[:2], 71000.0),
    )


@pytest.fixture(scope="module")
def cad():
    gmsh.initialize(interruptible=False)
    gmsh.option.setNumber("General.Terminal", 0)
    yield gmsh
    gmsh.finalize()


def cad_section(cad, x0, x1, y0, y1, arch, holes):
    cad.clear()
    occ = cad.model.occ
    cuts = [(2, occ.addDisk(x, y, 0, d / 2, d / 2)) for x, y, d in holes]
    cuts += [(2, occ.addDisk(0, 0, 0, arch, arch))] if arch else []
    face = [(2, occ.addRectangle(x0, y0, 0, x1 - x0, y1 - y0))]
    (one,) = occ.cut(face, cuts)[0] if cuts else face
    x, y, _ = occ.getCenterOfMass(*one)
    inertia = np.reshape(occ.getMatrixOfInertia(*one), (3, 3))
    return {
        "area": occ.getMass(*one),
        "x": x,
        "y": y,
        "Ix": inertia[0, 0],
        "Iy": inertia[1, 1],
        "Ixy": -inertia[0, 1],
    }


@pytest.mark.parametrize("name", SECTIONS)
def test_section_is_the_cad_kernels(cad, name):
    found = section(batch(SECTIONS[name]))
    for key, value in cad_section(cad, *SECTIONS[name]).items():
        scale = max(abs(value), 1e-3 * found.Ix[0, 0]) if key == "Ixy" else max(abs(value), 1.0)
        assert getattr(found, key)[0, 0] == pytest.approx(value, abs=1e-9 * scale), key


def test_a_design_does_not_depend_on_its_neighbours():
    together = area_matrix(batch(*SECTIONS.values()))[0]
    alone = [area_matrix(batch(c))[0, 0] for c in SECTIONS.values()]
    np.testing.assert_allclose(together, alone, rtol=1e-12, atol=1e-9)


def test_rectangle_with_a_central_hole_v09():
    # V09 (closed form, subtraction): 40 x 20 with a hole of 10: A 721.46, Ix 26 175.8, Iy 106 175.8.
    s = section(batch((-20.0, 20.0, 100.0, 120.0, 0.0, [(0.0, 110.0, 10.0)])))
    assert s.area[0, 0] == pytest.approx(721.46, abs=0.005)
    assert s.Ix[0, 0] == pytest.approx(26175.8, abs=0.05)
    assert s.Iy[0, 0] == pytest.approx(106175.8, abs=0.05)


def test_shift_of_the_reference_is_the_parallel_axis_theorem():
    # Derived: a about another point is a linear map of a, so the matrix follows by congruence.
    b = batch(*SECTIONS.values())
    x_b, y_r = reference(b)
    shift = np.eye(3)
    shift[1, 0], shift[2, 0] = -7.0, 5.0
    moved = integral_aa(about(columns(b), x_b=x_b + 5.0, y_r=y_r + 7.0))
    np.testing.assert_allclose(moved, shift @ area_matrix(b) @ shift.T, rtol=1e-10)


def test_underside_follows_the_higher_of_arch_and_floor():
    b = batch(SECTIONS["arch runs out into the wall's bottom"])
    x = np.array([[[100.0, 149.0]]])
    np.testing.assert_allclose(underside(b, x), [[[np.sqrt(168.0**2 - 100.0**2), 105.0]]])


@pytest.mark.parametrize("top", [150.0, float("nan")])
def test_a_floating_bridge_is_refused(top):
    with pytest.raises(InputError, match="bridge 0 of design 0"):
        section(batch((-12.0, 12.0, 105.0, top, 168.0, [])))
