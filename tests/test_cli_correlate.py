"""`stiffcalc correlate` and `stiffcalc assess --correction` as a user meets them."""

import csv
import io
import json
import re
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from types import SimpleNamespace

import pytest

from stiffcalc.caliper import assess
from stiffcalc.cli import main
from stiffcalc.commands import assess as command
from stiffcalc.readings import correlate as correlating
from stiffcalc.study.identity import layout_sha256

STUDIES = Path(__file__).parents[1] / "studies"
DEMO, READINGS = STUDIES / "hillclimb_front.toml", STUDIES / "readings" / "hillclimb_bench.csv"
TRUE = {  # slopes over the predicted ones in studies/readings/make.py
    ("spread", "caliper"): 1.07,
    ("opening", "bore 1"): 1.06,
    ("opening", "bore 2"): 1.08,
    ("tilt", "middle"): 1.12,
    ("yaw", "caliper"): 0.94,
    ("fluid volume", "caliper"): 1.21,
    ("bolt force", "bolt 1"): 0.88,
}
KNEE = 11.0  # MPa


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words):
    return main([str(w) for w in words])


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """One run by the front view; its folder."""
    folder = tmp_path_factory.mktemp("done")
    status = run("correlate", DEMO, READINGS, "--out", folder / "out", "--json", folder / "x.json", "--quiet")
    assert status == 0
    return folder


@pytest.fixture(scope="module")
def framed(tmp_path_factory):
    """One run by the frame: its folder, and what it printed on both streams."""
    folder, out, err = tmp_path_factory.mktemp("framed") / "r", io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        assert run("correlate", DEMO, READINGS, "--no-front-view", "--out", folder) == 0
    return folder, out.getvalue(), err.getvalue()


@pytest.fixture(scope="module")
def predictions():
    return {}


@pytest.fixture
def predicted_once(predictions, monkeypatch):
    """A layout is predicted once for what is about readings: curves are a function of layout, model and range alone."""
    predict = correlating.predict

    def once(design, **asked):
        key = layout_sha256(design), repr(asked)
        if key not in predictions:
            predictions[key] = predict(design, **asked)
        return predictions[key]

    monkeypatch.setattr(correlating, "predict", once)


@pytest.fixture
def assessed_once(monkeypatch):
    """A study is assessed once: results are a function of study and model alone."""
    known = {}

    def once(study, *, front_view, solid, progress):
        key = study.sha256, front_view, solid
        if key not in known:
            known[key] = assess.assess(study, front_view=front_view, solid=solid, progress=progress)
        return known[key]

    monkeypatch.setattr(command, "assess", SimpleNamespace(**vars(assess) | {"assess": once}))


def test_demo_says_that_it_is_invented():
    assert READINGS.read_text(encoding="utf-8").startswith("# INVENTED")


def test_invented_truth_of_the_demo_comes_back(done):
    """Where a model has changed on purpose, write the readings again: python studies/readings/make.py."""
    answer = json.loads((done / "x.json").read_text(encoding="utf-8"))
    if answer["model"] != "front view":
        pytest.skip("gmsh does not load")
    for r in answer["ratios"]:
        true = TRUE[r["quantity"], r["point"]]
        assert abs(r["ratio"] - true) < 4 * r["standard_error"], r
        assert r["ratio"] == pytest.approx(true, rel=0.05)
    bends = [f["measured"]["knee"] for f in answer["fits"] if f["measured"]["knee"]]
    assert len(bends) >= 12
    assert all(b["interval_95"][0] - 0.3 <= KNEE <= b["interval_95"][1] + 0.3 for b in bends)


def test_folder_holds_page_tables_and_correction(done):
    out = done / "out"
    names = {p.name for p in out.iterdir() if not p.name.startswith(".")}
    assert names == {"readings.html", "readings.json", "fits.csv", "readings.csv", "correction.toml"}
    assert (out / "readings.json").read_bytes() == (done / "x.json").read_bytes()
    fits = list(csv.DictReader((out / "fits.csv").open(encoding="utf-8")))
    assert len(fits) == 14 and all(float(f["slope_per_MPa"]) for f in fits)
    rows = list(csv.DictReader((out / "readings.csv").open(encoding="utf-8")))
    given = [r for r in READINGS.read_text(encoding="utf-8").splitlines() if r and r[0] != "#"]
    assert len(rows) == len(given) - 1
    page = (out / "readings.html").read_text(encoding="utf-8")
    assert page.count("<svg") == 8
    assert "Screening estimate only" in page and "one specimen says nothing" in page


def test_same_inputs_same_bytes(framed, elsewhere):
    assert run("correlate", DEMO, READINGS, "--no-front-view", "--out", "again", "--quiet") == 0
    for name in ("readings.json", "fits.csv", "correction.toml", "readings.html"):
        assert (elsewhere / "again" / name).read_bytes() == (framed[0] / name).read_bytes(), name


def test_printed_table(framed):
    _, printed, told = framed
    assert "measured / predicted" in printed and "Screening estimate only" in printed
    assert "tilt, middle: no ratio: this model does not publish it" in printed
    assert "correction.toml" in printed and "predicting" in told


def test_template_is_written_never_overwritten_and_accepted_once_filled(elsewhere, capsys):
    assert run("correlate", DEMO, "--template", "t.csv", "--variant", "one piece") == 0
    text = (elsewhere / "t.csv").read_text(encoding="utf-8")
    assert "one piece" in text and "bolt force" not in text.split("case,cycle")[0]
    assert run("correlate", DEMO, "--template", "t.csv") == 2
    assert (elsewhere / "t.csv").read_text(encoding="utf-8") == text
    capsys.readouterr()
    assert run("correlate", DEMO, "t.csv", "--variant", "one piece") == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1 and "fill it in" in said[0]
    filled = re.sub(
        r"(up|down),([\d.]+),(.*),,um,", lambda m: f"{m[1]},{m[2]},{m[3]},{17 * float(m[2]):g},um,", text
    )
    (elsewhere / "t.csv").write_text(filled, encoding="utf-8")
    assert run("correlate", DEMO, "t.csv", "--variant", "one piece", "--no-front-view", "--quiet") == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "READINGS"),
        (("nowhere.csv",), "nowhere.csv"),
        ((READINGS, "--variant", "one peice"), 'write "one piece"'),
        ((READINGS, "--take-up", "nan"), "--take-up"),
        ((READINGS, "--take-up", "-1"), "--take-up"),
        ((READINGS, "--take-up", "13.5"), "no series that can be fitted"),
        ((READINGS, "--variant", "one piece"), "this layout has none"),
    ],
)
def test_bad_input_is_one_line(words, said, predicted_once, capsys):
    assert run("correlate", DEMO, *words, "--quiet", "--no-front-view") == 2
    lines = capsys.readouterr().err.strip().splitlines()
    assert len(lines) == 1 and said in lines[0], lines


def test_files_the_wrong_way_round(capsys):
    assert run("correlate", READINGS, DEMO) == 2
    assert "mend: give a TOML file, not a table" in capsys.readouterr().err


def test_all_faults_of_a_file_and_nothing_written(elsewhere, capsys):
    text = (
        READINGS.read_text(encoding="utf-8")
        .replace("bore 2,opening", "bore 3,opening", 1)
        .replace(",kN,", ",kg,", 1)
    )
    (elsewhere / "bad.csv").write_text(text, encoding="utf-8")
    assert run("correlate", DEMO, "bad.csv") == 2
    lines = capsys.readouterr().err.strip().splitlines()
    assert [re.findall(r"line (\d+), column (\w+)", line) for line in lines] == [
        [("6", "point")],
        [("10", "unit")],
    ]
    assert [p.name for p in elsewhere.iterdir()] == ["bad.csv"]


def test_take_up_stated(elsewhere, predicted_once):
    assert (
        run("correlate", DEMO, READINGS, "--take-up", "3", "--no-front-view", "--quiet", "--json", "x.json")
        == 0
    )
    fits = json.loads((elsewhere / "x.json").read_text(encoding="utf-8"))["fits"]
    assert {f["take_up_MPa"] for f in fits} == {3.0} and not any(f["take_up_found"] for f in fits)


def test_assess_shows_the_correction_beside_the_raw_figures_which_stay(
    elsewhere, framed, assessed_once, capsys
):
    base, _, one_piece = DEMO.read_text(encoding="utf-8").split("[[variant]]")
    (elsewhere / "demo.toml").write_text(f"{base}[[variant]]{one_piece}", encoding="utf-8")
    bare = ("assess", "demo.toml", "--no-front-view", "--out")
    assert run(*bare, "raw", "--quiet", "--no-page") == 0
    capsys.readouterr()
    assert run(*bare, "both", "--correction", framed[0] / "correction.toml") == 0
    out = capsys.readouterr().out
    assert "Corrected by readings hillclimb_bench.csv" in out and "Not applicable: proof" in out
    for name in ("results.json", "openings.csv", "checks.csv"):
        assert (elsewhere / "raw" / name).read_bytes() == (elsewhere / "both" / name).read_bytes()
    assert not (elsewhere / "raw/corrected.csv").exists()
    rows = list(csv.DictReader((elsewhere / "both/corrected.csv").open(encoding="utf-8")))
    assert {r["variant"] for r in rows} == {"two-piece, four bolts"}
    spread = next(r for r in rows if r["load_case"] == "service stop" and r["quantity"] == "spread")
    assert float(spread["low_95"]) < float(spread["corrected"]) < float(spread["high_95"])
    assert float(spread["corrected"]) != float(spread["raw"])
    page = (elsewhere / "both/report.html").read_text(encoding="utf-8")
    assert "Corrected by readings" in page and "not applicable" in page
    assert run(*bare, "both", "--quiet", "--no-page") == 0
    assert not (elsewhere / "both/corrected.csv").exists(), "of an earlier run"


def test_correction_of_another_layout_is_refused_before_anything_is_done(elsewhere, framed, capsys):
    changed = DEMO.read_text(encoding="utf-8").replace("floor_mm = 8.5", "floor_mm = 8.6")
    (elsewhere / "other.toml").write_text(changed, encoding="utf-8")
    assert run("assess", "other.toml", "--correction", framed[0] / "correction.toml", "--out", "o") == 2
    lines = capsys.readouterr().err.strip().splitlines()
    assert len(lines) == 1 and "which this study has changed since" in lines[0]
    assert not (elsewhere / "o").exists()
