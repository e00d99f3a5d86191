"""`stiffcalc size` as a user meets it: folder, study that is assessed, interruption and resumption, refusals."""

import csv
import html
import importlib.util
import json
import re
import sys
from pathlib import Path

import pytest

from stiffcalc.cli import main
from stiffcalc.commands import size as command
from stiffcalc.exchange import run_state
from stiffcalc.study import load

STUDY = """
format = 1
study = { title = "Invented <walls> & fillets" }
rotor = { outer_radius_mm = 165.0, thickness_mm = 28.0 }
pad = { thickness_mm = 16.0, height_mm = 50.0, length_mm = 110.0 }

[caliper]
layout = "monoblock"
wall = { length_mm = 220.0, bottom_y_mm = 105.0, top_y_mm = 190.0, thickness_mm = 34.0, floor_mm = 9.0 }
bore = [{ x_mm = -32.0, y_mm = 135.0, diameter_mm = 40.0 }, { x_mm = 32.0, y_mm = 135.0, diameter_mm = 40.0 }]
bridge = [
  { name = "leading end", x_mm = [-110.0, -80.0], fillet_mm = 5.0 },
  { name = "trailing end", x_mm = [80.0, 110.0], fillet_mm = 5.0 },
]

[[load_case]]
name = "stop"
pressure_MPa = 10.0

[size]
bridges = ["leading end"]
rounds = 2
[[size.dimension]]
path = "caliper.wall.thickness_mm"
range = [24.0, 44.0]
[[size.dimension]]
path = ["caliper.bridge[1].fillet_mm", "caliper.bridge[2].fillet_mm"]
range = [3.0, 8.0]
"""
WRITTEN = {"size.html", "size.json", "size_history.csv", "sized.toml", "size_state.json", ".stiffcalc-report"}
FAST = "--no-front-view", "--accuracy", "20"


def run(*words):
    return main(["size", *(str(w) for w in words)])


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """The folder of one run to its end."""
    folder = tmp_path_factory.mktemp("size")
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        assert run("study.toml", *FAST, "--json", "answer.json") == 0
    return folder


@pytest.fixture(scope="module")
def answer(ran):
    return json.loads((ran / "answer.json").read_text(encoding="utf-8"))


def test_the_folder(ran):
    out = ran / "size-study"
    assert {p.name for p in out.iterdir()} == WRITTEN
    assert (ran / "answer.json").read_bytes() == (out / "size.json").read_bytes()


def test_lighter_and_within_every_limit(answer):
    assert answer["mass_kg"]["end"] < 0.9 * answer["mass_kg"]["start"]
    assert answer["met"]
    assert max(h["end_use"] for h in answer["limits"]) == answer["limits"][0]["end_use"] <= 1.005
    assert answer["limits"][0]["active"]
    assert "Held by: fillet of leading end, fatigue" in answer["verdict"]
    fillet = answer["dimensions"][1]
    assert (fillet["end"], fillet["bound"]) == (8.0, "high end")  # wider is lighter through a thinner wall


def test_checks_met_at_the_start_are_limits(ran, answer):
    """Every check of the drawn study is a row, used as its margin says; the state has it, so has the page."""
    found = {h["check"]: h for h in answer["limits"] if h["check"]}
    assert main(["assess", str(ran / "study.toml"), "--quiet", "--no-front-view", "--no-page",
                 "--out", str(ran / "drawn")]) == 0  # fmt: skip
    results = json.loads((ran / "drawn" / "results.json").read_text(encoding="utf-8"))
    (case,) = results["variants"][0]["load_cases"]
    assert set(found) == {c["id"] for c in case["checks"]}
    for check in case["checks"]:
        assert check["margin"] >= 0
        assert found[check["id"]]["start_use"] == pytest.approx(1 / (1 + check["margin"]), rel=1e-9)
    floor = found["floor inboard"]  # no dimension moves it
    assert floor["start_use"] == floor["end_use"]
    assert (floor["what"], floor["against"], floor["bridge"]) == (
        "floor bending stress, inboard, bore",
        "check",
        "",
    )
    page = (ran / "size-study" / "size.html").read_text(encoding="utf-8")
    assert "floor bending stress, inboard, bore, 'stop'" in html.unescape(page)


HELD = STUDY.replace("[size]", "[limits]\nspread_mm = 0.31\n\n[size]").replace("rounds = 2", "rounds = 6")


def sized(folder, text):
    """The answer to a study."""
    (folder / "study.toml").write_text(text, encoding="utf-8")
    words = folder / "study.toml", *FAST, "--quiet", "--out", folder / "out", "--json", folder / "a.json"
    assert run(*words) == 0
    return json.loads((folder / "a.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def holding(tmp_path_factory):
    """The same body whose opening is asked to stay within what the thinner wall would exceed."""
    return sized(tmp_path_factory.mktemp("hold"), HELD)


def test_a_check_that_least_mass_would_break_stays_met_and_is_named(holding, answer):
    assert holding["unmet_checks"] == []
    assert holding["met"]
    assert holding["settled"]
    assert "Held by: spread, 'stop' (100 %)" in holding["verdict"]
    spread = next(h for h in holding["limits"] if h["check"] == "spread")
    assert spread["active"]
    assert 0.995 < spread["end_use"] <= 1.0  # clear by the reserve, and no more
    assert spread["start_use"] < 0.95
    assert answer["mass_kg"]["end"] < holding["mass_kg"]["end"] < holding["mass_kg"]["start"]
    assert any(s["worst"] and s["worst"]["check"] == "spread" for s in holding["history"])


def test_not_held_it_breaks_and_is_reported(holding, answer, tmp_path):
    text = HELD.replace("rounds = 6", "rounds = 2")  # what it is compared with has two
    found = sized(tmp_path, text.replace("[size]", "[size]\nhold_checks = false"))
    assert not any(h["check"] for h in found["limits"])
    (missed,) = found["unmet_checks"]
    assert missed["what"] == "spread"
    assert missed["margin"] < -0.1
    assert missed["start_margin"] > 0.05
    assert "1 check of an assessment (spread); met at the start: 1." in found["verdict"]
    assert found["mass_kg"]["end"] == pytest.approx(answer["mass_kg"]["end"], rel=2e-3)
    assert any("hold_checks = false" in line for line in found["how"])
    assert not any("size.hold_checks" in line for line in found["defaults_used"])
    assert any("size.hold_checks = " in line for line in holding["defaults_used"])


# One dimension, one round, from a start that misses a check.
SHORT = HELD.replace("0.31", "0.28").replace("rounds = 6", "rounds = 1").rpartition("[[size.dimension]]")[0]


@pytest.fixture(scope="module")
def short(tmp_path_factory):
    """The folder of that run, which nothing stopped."""
    folder = tmp_path_factory.mktemp("short")
    sized(folder, SHORT)
    return folder


def test_a_check_that_the_start_misses_holds_nothing(short):
    found = json.loads((short / "a.json").read_text(encoding="utf-8"))
    assert not any(h["check"] == "spread" for h in found["limits"])
    assert any(h["check"] for h in found["limits"])
    (missed,) = found["unmet_checks"]
    assert missed["what"] == "spread"
    assert missed["start_margin"] < 0


def test_figures_are_those_of_the_section_on_a_mesh_of_its_own(ran, answer):
    """`stiffcalc section` on the study that was written finds the same stress."""
    words = [
        "section",
        ran / "size-study" / "sized.toml",
        "--variant",
        "base, sized",
        "--bridge",
        "leading end",
    ]
    out = ran / "sections"
    assert main([str(w) for w in (*words, *FAST, "--quiet", "--out", out)]) == 0
    found = json.loads((out / "sections.json").read_text(encoding="utf-8"))["sections"]
    assert found == answer["sections"]["end"]
    case = found[0]["load_cases"][0]["fillet"]
    use = next(h["end_use"] for h in answer["limits"] if (h["what"], h["against"]) == ("fillet", "fatigue"))
    assert 1 / use - 1 == pytest.approx(case["fatigue_margin"], rel=1e-9)


def test_what_was_written_is_assessed(ran, answer):
    sized = load(ran / "size-study" / "sized.toml")
    assert [d.name for d in sized.designs] == ["base", "base, sized"]
    assert sized.designs[1].caliper.inboard.thickness == answer["dimensions"][0]["end"]
    assert {b.fillet for b in sized.designs[1].caliper.bridges} == {8.0}
    assert main(["assess", str(ran / "size-study" / "sized.toml"), "--quiet", "--no-front-view", "--no-page",
                 "--out", str(ran / "assessed")]) == 0  # fmt: skip
    results = json.loads((ran / "assessed" / "results.json").read_text(encoding="utf-8"))
    checks = [c for case in results["variants"][1]["load_cases"] for c in case["checks"]]
    assert answer["checks"] == len(checks)
    assert sorted(c["what"] for c in checks if not c["met"]) == sorted(
        u["what"] for u in answer["unmet_checks"]
    )
    fillets = answer["mass_kg"]["end"] - results["variants"][1]["mass_kg"]["total"]
    assert 0 < fillets < 0.02


def test_the_history_has_every_design(ran, answer):
    rows = list(csv.DictReader((ran / "size-study" / "size_history.csv").open(encoding="utf-8")))
    assert len(rows) == len(answer["history"])
    assert rows[0]["kind"] == rows[-1]["kind"] == "round"
    assert float(rows[-1]["size_mass_kg"]) == pytest.approx(answer["mass_kg"]["end"])
    assert float(rows[-1]["caliper.wall.thickness_mm"]) == answer["dimensions"][0]["end"]


def test_the_page(ran):
    page = (ran / "size-study" / "size.html").read_text(encoding="utf-8")
    assert "Invented &lt;walls&gt; &amp; fillets" in page
    assert page.count("<svg") == 4
    assert page.count("Screening estimate only") >= 2
    assert not re.search(r"""(?:src|href)=["'](?!data:|#)""", page)


def test_the_page_as_a_browser_shows_it(ran):
    source = Path(__file__).parents[1] / ".ci" / "check_page.py"
    spec = importlib.util.spec_from_file_location("check_page", source)
    check_page = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(check_page)
    if check_page.browser() is None:
        pytest.skip("Chromium is not installed (Debian package `chromium`)")
    assert check_page.check(ran / "size-study" / "size.html") == []


def test_stopped_three_times_and_resumed_it_ends_the_same(short, tmp_path, capsys, monkeypatch):
    """Ctrl-C after the first, fourth, seventh save: a state to go on from, nothing else; at last the same bytes."""
    out, keep = tmp_path / "out", run_state.keep
    words = short / "study.toml", *FAST, "--out", out

    def stopped(after, *more):
        saves = []

        def kept(*args, **options):
            keep(*args, **options)
            saves.append(1)
            if len(saves) == after:
                raise KeyboardInterrupt

        with monkeypatch.context() as patched:
            patched.setattr(command.run_state, "keep", kept)
            assert run(*words, *more) == command.STOPPED == 130
        assert "go on with --resume" in capsys.readouterr().err
        assert {p.name for p in out.iterdir()} == {"size_state.json", ".stiffcalc-report"}

    stopped(1)
    assert run(*words) == 2  # not written over
    assert "a run that is not finished" in capsys.readouterr().err
    stopped(3, "--resume")
    stopped(3, "--resume")
    assert run(*words, "--resume", "--quiet") == 0
    for name in WRITTEN - {"size_state.json", ".stiffcalc-report"}:
        assert (out / name).read_bytes() == (short / "out" / name).read_bytes()
    assert run(short / "study.toml", "--accuracy", "30", "--no-front-view", "--out", out, "--resume") == 2
    assert "another run: accuracy 0.2; allowed: accuracy 0.3" in capsys.readouterr().err


def test_nothing_to_resume_is_a_fault_and_leaves_no_folder(ran, tmp_path, capsys):
    assert run(ran / "study.toml", *FAST, "--out", tmp_path / "wrong", "--resume") == 2
    (said,) = capsys.readouterr().err.strip().splitlines()
    assert said.startswith(f"--resume: found no sizing to go on with in {tmp_path / 'wrong'}; allowed: ")
    assert not list(tmp_path.iterdir())


def test_stopped_before_anything_is_kept_it_says_so(ran, tmp_path, capsys, monkeypatch):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(command, "size", stop)
    assert run(ran / "study.toml", *FAST, "--out", tmp_path) == command.STOPPED
    assert capsys.readouterr().err.strip() == "stopped: nothing is kept yet; start again"


def test_a_state_of_before_checks_were_limits_is_refused(ran, tmp_path, capsys):
    (tmp_path / ".stiffcalc-report").touch()
    data = json.loads((ran / "size-study" / "size_state.json").read_text(encoding="utf-8"))
    del data["run"]["state_format"]
    (tmp_path / "size_state.json").write_text(json.dumps(data | {"done": False}), encoding="utf-8")
    assert run(ran / "study.toml", *FAST, "--out", tmp_path, "--resume") == 2
    assert "another run: state_format None; allowed: state_format 2" in capsys.readouterr().err


@pytest.mark.parametrize(
    "text", ["", "[]", '{"run": {}, "done": true}', '{"run": {}, "done": false, "state": []}']
)
def test_a_file_that_is_no_state_is_refused(ran, tmp_path, capsys, text):
    (tmp_path / ".stiffcalc-report").touch()
    (tmp_path / "size_state.json").write_text(text, encoding="utf-8")
    assert run(ran / "study.toml", *FAST, "--out", tmp_path, "--resume") == 2
    error = capsys.readouterr().err
    assert "size_state.json: found no state of a run" in error
    assert len(error.strip().splitlines()) == 1


def test_a_state_with_something_else_in_it_is_refused(ran, tmp_path, capsys):
    (tmp_path / ".stiffcalc-report").touch()
    data = json.loads((ran / "size-study" / "size_state.json").read_text(encoding="utf-8"))
    data["state"] = {"turns": [{"y": 1}], "limits": []}
    (tmp_path / "size_state.json").write_text(json.dumps(data), encoding="utf-8")
    assert run(ran / "study.toml", *FAST, "--out", tmp_path, "--resume") == 2
    assert "size_state.json: found no state of a sizing" in capsys.readouterr().err


def test_without_the_mesher_one_line_says_what_to_install(ran, tmp_path, capsys, monkeypatch):
    monkeypatch.setitem(sys.modules, "gmsh", None)
    assert run(ran / "study.toml", *FAST, "--out", tmp_path / "none", "--quiet") == 1
    error = capsys.readouterr().err
    assert "gmsh does not load" in error
    assert "libglu1-mesa" in error
    assert len(error.strip().splitlines()) == 1
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("range = [24.0, 44.0]", "range = [44.0, 24.0]", "size.dimension[1].range: found [44, 24]"),
        ("range = [24.0, 44.0]", "range = [24.0, nan]", "size.dimension[1].range[2]: found nan"),
        ("range = [24.0, 44.0]", "range = [-1.0, 44.0]", "size.dimension[1].range[1]: found -1"),
        ("range = [24.0, 44.0]", "", "size.dimension[1].range: found nothing"),
        (
            "range = [24.0, 44.0]",
            "range = [9.0, 44.0]",
            "size.dimension[1].range: found low end 9, with which",
        ),
        (
            'path = "caliper.wall.thickness_mm"',
            'path = "caliper.bore[1].x_mm"',
            "size.dimension[1].path: found",
        ),
        ('path = "caliper.wall.thickness_mm"', "path = 3", "size.dimension[1].path: found 3"),
        ("rounds = 2", "rounds = 0", "size.rounds: found 0"),
        ("rounds = 2", "yield_factor = 0.0", "size.yield_factor: found 0"),
        ("rounds = 2", 'hold_checks = "yes"', "size.hold_checks: found"),
        ("rounds = 2", "rotation_mrad = -1.0", "size.rotation_mrad: found -1"),
        ("rounds = 2", "round = 2", 'size.round: found unknown key "round"'),
        ('bridges = ["leading end"]', "bridges = []", "size.bridges: found an empty list"),
        ('bridges = ["leading end"]', 'bridges = ["end"]', 'size.bridges: found "end"'),
        (STUDY[STUDY.index("[size]") :], "", "size: found nothing; allowed: a table [size]"),
    ],
)
def test_refusals_are_one_line_and_write_nothing(tmp_path, capsys, old, new, said):
    assert STUDY.count(old) == 1
    (tmp_path / "study.toml").write_text(STUDY.replace(old, new), encoding="utf-8")
    assert run(tmp_path / "study.toml", *FAST, "--out", tmp_path / "out") == 2
    error = capsys.readouterr().err
    assert said in error
    assert len(error.strip().splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_no_dimension_is_one_line(tmp_path, capsys):
    (tmp_path / "study.toml").write_text(STUDY.split("[[size.dimension]]")[0], encoding="utf-8")
    assert run(tmp_path / "study.toml", *FAST) == 2
    error = capsys.readouterr().err
    assert "size.dimension: found nothing; allowed: at least one table of what to size" in error
    assert len(error.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--accuracy", "nan"), "--accuracy: found nan"),
        (("--bridge", "centre"), '--bridge: found "centre"; allowed: leading end, trailing end'),
        (("--variant", "two"), "--variant: found unknown layout"),
    ],
)
def test_bad_options(ran, tmp_path, capsys, words, said):
    assert run(ran / "study.toml", *words, "--out", tmp_path / "out") == 2
    error = capsys.readouterr().err
    assert said in error
    assert len(error.strip().splitlines()) == 1
    assert not (tmp_path / "out").exists()
