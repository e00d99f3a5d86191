"""[pockets] of a study file: defaults with their reasons, and what is refused."""

from pathlib import Path

import pytest

from stiffcalc.errors import InputError
from stiffcalc.study import parse

DEMO = (Path(__file__).parents[2] / "studies" / "hillclimb_front.toml").read_text(encoding="utf-8")


def read(table):
    return parse(f"{DEMO}\n[pockets]\n{table}\n").pockets


def faults(table):
    with pytest.raises(InputError) as raised:
        read(table)
    return {f.where: f for f in raised.value.faults}


def test_without_the_table_everything_is_default():
    plan = parse(DEMO).pockets
    assert (plan.aim, plan.halves, plan.blank, plan.count) == ("least spread", "both", 6.0, 8)
    assert plan.mass is plan.spread is plan.least_thickness is plan.least_floor is None
    assert len(plan.defaults_used) == 12 and all("(" in line for line in plan.defaults_used)


def test_what_is_stated_is_read():
    plan = read(
        'aim = "least mass"\nspread_mm = 0.3\nhalves = "outboard"\nbehind_bridges = true\n'
        "keep = [{ x_mm = [-10, 10], y_mm = [150, 160] }]"
    )
    assert (plan.aim, plan.spread, plan.halves) == ("least mass", 0.3, "outboard")
    assert plan.room.behind_bridges and plan.room.keep == (((-10.0, 10.0), (150.0, 160.0)),)


@pytest.mark.parametrize(
    ("table", "where"),
    [
        ("blank_mm = 0", "pockets.blank_mm"),
        ("cutter_mm = nan", "pockets.cutter_mm"),
        ("rib_mm = -1", "pockets.rib_mm"),
        ('halves = "left"', "pockets.halves"),
        ("count = 2.5", "pockets.count"),
        ("spread_mm = 0.3", "pockets.spread_mm"),
        ('aim = "least mass"\nmass_kg = 3', "pockets.mass_kg"),
        ("keep = [{ x_mm = [10, -10], y_mm = [150, 160] }]", "pockets.keep[1].x_mm"),
        ("ribs = 3", "pockets.ribs"),
        ('behind_bridges = "no"', "pockets.behind_bridges"),
    ],
)
def test_bad_entries_are_refused_where_they_stand(table, where):
    assert where in faults(table)
