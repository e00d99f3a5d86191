"""Small studies whose sections several tests solve. Invented numbers."""

import copy
import tomllib
from functools import cache

from stiffcalc.caliper.assess import solved
from stiffcalc.caliper.section_study import section
from stiffcalc.study import parse

ONE_PIECE = """
format = 1
study = { title = "sections" }
rotor = { outer_radius_mm = 165.0, thickness_mm = 28.0 }
pad = { thickness_mm = 16.0, height_mm = 50.0, length_mm = 110.0 }

[caliper]
layout = "monoblock"
material = "2014-T6"
wall = { length_mm = 220.0, bottom_y_mm = 105.0, top_y_mm = 190.0, thickness_mm = 34.0, floor_mm = 9.0 }
bore = [{ x_mm = -32.0, y_mm = 135.0, diameter_mm = 40.0 }, { x_mm = 32.0, y_mm = 135.0, diameter_mm = 40.0 }]
bridge = [
  { name = "leading end", x_mm = [-110.0, -80.0], y_mm = [150.0, 190.0], fillet_mm = 5.0 },
  { name = "trailing end", x_mm = [80.0, 110.0], y_mm = [150.0, 190.0], fillet_mm = 5.0 },
  { name = "centre", x_mm = [-12.0, 12.0], y_mm = [171.0, 190.0], fillet_mm = 4.0 },
]

[[load_case]]
name = "stop"
pressure_MPa = 10.0

[[load_case]]
name = "hot stop"
pressure_MPa = 10.0
body_temperature_C = 120.0
"""

BOLTS = [
    {
        "x_mm": x,
        "y_mm": y,
        "thread": "M10x1.5",
        "grade": "12.9",
        "preload_N": 40000.0,
        "scatter": 1.4,
        "engagement_mm": 20.0,
    }
    for x, y in ((-95.0, 160.0), (-95.0, 180.0), (95.0, 160.0), (95.0, 180.0), (0.0, 180.0))
]


def raw(**changes):
    """The one-piece study as a dictionary, with dotted paths (double underscore) changed."""
    data = tomllib.loads(ONE_PIECE)
    for path, value in changes.items():
        *above, last = path.split("__")
        table = data
        for key in above:
            table = table[int(key)] if isinstance(table, list) else table[key]
        table[last] = value
    return data


def two_piece(**changes):
    """Split at the mid-plane, five bolts."""
    return raw(caliper__layout="two-piece", caliper__bolt=copy.deepcopy(BOLTS), **changes)


def loose_centre(**changes):
    """One piece but for the centre bridge, which is bolted in."""
    return raw(caliper__bolt=copy.deepcopy(BOLTS[4:]), caliper__bridge__2__kind="bolted-in", **changes)


def layout(data):
    """The base layout, solved by the frame."""
    return solved(parse(data).designs[0], with_front_view=False)[0]


KINDS = {"one piece": raw, "two-piece": two_piece, "loose centre": loose_centre}


@cache
def known(kind):
    """The sample body of that kind, solved."""
    return layout(KINDS[kind]())


@cache
def sample(kind, bridge):
    """Section of one bridge of a sample body, to 5 %, and its layout."""
    found = known(kind)
    return section(found, bridge, side="inboard", accuracy=0.05), found
