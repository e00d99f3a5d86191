"""Crossings, differences and the sentence about them, on curves put together by hand."""

import math
from dataclasses import replace
from typing import Any

import pytest

from stiffcalc.explore.bolt_results import Figures
from stiffcalc.explore.compare_results import Curve, Limit, Point, Scatter, kg
from stiffcalc.explore.compare_scatter import of_difference
from stiffcalc.explore.compare_verdict import crossings, gaps, limits_said, verdict

MASSES = (2.0, 3.0, 4.0)
METAL = 'material."a".E_MPa'


def scatter(spread: float, *, metal: str = METAL, model: float = 0.01) -> Scatter:
    return Scatter(model * spread, 0.0, 0.02 * spread, {metal: -0.02 * spread})


def point(budget: float, spread: float, **changes: Any) -> Point:
    figures = Figures(spread, math.inf, 0.1, "stress (stop)", None, 0, 5, ())
    fields: dict[str, Any] = {
        "budget": budget,
        "mass": budget,
        "keys": (),
        "changes": {},
        "figures": figures,
        "spread": spread,
        "spread_frame": spread,
        "spread_searched": spread,
        "stiffness_kN_per_mm": 100.0,
        "stiffness_per_mass": 30.0,
        "limits": (Limit("mass", "all", None),),
        "meets": True,
        "within": True,
        "scatter": scatter(spread),
        "note": "",
    }
    return Point(**(fields | changes))


def curve(name: str, spreads: tuple[float | None, ...], *, two_piece: bool = False) -> Curve:
    points = tuple(None if s is None else point(m, s) for m, s in zip(MASSES, spreads, strict=True))
    return Curve(name, "one piece", two_piece, 0.0, (), 100, 0, 3, None, None, points)


ONE = curve("one", (0.30, 0.20, 0.10))
TWO = curve("two", (0.20, 0.18, 0.16), two_piece=True)


def test_the_crossing_lies_on_straight_lines_between_two_masses() -> None:
    """Differences at 3 and 4 kg: 0.20 - 0.18 = 0.02 and 0.10 - 0.16 = -0.06, so a quarter of the way."""
    found = crossings(gaps([ONE, TWO], MASSES))
    assert len(found) == 1
    assert found[0].crossing_mass == pytest.approx(3.25)
    assert (found[0].first, found[0].second, found[0].between) == ("two", "one", (3.0, 4.0))
    assert found[0].told


def test_points_that_miss_a_check_are_not_compared() -> None:
    missing = curve("two", (0.20, None, 0.16))
    assert [g.budget for g in gaps([ONE, missing], MASSES)] == [2.0, 4.0]
    bad = Curve("two", "", True, 0.0, (), 1, 0, 1, None, None, (point(2.0, 0.2, meets=False), None, None))
    assert gaps([ONE, bad], MASSES) == ()


def test_moduli_of_one_metal_fall_out_of_a_difference() -> None:
    """Equal spreads of one metal: only the models' errors are left; of two metals the moduli add (JCGM 100, 5.1.2)."""
    one = scatter(0.2)
    assert of_difference(one, scatter(0.2)) == pytest.approx(0.002 * math.sqrt(2.0))
    apart = of_difference(one, scatter(0.2, metal="another"))
    assert apart == pytest.approx(math.sqrt(2.0 * 0.002**2 + 2.0 * 0.004**2))


def test_differences_within_twice_their_uncertainty_are_not_told_apart() -> None:
    u = of_difference(scatter(0.2), scatter(0.205))
    near, far = (curve("two", (0.2 + k * u, 0.2, 0.2)) for k in (1.5, 2.5))
    same = curve("one", (0.2, 0.3, 0.3))
    assert not gaps([same, near], MASSES)[0].apart
    assert gaps([same, far], MASSES)[0].apart


def test_the_verdict_names_leaders_sizes_crossings_and_limits() -> None:
    apart = gaps([ONE, TWO], MASSES)
    said = verdict([ONE, TWO], MASSES, apart, crossings(apart))
    assert "'two' from 2.00 to 3.00 kg; 'one' at 4.00 kg" in said
    assert "At 3.00 kg 'two' opens 180 µm, 'one' 200 µm: 20 µm (11\u00a0%) more" in said
    assert "'two' and 'one' cross near 3.25 kg" in said
    assert next(limits_said([ONE], MASSES)) == "'one' is limited by mass (3 of 3)."


def test_the_verdict_without_any_layout_that_meets_its_checks() -> None:
    missed = (Limit("onset", "onset pressure (stop), not met", -0.1),)
    bad = Curve(
        "two",
        "",
        True,
        0.0,
        (),
        1,
        0,
        1,
        None,
        None,
        (None, None, point(4.0, 0.2, meets=False, limits=missed)),
    )
    said = verdict([bad], MASSES, (), ())
    assert said == "No layout meets its checks at any mass. 'two': onset pressure (stop), not met."


def test_layouts_that_do_not_cross_are_said_not_to() -> None:
    apart = gaps([ONE, curve("worse", (0.4, 0.3, 0.2))], MASSES)
    assert crossings(apart) == ()
    assert "No two curves cross where both layouts meet their checks." in verdict(
        [ONE, curve("worse", (0.4, 0.3, 0.2))], MASSES, apart, ()
    )


def test_a_leader_outside_the_studys_own_limits_is_said_to_be_so() -> None:
    """Curves show what limits of spread and mass forbid; who reads the verdict alone must not take it for allowed."""
    light, fair, heavy = ONE.points
    assert light is not None
    beyond = replace(ONE, points=(replace(light, within=False), fair, heavy), lightest=2.0)
    said = verdict([beyond], MASSES, (), ())
    assert (
        "'one' at 2.00 kg, outside the study's own limits of spread or mass; 'one' from 3.00 to 4.00 kg."
        in said
    )
    assert "design that meets every check but the study's own limits weighs 2.000 kg" in next(
        limits_said([beyond], MASSES)
    )


def test_curves_that_cross_below_the_first_mass_of_both_cross_where_the_heavier_begins() -> None:
    """`two` begins at 2.2 kg and opens less there, more from 3 kg on: differences -0.02 and 0.02, so half way."""
    masses = (2.0, 2.2, 3.0)
    pairs = {"one": (0.30, 0.26, 0.20), "two": (None, 0.24, 0.22)}
    one, two = (
        replace(
            curve(name, (0.1, 0.1, 0.1)),
            points=tuple(None if s is None else point(m, s) for m, s in zip(masses, spreads, strict=True)),
            lightest=2.0 if name == "one" else 2.1996,
        )
        for name, spreads in pairs.items()
    )
    found = crossings(gaps([one, two], masses))
    assert [(c.first, c.second, c.between) for c in found] == [("two", "one", (2.2, 3.0))]
    assert found[0].crossing_mass == pytest.approx(2.6)
    assert list(limits_said([one, two], masses)) == [
        "'one' is limited by mass (3 of 3); its lightest design that meets every check weighs 2.000 kg.",
        "'two' is limited by mass (2 of 2); its lightest design that meets every check weighs 2.200 kg.",
    ]
    assert two.start == 1 and two.begin is two.points[1] and curve("x", (0.1, 0.1, 0.1)).begin is None


def test_masses_are_named_to_ten_grams_and_to_the_gram_where_a_layout_begins() -> None:
    assert [kg(m) for m in (2.0, 2.15, 2.132, 2.13215)] == ["2.00", "2.15", "2.132", "2.13215"]
