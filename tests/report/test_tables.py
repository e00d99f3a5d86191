"""Terminal table and CSV files."""

import csv
import io
import math
import re
from dataclasses import replace

import pytest

from stiffcalc.caliper.results import Results
from stiffcalc.report import choose, tables


def rows(results: Results, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(tables.csv_files(results)[name])))


@pytest.mark.parametrize("width", [80, 100, 120])
@pytest.mark.parametrize("which", ["good", "ugly"])
def test_terminal_fits_and_says_it_all(request: pytest.FixtureRequest, which: str, width: int) -> None:
    results: Results = request.getfixturevalue(which)
    text = tables.terminal(results, width)
    assert max(map(len, text.splitlines())) <= width
    assert "\x1b" not in text
    flowing = re.sub(r"\s+", "", text)  # wrapped anywhere
    for sentence in (results.title, results.verdict, *results.notices, *results.cautions):
        assert re.sub(r"\s+", "", sentence) in flowing
    for i, v in enumerate(results.variants):
        spread = choose.headline(v).models["frame"].spread
        assert f"{1e3 * spread:.0f}" in text
        assert f"{i + 1} {v.name}"[:12] in text


def test_terminal_lists_worst_margins_first(good: Results) -> None:
    found = re.findall(r"^(!!)? *([−+][\d.]+)\s%  \[", tables.terminal(good, 100), re.M)
    margins = [float(m.replace("−", "-")) for _, m in found]
    assert margins[0] == -37.8
    assert margins == sorted(margins)
    assert [bool(mark) for mark, _ in found] == [m < 0 for m in margins]


def test_terminal_refuses_a_narrow_width(good: Results) -> None:
    with pytest.raises(ValueError, match="80"):
        tables.terminal(good, 79)


@pytest.mark.parametrize("which", ["good", "ugly"])
def test_csv_files_are_rectangular_and_named_with_units(request: pytest.FixtureRequest, which: str) -> None:
    files = tables.csv_files(request.getfixturevalue(which))
    names = "openings checks sweep joints ports bolts preload_life centre_bridges solids masses"
    assert set(files) == {f"{name}.csv" for name in names.split()}
    for name, text in files.items():
        table = list(csv.reader(io.StringIO(text)))
        assert len({len(r) for r in table}) == 1, name
        assert len(set(table[0])) == len(table[0]), name
        assert len(table) > 1, name


def test_csv_numbers_are_the_results(good: Results) -> None:
    first = good.variants[0].load_cases[0]
    row = rows(good, "openings.csv")[0]
    assert float(row["spread_mm"]) == pytest.approx(first.spread, rel=1e-9)
    assert float(row["spread_frame_mm"]) == pytest.approx(first.models["frame"].spread, rel=1e-9)
    parts = sum(float(v) for k, v in row.items() if k.startswith("contribution_"))
    assert parts == pytest.approx(first.spread, rel=1e-9)
    bolt = rows(good, "bolts.csv")[1]
    assert (bolt["bolt"], float(bolt["force_N"])) == ("2", first.joints[0].bolts[1].force)
    assert float(rows(good, "masses.csv")[1]["mass_total_kg"]) == pytest.approx(
        good.variants[1].mass.total, rel=1e-9
    )


def test_csv_sweep_has_each_preload_and_leaves_absent_bolts_empty(good: Results) -> None:
    sweep = rows(good, "sweep.csv")
    points = len(good.variants[0].sweep.pressure)
    assert len(sweep) == points * (3 + 3 + 1)
    assert [r["preload"] for r in sweep[::points]] == ["minimum", "nominal", "maximum"] * 2 + [""]
    assert sweep[0]["bolt_force_5_N"] == ""
    assert float(sweep[4 * points - 1]["bolt_force_5_N"]) > 0


def test_csv_says_inf_where_onset_never_comes(ugly: Results) -> None:
    values = {r["variant"]: float(r["onset_MPa"]) for r in rows(ugly, "joints.csv")}
    assert math.isinf(values["onset never comes"])


def test_csv_checks_keep_formula_and_source(good: Results) -> None:
    checks = rows(good, "checks.csv")
    assert len(checks) == sum(len(c.checks) for v in good.variants for c in v.load_cases)
    assert all(r["formula"] and r["source"] and r["unit"] for r in checks)
    assert {r["met"] for r in checks} == {"true", "false"}


def test_what_the_centre_bridge_is_worth(good: Results) -> None:
    text = tables.terminal(good, 100)
    assert "[2]* centre, bolts along z" in text
    assert "Centre bridge" not in tables.terminal(replace(good, variants=good.variants[:1]), 100)
    found = [r for r in rows(good, "centre_bridges.csv") if r["variant"] == good.variants[1].name]
    assert [r["form"] for r in found] == ["none", "integral", "bolts along z"]
    assert [r["given"] for r in found] == ["false", "false", "true"]
    assert (found[0]["mass_per_bow_g_per_um"], found[1]["bow_mm"]) == ("", "0.15")


def test_what_the_solid_says_beside_the_front_view(good: Results) -> None:
    text = tables.terminal(good, 100)
    assert "3-D solid beside the front view" in text
    assert "a bolt's force differs by" not in text
    one = replace(good.variants[0].solid[0], bolt_increment=(9000.0, 0.0, 0.0, 0.0))
    changed = replace(good, variants=(replace(good.variants[0], solid=(one,)),))
    assert "a bolt's force differs by 8.2 kN" in tables.terminal(changed, 100)
    assert "3-D solid beside" not in tables.terminal(replace(good, variants=good.variants[2:]), 100)


def test_csv_of_solids_has_every_bore_and_bolt_with_its_unit(good: Results) -> None:
    cases = [(v, c) for v in good.variants for c in v.solid]
    found = rows(good, "solids.csv")
    assert len(found) == sum(2 + len(c.by_bore) + len(c.bolt_increment) for _, c in cases)
    v, c = cases[-1]
    mine = [r for r in found if (r["variant"], r["load_case"]) == (v.name, c.name)]
    assert [r["figure"] for r in mine] == ["onset", *2 * ["by_bore"], *6 * ["bolt_increment"], "touching"]
    assert [r["unit"] for r in mine] == ["MPa", *2 * ["mm"], *6 * ["N"], ""]
    assert [r["index"] for r in mine] == ["", "1", "2", *"123456", ""]
    solid = (c.onset, *c.by_bore, *c.bolt_increment, c.touching)
    assert [float(r["solid"]) for r in mine] == pytest.approx(solid, rel=1e-9)
    plate = (c.plate_onset, *c.plate_by_bore, *c.plate_bolt_increment)
    assert [float(r["front_view"]) for r in mine[:-1]] == pytest.approx(plate, rel=1e-9)
