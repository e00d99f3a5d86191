"""A resultant spread over the metal of zones: force, moment, reciprocity with the zones' motion."""

import numpy as np
import pytest
from section_cases import HELD, block

from stiffcalc.errors import InputError
from stiffcalc.plane.section.grid import mesh_section
from stiffcalc.plane.section.motion import zone_motion
from stiffcalc.plane.section.outline import Region, polygon
from stiffcalc.plane.section.problem import VolumeResultant, single
from stiffcalc.plane.section.sizing import Sizing
from stiffcalc.plane.section.solve import prepare, solve

THIN = Region("thin", polygon([(5.0, 0.0), (10.0, 0.0), (10.0, 4.0), (5.0, 4.0)]), 1.5)
PART = block(regions=(THIN,))
LOAD = VolumeResultant(("block", "thin"), about=(2.0, 13.0), x=300.0, y=-200.0, moment=5000.0)
GRID = mesh_section([PART], sizing=Sizing(2.5))


def test_force_and_moment_about_the_point_are_exact():
    force = prepare(single((PART,), LOAD, supports=HELD), GRID).force[:, 0].reshape(-1, 2)
    away = GRID.nodes - np.array(LOAD.about)
    moment = np.sum(away[:, 0] * force[:, 1] - away[:, 1] * force[:, 0])
    assert (*force.sum(axis=0), moment) == pytest.approx((300.0, -200.0, 5000.0), rel=1e-9)


def test_work_is_force_times_mean_plus_moment_times_turn():
    problem = single((PART,), LOAD, supports=HELD)
    found, force = solve(problem, GRID), prepare(problem, GRID).force[:, 0]
    motion = zone_motion(GRID, found.U, ("block", "thin"))
    arm = np.subtract(motion.centre, LOAD.about)
    moment = LOAD.moment - (arm[0] * LOAD.y - arm[1] * LOAD.x)
    work = LOAD.x * motion.x[0] + LOAD.y * motion.y[0] + moment * motion.turn[0]
    assert force @ found.U[0].ravel() == pytest.approx(work, rel=1e-9)
    # Centroid of 4 mm over the square less 2.5 mm over 5 x 4 mm at (7.5, 2).
    assert motion.centre == pytest.approx(((400 * 5 - 50 * 7.5) / 350, (400 * 5 - 50 * 2) / 350))


def test_a_zone_that_is_not_there_is_named():
    with pytest.raises(InputError, match="no such zone"):
        solve(single((PART,), VolumeResultant(("thick",), about=(0.0, 0.0), x=1.0), supports=HELD), GRID)
