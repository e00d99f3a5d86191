"""Compression-only joint faces against statics: a rectangular foot and an elastic-bed (Winkler) joint.

V33, V73 and V74 are the standard results of statics for a linear pressure over a rectangle that cannot
pull: kern rule M0 = F h / 6, contact length 3 (h/2 - e), edge pressure 2 N / (3 b (h/2 - e)), rotation
4 / (3 - m)^2.
P17 and P18 are the joint diagram of any machine-design text (bolt share, separation load).
"""

import numpy as np
import pytest
import shapely

from stiffcalc.condensed import Flexibility, Outputs, Points
from stiffcalc.mechanics.bridges import Bridges
from stiffcalc.mechanics.compression import Problem, equilibrium
from stiffcalc.mechanics.faces import (
    closed_stiffness,
    face_pressure,
    make_faces,
    open_fraction,
    pressure_range,
)
from stiffcalc.mechanics.joint import join, load, tighten
from stiffcalc.mechanics.joint_state import change
from stiffcalc.mechanics.opening import onset

WIDTH, HEIGHT, LAYER, E = 30.0, 60.0, 25.0, 71000.0


def rectangles(count, *, width=WIDTH, height=HEIGHT):
    """The same rectangle `count` times, as designs of one bridge with no hole."""
    one = np.ones((count, 1))
    none = np.zeros((count, 1, 0))
    return Bridges(
        x=one[..., None] * [-width / 2, width / 2],
        y=one[..., None] * [100.0, 100.0 + height],
        arch=0.0 * one,
        length=61.0 * one,
        hole_x=none,
        hole_y=none,
        hole_d=none,
        E=E * one,
    )


def pressed(push, *, moment_x=0.0, moment_y=0.0, **shape):
    """Faces and separations s (D, 1, 3) of rectangles under a push (N) and moments about x and y (N mm)."""
    moment_x, moment_y = np.broadcast_arrays(np.atleast_1d(moment_x), np.atleast_1d(moment_y))
    bridges = rectangles(len(moment_x), **shape)
    faces = make_faces(bridges, layer=np.full((len(moment_x), 1), LAYER))
    b = -np.stack([np.full(moment_x.shape, -push), moment_x, moment_y], axis=-1)
    closed = closed_stiffness(faces)[:, 0]
    found = equilibrium(
        Problem(
            A=np.zeros((len(b), 3, 3)),
            b=b,
            faces=faces,
            scale=push * np.tile([1.0, HEIGHT, WIDTH], (len(b), 1)),
            closed=closed,
            start=np.linalg.solve(closed, -b[..., None])[..., 0],
        )
    )
    assert found.residual.max() < 1e-11
    return faces, found.s.reshape(-1, 1, 3)


def test_v33_contact_length_and_edge_pressure():
    # V33: height 60, width 30, N 20 000, e 15: 45 mm in contact, 29.63 MPa at the edge (statics, exact).
    faces, s = pressed(20000.0, moment_x=20000.0 * 15.0)
    assert HEIGHT * (1 - open_fraction(faces, s)[0, 0]) == pytest.approx(45.0, rel=1e-9)
    least, most = pressure_range(faces, s)
    assert most[0, 0] == pytest.approx(2 * 20000.0 / (3 * WIDTH * (HEIGHT / 2 - 15.0)), rel=1e-9)
    assert most[0, 0] == pytest.approx(29.63, abs=0.005)
    assert least[0, 0] == 0.0


def test_v73_kern_rule():
    # V73: h 60, b 30, F_V 40 000: first decompression at M0 = F h / 6 = 400 000 N mm.
    faces, s = pressed(40000.0, moment_x=np.array([0.0, 399_999.0, 400_000.0, 400_001.0]))
    least = pressure_range(faces, s)[0][:, 0]
    p0 = 40000.0 / (WIDTH * HEIGHT)
    np.testing.assert_allclose(least[:3], p0 * (1 - np.array([0.0, 0.9999975, 1.0])), atol=1e-9 * p0)
    opened = open_fraction(faces, s)[:, 0]
    assert np.all(opened[:3] < 1e-12) and opened[3] > 1e-6


def test_v74_rotation_beyond_decompression():
    # V74: theta / theta_lin = 4 / (r (3 - r)^2): 1.000 at r = 1, 1.185 at r = 1.5; contact (3 - r)/2 h.
    r = np.array([0.3, 1.0, 1.5, 2.0, 2.5, 2.9, 2.99])
    faces, s = pressed(40000.0, moment_x=400_000.0 * r)
    linear = 400_000.0 * r / closed_stiffness(faces)[:, 0, 1, 1]
    ratio = s[:, 0, 1] / linear
    np.testing.assert_allclose(ratio, np.where(r > 1, 4 / (r * (3 - r) ** 2), 1.0), rtol=1e-6)
    np.testing.assert_allclose(ratio[1:3], [1.000, 1.185], atol=5e-4)
    np.testing.assert_allclose(1 - open_fraction(faces, s)[:, 0], np.minimum(1, (3 - r) / 2), rtol=1e-6)


def test_v74_about_the_other_axis_within_the_columns_reach():
    # Along x the columns are Gauss points, not exact: under 1 % at half the face open, 3 % at three quarters.
    r = np.array([0.5, 1.2, 1.5, 2.0, 2.5])
    faces, s = pressed(40000.0, moment_y=200_000.0 * r)
    linear = 200_000.0 * r / closed_stiffness(faces)[:, 0, 2, 2]
    exact = np.where(r > 1, 4 / (r * (3 - r) ** 2), 1.0)
    np.testing.assert_allclose(s[:-1, 0, 2] / linear[:-1], exact[:-1], rtol=0.01)
    np.testing.assert_allclose(s[-1, 0, 2] / linear[-1], exact[-1], rtol=0.03)


def test_a_corner_opens_first_under_both_moments():
    # Statics: the edge stresses of both moments add, M_x / (F h) + M_y / (F b) = 1/6 at the corner.
    faces, s = pressed(40000.0, moment_x=199_999.0, moment_y=100_000.0)
    assert open_fraction(faces, s)[0, 0] < 1e-12
    at = face_pressure(
        faces, s, x=np.array([[[-15.0, -15.0, 15.0, 15.0]]]), y=np.array([[[100.0, 160.0] * 2]])
    )
    p0 = 40000.0 / (WIDTH * HEIGHT)
    share_y, share_x = 199_999.0 / 400_000.0, 100_000.0 / 200_000.0  # of each kern alone
    wanted = [1 - share_x + share_y, 1 - share_x - share_y, 1 + share_x + share_y, 1 + share_x - share_y]
    np.testing.assert_allclose(at[0, 0] / p0, wanted, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize(("r_x", "r_y"), [(0.3, 0.3), (0.5, 0.8), (0.9, 0.4), (1.0, 1.5), (1.8, 0.8)])
def test_both_moments_against_a_fine_grid_of_fibres(r_x, r_y):
    # The same definition summed up by brute force: 400 x 800 fibres, each E / layer where it presses.
    moment_x, moment_y = 400_000.0 * r_x, 200_000.0 * r_y
    faces, s = pressed(40000.0, moment_x=moment_x, moment_y=moment_y)
    fine, opened = by_fibres(np.array([-40000.0, moment_x, moment_y]))
    levers = np.array([1.0, HEIGHT / 2, WIDTH / 2])
    np.testing.assert_allclose(s[0, 0] * levers, fine * levers, atol=2e-5 * np.abs(fine * levers).max())
    assert open_fraction(faces, s)[0, 0] == pytest.approx(opened, abs=1e-3)
    assert (opened > 0.0) == (r_x + r_y > 1.0)  # kern of a rectangle


def by_fibres(tension):
    """Separations (w, theta_x, theta_y) under (N, Mx, My) and the share that is open."""
    x, y = ((np.arange(n) + 0.5) / n * size - size / 2 for n, size in ((400, WIDTH), (800, HEIGHT)))
    X, Y = np.meshgrid(x, y, indexing="ij")
    arm = np.stack([np.ones(X.size), Y.ravel(), -X.ravel()])
    k = E / LAYER * WIDTH * HEIGHT / X.size
    s = np.linalg.solve(k * arm @ arm.T, tension)
    for step in range(200):
        closed = s @ arm <= 0.0
        new = np.linalg.solve(k * (arm * closed) @ arm.T, tension)
        if np.abs(new - s).max() < 1e-12 * np.abs(s).max():
            return new, 1.0 - closed.mean()
        s = new if step > 30 else 0.5 * (s + new)
    raise AssertionError("fibres did not settle")


def joint_diagram(preload, *, bolt=2.0e-6):
    """One rectangular bridge between rigid halves, a bolt and a bore on its axis."""
    bridges = rectangles(1)
    R = np.array([[[1.0, 130.0, 0.0], [0, 1, 0], [0, 0, 1], [1, 130, 0], [1, 130, 0]]])
    none = np.zeros((1, 0, 5))
    rigid = Flexibility(
        points=Points(bridges=1, bolts=1, bores=1),
        F=np.zeros((1, 5, 5)),
        R=R,
        wall=np.zeros((1, 5)),
        outputs=Outputs(O=none, wall=np.zeros((1, 0)), R=np.zeros((1, 0, 3))),
        parts={},
    )
    pair = join(
        rigid,
        bridges=bridges,
        jointed=[True],
        layer=np.array([[LAYER]]),
        bolt_flexibility=np.array([[bolt]]),
        bore_area=np.array([[1000.0]]),
    )
    clamp = 61.0 / (E * WIDTH * HEIGHT)
    return pair, tighten(pair, np.array([[preload]])), clamp / (clamp + bolt)


def test_p17_p18_joint_diagram():
    # Phi = bolt stiffness / (bolt + clamped parts); B = F_V + Phi P until P = F_V / (1 - Phi), then B = P.
    pair, tightened, phi = joint_diagram(30000.0)
    separation = 30000.0 / (1 - phi) / 1000.0
    found = onset(pair, tightened)
    assert found.pressure[0, 0] == pytest.approx(separation, rel=1e-12)
    p = separation * np.array([[0.0, 0.3, 0.999, 1.001, 2.0]])
    state = load(pair, tightened, p).response
    np.testing.assert_allclose(state.bolt[0, :3, 0], 30000.0 + phi * 1000.0 * p[0, :3], rtol=1e-12)
    np.testing.assert_allclose(state.bolt[0, 3:, 0], 1000.0 * p[0, 3:], rtol=1e-10)  # iterated to 1e-11
    np.testing.assert_allclose(state.bolt[..., 0] + state.tension[..., 0, 0], 1000.0 * p, atol=1e-6)
    moved = change(state, tightened.response)
    np.testing.assert_allclose(moved.points[0, :, -1], 2.0e-6 * moved.bolt[0, :, 0], rtol=1e-9, atol=1e-12)


def test_p18_a_soft_bolt_sees_no_change():
    pair, tightened, phi = joint_diagram(30000.0, bolt=1.0)
    assert phi < 1e-6
    assert onset(pair, tightened).pressure[0, 0] == pytest.approx(30.0, rel=1e-6)
    assert load(pair, tightened, np.array([20.0])).response.bolt[0, 0] == pytest.approx(30000.0, rel=1e-6)


def test_open_area_of_an_arched_face_with_holes_is_shapelys():
    # The open part of the true face, cut by the line a . s = 0, against polygons of a general-purpose geometry
    # library (shapely; arch and holes as fine polygons). The columns' Gauss points leave a little along x.
    bridges = Bridges(
        x=np.array([[[78.0, 110.0]]]),
        y=np.array([[[105.0, 190.0]]]),
        arch=np.array([[168.0]]),
        length=np.array([[61.0]]),
        hole_x=np.array([[[94.0, 94.0]]]),
        hole_y=np.array([[[156.0, 178.0]]]),
        hole_d=np.array([[[11.0, 11.0]]]),
        E=np.array([[E]]),
    )
    faces = make_faces(bridges, layer=np.array([[50.0]]))
    x = np.linspace(78.0, 110.0, 2001)
    outline = [*zip(x, np.sqrt(168.0**2 - x**2), strict=True), (110.0, 190.0), (78.0, 190.0)]
    face = shapely.Polygon(outline)
    for y in (156.0, 178.0):
        face = face.difference(shapely.Point(94.0, y).buffer(5.5, quad_segs=500))
    for shift, slope_y, slope_x in [(0.0, 1.0, 0.0), (2.0, 0.5, 0.3), (-6.0, 0.4, 1.0), (10.0, -1.0, 0.1)]:
        s = np.array([[[shift, slope_y, slope_x]]])
        beyond = half_plane(faces, s[0, 0]).intersection(face).area / face.area
        assert 0.03 < beyond < 0.97
        assert open_fraction(faces, s)[0, 0] == pytest.approx(beyond, abs=2e-3)


def half_plane(faces, s):
    """Where a . s > 0, as a large polygon."""
    normal = np.array([-s[2], s[1]]) / np.hypot(s[1], s[2])
    along = np.array([-normal[1], normal[0]])
    foot = np.array([faces.x_b[0, 0], faces.y_r[0, 0]]) - normal * s[0] / np.hypot(s[1], s[2])
    corners = [foot + 500 * along, foot - 500 * along]
    return shapely.Polygon([*corners, corners[1] + 500 * normal, corners[0] + 500 * normal])
