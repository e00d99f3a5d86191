"""Checks as limits of a sizing: use of a margin, which are held, unequal halves, slopes and figures of a round."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from size_sample import TWO_PIECE

from stiffcalc.caliper.assess import solved
from stiffcalc.explore.batches import screenings
from stiffcalc.explore.size_checks import RESERVE, check_uses, common, reserve, use
from stiffcalc.explore.size_job import job_of
from stiffcalc.explore.size_look import look
from stiffcalc.explore.size_round import Meshes, Round, opened
from stiffcalc.study import parse


def job(text=TWO_PIECE, *, front_view=False):
    """On coarse meshes: checks, which are all that is looked at here, are not made on them."""
    return job_of(parse(text), bridge=None, variant=None, front_view=front_view, accuracy=0.5)


def test_use_of_a_margin():
    """Actual over allowed where met; no jump and no kink where it is not; never negative, never without bound."""
    assert use(np.array([0.0, 0.25, 1.0, np.inf, np.nan])) == pytest.approx([1.0, 0.8, 0.5, 0.0, 0.0])
    assert use(np.array([-0.5, -1.0, -3.0])) == pytest.approx([1.5, 2.0, 4.0])
    margins = np.linspace(-2.0, 2.0, 401)
    slope = np.gradient(use(margins), margins)
    assert np.all(slope < 0)
    assert np.abs(np.diff(slope)).max() < 0.025


def test_reserve_leaves_no_limit_that_the_start_misses():
    assert reserve(np.array([0.5, 1.0 - RESERVE / 2, 1.0])) == pytest.approx([RESERVE, RESERVE / 2, 0.0])


def test_common_words():
    assert common(["floor, inboard, bore 1", "floor, inboard, bore 2"]) == "floor, inboard, bore"
    assert (
        common(["nominal stress, bridge leading", "nominal stress, bridge left"]) == "nominal stress, bridge"
    )
    assert common(["spread"]) == common(["spread", "spread"]) == "spread"
    assert common(["friction of it", "dowels of it"]) == "friction of it"


@pytest.fixture(scope="module")
def looked():
    """A start that misses one of its limits, looked at by either model: the job and what is found."""
    text = TWO_PIECE.replace("[size]", "[limits]\ntilt_mrad = 50.0\nspread_mm = 0.01\n\n[size]")

    @cache
    def by(front_view):
        own = job(text, front_view=front_view)
        return own, look(own, own.start, [])

    return by


@pytest.mark.parametrize("front_view", [False, True])
def test_held_are_all_that_the_start_meets_and_the_frame_makes(looked, front_view):
    """Two cases by two models; tilt is the front view's alone; what is missed holds nothing."""
    own, found = looked(front_view)
    held = {(k.case, k.check) for k in found.uses if k.check}
    layout, _ = solved(own.read(own.start)[0], with_front_view=front_view)
    checks = [(s.case.name, c) for s in screenings(layout) for c in s.checks.one(0)]
    assert held == {(case, c.id) for case, c in checks if c.met} - {("stop", "tilt"), ("hot stop", "tilt")}
    assert any(c.id == "tilt" for _, c in checks) == front_view
    assert {c.id for _, c in checks if not c.met} >= {"spread"}
    assert {"clamp plane holds", "onset 1", "bolt fatigue", "floor inboard"} <= {id_ for _, id_ in held}


@pytest.fixture(scope="module")
def begun(looked):
    """A round about a start whose forces are the front view's."""
    own, found = looked(True)
    return opened(own, own.start, found.layout, found.uses), found


def test_at_its_point_a_round_says_what_the_full_response_says(begun):
    """But for the reserve; the frame alone says something else."""
    round_, found = begun
    k = len(round_.limits)
    known = np.array([v for key, v in found.uses.items() if key.check])
    assert len(known) > 10
    assert round_.sample(round_.job.start).uses[k:] == pytest.approx(
        known + reserve(known), rel=1e-9, abs=1e-12
    )
    (frame,) = round_.layouts([round_.job.start])
    assert np.abs(check_uses(frame, round_.checks)[0] - known).max() > 0.01


def test_slopes_of_checks_against_wide_steps(begun):
    """Steps of 0.0002 of a range in one batch against central ones 25 times as wide, of single designs: 2 %.

    As the wall's top moves cells of joint faces come and go at bolt holes: jumps of uses, within the reserve.
    """
    round_, _ = begun
    x, ranges, k = round_.job.start, round_.job.high - round_.job.low, len(round_.limits)
    slopes = round_.slopes(x).uses[k:]
    names = [c.check for c in round_.checks]
    for i in (0, 1, 3):  # wall, top, pocket; this closed joint's fillets carry no tension
        h = 0.005 * ranges[i] * np.eye(len(x))[i]
        up, down = (round_.answered([p])[0].checks for p in (x + h, x - h))
        wide = (up - down) / (2 * h[i])
        jump = RESERVE / (2 * h[i]) if i == 1 else 0.0
        assert slopes[:, i] == pytest.approx(wide, abs=0.02 * np.abs(wide).max() + jump)
    assert slopes[names.index("onset 1"), 0] != 0.0


def test_halves_that_become_unequal_are_both_held():
    """Equal at the start, one is asked, for both; once one wall is thinner its own check is."""
    text = TWO_PIECE.replace('path = "caliper.wall.thickness_mm"', 'path = "caliper.outboard.thickness_mm"')
    text = text.replace("[[load_case]]", "outboard = { thickness_mm = 34.0 }\n\n[[load_case]]", 1)
    own = job(text)
    found = look(own, own.start, [])
    held = [k for k in found.uses if k.check]
    walls = {k.check: found.uses[k] for k in held if k.case == "stop" and k.check.startswith("wall")}
    assert walls["wall outboard"] == walls["wall inboard"] > 0
    assert {k.what for k in held if k.check == "wall outboard"} == {"wall bending stress, outboard"}
    round_ = replace(Round(own, {}, Meshes()), checks=tuple(held))
    thin, same = round_.answered([own.start - np.array([4.0, 0, 0, 0]), own.start])
    at = next(i for i, k in enumerate(held) if k.case == "stop" and k.check == "wall outboard")
    assert thin.checks[at] > 1.1 * same.checks[at]
