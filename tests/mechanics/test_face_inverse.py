"""What all states of a joint share of its faces' give: inverses found once. Derived properties."""

import numpy as np
import pytest
from beam_halves import caliper, elastic

from stiffcalc.mechanics import elastic_joint
from stiffcalc.mechanics.elastic_faces import stiffened
from stiffcalc.mechanics.face_inverse import anchored, anchors, onto_lands
from stiffcalc.mechanics.joint import load, tighten
from stiffcalc.mechanics.voids import Void
from stiffcalc.mechanics.warming import warmed

RELIEF = Void(np.array([(-104.0, 158.0), (-97.0, 148.0), (-88.0, 166.0), (-95.0, 170.0)]))
HARDER = np.array([[0.8, 0.9]])


def pair(*, voids=(), centre=None, **cells):
    return elastic(*caliper(centre=centre), voids=voids, **cells)


@pytest.mark.parametrize("voids", [(), (RELIEF,)])
def test_the_anchored_inverse_undoes_the_anchored_give_of_living_cells(voids):
    faces = pair(voids=voids).clamp
    cells, held = faces.cells, anchors(faces.cells, faces.give)
    for i in range(2):
        alive = cells.area[0, i] > 0.0
        arm = cells.arm[0, i, alive]
        own = faces.give[0, i][np.ix_(alive, alive)] + arm @ np.diag(held[0, i]) @ arm.T
        np.testing.assert_allclose(
            own @ faces.anchored[0, i][np.ix_(alive, alive)], np.eye(alive.sum()), atol=1e-9
        )
        assert not faces.anchored[0, i][~alive].any() and not faces.anchored[0, i][:, ~alive].any()


@pytest.mark.parametrize("voids", [(), (RELIEF,)])
def test_another_modulus_only_scales_what_was_found(voids):
    faces = pair(voids=voids).clamp
    other = stiffened(faces, HARDER)
    again = anchored(faces.cells, other.give)
    np.testing.assert_allclose(other.anchored, again, rtol=1e-8, atol=1e-9 * np.abs(again).max())
    if voids:
        again = onto_lands(faces.cells, other.give)
        np.testing.assert_allclose(other.onto, again, atol=1e-9)
        arm = faces.cells.arm
        np.testing.assert_allclose(  # what presses the lands has the resultants of what pressed the section
            arm.swapaxes(-1, -2) @ faces.onto, arm.swapaxes(-1, -2), atol=1e-9 * np.abs(arm).max()
        )
    else:
        assert faces.onto is None


@pytest.mark.parametrize("centre", [None, "glued", "jointed"])
@pytest.mark.parametrize("voids", [(), (RELIEF,)])
@pytest.mark.parametrize("warm", [False, True])
def test_the_joint_s_inverse_is_that_of_its_own_matrix(monkeypatch, centre, voids, warm):
    # Against a general-purpose inverse (numpy.linalg.inv, LAPACK) of every matrix that is met on the way.
    met = []
    assemble = elastic_joint._assemble

    def kept(*arguments):
        met.append(assemble(*arguments))
        return met[-1]

    monkeypatch.setattr(elastic_joint, "_assemble", kept)
    joint = pair(voids=voids, centre=centre)
    if warm:
        E = np.full(joint.bridge_flexibility.shape[:2], 0.9)
        joint = warmed(joint, body=np.array([0.9]), bridges=E, bolts=np.full((1, 4), 0.97))
    load(joint, tighten(joint, np.full((1, 4), 20e3)), np.array([5.0]))
    assert len(met) == 2
    for system in met:
        K, inverse = system.equations.K, system.equations.inverse
        size = np.sqrt(np.abs(np.diag(np.linalg.inv(K))))
        np.testing.assert_allclose(
            inverse / np.outer(size, size), np.linalg.inv(K) / np.outer(size, size), atol=1e-8
        )
