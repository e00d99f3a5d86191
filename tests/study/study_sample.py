"""A valid study as text and as a dictionary, and ways to break it. Invented numbers."""

import copy
import pickle
import tomllib
from typing import Any

from stiffcalc.study import parse
from stiffcalc.study.schema import Design

TEXT = """
format = 1
[study]
title = "sample"
[rotor]
outer_radius_mm = 165.0
thickness_mm = 28.0
[pad]
thickness_mm = 16.0
height_mm = 50.0
length_mm = 110.0
[caliper]
layout = "two-piece"
[caliper.wall]
length_mm = 220.0
bottom_y_mm = 105.0
top_y_mm = 190.0
thickness_mm = 34.0
floor_mm = 9.0
[[caliper.bore]]
x_mm = -30.0
y_mm = 135.0
diameter_mm = 42.0
[[caliper.bore]]
x_mm = 30.0
y_mm = 135.0
diameter_mm = 42.0
[[caliper.bridge]]
name = "leading end"
x_mm = [-110.0, -78.0]
[[caliper.bridge]]
name = "trailing end"
x_mm = [78.0, 110.0]
[[caliper.bridge]]
name = "centre"
x_mm = [-12.0, 12.0]
y_mm = [172.0, 190.0]
kind = "bolted-in"
[[caliper.bolt]]
x_mm = -94.0
y_mm = 156.0
thread = "M10x1.5"
grade = "12.9"
[[caliper.bolt]]
x_mm = -94.0
y_mm = 178.0
thread = "M10x1.5"
grade = "12.9"
[[caliper.bolt]]
x_mm = 94.0
y_mm = 156.0
thread = "M10x1.5"
grade = "12.9"
[[caliper.bolt]]
x_mm = 94.0
y_mm = 178.0
thread = "M10x1.5"
grade = "12.9"
[[caliper.bolt]]
x_mm = 0.0
y_mm = 181.0
thread = "M8x1.25"
grade = "12.9"
[[load_case]]
name = "hard stop"
kind = "service"
pressure_MPa = 10.0
[[load_case]]
name = "proof"
kind = "proof"
pressure_MPa = 15.0
[limits]
clamp_force_N = 25000.0
[[variant]]
name = "one piece"
set = { "caliper.layout" = "monoblock" }
"""


_PICKLED = pickle.dumps(tomllib.loads(TEXT))


def raw() -> dict[str, Any]:
    """A fresh copy of the valid study."""
    found: dict[str, Any] = pickle.loads(_PICKLED)  # a hundred times as fast as reading the text again
    return found


_GONE = object()


def with_changes(*changes: tuple[Any, ...]) -> dict[str, Any]:
    """The valid study with values set: each change is (key or index, ..., value)."""
    found = raw()
    for *path, last, value in changes:
        place: Any = found
        for step in path:
            place = place[step]
        if value is _GONE:
            del place[last]
        elif isinstance(place, list) and last == len(place):
            place.append(copy.deepcopy(value))
        else:
            place[last] = copy.deepcopy(value)
    return found


def remove(*path: Any) -> tuple[Any, ...]:
    """A change that drops the last key of the path."""
    return (*path, _GONE)


def parse_base() -> Design:
    """The valid study's base design."""
    return parse(TEXT).designs[0]
