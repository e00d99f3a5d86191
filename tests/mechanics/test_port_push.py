"""Fluid of ports in the joint: equilibrium, a closed joint unmoved, onset, both kinds of face alike."""

import dataclasses
from dataclasses import replace

import numpy as np
import pytest
from beam_halves import caliper, elastic

from stiffcalc.mechanics.joint import glued, load, tighten
from stiffcalc.mechanics.joint_state import change, forces, picked
from stiffcalc.mechanics.opening import contributions, onset, spread
from stiffcalc.mechanics.port_push import SealDisc, pushed
from stiffcalc.mechanics.spread_work import spread_work
from stiffcalc.mechanics.voids import Void

PRELOAD = np.full((1, 4), 20e3)
SEAL = 14.0
AREA = np.pi / 4 * SEAL**2
PLACE = (-86.0, 167.0)
P = np.array([[2.0, 10.0, 25.0, 40.0]])


def disc(place=PLACE, face=0, diameter=SEAL):
    return SealDisc(face, face, *place, diameter)


def hole(place=PLACE, diameter=SEAL, sides=48):
    angle = 2 * np.pi * (np.arange(sides) + 0.5) / sides
    rim = np.column_stack([np.cos(angle), np.sin(angle)])
    return Void(np.array(place) + diameter / 2 * rim, 0)


def bodies(*, push=True, relief=True, discs=None, designs=1, **options):
    """Elastic faces, and faces that stay plane, with the same port; discs None: the one of the relief."""
    plain, bridges = caliper(designs, **options)
    pair = elastic(plain, bridges, voids=[hole()] if relief else [])
    fluid = pushed(pair.clamp.cells, bridges, discs or [disc()]) if push else None
    clamp = replace(pair.clamp, fluid=fluid)
    return replace(pair, clamp=clamp), replace(plain, clamp=replace(clamp, give=None))


@pytest.fixture(scope="module")
def elastic_body():
    pair, _ = bodies()
    tight = tighten(pair, PRELOAD)
    return pair, tight, load(pair, tight, P)


@pytest.fixture(scope="module")
def plane_body():
    _, pair = bodies()
    tight = tighten(pair, PRELOAD)
    return pair, tight, load(pair, tight, P)


def test_the_push_has_the_seals_area_and_place():
    for face, place in ((0, PLACE), (1, (86.0, 171.0))):
        pair, _ = bodies(relief=False, discs=[disc(place, face)], designs=2)
        n, mx, my = np.moveaxis(pair.prying, -1, 0)
        np.testing.assert_allclose(n[:, face], AREA, rtol=1e-12)
        x_b, y_r = pair.faces.x_b[:, face], pair.faces.y_r[:, face]
        np.testing.assert_allclose(mx[:, face], AREA * (place[1] - y_r), rtol=1e-9)
        np.testing.assert_allclose(my[:, face], -AREA * (place[0] - x_b), rtol=1e-9)
        assert np.all(n[:, 1 - face] == 0.0)
        fluid = pair.clamp.fluid.reshape(2, 2, -1)[:, face]
        cells = pair.clamp.cells
        away = np.hypot(cells.x[:, face] - place[0], cells.y[:, face] - place[1])
        assert np.abs(fluid[away > 14.0]).max() < 0.02 * fluid.max(), "it stays where the seal is"


def test_bolts_hold_contact_pistons_and_fluid(elastic_body, plane_body):
    """Statics of a half: sum of bolts = contact + p A of the pistons + p A of the seal, and both moments."""
    for pair, _, loaded in (elastic_body, plane_body):
        r = loaded.response
        contact = -r.tension[..., 0] - P[..., None] * pair.prying[:, None, :, 0]
        thrust = P * pair.bore_area.sum()
        np.testing.assert_allclose(r.bolt.sum(-1), contact.sum(-1) + thrust + P * AREA, rtol=1e-9)
        R, f = pair.flexibility.R, forces(pair, r)
        np.testing.assert_allclose(f @ R, 0.0, atol=1e-6 * np.abs(f).max() * np.abs(R).max())
        assert np.all(contact >= 0.0)
    pair, _, loaded = elastic_body
    cells = loaded.response.cells.reshape(1, 4, 2, -1).sum(-1)
    np.testing.assert_allclose(cells.sum(-1), loaded.response.bolt.sum(-1) - thrust - P * AREA, rtol=1e-7)


def test_nothing_else_changes_while_the_face_is_closed():
    """Contact gives to the fluid what the fluid carries: a closed joint is the glued body, pushed or not."""
    low = np.array([[0.5, 1.5]])
    for give in (0, 1):
        found = []
        for push in (True, False):
            pair = bodies(push=push, relief=False)[give]
            found.append((pair, load(pair, tighten(pair, PRELOAD), low).response))
        (with_push, a), (_, b) = found
        for name in ("bolt", "tension", "points", "outputs"):
            wanted = getattr(b, name)
            size = np.abs(wanted).max()
            np.testing.assert_allclose(getattr(a, name), wanted, rtol=1e-8, atol=1e-8 * size, err_msg=name)
        if a.cells.size:
            fluid = low[..., None] * with_push.clamp.fluid
            np.testing.assert_allclose(a.cells + fluid, b.cells, rtol=1e-6, atol=1e-6 * b.cells.max())


def test_beside_a_groove_both_closed_solves_agree():
    pair, _ = bodies()
    tight, low = tighten(pair, PRELOAD), np.array([[0.7]])
    moved = change(load(pair, tight, low).response, tight.response)
    unit = glued(pair, low).response
    for name in ("bolt", "tension", "points", "cells"):
        wanted = getattr(unit, name)
        size = np.abs(wanted).max()
        np.testing.assert_allclose(getattr(moved, name), wanted, rtol=1e-7, atol=1e-7 * size, err_msg=name)


def test_an_open_face_is_pried(elastic_body, plane_body):
    for k in (0, 1):
        pair, _, loaded = (elastic_body, plane_body)[k]
        other = bodies(push=False)[k]
        free = load(other, tighten(other, PRELOAD), P).response
        more = loaded.response.bolt - free.bolt
        assert more[0, -1, :2].sum() > 0.3 * AREA * P[0, -1], "bolts of the open face carry much of the push"
        assert abs(more[0, -1, 2:].sum()) < 0.35 * more[0, -1, :2].sum(), "those of the other face less"
        assert (spread(pair, loaded.response) > spread(other, free))[0, -1]


def test_first_loss_of_contact_is_where_the_onset_says():
    pair, _ = bodies()
    tight = tighten(pair, PRELOAD)
    first = onset(pair, tight).pressure[0, 0]
    free = bodies(push=False)[0]
    assert first < 0.9995 * onset(free, tighten(free, PRELOAD)).pressure[0, 0]
    alive = pair.clamp.cells.alive[0].reshape(2, -1)[0]
    for share, opened in ((0.999, False), (1.001, True)):
        cells = load(pair, tight, np.array([share * first])).response.cells.reshape(2, -1)[0]
        assert np.any(cells[alive] <= 1e-9) == opened


def test_contributions_sum_to_the_spread(elastic_body, plane_body):
    for pair, tight, loaded in (elastic_body, plane_body):
        moved = change(loaded.response, tight.response)
        parts = contributions(pair, moved)
        np.testing.assert_allclose(sum(parts.values()), spread(pair, moved), rtol=1e-7)


def test_slopes_of_the_spread_know_the_push(elastic_body):
    """Walls softer by a little: the work's slope against the two solves, face partly open."""
    pair, tight, loaded = elastic_body
    at = 1
    found = spread_work(pair, preload=PRELOAD[0], pressure=P[0, at : at + 1])
    half, step = pair.flexibility, 1e-4
    dF = step * half.parts["wall bending"]
    softer = replace(pair, flexibility=replace(half, F=half.F + dF))
    after = tighten(softer, PRELOAD)
    here = picked(loaded.response, (slice(None), at))
    then = load(softer, after, P[:, at]).response
    measured = spread(softer, change(then, after.response)) - spread(pair, change(here, tight.response))
    np.testing.assert_allclose((found.work[0, :, :-1] * dF[0]).sum(), measured[0], rtol=2e-3)


def test_designs_of_a_batch_do_not_mix():
    pair, _ = bodies(
        designs=2, discs=[SealDisc(0, 0, np.array([-102.0, -86.0]), 167.0, np.array([14.0, 10.0]))]
    )
    alone, _ = bodies(discs=[SealDisc(0, 0, -86.0, 167.0, 10.0)])
    both = load(pair, tighten(pair, PRELOAD.repeat(2, 0)), P.repeat(2, 0)).response
    one = load(alone, tighten(alone, PRELOAD), P).response
    for field in dataclasses.fields(one):
        a, b = getattr(both, field.name)[1:], getattr(one, field.name)
        np.testing.assert_allclose(a, b, rtol=1e-9, atol=1e-9 * np.abs(b).max(), err_msg=field.name)
