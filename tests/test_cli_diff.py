"""`stiffcalc diff` as a user meets it."""

import json
from pathlib import Path

import pytest

from stiffcalc.caliper.assess import assess
from stiffcalc.cli import main
from stiffcalc.explore import changes

STUDY = Path(__file__).parents[1] / "studies" / "hillclimb_front.toml"
DEMO = "demo.toml"


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    """A folder with the demo in it but for its variant of six bolts, which takes most of the time."""
    monkeypatch.chdir(tmp_path)
    base, _, one_piece = STUDY.read_text(encoding="utf-8").split("[[variant]]")
    (tmp_path / DEMO).write_text(f"{base}[[variant]]{one_piece}", encoding="utf-8")
    return tmp_path


@pytest.fixture(scope="module", autouse=True)
def assessed_once():
    """Every study of this file is assessed once: results are a function of study and model alone."""
    known = {}

    def once(study, *, front_view, **options):
        key = study.sha256, front_view
        if key not in known:
            known[key] = assess(study, front_view=front_view, **options)
        return known[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(changes, "assess", once)
        yield


def run(*words):
    return main([str(w) for w in words])


def changed(folder, *swaps):
    text = (folder / DEMO).read_text(encoding="utf-8")
    for old, new in swaps:
        assert old in text, old
        text = text.replace(old, new)
    (folder / "b.toml").write_text(text, encoding="utf-8")
    return folder / "b.toml"


def test_what_changed_moved_flipped_and_must_be_done_again(elsewhere, capsys):
    b = changed(elsewhere, ("diameter_mm = 42.0", "diameter_mm = 44.0"))
    assert run("diff", DEMO, b, "--no-front-view", "--json", "d.json") == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "caliper.bore[2].diameter_mm: 42.0 -> 44.0" in out
    assert "-> NOT MET" in out and "master cylinder" in out and "Screening estimate only" in out
    d = json.loads((elsewhere / "d.json").read_text(encoding="utf-8"))
    assert d["inputs"] == [{"path": "caliper.bore[2].diameter_mm", "a": 42.0, "b": 44.0}]
    clamp = next(m for m in d["moved"] if m["key"] == "clamp_force")
    assert clamp["moved"] == pytest.approx((38**2 + 44**2) / (38**2 + 42**2) - 1)
    assert all(abs(m["moved"]) > 0.02 for m in d["moved"] if m["moved"] is not None)
    assert d["flipped"] and all(f["a"]["met"] != f["b"]["met"] for f in d["flipped"])
    assert [r["changed"] for r in d["redo"]] == ["bores"]
    assert d["variants"]["same_body"] == []


def test_the_same_study_twice(elsewhere, capsys):
    assert run("diff", DEMO, DEMO, "--no-front-view", "--json", "d.json") == 0
    out = capsys.readouterr().out
    assert "Inputs that differ: 0" in out and "To do again: nothing" in out
    d = json.loads((elsewhere / "d.json").read_text(encoding="utf-8"))
    assert d["moved"] == d["flipped"] == d["redo"] == [] and d["figures_compared"] > 150
    assert len(d["variants"]["same_body"]) == 2


def test_a_default_that_is_stated_is_an_input_that_differs_but_the_same_body(elsewhere):
    b = changed(elsewhere, ("running_clearance_mm = 0.5\n", ""))
    assert run("diff", DEMO, b, "--no-front-view", "--quiet", "--json", "d.json") == 0
    d = json.loads((elsewhere / "d.json").read_text(encoding="utf-8"))
    assert d["inputs"] == [{"path": "pad.running_clearance_mm", "a": 0.5, "b": None}]
    assert len(d["variants"]["same_body"]) == 2 and d["moved"] == []


def test_threshold(elsewhere):
    base = STUDY.read_text(encoding="utf-8").split("[[variant]]")[0]
    (elsewhere / "a.toml").write_text(base, encoding="utf-8")
    (elsewhere / "b.toml").write_text(base.replace("floor_mm = 8.5", "floor_mm = 8.8"), encoding="utf-8")
    words = ("diff", "a.toml", "b.toml", "--no-front-view", "--quiet", "--json", "d.json")
    counts = []
    for percent in ("0", "1", "50"):
        assert run(*words, "--threshold", percent) == 0
        counts.append(len(json.loads((elsewhere / "d.json").read_text(encoding="utf-8"))["moved"]))
    assert counts[0] > counts[1] > counts[2] == 0


def test_variants_of_one_side_only(elsewhere, capsys):
    b = changed(elsewhere, ('name = "one piece"', 'name = "monoblock"'))
    assert run("diff", DEMO, b, "--no-front-view") == 0
    out = " ".join(capsys.readouterr().out.split())  # lines break at the terminal's width
    assert "Only in A: one piece." in out and "Only in B: monoblock." in out
    assert "Variants are matched by name." in out


@pytest.mark.parametrize("threshold", ["nan", "-1", "inf"])
def test_bad_threshold_is_one_line(threshold, capsys):
    assert run("diff", DEMO, DEMO, f"--threshold={threshold}") == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1


def test_bad_study_is_refused(elsewhere, capsys):
    assert run("diff", DEMO, "nowhere.toml") == 2
    assert "nowhere.toml" in capsys.readouterr().err
