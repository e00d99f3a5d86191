"""[sweep] of a study file: everything stated is read, what is wrong is one line that names its mend."""

import math

import pytest
import study_sample as sample

from stiffcalc.errors import InputError
from stiffcalc.study import parse

ALL = """
[sweep]
sampling = "halton"
samples = 64
seed = 7
aim = "least spread"
best = 2

[[sweep.key]]
name = "wall"
path = "caliper.wall.thickness_mm"
range = [30, 36]
step = 2

[[sweep.key]]
path = ["caliper.bridge[2].x_mm[1]"]
minus = "caliper.bridge[1].x_mm[2]"
range = [76.5, 80.0]

[[sweep.key]]
path = "caliper.bolt[1].grade"
values = ["10.9", "12.9"]

[[sweep.key]]
name = "bores"
sets = [{ name = "small", "caliper.bore[1].diameter_mm" = 40 }, { "caliper.bore[1].diameter_mm" = 42 }]
"""


def key(lines: str) -> str:
    """A sweep of one key."""
    return f"\n[sweep]\n[[sweep.key]]\n{lines}\n"


WALL = 'path = "caliper.wall.thickness_mm"\n'


def test_everything_stated_is_read() -> None:
    plan = parse(sample.TEXT + ALL).sweep
    assert plan is not None
    assert (plan.sampling, plan.samples, plan.seed, plan.aim, plan.best, plan.layout) == (
        "halton",
        64,
        7,
        "least spread",
        2,
        "base",
    )
    wall, ends, grade, bores = plan.keys
    assert [level.label for level in wall.levels] == ["30", "32", "34", "36"]
    assert wall.levels[1].changes == {"caliper.wall.thickness_mm": 32} and wall.levels[1].value == 32
    assert (ends.low, ends.high, ends.levels) == (76.5, 80.0, ())
    assert (ends.name, ends.minus) == ("caliper.bridge[2].x_mm[1]", ("caliper.bridge[1].x_mm[2]",))
    assert [level.label for level in grade.levels] == ["10.9", "12.9"] and math.isnan(grade.levels[0].value)
    assert [level.label for level in bores.levels] == ["small", "#2"]
    assert plan.defaults_used == ('sweep.layout = "base" (the base)',)


def test_without_the_table_there_is_no_sweep_and_a_short_one_lists_its_defaults() -> None:
    assert parse(sample.TEXT).sweep is None
    plan = parse(sample.TEXT + key(WALL + "range = [30, 36]")).sweep
    assert plan is not None and (plan.sampling, plan.samples, plan.seed) == ("sobol", 1024, 1)
    assert len(plan.defaults_used) == 6


def test_a_grid_counts_its_places() -> None:
    text = key(WALL + "values = [30, 31, 32]").replace("[sweep]", '[sweep]\nsampling = "grid"')
    plan = parse(sample.TEXT + text).sweep
    assert plan is not None and plan.samples == 3


def test_a_step_that_does_not_reach_the_end_stops_before_it_and_rounding_does_not_lose_the_end() -> None:
    plan = parse(sample.TEXT + key(WALL + "range = [30, 30.35]\nstep = 0.1")).sweep
    assert plan is not None and [level.label for level in plan.keys[0].levels] == [
        "30",
        "30.1",
        "30.2",
        "30.3",
    ]
    plan = parse(sample.TEXT + key(WALL + "range = [30, 30.3]\nstep = 0.1")).sweep
    assert plan is not None and [level.value for level in plan.keys[0].levels][-1] == 30.3


BAD = [
    (
        key('path = "caliper.wall.thicknes_mm"\nrange = [30, 36]'),
        "sweep.key[1]: caliper.wall",
        "write thickness_mm",
    ),
    (key('path = "calliper.wall.thickness_mm"\nrange = [30, 36]'), "sweep.key[1]", "begin with caliper"),
    (key('path = "caliper..wall"\nrange = [30, 36]'), "sweep.key[1]", "no path"),
    (key('path = "caliper.bolt[9].x_mm"\nrange = [30, 36]'), "sweep.key[1]", "unknown path: index [9]"),
    (
        key('path = "caliper.bolt[1].grade"\nvalues = ["12.9", "12.8"]'),
        "sweep.key[1]: caliper.bolt[1].grade",
        "12.9",
    ),
    (key(WALL + "range = []"), "sweep.key[1].range", "an empty list"),
    (key(WALL + "range = [30, 30]"), "sweep.key[1].range", "put the lower end first"),
    (key(WALL + "range = [36, 30]"), "sweep.key[1].range", "put the lower end first"),
    (key(WALL + "range = [nan, 30]"), "sweep.key[1].range[1]", "give a finite number"),
    (key(WALL + "range = [30, inf]"), "sweep.key[1].range[2]", "give a finite number"),
    (key(WALL + 'range = ["30", 36]'), "sweep.key[1].range[1]", "without quotes"),
    (key(WALL + "range = [30, 36]\nstep = nan"), "sweep.key[1].step", "give a finite number"),
    (key(WALL + "range = [30, 36]\nstep = 0"), "sweep.key[1].step", "above 0"),
    (key(WALL + "range = [30, 36]\nstep = 10"), "sweep.key[1].step", "1 steps"),
    (key(WALL + "range = [30, 36]\nstep = 1e-6"), "sweep.key[1].step", "2 to 1000 steps"),
    (key(WALL + "values = []"), "sweep.key[1].values", "an empty list"),
    (key(WALL + "values = [30, nan]"), "sweep.key[1].values[2]", "give a finite number"),
    (key(WALL + "values = [30, 30]"), "sweep.key[1].values[2]", "each entry once"),
    (key(WALL + "values = [30, 31]\nstep = 1"), "sweep.key[1].step", "remove step"),
    (key(WALL + "range = [30, 36]\nvalues = [1]"), "sweep.key[1]", "one of range, values and sets"),
    (key(WALL), "sweep.key[1]", "neither range, values nor sets"),
    (key("range = [30, 36]"), "sweep.key[1].path", "a dotted path"),
    (key('path = ["a", "a"]\nrange = [1, 2]'), "sweep.key[1]", "each path once"),
    (key("path = 5\nrange = [1, 2]"), "sweep.key[1].path", "in quotes"),
    (
        key('path = "caliper.bolt[1].grade"\nminus = "caliper.bolt[2].grade"\nvalues = ["12.9"]'),
        "sweep.key[1].values[1]",
        "a number",
    ),
    (
        key('path = "caliper.layout"\nsets = [{ "caliper.layout" = "monoblock" }]'),
        "sweep.key[1].path",
        "remove path",
    ),
    (key("sets = [5]"), "sweep.key[1].sets[1]", "a table of paths"),
    (key(WALL + "range = [30, 36]\nrnge = 1"), "sweep.key[1].rnge", "write range"),
    ("\n[sweep]\n", "sweep.key", "add [[sweep.key]]"),
    (
        '\n[sweep]\nsampling = "sobl"\n[[sweep.key]]\n' + WALL + "range = [30, 36]",
        "sweep.sampling",
        'write "sobol"',
    ),
    (
        "\n[sweep]\nsamples = 1000001\n[[sweep.key]]\n" + WALL + "range = [30, 36]",
        "sweep.samples",
        "1 to 1000000",
    ),
    (
        "\n[sweep]\nsamples = 8.5\n[[sweep.key]]\n" + WALL + "range = [30, 36]",
        "sweep.samples",
        "a whole number",
    ),
    ("\n[sweep]\nseed = -1\n[[sweep.key]]\n" + WALL + "range = [30, 36]", "sweep.seed", "0 to"),
    (
        '\n[sweep]\nlayout = "bse"\n[[sweep.key]]\n' + WALL + "range = [30, 36]",
        "sweep.layout",
        'write "base"',
    ),
    ('\n[sweep]\nsampling = "grid"\n[[sweep.key]]\n' + WALL + "range = [30, 36]", "sweep.key[1]", "add step"),
    (
        '\n[sweep]\nsampling = "grid"\nsamples = 4\n[[sweep.key]]\n' + WALL + "values = [30, 36]",
        "sweep.samples",
        "remove samples",
    ),
]


@pytest.mark.parametrize(("text", "where", "says"), BAD)
def test_what_is_wrong_is_one_line(text: str, where: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(sample.TEXT + text)
    lines = str(caught.value).splitlines()
    assert len(lines) == 1 and lines[0].startswith(where) and says in lines[0], lines


def two(first: str, second: str) -> str:
    return f"\n[sweep]\n[[sweep.key]]\n{first}\n[[sweep.key]]\n{second}\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            two(WALL + "range = [30, 36]", 'name = "b"\n' + WALL + "values = [30, 31]"),
            "which key[1] sets too",
        ),
        (
            two(
                'path = "caliper.bridge[1].x_mm"\nvalues = [[-90, -60], [-90, -65]]',
                'path = "caliper.bridge[1].x_mm[2]"\nrange = [-66, -60]',
            ),
            "which key[1] sets too",
        ),
        (
            two(
                'name = "a"\n' + WALL + "range = [30, 36]",
                'name = "a"\npath = "caliper.wall.floor_mm"\nrange = [7, 9]',
            ),
            "rename one",
        ),
    ],
)
def test_paths_and_names_stand_in_one_entry(text: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(sample.TEXT + text)
    lines = str(caught.value).splitlines()
    assert len(lines) == 1 and says in lines[0], lines


def test_more_designs_than_anyone_reads_are_refused() -> None:
    steps = [
        f'name = "{k}"\npath = "caliper.wall.{k}_mm"\nrange = [10, 19.99]\nstep = 0.01'
        for k in ("thickness", "floor")
    ]
    tables = "".join(f"[[sweep.key]]\n{k}\n" for k in (*steps, 'path = "pad.friction"\nvalues = [0.3, 0.4]'))
    more = f'\n[sweep]\nsampling = "grid"\n{tables}'
    with pytest.raises(InputError) as caught:
        parse(sample.TEXT + more)
    assert "1000 x 1000 x 2 = 2000000 designs; allowed: at most 1000000" in str(caught.value)
