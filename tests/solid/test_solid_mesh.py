"""Solids and their meshes: volume, fillets, curved edges, quality, sets; small invented bodies."""

from dataclasses import replace

import numpy as np
import pytest

pytest.importorskip("gmsh", reason="solids are meshed with gmsh")

from solid_sample import ENDS, PIECE, bolted, one_piece, wall

from stiffcalc.caliper.body import BoltShape, PortShape
from stiffcalc.caliper.measures import body_solids
from stiffcalc.solid.build import build, volumes
from stiffcalc.solid.elements import EDGES, folded, jacobians, scaled_jacobians, tet_volumes, unbent
from stiffcalc.solid.model import HELD, bore_error, on_triangles, solid_model, support_corners, triangle_areas
from stiffcalc.solid.session import solid_session
from stiffcalc.solid.shapes import Assembly, slugs
from stiffcalc.solid.step import read_step, step_text
from stiffcalc.solid.tets import body_volume

COARSE = 20.0


@pytest.fixture(scope="module")
def piece():
    return solid_model(one_piece(), size=COARSE)


@pytest.fixture(scope="module")
def halves():
    body = replace(
        PIECE,
        bridges=tuple(
            replace(b, jointed=True, reliefs=relief) for b, relief in zip(ENDS, RELIEFS, strict=True)
        ),
        bolts=tuple(BoltShape(x, 102.0, 8.0, 9.0, 13.0, 205000.0, k) for k, x in enumerate((-51.0, 51.0))),
        ports=(PortShape(-51.0, 92.0, 3.0, 7.0, 0),),
        inboard=wall(thickness=26.0),
    )
    # On coarser meshes arcs of a head's seat are bent less by chance.
    return solid_model(bolted(body), size=16.0)


RELIEFS = ((((-60.0, 72.0), (-52.0, 72.0), (-52.0, 82.0), (-60.0, 82.0)),), ())


def regular():
    """The regular tetrahedron of side 1, straight."""
    corners = np.array([(0, 0, 0), (1, 0, 0), (0.5, 3**0.5 / 2, 0), (0.5, 3**0.5 / 6, (2 / 3) ** 0.5)])
    return np.vstack([corners, *((corners[[i]] + corners[[j]]) / 2 for i, j in EDGES)])


ONE = np.arange(10)[None]


def test_regular_tetrahedron():
    # Volume a^3 / (6 sqrt 2): any table of solids. Scaled Jacobian 1 by its definition (common practice, no source).
    assert tet_volumes(regular(), ONE) == pytest.approx(1 / (6 * 2**0.5))
    assert scaled_jacobians(regular(), ONE) == pytest.approx(1.0)
    assert folded(regular(), ONE) == 0


def test_scaled_jacobian_is_the_same_from_every_corner():
    rng = np.random.default_rng(3)
    corners = rng.random((4, 3))
    found = []
    for turn in ((0, 1, 2, 3), (1, 2, 0, 3), (2, 3, 0, 1), (3, 1, 0, 2)):
        own = corners[list(turn)]
        nodes = np.vstack([own, *((own[[i]] + own[[j]]) / 2 for i, j in EDGES)])
        found.append(
            float(scaled_jacobians(nodes, ONE)[0]) * np.sign(jacobians(nodes, ONE, nodes[:1] * 0)[0, 0])
        )
    assert np.ptp(found) < 1e-12


def bent(side):
    """A flat-lying tetrahedron one edge of which bends so far that it leaves its corner along another edge."""
    corners = np.array([(0.0, 0, 0), (2, 0, 0), (2, 0.6, 0), (1, 0.2, 1)])
    nodes = np.vstack([corners, *((corners[[i]] + corners[[j]]) / 2 for i, j in EDGES)])
    nodes[4 + EDGES.index((0, 2)), 1] -= side
    return nodes


def test_edges_are_bent_less_where_an_element_would_have_no_angle():
    """The arc of a fillet's foot leaves along the wall: no angle at all, and that of its chord once it is straight."""
    nodes, free = bent(0.15), np.zeros(10, dtype=bool)
    assert scaled_jacobians(nodes, ONE)[0] == pytest.approx(0.0, abs=1e-12)
    straight = scaled_jacobians(bent(0.0), ONE)[0]
    found = unbent(nodes, ONE, fixed=free, least=0.5 * straight)
    assert 0.5 * straight <= scaled_jacobians(found, ONE)[0] < straight
    assert np.array_equal(found[:4], nodes[:4])
    # No further than needed: less is not enough. All the way where even the chord's angle is too little.
    whole = unbent(nodes, ONE, fixed=free, least=2.0)
    assert np.allclose(whole, bent(0.0))
    fixed = np.arange(10) == 4 + EDGES.index((0, 2))
    assert np.array_equal(unbent(nodes, ONE, fixed=fixed, least=0.5 * straight), nodes)
    assert np.array_equal(unbent(bent(0.0), ONE, fixed=free, least=0.5 * straight), bent(0.0))


def test_an_element_folded_over_between_its_corners_is_mended():
    nodes = bent(0.0)
    nodes[4 + EDGES.index((1, 2)), 0] = 0.2
    assert folded(nodes, ONE) == 1
    assert folded(unbent(nodes, ONE, fixed=np.zeros(10, dtype=bool), least=0.0), ONE) == 0


def test_a_folded_element_is_found():
    bent = regular()
    bent[4] += (0.0, 0.6, 0.4)  # the middle of an edge pulled through the element
    assert folded(bent, ONE) == 1


def test_plain_volume_is_the_closed_form(piece):
    assert piece.mesh.plain_volume == pytest.approx(float(body_solids(PIECE)[:, 0].sum()), rel=1e-9)


def test_mesh_volume_is_the_solids(piece, halves):
    for model in (piece, halves):
        volume = float(tet_volumes(model.mesh.nodes, model.mesh.tets).sum())
        assert volume == pytest.approx(sum(model.mesh.cad_volume.values()), rel=1e-4)
        assert not model.mesh.without_fillets


def test_fillets_add_the_metal_of_the_corner():
    # Under a flat underside: (1 - pi/4) r^2 a length, from memory; both ends, both halves.
    flat = tuple(replace(b, arch=None, y0=96.0) for b in ENDS)
    a = one_piece(replace(PIECE, bridges=flat))
    found = {}
    for fillets in (False, True):
        with solid_session() as gmsh:
            found[fillets] = body_volume(volumes(gmsh, build(gmsh, a, imprints=False, fillets=fillets)))
    assert found[True] - found[False] == pytest.approx((1 - np.pi / 4) * 4.0**2 * 18.0 * 4, rel=1e-6)


def test_curved_edges_are_true_and_elements_sound(piece, halves):
    for model in (piece, halves):
        assert bore_error(model) < 0.02
        assert model.mesh.quality.folded == 0
        assert (
            0 < model.mesh.quality.worst <= model.mesh.quality.one_percent <= model.mesh.quality.median <= 1
        )


def test_coarse_straight_edges_would_not_be_true(piece):
    """The check sees what it is for: chords in place of curves leave the bore by more."""
    own = next(s for s in piece.faces if s.name == "bore_outboard_1")
    triangles = piece.mesh.triangles[own.triangles]
    corners = piece.mesh.nodes[triangles[:, :3]]
    straight = np.concatenate([corners, (corners + np.roll(corners, -1, axis=1)) / 2], axis=1).reshape(-1, 3)
    x, y, _ = np.moveaxis(on_triangles(straight, np.arange(len(straight)).reshape(-1, 6)), -1, 0)
    assert np.abs(np.hypot(x, y - 80.0) - 15.0).max() > 0.1


def test_sets_have_the_areas_of_their_faces(piece, halves):
    for model in (piece, halves):
        area = {
            s.name: float(triangle_areas(model.mesh.nodes, model.mesh.triangles[s.triangles]).sum())
            for s in model.faces
        }
        assert area["floor_inboard_1"] == pytest.approx(np.pi * 15.0**2, rel=1e-3)
        depth = model.a.body.inboard.thickness - 7.0
        assert area["bore_inboard_1"] == pytest.approx(np.pi * 30.0 * depth, rel=1e-3)
    assert area["relief_inboard_leading_end"] == pytest.approx(8 * 10 - _below_arch(-60, -52, 72), rel=2e-3)
    assert area["port_seal_1_inboard_leading_end"] == pytest.approx(np.pi * 3.5**2, rel=2e-3)
    assert area["head_seat_1"] == pytest.approx(np.pi / 4 * (13.0**2 - 9.0**2), rel=5e-3)
    assert area["thread_2"] == pytest.approx(np.pi * 9.0 * 14.0, rel=2e-3)
    assert area["bolt_2_thread"] == pytest.approx(np.pi * 8.0 * 14.0, rel=2e-3)
    assert area["bolt_1_cut"] == pytest.approx(np.pi * 4.0**2, rel=2e-3)


def _below_arch(x0, x1, y0):
    x = np.linspace(x0, x1, 2001)
    return float(np.trapezoid(np.maximum(np.sqrt(93.0**2 - x**2) - y0, 0.0), x))


def test_sets_are_apart_and_what_stands_back_touches_nothing(halves):
    count = np.zeros(len(halves.mesh.triangles), dtype=int)
    for s in halves.faces:
        count[s.triangles] += 1
    assert count.max() == 1
    names = {s.name for s in halves.faces}
    assert {"clamp_inboard_leading_end", "clamp_outboard_trailing_end", "head_seat_1", "bolt_2_seat"} <= names
    assert "symmetry_z0" not in names
    assert {"fillet_inboard_leading_end", "fillet_outboard_trailing_end"} <= names


def test_one_piece_of_equal_halves_has_its_plane_of_symmetry(piece):
    own = next(s for s in piece.faces if s.name == "symmetry_z0")
    section = 2 * _section_of_bridge()
    area = float(triangle_areas(piece.mesh.nodes, piece.mesh.triangles[own.triangles]).sum())
    assert area == pytest.approx(section, rel=1e-3)


def _section_of_bridge():
    x = np.linspace(42.0, 60.0, 4001)
    return float(np.trapezoid(112.0 - np.maximum(np.sqrt(93.0**2 - x**2), 60.0), x))


def test_floors_and_seats_face_out_of_the_metal(halves):
    direction = {}
    for s in halves.faces:
        a, b, c = (halves.mesh.nodes[halves.mesh.triangles[s.triangles, k]] for k in range(3))
        direction[s.name] = np.cross(b - a, c - a).sum(axis=0)
    assert direction["floor_outboard_1"][2] < 0 < direction["floor_inboard_1"][2]
    assert direction["clamp_outboard_leading_end"][2] < 0 < direction["clamp_inboard_leading_end"][2]
    assert direction["head_seat_1"][2] < 0 < direction["bolt_1_seat"][2]


def test_a_ports_seal_is_round_enough(halves):
    """Its nodes stay true, so that an arc as long as a wall's elements would leave them no angle at their corners."""
    x, y, z = halves.mesh.nodes[np.unique(halves.mesh.tets[:, :4])].T
    on = (np.abs(np.hypot(x + 51.0, y - 92.0) - 3.5) < 1e-6) & (np.abs(z) < 1e-6)
    turned = np.unique(np.arctan2(y[on] - 92.0, x[on] + 51.0).round(6))
    assert np.diff(turned, append=turned[0] + 2 * np.pi).max() < 2 * np.pi / 8


def test_supports_hold_a_body_statically_determinate(piece):
    place = {k: piece.mesh.nodes[v[0]] for k, v in piece.nodes.items() if k.startswith("support")}
    rows = []
    for name, held in (("a", "xyz"), ("b", "yz"), ("c", "z")):
        x, y, z = place[f"support_{name}"]
        moves = {"x": (1, 0, 0, 0, z, -y), "y": (0, 1, 0, -z, 0, x), "z": (0, 0, 1, y, -x, 0)}
        rows += [moves[k] for k in held]
    assert np.linalg.matrix_rank(np.array(rows)) == 6


def test_step_has_named_parts_and_no_time(halves, tmp_path):
    text = step_text(halves.a)
    assert text == step_text(halves.a)
    assert "1970-01-01T00:00:00" in text and text.startswith("ISO-10303-21;")
    path = tmp_path / "geometry.step"
    path.write_text(text)
    found = read_step(path)
    assert set(found) == set(halves.mesh.parts)
    for name, volume in found.items():
        assert volume == pytest.approx(halves.mesh.cad_volume[name], rel=1e-6)


def test_every_part_that_could_slide_has_supports_of_its_own():
    """Inboard half: six freedoms; each other part that planes along z hold: x, y and the turn about z."""
    names = slugs([b.name for b in PIECE.bridges])
    for split, parts in ((True, 3), (False, 2)):
        found = dict(support_corners(Assembly(PIECE, (), frozenset({1}), split, names)))
        held = {part: sum(len(HELD[n].split(", ")) for n in own) for part, own in found.items()}
        assert len(held) == parts
        assert held.pop("inboard_half") == 6 and set(held.values()) == {3}
        letters = [n for own in found.values() for n in own]
        assert letters == sorted(set(letters))
        for own in (own for part, own in found.items() if part != "inboard_half"):
            first, second = own.values()
            assert first[0] < second[0] and first[1:] == second[1:]
