"""The condensed half: signs, reciprocity, energy, equilibrium, scaling, limits, trends."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import stiffcalc.plane.front_view as module
from stiffcalc.errors import InputError
from stiffcalc.plane.front_view import front_view
from stiffcalc.plane.mesh import Disc
from stiffcalc.plane.model import model_of, output_rows, pins_of
from stiffcalc.plane.plan import FITTED, Footprint, Head, PlatePlan, Pocket, root_footprint

E, NU, T, FLOOR = 71e3, 0.33, 34.0, 9.0


def box(x0, x1, y0, y1):
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def foot(x0, x1, y0, y1):
    return Footprint(box(x0, x1, y0, y1), (x0 + x1) / 2, (y0 + y1) / 2, E / (0.16 * T))


PLAN = PlatePlan(
    outline=box(-110, 110, 105, 190),
    thickness=T,
    floor=FLOOR,
    bores=(Disc(-34.0, 135.0, 44.0), Disc(30.0, 135.0, 38.0)),
    footprints=(foot(-110, -78, 146, 190), foot(78, 110, 146, 190)),
    E=E,
    nu=NU,
    heads=(Head(-94.0, 156.0, 11.0, 17.0), Head(94.0, 178.0, 11.0, 17.0)),
    cuts=(-90.0, 0.0, 60.0),
    cut_y=135.0,
)
VIEW = front_view(PLAN)


def rooted(f, length=30.5):
    return root_footprint(f.outline, x=f.x, y=f.y, thickness=T, length=length, E=E, E_bridge=E)


ROOTED = replace(PLAN, footprints=tuple(map(rooted, PLAN.footprints)))
POINTS = VIEW.flexibility.points


def balanced(view):
    """Orthonormal sets of forces at the points (m, k) that are in equilibrium."""
    R = view.flexibility.R[0]
    return np.linalg.svd(R.T)[2][3:].T


def opened(view):
    """Point movements per MPa on floors and bore walls with both bridges' movements held at zero."""
    X, m = view.flexibility, view.flexibility.points
    F, R, n = X.F[0], X.R[0], 3 * m.bridges
    floors = np.zeros(m.count)
    floors[m.bore] = [disc.area for disc in PLAN.bores][: m.bores]
    free = F @ floors + X.wall[0]
    A = np.block([[F[:n, :n], R[:n]], [R[:n].T, np.zeros((3, 3))]])
    hold = np.linalg.solve(A, np.concatenate([-free[:n], -R.T @ floors]))
    return free + F[:, :n] @ hold[:n] + R @ hold[n:]


def test_rigid_motions_of_the_points():
    """e = R r by hand: w = w0 + y theta_x - x theta_y; slopes pass through; areas' means at their centres."""
    R = VIEW.flexibility.R[0]
    for b, f in enumerate(PLAN.footprints):
        rows = [[1, f.y, -f.x], [0, 1, 0], [0, 0, 1]]
        assert R[3 * b : 3 * b + 3] == pytest.approx(np.array(rows), abs=1e-12)
    centres = np.array([(p.x, p.y) for p in (*PLAN.heads, *PLAN.bores)])
    expected = np.stack([np.ones(4), centres[:, 1], -centres[:, 0]], axis=-1)
    assert R[6:] == pytest.approx(expected, abs=0.02)  # a meshed circle's centre, mm


def test_rigid_motions_of_the_outputs():
    R = VIEW.flexibility.outputs.R[0]
    for bore in range(2):
        assert R[2 * bore : 2 * bore + 2] == pytest.approx(np.eye(3)[1:], abs=1e-10)
    assert R[4:6] == pytest.approx(0, abs=1e-9)  # no volume swept
    for k, x in enumerate(PLAN.cuts):
        assert R[6 + 2 * k : 8 + 2 * k] == pytest.approx(np.array([[1, PLAN.cut_y, -x], [0, 1, 0]]), abs=1e-9)
    assert R.shape == (2 * 2 + 2 + 2 * 3, 3)


def test_reciprocity_and_stored_energy():
    """Maxwell-Betti on balanced forces, and F positive definite there (a stable body stores energy)."""
    B, F = balanced(VIEW), VIEW.flexibility.F[0]
    small = B.T @ F @ B
    assert small == pytest.approx(small.T, rel=0, abs=1e-9 * np.abs(small).max())
    assert np.linalg.eigvalsh(small).min() > 0


def test_wall_pressure_is_reciprocal_with_swept_volume():
    """A force works on the movement by wall pressure as that pressure works on the movement by the force."""
    B, X = balanced(VIEW), VIEW.flexibility
    swept = X.outputs.O[0, 4:6].sum(axis=0)
    assert B.T @ swept == pytest.approx(B.T @ X.wall[0], rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("plan", [PLAN, ROOTED], ids=["layer of the wall", "fitted root"])
def test_parts_sum_to_F_and_are_energies(plan):
    view = front_view(plan)
    X, B = view.flexibility, balanced(view)
    assert set(X.parts) == {"wall bending", "wall twist", "wall shear", "floor", "root"}
    assert np.sum(list(X.parts.values()), axis=0) == pytest.approx(X.F, abs=1e-9 * np.abs(X.F).max())
    for name, part in X.parts.items():
        energies = np.linalg.eigvalsh(B.T @ part[0] @ B)
        assert energies.min() > -1e-9 * energies.max(), name
        assert energies.max() > 0, name


def test_plane_movement_of_the_bridge_is_not_counted_twice():
    """On a wall that does not bend a footprint moves as a plane: a layer of depth a + b, b of it the
    bridge's own, then yields as a layer of depth a alone."""
    stiff = replace(PLAN, E=1e12, heads=())
    depth, own = 5.0, 12.0
    alone = replace(stiff, footprints=tuple(replace(f, layer=E / depth) for f in PLAN.footprints))
    both = tuple(replace(f, layer=E / (depth + own), own=own / (depth + own)) for f in PLAN.footprints)
    B = balanced(front_view(alone))
    ours, theirs = (
        B.T @ front_view(p).flexibility.F[0] @ B for p in (replace(stiff, footprints=both), alone)
    )
    assert ours == pytest.approx(theirs, rel=0, abs=1e-5 * np.abs(theirs).max())


def test_root_depths_by_hand():
    """t = 34: 0.208 t of wall in series with 1 / (1/g + 1/s) of bridge; s = 40 for a 32 x 50 footprint."""
    f = root_footprint(box(0, 32, 0, 50), x=16.0, y=25.0, thickness=T, length=30.0, E=E, E_bridge=3 * E)
    wall, bridge = FITTED.wall * T, 1 / (1 / 30 + 1 / 40) / 3
    assert E / f.layer == pytest.approx(wall + bridge, rel=1e-12)
    assert f.own == pytest.approx(bridge / (wall + bridge), rel=1e-12)
    assert f.stiffener == pytest.approx(FITTED.stiffener * 40 * 3, rel=1e-12)


@pytest.mark.parametrize(("length", "depth"), [(0.01, 0.01), (1e5, 40.0)])
def test_root_depth_limits(length, depth):
    """A short bridge warps over its length, a long one over the size of its section."""
    f = root_footprint(box(0, 32, 0, 50), x=16.0, y=25.0, thickness=T, length=length, E=E, E_bridge=E)
    assert f.own / f.layer * E == pytest.approx(depth, rel=1e-3)


def test_diagnostics_are_small_and_honest():
    d = VIEW.diagnostics
    assert 3000 < d.unknowns < 12000
    assert 0 < d.residual < 1e-8
    assert d.reciprocity_error < 1e-10
    assert d.energy_error < 1e-9


def test_answers_do_not_depend_on_the_pins(monkeypatch):
    """Balanced forces leave the pins unloaded: relative movements are the same with other pins."""
    monkeypatch.setattr(
        module, "pins_of", lambda nodes: pins_nearest(nodes, [(0, 110), (40, 180), (-50, 185)])
    )
    other = front_view(PLAN)
    B = balanced(VIEW)
    ours, theirs = (B.T @ v.flexibility.F[0] @ B for v in (VIEW, other))
    assert theirs == pytest.approx(ours, rel=0, abs=1e-9 * np.abs(ours).max())
    assert opened(other) == pytest.approx(opened(VIEW), rel=1e-9, abs=1e-14)


def pins_nearest(nodes, places):
    a, b, c = (int(np.argmin(np.hypot(*(nodes - p).T))) for p in places)
    return np.array([5 * a, 5 * a + 1, 5 * a + 2, 5 * b, 5 * b + 2, 5 * c + 2])


def test_bore_wall_pressure_acts_at_mid_height():
    """Unit curvature about the mid-plane sweeps z0 x depth x area, z0 = (-t/2 + (t/2 - floor)) / 2."""
    model = model_of(PLAN)
    field = np.zeros((len(VIEW.mesh.nodes), 5))
    field[:, 3] = VIEW.mesh.nodes[:, 0]
    read = output_rows(model)[4:6] @ np.concatenate([field.ravel(), np.zeros(6)])
    area = np.array([disc.area for disc in PLAN.bores])
    assert read == pytest.approx(-FLOOR / 2 * (T - FLOOR) * area, rel=1e-3)


@pytest.mark.parametrize(
    ("nodes", "across"), [([[-9, 0], [9, 0], [0, 1], [0, -1]], 1), ([[0, -9], [0, 9], [1, 0]], 0)]
)
def test_pins_stop_turning_in_the_plane(nodes, across):
    """The second pin's in-plane freedom lies across the line to the first, whichever way that runs."""
    pins = pins_of(np.array(nodes, dtype=float))
    assert pins[3] % 5 == across
    assert len(set(pins)) == 6 and len(set(pins // 5)) == 3


def test_signs_under_pressure():
    """Pressure pushes floors outward, the line of bores bows most in the middle, and pressure on the bores'
    cylinder walls alone pulls them inward (closes the caliper) while the bores grow."""
    movement = opened(VIEW)
    assert np.all(movement[POINTS.bore] > 0)
    without = opened(replace(VIEW, flexibility=replace(VIEW.flexibility, wall=0 * VIEW.flexibility.wall)))
    assert np.all(movement[POINTS.bore] < without[POINTS.bore])
    assert np.all(VIEW.flexibility.outputs.wall[0, 4:6] > 0)


def test_slopes_have_the_sign_of_the_axes():
    """A push on the floors below the bridges turns the wall's lower edge outward: theta_x = dw/dy negative."""
    X = VIEW.flexibility
    n, m = 3 * POINTS.bridges, POINTS.count
    f = np.zeros(m)
    f[POINTS.bore] = [disc.area for disc in PLAN.bores]
    A = np.block([[X.F[0, :n, :n], X.R[0, :n]], [X.R[0, :n].T, np.zeros((3, 3))]])
    hold = np.linalg.solve(A, np.concatenate([-(X.F[0] @ f)[:n], -X.R[0].T @ f]))
    o = X.outputs.O[0] @ (f + np.r_[hold[:n], np.zeros(m - n)]) + X.outputs.R[0] @ hold[n:]
    assert o[0] < 0 and o[2] < 0  # theta_x of both bore mouths
    assert o[1] < 0 < o[3]  # w rises toward the middle: theta_y = -dw/dx is negative at x < 0
    assert o[8] > o[6] > 0  # the line at x = 0 has moved out further than at x = -90


def test_mirrored_plan_gives_mirrored_answers():
    """Mirrored in x the same half answers alike; only the mesh differs (0.3 %)."""
    flip = np.array([-1.0, 1.0])
    mirrored = replace(
        PLAN,
        bores=tuple(Disc(-b.x, b.y, b.diameter) for b in PLAN.bores),
        footprints=tuple(
            Footprint(f.outline[::-1] * flip, -f.x, f.y, f.layer) for f in PLAN.footprints[::-1]
        ),
        heads=tuple(Head(-h.x, h.y, h.hole, h.bearing) for h in PLAN.heads),
    )
    assert opened(front_view(mirrored))[POINTS.bore] == pytest.approx(opened(VIEW)[POINTS.bore], rel=3e-3)


def scaled(plan, s):
    """All lengths times s; the layer's stiffness per area falls as 1/s."""

    def disc(d):
        return Disc(s * d.x, s * d.y, s * d.diameter)

    return replace(
        plan,
        outline=s * plan.outline,
        thickness=s * plan.thickness,
        floor=s * plan.floor,
        bores=tuple(map(disc, plan.bores)),
        footprints=tuple(Footprint(s * f.outline, s * f.x, s * f.y, f.layer / s) for f in plan.footprints),
        heads=tuple(Head(s * h.x, s * h.y, s * h.hole, s * h.bearing) for h in plan.heads),
        cuts=tuple(s * x for x in plan.cuts),
        cut_y=s * plan.cut_y,
    )


def test_geometric_similarity():
    """All lengths times s at equal pressure: movements times s."""
    s = 1.7
    view = front_view(scaled(PLAN, s))
    area = s**2  # forces on the floors grow so; `opened` uses the unscaled areas
    X = view.flexibility
    view = replace(view, flexibility=replace(X, F=X.F * area, R=X.R))
    length = np.where(np.isin(np.arange(POINTS.count) % 3, (1, 2)) & (np.arange(POINTS.count) < 6), 1.0, s)
    assert opened(view) == pytest.approx(length * opened(VIEW), rel=1e-9, abs=1e-12)


def test_movements_fall_as_the_modulus_rises():
    stiff = replace(PLAN, E=3 * E, footprints=tuple(replace(f, layer=3 * f.layer) for f in PLAN.footprints))
    F = front_view(stiff).flexibility.F
    assert pytest.approx(VIEW.flexibility.F, rel=1e-9, abs=1e-18) == 3 * F


def test_strip_bends_like_a_beam():
    """Three-point bending of a Timoshenko beam: P L^3 / 48 E I + P L / 4 kappa G A. 0.5 %: loads are spread
    over 4 mm of a span of 196 mm. What the ends' elastic tie gives is taken off."""
    layer, L, area, inertia, G = 1e6, 196.0, 100.0, 10 * 10**3 / 12, E / 2
    ends = [Footprint(box(x - 2, x + 2, -5, 5), x, 0.0, layer) for x in (-98.0, 98.0)]
    plan = PlatePlan(
        outline=box(-100, 100, -5, 5),
        thickness=10.0,
        floor=9.999,  # a bore in name only
        bores=(Disc(0.0, 0.0, 4.0),),
        footprints=tuple(ends),
        E=E,
        nu=0.0,
    )
    f = np.array([-0.5, 0, 0, -0.5, 0, 0, 1])
    X = front_view(plan).flexibility
    tie = 2 * 0.5**2 / (layer * 40)
    beam = L**3 / (48 * E * inertia) + L / (4 * 5 / 6 * G * area)
    assert f @ X.F[0] @ f - tie == pytest.approx(beam, rel=5e-3)
    assert f @ X.parts["wall twist"][0] @ f < 1e-3 * beam


def test_floor_behaves_as_a_clamped_plate():
    """A floor far thinner than the wall, bore far from any edge: the mean floor movement beyond its rim is
    that of a clamped plate, p a^4 / 192 D + p a^2 / 8 kappa G e (derived). 3 %: the wall yields a
    little."""
    floor, a = 3.0, 20.0
    plan = replace(
        PLAN, bores=(Disc(0.0, 145.0, 2 * a),), floor=floor, thickness=60.0, cuts=(-25.0, 25.0), heads=()
    )
    view = front_view(plan)
    X = view.flexibility
    area, n = np.pi * a**2, 6
    f = np.array([0.0] * n + [area])
    A = np.block([[X.F[0, :n, :n], X.R[0, :n]], [X.R[0, :n].T, np.zeros((3, 3))]])
    hold = np.linalg.solve(A, np.concatenate([-(X.F[0] @ f)[:n], -X.R[0].T @ f]))
    f[:n] = hold[:n]
    w = view.fields[:, :-1] @ f + view.rigid @ hold[n:]
    rim = np.abs(np.hypot(view.mesh.nodes[:, 0], view.mesh.nodes[:, 1] - 145) - a) < 1e-6
    mean = (X.F[0] @ f + X.R[0] @ hold[n:])[-1] - w[rim].mean()
    D, G = E * floor**3 / (12 * (1 - NU**2)), E / (2 * (1 + NU))
    assert mean == pytest.approx(a**4 / (192 * D) + a**2 / (8 * 5 / 6 * G * floor), rel=3e-2)


def spread(plan):
    return opened(front_view(plan))[POINTS.bore].mean()


@pytest.mark.parametrize(
    "weaker",
    [
        replace(PLAN, thickness=30.0),
        replace(PLAN, floor=7.0),
        replace(PLAN, pockets=(Pocket(box(-20, 20, 110, 130), 6.0),)),
        replace(PLAN, pockets=(Pocket(box(-40, -28, 130, 140), 4.0),)),
        replace(PLAN, footprints=tuple(replace(f, layer=f.layer / 2) for f in PLAN.footprints)),
    ],
    ids=["thin wall", "thin floor", "pocket beside bores", "pocket in a floor", "soft root"],
)
def test_less_metal_opens_more(weaker):
    assert spread(weaker) > spread(PLAN)


def test_the_deeper_of_two_pockets_counts():
    deep, shallow = Pocket(box(-20, 20, 110, 130), 6.0), Pocket(box(-10, 30, 108, 128), 3.0)
    either = [spread(replace(PLAN, pockets=p)) for p in ((deep, shallow), (shallow, deep))]
    assert either[0] == pytest.approx(either[1], rel=1e-6)
    assert either[0] > spread(replace(PLAN, pockets=(deep,)))


def test_metal_of_the_bridge_stiffens_the_wall():
    lent = tuple(replace(f, stiffener=6.0) for f in PLAN.footprints)
    assert spread(replace(PLAN, footprints=lent)) < spread(PLAN)


def test_finer_mesh_changes_little():
    """0.3 % between some 6 000 and 25 000 unknowns, and more movement the finer (a conforming model)."""
    fine = spread(replace(PLAN, mesh_size=5.0))
    assert fine == pytest.approx(spread(PLAN), rel=3e-3)
    assert fine > spread(PLAN)


def test_same_plan_same_answer_to_the_bit():
    assert np.array_equal(front_view(PLAN).flexibility.F, VIEW.flexibility.F)


def test_fields_read_the_floor():
    """The drawn field is the one the points read: its mean over a bore's nodes is near the floor's mean."""
    bore = POINTS.bore.start
    inside = np.unique(VIEW.mesh.triangles[VIEW.mesh.groups["bore 0"]])
    w, mean = VIEW.fields[inside, bore], VIEW.flexibility.F[0, bore, bore]
    assert w.min() < mean < w.max()
    assert VIEW.fields.shape == (len(VIEW.mesh.nodes), POINTS.count + 1)


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"thickness": float("nan")}, "thickness"),
        ({"thickness": 0.0}, "thickness"),
        ({"floor": 40.0}, "floor"),
        ({"E": float("inf")}, "E"),
        ({"nu": 0.5}, "nu"),
        ({"nu": -0.1}, "nu"),
        ({"nu": float("nan")}, "nu"),
        ({"bores": ()}, "plan"),
        ({"footprints": ()}, "plan"),
        ({"footprints": (replace(PLAN.footprints[0], layer=0.0),)}, "layer"),
        ({"footprints": (replace(PLAN.footprints[0], own=1.0),)}, "own"),
        ({"footprints": (replace(PLAN.footprints[0], stiffener=-1.0),)}, "stiffener"),
        ({"heads": (Head(0.0, 180.0, 11.0, 11.0),)}, "heads"),
        ({"pockets": (Pocket(box(0, 1, 0, 1), T),)}, "pockets"),
    ],
)
def test_bad_plans_are_refused(change, where):
    with pytest.raises(InputError, match=where):
        replace(PLAN, **change)


def test_pierced_floor_is_refused():
    with pytest.raises(InputError, match="pierced floor"):
        front_view(replace(PLAN, pockets=(Pocket(box(-40, -28, 130, 140), FLOOR + 1),)))


def test_region_off_the_wall_is_refused():
    with pytest.raises(InputError, match=r"bridge 1.*no metal"):
        front_view(replace(PLAN, footprints=(PLAN.footprints[0], foot(200, 220, 150, 190))))


def test_cut_without_metal_is_refused():
    with pytest.raises(InputError, match="cuts"):
        front_view(replace(PLAN, cuts=(500.0,)))
