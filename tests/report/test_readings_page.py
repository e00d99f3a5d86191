"""Page, tables and pictures of readings."""

import math
import re
from pathlib import Path

import pytest
from test_page_browser import check_page

from stiffcalc.quantities import QUANTITIES
from stiffcalc.readings.correlate import correlate
from stiffcalc.readings.kinds import KINDS, points_of
from stiffcalc.readings.results import Correlation
from stiffcalc.readings.table import load_readings
from stiffcalc.report import readings_page, readings_plots, readings_tables
from stiffcalc.study import load

STUDIES = Path(__file__).parents[2] / "studies"


@pytest.fixture(scope="module")
def answer() -> Correlation:
    study = load(STUDIES / "hillclimb_front.toml")
    points = points_of(study.designs[0].caliper)
    readings = load_readings(STUDIES / "readings" / "hillclimb_bench.csv", points=points)
    return correlate(study, study.designs[0], readings, front_view=False)


@pytest.fixture(scope="module")
def rendered(answer: Correlation) -> str:
    return readings_page.render(answer, "Checked <against> solids & nothing else.")


def test_one_page_that_fetches_nothing(rendered: str) -> None:
    assert "http://" not in rendered.replace("http://www.w3.org", "") and "https://" not in rendered
    assert "Checked &lt;against&gt; solids &amp; nothing else." in rendered
    assert "$" not in rendered


def test_every_series_and_ratio_is_on_it(answer: Correlation, rendered: str) -> None:
    for f in answer.fits:
        assert f"{f.series.title}, {f.series.case}" in rendered
    for q in answer.comparisons:
        if q.ratio is not None:
            assert f"<td>{q.ratio.value:.3f}</td>" in rendered
    assert "tilt, middle: no ratio: this model does not publish it." in rendered


def test_what_a_slope_may_be_off_by_has_two_digits(rendered: str) -> None:
    table = rendered.split("<caption>Lines</caption>")[1].split("</table>")[0]
    rows = [re.findall("<td>(.*?)</td>", row) for row in table.split("<tr>")]
    doubts = [said for row in rows for said in row[2:4] if said != "–"]  # interval, scatter
    assert len(doubts) >= 14
    assert [d for d in doubts if len(d.replace(".", "").lstrip("0")) > 2] == []


def test_pictures_have_words_units_and_no_clipped_promise(answer: Correlation) -> None:
    for q in answer.comparisons:
        picture = readings_plots.overlay(answer, q.quantity, q.point)
        assert KINDS[q.quantity].quantity.shown in picture.svg
        assert "line pressure, MPa" in picture.svg
        assert "times the predicted" in picture.alt or q.ratio is None
    parity = readings_plots.parity(answer)
    assert "spread" in parity.svg and "times the predicted" in parity.alt


def test_terminal_keeps_to_its_width(answer: Correlation) -> None:
    lines = readings_tables.terminal(answer, width=100).splitlines()
    assert max(map(len, lines)) <= 100
    assert any("95 %" in line for line in lines)


def test_quantities_of_readings_are_in_the_table() -> None:
    assert {k.key for k in KINDS.values()} <= QUANTITIES.keys()
    wanted = {
        "temperature",
        "take_up",
        "knee",
        "slope",
        "scatter",
        "ratio",
        "ratio_error",
        "degrees",
        "loop_area",
    }
    assert wanted | {"loop_share", "cycles", "moved"} <= QUANTITIES.keys()


def test_numbers_of_the_json_are_finite(answer: Correlation) -> None:
    def numbers(value: object):
        if isinstance(value, dict):
            for v in value.values():
                yield from numbers(v)
        elif isinstance(value, list):
            for v in value:
                yield from numbers(v)
        elif isinstance(value, float):
            yield value

    found = list(numbers(answer.to_dict()))
    assert len(found) > 200 and all(math.isfinite(v) for v in found)


@pytest.mark.skipif(
    check_page.browser() is None, reason="Chromium is not installed (Debian package `chromium`)"
)
def test_page_is_in_order_at_every_width_and_in_print(rendered: str, tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    target.write_text(rendered, encoding="utf-8")
    assert check_page.check(target) == []
