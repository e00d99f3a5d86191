"""The command line as a new user meets it: exit status, one line a fault, nothing half-written, no traceback."""

import json
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from stiffcalc import catalogue
from stiffcalc.cli import COMMANDS, main

STUDIES = Path(__file__).parents[1] / "studies"
DEMO = STUDIES / "hillclimb_front.toml"


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words):
    return main([str(w) for w in words])


@pytest.fixture
def alone(elsewhere):
    """The demo's base without its variants."""
    (elsewhere / "alone.toml").write_text(DEMO.read_text().split("[[variant]]")[0])
    return elsewhere / "alone.toml"


def test_assess_writes_a_report_folder(elsewhere, capsys):
    base, _, one_piece = DEMO.read_text().split("[[variant]]")
    (elsewhere / "two.toml").write_text(f"{base}[[variant]]{one_piece}")
    assert run("assess", "two.toml", "--no-front-view", "--json", "answer.json") == 0
    folder = elsewhere / "report-two"
    assert {"report.html", "results.json", "openings.csv", "checks.csv", "sweep.csv"} <= {
        p.name for p in folder.iterdir()
    }
    assert (elsewhere / "answer.json").read_bytes() == (folder / "results.json").read_bytes()
    printed = capsys.readouterr()
    assert "Screening estimate only" in printed.out
    assert "1 of 2: two-piece, four bolts" in printed.err
    assert not list(elsewhere.rglob("*.tmp*")), "temporary files were left behind"


def test_quiet_and_no_page_twice_renews_an_own_folder_and_gives_the_same_bytes(elsewhere, alone, capsys):
    for file in ("a.json", "b.json"):
        words = ("assess", alone, "--no-front-view", "--no-page", "--quiet", "--json", file, "--out", "again")
        assert run(*words) == 0
    printed = capsys.readouterr()
    assert printed.out == printed.err == ""
    assert not (elsewhere / "again/report.html").exists()
    assert json.loads((elsewhere / "again/results.json").read_text())["format"] == 1
    assert (elsewhere / "a.json").read_bytes() == (elsewhere / "b.json").read_bytes()


def test_a_folder_of_something_else_is_not_overwritten(elsewhere, capsys):
    (elsewhere / "mine").mkdir()
    (elsewhere / "mine/report.html").write_text("precious")
    assert run("assess", DEMO, "--no-front-view", "--out", "mine") == 2
    assert (elsewhere / "mine/report.html").read_text() == "precious"
    assert "mine" in capsys.readouterr().err


@pytest.mark.parametrize("target", ["missing/answer.json", "."])
def test_json_that_cannot_be_written_is_one_line(alone, capsys, target):
    words = ("assess", alone, "--no-front-view", "--quiet", "--no-page", "--json", target)
    assert run(*words) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1


def test_bad_study_lists_every_fault_and_writes_nothing(elsewhere, capsys):
    text = (
        DEMO.read_text()
        .replace("thickness_mm = 25.0", "thickness_mm = nan")
        .replace('"2014-T6"', '"2014-T7"')
    )
    (elsewhere / "bad.toml").write_text(text)
    assert run("assess", "bad.toml") == 2
    lines = capsys.readouterr().err.strip().splitlines()
    assert any(line.startswith("rotor.thickness_mm") for line in lines)
    assert any("2014-T6" in line for line in lines), "the nearest known material is named"
    assert [p.name for p in elsewhere.iterdir()] == ["bad.toml"]


@pytest.mark.parametrize("command", ["assess", "check"])
def test_missing_file_is_one_line(capsys, command):
    assert run(command, "nowhere.toml") == 2
    lines = capsys.readouterr().err.strip().splitlines()
    assert len(lines) == 1 and "nowhere.toml" in lines[0]


def test_new_writes_a_study_that_checks_and_never_overwrites(elsewhere, capsys):
    assert run("new", "mine.toml") == 0
    assert run("check", "mine.toml") == 0
    assert "valid" in capsys.readouterr().out
    before = (elsewhere / "mine.toml").read_bytes()
    assert run("new", "mine.toml") == 2
    assert (elsewhere / "mine.toml").read_bytes() == before


@pytest.mark.parametrize("study", sorted(STUDIES.glob("*.toml")), ids=lambda p: p.stem)
def test_every_demo_study_is_valid(study):
    assert run("check", study) == 0


@pytest.mark.parametrize("kind", ["materials", "threads", "grades"])
def test_catalogue_prints_every_row_with_its_source(capsys, kind):
    assert run("catalogue", kind) == 0
    printed = " ".join(capsys.readouterr().out.split())
    _, rows = catalogue.tables(kind)
    for row in rows:
        assert row[0] in printed
        assert " ".join(row[-1].split()[:4]) in printed


def test_bolts_of_every_grade_are_assessed(elsewhere, alone):
    """In one load case: what a grade changes is the same in all."""
    cases = alone.read_text().split("[[load_case]]")
    base = re.sub(r"preload_N = [\d.]+,?", "", "[[load_case]]".join(cases[:2]))
    for grade in catalogue.grades():
        text = base.replace('"12.9"', f'"{grade}"')
        (elsewhere / "g.toml").write_text(text)
        assert run("assess", "g.toml", "--no-front-view", "--no-page", "--quiet") == 0


def test_no_traceback_reaches_the_user(elsewhere):
    (elsewhere / "junk.toml").write_bytes(bytes(range(256)))
    words = [sys.executable, "-m", "stiffcalc", "check", "junk.toml"]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr and len(done.stderr.strip().splitlines()) == 1


def test_output_that_nobody_reads_any_more_is_no_error_message():
    reader, writer = os.pipe()
    os.close(reader)
    words = [sys.executable, "-m", "stiffcalc", "catalogue", "materials"]
    try:
        done = subprocess.run(words, stdout=writer, stderr=subprocess.PIPE, text=True, check=False)
    finally:
        os.close(writer)
    assert (done.returncode, done.stderr) == (1, "")


@pytest.mark.parametrize("command", ["pockets", "sensitivity", "uncertainty", "bolts"])
def test_a_refused_layout_leaves_no_folder_behind(elsewhere, command):
    assert run(command, DEMO, "--variant", "none of them") == 2
    assert not list(elsewhere.iterdir())


READINGS = STUDIES / "readings" / "hillclimb_bench.csv"
WRITERS = {  # words of every command that writes, up to the place
    "assess": ("assess", DEMO, "--out"),
    "bolts": ("bolts", STUDIES / "four_or_six_bolts.toml", "--out"),
    "sweep": ("sweep", STUDIES / "sweep_two_piece.toml", "--out"),
    "compare": ("compare", STUDIES / "compare_at_equal_mass.toml", "--out"),
    "pockets": ("pockets", DEMO, "--out"),
    "sensitivity": ("sensitivity", DEMO, "--out"),
    "uncertainty": ("uncertainty", DEMO, "--out"),
    "section": ("section", DEMO, "--out"),
    "size": ("size", STUDIES / "size_sections.toml", "--out"),
    "correlate": ("correlate", DEMO, READINGS, "--out"),
    "correlate --template": ("correlate", DEMO, "--template"),
    "handover": ("handover", DEMO, "--out"),
    "diff": ("diff", DEMO, STUDIES / "sweep_two_piece.toml", "--json"),
    "new": ("new",),
    "--json": ("assess", DEMO, "--json"),
}


def test_every_command_that_writes_is_among_the_writers():
    assert {words[0] for words in WRITERS.values()} == COMMANDS.keys() - {"check", "catalogue"}


@pytest.mark.parametrize("words", WRITERS.values(), ids=WRITERS)
def test_a_place_under_a_file_is_refused_before_anything_is_computed(elsewhere, capsys, words):
    (elsewhere / "a").write_text("")
    assert run(*words, "a/b") == 2
    (said,) = capsys.readouterr().err.strip().splitlines()  # no word of progress
    assert said.startswith("a/b: found ") and "; allowed: " in said and "; mend: " in said
    assert [p.name for p in elsewhere.iterdir()] == ["a"]


@pytest.mark.parametrize("words", WRITERS.values(), ids=WRITERS)
def test_a_folder_that_takes_nothing_is_refused_before_anything_is_computed(
    elsewhere, capsys, monkeypatch, words
):
    def refuse(*_, **__):
        raise PermissionError(13, "Permission denied")

    (elsewhere / "locked").mkdir()
    monkeypatch.setattr(tempfile, "TemporaryFile", refuse)  # whoever runs the tests may be allowed all
    assert run(*words, "locked/b") == 2
    (said,) = capsys.readouterr().err.strip().splitlines()
    assert said == (
        "locked/b: found a place that cannot be written to (Permission denied); "
        "allowed: a place that can be written to; mend: choose another place"
    )
    assert not list((elsewhere / "locked").iterdir())


def test_a_disk_that_fills_up_is_one_line_that_names_the_file(elsewhere, alone, capsys, monkeypatch):
    def refuse(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", refuse)
    assert run("assess", alone, "--no-front-view", "--no-page", "--quiet") == 2
    assert capsys.readouterr().err.strip() == (
        "report-alone/results.json: found No space left on device; allowed: a place that can be read and written; "
        "mend: make room or choose another place"
    )


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(capsys, command):
    with pytest.raises(SystemExit) as end:
        run(command, "--help")
    assert end.value.code == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert COMMANDS[command] in printed and "Screening estimate only" in printed


def test_the_list_of_commands_is_what_there_is(capsys):
    modules = {p.stem for p in (STUDIES.parent / "stiffcalc" / "commands").glob("*.py")}
    assert modules - {"__init__", "shared", "bar"} == COMMANDS.keys()
    with pytest.raises(SystemExit):
        run("--help")
    printed = capsys.readouterr().out
    assert COMMANDS.keys() <= set(printed.split())


def test_a_command_loads_no_library_of_another():
    heavy = {"sympy", "scipy.stats", "matplotlib", "gmsh", "meshio"}
    code = (
        f"import sys; from stiffcalc.cli import parser; parser('check'); print(*{heavy} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


def test_stopped_while_a_command_is_imported(monkeypatch, capsys):
    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("stiffcalc.cli.import_module", stopped)
    assert main(["assess", "any.toml"]) == 130
    assert capsys.readouterr().err == "stopped; nothing was written\n"


def test_nothing_of_weight_is_imported_before_a_command_is():
    """What precedes the care of Ctrl-C is short."""
    words = "import sys, stiffcalc.cli; print(sorted({'numpy', 'scipy', 'gmsh'} & sys.modules.keys()))"
    assert subprocess.run([sys.executable, "-c", words], capture_output=True, text=True).stdout == "[]\n"


def test_the_library_offers_what_it_says():
    import stiffcalc

    assert all(hasattr(stiffcalc, name) for name in stiffcalc.__all__)
    with pytest.raises(AttributeError, match="no attribute 'asess'"):
        stiffcalc.asess  # noqa: B018


@pytest.mark.parametrize(
    ("words", "where", "found", "allowed"),
    [
        (["sweep", "a.toml", "--samples", "1e9"], "--samples", '"1e9"', "a whole number"),
        (["uncertainty", "a.toml", "--seed", "text"], "--seed", '"text"', "a whole number"),
        (["diff", "a.toml", "b.toml", "--threshold", "2%"], "--threshold", '"2%"', "a number"),
        (["compare", "a.toml", "--effort", "fast"], "--effort", '"fast"', "quick, usual, thorough"),
        (["asses", "a.toml"], "COMMAND", '"asses"', "assess, bolts"),
        (["diff", "a.toml"], "STUDY_B", "nothing", "one value for each"),
        (["sweep", "a.toml", "--seed"], "--seed", "nothing behind it", "one value"),
        (
            ["assess", "a.toml", "--variant", "x"],
            "stiffcalc assess",
            "unknown argument --variant x",
            "--help lists",
        ),
        ([], "COMMAND", "nothing", "one value for each"),
    ],
)
def test_a_wrong_command_line_is_one_line_as_any_other_fault(capsys, words, where, found, allowed):
    assert run(*words) == 2
    said = capsys.readouterr()
    assert said.out == "" and said.err.count("\n") == 1
    assert said.err.startswith(f"{where}: found {found}; allowed: ") and "; mend: " in said.err
    assert allowed in said.err.split("; mend: ")[0]


@pytest.mark.parametrize(
    ("words", "mend"),
    [
        (["asses", "a.toml"], "write assess"),
        (["Sweep", "a.toml"], "write sweep"),
        (["xyzzy"], "take one of these"),
        (["assess", "a.toml", "--quite"], "write --quiet"),
        (["assess", "a.toml", "--front-view"], "write --no-front-view"),
        (["sweep", "a.toml", "--sample=3", "--sed=2", "--resumee"], "write --seed, --resume"),
        (["bolts", "a.toml", "--aim", "least-mas"], "write least-mass"),
        (["catalogue", "thread"], "write threads"),
        (["assess", "a.toml", "--xyzzy"], "see stiffcalc assess --help"),
        (["assess", "a.toml", "b.toml"], "see stiffcalc assess --help"),
    ],
)
def test_what_looks_like_a_misspelt_word_is_named(capsys, words, mend):
    assert run(*words) == 2
    assert capsys.readouterr().err.endswith(f"; mend: {mend}\n")
