"""Joint faces that mirror each other in x = 0: one turned is what cutting both gives, and no other face is turned."""

from dataclasses import replace

import numpy as np
import pytest
from beam_halves import make_bridges

from stiffcalc.mechanics.elastic_faces import pressing_only
from stiffcalc.mechanics.face_cells import cut_faces
from stiffcalc.mechanics.face_images import FaceBolts, pressed_faces, sources
from stiffcalc.mechanics.voids import Void

D = 3
OUTER = np.array([[94.0, 150.0, 11.0], [92.0, 172.0, 9.0]])
NONE = [[0.0, 180.0, 0.0]] * 2
CENTRE = [[3.0, 178.0, 8.5], [0.0, 180.0, 0.0]]
JOINTED = [0, 1, 2]


def mirrored():
    """Leading end, centre and trailing end of three designs: ends over an arch, two bolts in each, one between."""
    left, right = OUTER * [-1.0, 1.0, 1.0], OUTER
    x = np.array([[-110.0, -78.0], [-14.0, 12.0], [78.0, 110.0]])
    y = np.array([[105.0, 190.0], [172.0, 190.0], [105.0, 190.0]])
    grown = np.linspace(0.0, 4.0, D)[:, None, None] * [-1.0, 1.0]
    wide = np.stack([x + 0.5 * g * [[1.0], [0.0], [1.0]] for g in grown])
    bridges = make_bridges(
        wide, np.tile(y, (D, 1, 1)), np.tile([168.0, 0.0, 168.0], (D, 1)), holes=[[left, CENTRE, right]] * D
    )
    place = np.concatenate([left[:, :2], [CENTRE[0][:2]], right[:, :2]])
    height = np.linspace(45.0, 60.0, D)[:, None] * np.ones(5)
    return bridges, FaceBolts(np.tile(place, (D, 1, 1)), height, (0, 0, 1, 2, 2))


def cut_apart(bridges, bolts, jointed=JOINTED, voids=()):
    cells = cut_faces(bridges, jointed=jointed, voids=voids)
    return pressing_only(cells, bolts=bolts.place, heights=bolts.height, owner=bolts.owner)


def equal(found, true):
    for name in ("x", "y", "area", "section", "width", "height", "x_edges", "y_edges", "arm", "plane"):
        a, b = getattr(found.cells, name), getattr(true.cells, name)
        np.testing.assert_allclose(a, b, rtol=1e-11, atol=1e-11 * np.abs(b).max(), err_msg=name)
    for name in ("pressing", "plane"):
        a, b = getattr(found, name), getattr(true, name)
        np.testing.assert_allclose(a, b, rtol=1e-9, atol=1e-12 * np.abs(b).max(), err_msg=name)
    assert found.cells.split == true.cells.split and found.give is None and found.cells.extents is None


def test_an_image_is_what_cutting_it_gives():
    bridges, bolts = mirrored()
    assert sources(bridges, bolts, JOINTED) == (0, 1, 0)
    equal(pressed_faces(bridges, bolts, jointed=JOINTED), cut_apart(bridges, bolts))


def test_the_ends_are_images_where_the_centre_has_no_joint():
    bridges, bolts = mirrored()
    bolts = replace(bolts, owner=(0, 0, -1, 1, 1))
    assert sources(bridges, bolts, [0, 2]) == (0, 0)
    equal(pressed_faces(bridges, bolts, jointed=[0, 2]), cut_apart(bridges, bolts, [0, 2]))


def changed(what):
    """One thing of one design made unlike."""
    bridges, bolts = mirrored()
    own = {
        name: np.array(getattr(bridges, name)) for name in ("x", "y", "arch", "hole_x", "hole_y", "hole_d")
    }
    place, height, owner = bolts.place.copy(), bolts.height.copy(), bolts.owner
    if what in own:
        own[what][1, 2][..., -1:] += 0.25
    elif what == "bolt x":
        place[1, 3, 0] += 0.25
    elif what == "bolt y":
        place[1, 3, 1] += 0.25
    elif what == "bolt height":
        height[1, 4] += 0.25
    else:
        owner = (0, 0, 1, 2, 1)
    return replace(bridges, **own), FaceBolts(place, height, owner)


@pytest.mark.parametrize(
    "what", ["x", "y", "hole_x", "hole_y", "hole_d", "bolt x", "bolt y", "bolt height", "a bolt less"]
)
def test_what_differs_in_one_design_is_cut_by_itself(what):
    bridges, bolts = changed(what)
    assert sources(bridges, bolts, JOINTED) == (0, 1, 2)
    equal(pressed_faces(bridges, bolts, jointed=JOINTED), cut_apart(bridges, bolts))


def test_another_arch_is_another_face():
    bridges, bolts = mirrored()
    other = replace(bridges, arch=bridges.arch + np.array([0.0, 0.0, 1.0]))
    assert sources(other, bolts, JOINTED) == (0, 1, 2)


def test_faces_with_voids_are_cut_one_by_one():
    # A relief of the leading face is none of the trailing one's.
    bridges, bolts = mirrored()
    relief = Void(np.array([(-100.0, 150.0), (-90.0, 150.0), (-90.0, 160.0), (-100.0, 160.0)]), 0)
    found, true = (
        pressed_faces(bridges, bolts, jointed=JOINTED, voids=[relief]),
        cut_apart(bridges, bolts, voids=[relief]),
    )
    np.testing.assert_array_equal(found.cells.area, true.cells.area)
    assert found.cells.relieved_faces[0].tolist() == [True, False, False]
