"""`stiffcalc sweep` as a user meets it: files, exit status, one line a fault, stopped and resumed, the page."""

import csv
import importlib.util
import json
import re
from pathlib import Path

import numpy as np
import pytest

from stiffcalc.cli import main
from stiffcalc.commands import sweep as command
from stiffcalc.exchange import chunks
from stiffcalc.explore import sampling
from stiffcalc.report import sweep_plots
from stiffcalc.study import load

STUDIES = Path(__file__).parents[1] / "studies"
DEMO = STUDIES / "sweep_two_piece.toml"
FILES = ("sweep.csv", "sweep.npz", "sweep.json", "sweep.html", "best_1.toml", "best_2.toml")


def prepared(folder, monkeypatch):
    """A small sweep in chunks of 16, in this folder."""
    monkeypatch.chdir(folder)
    monkeypatch.setattr(sampling, "CHUNK", 16)
    text = DEMO.read_text().replace("samples = 1024", "samples = 40\nbest = 2")
    (folder / "mine.toml").write_text(text)


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    prepared(tmp_path, monkeypatch)
    return tmp_path


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """The folder of one sweep from beginning to end."""
    folder = tmp_path_factory.mktemp("whole")
    with pytest.MonkeyPatch.context() as patch:
        prepared(folder, patch)
        assert fast() == 0
    return folder / "sweep-mine"


def run(*words):
    return main(["sweep", *(str(w) for w in words)])


def fast(*words):
    return run("mine.toml", "--no-front-view", "--quiet", *words)


def rows(folder):
    return list(csv.DictReader((folder / "sweep.csv").open()))


def test_files_are_written_and_the_best_printed(elsewhere, capsys):
    assert run("mine.toml", "--no-front-view", "--json", "answer.json") == 0
    folder = elsewhere / "sweep-mine"
    assert set(FILES) <= {p.name for p in folder.iterdir()}
    assert (elsewhere / "answer.json").read_bytes() == (folder / "sweep.json").read_bytes()
    printed = capsys.readouterr()
    assert "Screening estimate only" in printed.out and "40 designs (sobol, seed 1)" in printed.out
    assert all(len(line) <= 100 for line in printed.out.splitlines())
    assert "40/40 designs" in printed.err
    assert not list(elsewhere.rglob("*.tmp*"))


def test_one_row_a_design_in_both_files(whole):
    found, stored = rows(whole), np.load(whole / "sweep.npz")
    assert [r["design"] for r in found] == [str(n) for n in range(1, 41)]
    assert stored["key_names"].tolist()[:2] == ["wall, mm", "floor, mm"]
    assert stored["key_6"].tolist() == [r["grade"] for r in found]
    assert stored["key_1"].tolist() == [float(r["wall, mm"]) for r in found]
    for r, status, mass, rank in zip(found, stored["status"], stored["mass_kg"], stored["rank"], strict=True):
        assert r["status"] == stored["status_texts"][status].decode()
        assert (r["status"] == "refused") == bool(r["reason"]) == (not r["mass_kg"]) == (rank == 0)
        assert not r["mass_kg"] or float(r["mass_kg"]) == pytest.approx(mass, rel=1e-9)
    feasible = [r for r in found if r["feasible"] == "true"]
    assert feasible and all(r["unmet"] == "0" and float(r["worst_margin"]) >= 0 for r in feasible)
    by_rank = sorted(feasible, key=lambda r: int(r["rank"]))
    masses = [round(float(r["mass_kg"]), 4) for r in by_rank]
    assert masses == sorted(masses)

    def costs(r):
        return tuple(
            round(float(r[k]) * s, 6) for k, s in (("mass_kg", 1), ("spread_mm", 1), ("worst_margin", -1))
        )

    for r in feasible:  # the front by its definition
        beaten = any(
            costs(q) != costs(r) and all(x <= y for x, y in zip(costs(q), costs(r), strict=True))
            for q in feasible
        )
        assert (r["pareto"] == "true") != beaten


def test_best_designs_are_studies_that_give_the_same_figures(elsewhere, whole):
    answer = json.loads((whole / "sweep.json").read_text())
    first = answer["best"][0]
    study = load(whole / "best_1.toml")
    assert [d.name for d in study.designs] == ["as drawn", f"sweep, design {first['design']}"]
    assert study.designs[1].caliper.inboard.thickness == float(first["keys"]["wall, mm"])
    words = [
        "assess",
        str(whole / "best_1.toml"),
        "--no-front-view",
        "--no-page",
        "--json",
        "a.json",
        "--quiet",
    ]
    assert main(words) == 0
    assessed = json.loads((elsewhere / "a.json").read_text())["variants"][1]
    assert assessed["mass_kg"]["total"] == pytest.approx(first["mass_kg"], rel=1e-9)
    spread = assessed["load_cases"][0]["opening_mm"]["spread"]
    assert spread == pytest.approx(first["frame"]["spread_mm"], rel=0.05)  # faces that give way there


def test_same_bytes_again_and_with_two_workers(elsewhere, monkeypatch):
    monkeypatch.setattr(sampling, "CHUNK", 128)  # worker processes do not see what is patched here
    for name, more in (("a", ()), ("b", ()), ("c", ("--workers", 2))):
        assert fast("--samples", 140, "--out", name, *more) == 0
    for other in ("b", "c"):
        for file in FILES:
            assert (elsewhere / "a" / file).read_bytes() == (elsewhere / other / file).read_bytes(), file


def test_another_seed_gives_other_designs(elsewhere):
    assert fast("--out", "a", "--samples", 4) == fast("--out", "b", "--samples", 4, "--seed", 2) == 0
    assert rows(elsewhere / "a")[0]["floor, mm"] != rows(elsewhere / "b")[0]["floor, mm"]


@pytest.fixture
def stopped(monkeypatch, capsys):
    """Stopped by the user after two of three chunks."""
    keep, kept = chunks.keep, []

    def twice(*given):
        keep(*given)
        kept.append(given[1])
        if len(kept) == 2:
            raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(chunks, "keep", twice)
        assert fast() == 130
    assert "2 of 3 chunks are kept" in capsys.readouterr().err


def test_stopped_and_resumed_gives_the_same_bytes(elsewhere, whole, stopped, monkeypatch):
    folder = elsewhere / "sweep-mine"
    assert sorted(p.name for p in folder.iterdir()) == [".stiffcalc-report", "chunks"]
    again, keep = [], chunks.keep
    monkeypatch.setattr(chunks, "keep", lambda *given: (again.append(given[1]), keep(*given)))
    assert fast("--resume") == 0
    assert again == [2], "only what is missing is done"
    for file in FILES:
        assert (folder / file).read_bytes() == (whole / file).read_bytes(), file


@pytest.mark.parametrize("late", ["finish", "write"])
def test_stopped_after_the_last_design_keeps_them_too(elsewhere, whole, monkeypatch, capsys, late):
    def stop(*_, **__):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(command, late, stop)
        assert fast() == 130
    said = capsys.readouterr().err.strip().splitlines()[-1]
    assert said == "stopped: 3 of 3 chunks are kept in sweep-mine/chunks; go on with --resume"
    assert fast("--resume") == 0
    for file in FILES:
        assert (elsewhere / "sweep-mine" / file).read_bytes() == (whole / file).read_bytes(), file


def test_a_cut_line_and_a_spoilt_chunk_are_done_again(elsewhere, whole, stopped):
    folder = elsewhere / "sweep-mine/chunks"
    (folder / "000000.npz").write_bytes(b"spoilt")
    with (folder / "index.jsonl").open("a") as index:
        index.write('{"chunk": 2, "sha')
    assert chunks.done(folder.parent) == {1}
    assert fast("--resume") == 0
    assert (folder.parent / "sweep.csv").read_bytes() == (whole / "sweep.csv").read_bytes()


def test_an_unfinished_sweep_is_not_written_over_and_another_one_not_resumed(elsewhere, stopped, capsys):
    refusals = {
        (): "a sweep that is not finished; allowed: --resume",
        ("--resume", "--seed", 2): "another sweep: seed 1; allowed: seed 2",
        ("--resume", "--samples", 48): "another sweep: samples 40; allowed: samples 48",
    }
    for words, says in refusals.items():
        assert fast(*words) == 2
        said = capsys.readouterr().err.strip().splitlines()
        assert len(said) == 1 and says in said[0]
    text = (elsewhere / "mine.toml").read_text()
    (elsewhere / "mine.toml").write_text(text.replace("pressure_MPa = 7.0", "pressure_MPa = 7.5"))
    assert fast("--resume") == 2
    assert "another sweep: study" in capsys.readouterr().err
    assert len(chunks.done(elsewhere / "sweep-mine")) == 2


def test_a_finished_sweep_is_done_anew_or_only_put_in_order_again(elsewhere, monkeypatch):
    assert fast("--samples", 16) == 0
    with monkeypatch.context() as patched:
        patched.setattr(chunks, "keep", lambda *given: pytest.fail("nothing is left to do"))
        assert fast("--samples", 16, "--resume") == 0
    assert fast("--samples", 32) == 0
    assert len(rows(elsewhere / "sweep-mine")) == 32


def test_nothing_to_resume_is_a_fault_and_leaves_no_folder(elsewhere, capsys):
    assert fast("--resume", "--out", "wrong") == 2
    (said,) = capsys.readouterr().err.strip().splitlines()
    assert said == (
        "--resume: found no sweep to go on with in wrong; allowed: a folder in which a sweep was begun; "
        "mend: give that folder with --out, or leave --resume out"
    )
    assert [p.name for p in elsewhere.iterdir()] == ["mine.toml"]


def test_stopped_before_the_first_chunk_is_kept_it_can_be_resumed(elsewhere, monkeypatch, capsys):
    def stop(*_, **__):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(chunks, "keep", stop)
        assert fast("--samples", 16) == 130
    assert "0 of 1 chunks are kept" in capsys.readouterr().err
    assert fast("--samples", 16, "--resume") == 0


def test_a_finished_sweep_is_said_to_be_replaced(elsewhere, capsys):
    words = "mine.toml", "--no-front-view", "--samples"
    assert run(*words, 16) == run(*words, 16, "--resume") == 0
    assert "replaced" not in capsys.readouterr().err
    assert run(*words, 8) == 0
    assert "sweep-mine: its earlier sweep of 16 designs is replaced\n" in capsys.readouterr().err


def test_nothing_feasible_is_said(elsewhere, capsys):
    text = (elsewhere / "mine.toml").read_text().replace("spread_mm = 0.25", "spread_mm = 0.01")
    (elsewhere / "mine.toml").write_text(text)
    assert run("mine.toml", "--no-front-view", "--samples", 12) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "evaluated designs meets every check; nearest is" in said
    page = (elsewhere / "sweep-mine/sweep.html").read_text()
    assert page.count("there is no front") == 1 and "Front: " not in page
    assert "None meets every check: the nearest, largest worst margin first" in page
    picture = page[page.index("<figcaption>Mass against spread") :].split("</svg>")[0]
    assert ">nearest<" in picture and ">best<" not in picture
    drawn = [r for r in rows(elsewhere / "sweep-mine") if r["worst_margin"]]
    margins = [100 * float(r["worst_margin"]) for r in drawn]
    bar = [float(f"-{m}") for m in re.findall(r">−([\d.]+)</text>", picture)]  # no other axis goes below zero
    assert bar and min(margins) <= min(bar) and max(bar) <= max(margins) < 0


def test_colours_run_over_margins_that_there_are():
    ends = {
        (0.0, 10.0, 50.0): (0.0, 46.0),
        (5.0, 5.0, 5.0): (0.0, 5.0),
        (-80.0, -40.0, -30.0): (-76.0, -30.0),
        (-20.0, -20.0): (-20.0, -19.0),
        (np.nan, -50.0, -25.0): (-48.75, -25.0),
    }
    for values, (low, high) in ends.items():
        norm = sweep_plots._norm(np.array(values))
        assert (norm.vmin, norm.vmax) == pytest.approx((low, high))
    assert sweep_plots._norm(np.array([np.nan])) is None


def test_nothing_evaluated_is_said(elsewhere, capsys):
    text = re.sub(r"range = \[7.0, 11.0\]", "range = [50.0, 60.0]", (elsewhere / "mine.toml").read_text())
    (elsewhere / "mine.toml").write_text(text)
    assert run("mine.toml", "--no-front-view", "--samples", 4) == 0
    assert "None of 4 designs could be evaluated" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--variant", "as drwn"), 'write "as drawn"'),
        (("--samples", 0), "--samples: found 0"),
        (("--samples", 2000000), "1 to 1000000"),
        (("--seed", -1), "--seed: found -1"),
        (("--workers", 0), "--workers: found 0"),
        (("--workers", 2, "--scheduler", "tcp://127.0.0.1:1"), "nothing beside --scheduler"),
        (("--out", "mine.toml"), "a folder to write into"),
    ],
)
def test_bad_options_are_one_line_and_write_nothing(elsewhere, capsys, words, line):
    assert fast(*words) == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1 and line in said[0]
    assert [p.name for p in elsewhere.iterdir()] == ["mine.toml"]


def test_a_study_without_the_table_is_refused(capsys):
    assert run(STUDIES / "four_or_six_bolts.toml") == 2
    assert "a table [sweep]" in capsys.readouterr().err


def test_without_the_engine_a_line_says_what_to_install(capsys, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    assert fast("--scheduler", "tcp://127.0.0.1:1") == 2
    assert "pip install 'stiffcalc[cluster]'" in capsys.readouterr().err


def test_check_lists_the_tables_defaults(capsys):
    assert main(["check", "mine.toml"]) == 0
    assert 'sweep.layout = "as drawn"' in capsys.readouterr().out


def checker():
    spec = importlib.util.spec_from_file_location("check_page", STUDIES.parent / ".ci" / "check_page.py")
    found = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(found)
    return found


@pytest.mark.skipif(
    checker().browser() is None, reason="Chromium is not installed (Debian package `chromium`)"
)
def test_page_is_in_order_at_every_width_and_in_print(whole):
    page = whole / "sweep.html"
    assert checker().check(page) == []
    assert "<title>design " in page.read_text(), "designs of the front say what they are"
