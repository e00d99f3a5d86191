"""[section.NAME] of a study file: what is read, and every fault of it at once."""

import pytest
from study_sample import raw

from stiffcalc.errors import InputError
from stiffcalc.study import parse

GOOD = {
    "outline": "bracket.step",
    "thickness_mm": 12.0,
    "support": [{"at_mm": [0.0, 10.0], "x": True, "y": True}],
    "load": [{"at_mm": [[40.0, 5.0], [40.0, 15.0]], "pressure_MPa": 3.0}],
    "at_pressure_MPa": 10.0,
}


def study(**changes):
    data = raw()
    own = {k: v for k, v in {**GOOD, **changes}.items() if v is not None}
    data["section"] = {"bracket": own}
    return data


def faults(data):
    with pytest.raises(InputError) as refused:
        parse(data)
    return [str(f) for f in refused.value.faults]


def test_what_is_read():
    (own,) = parse(study()).sections
    assert (own.name, own.outline, own.thickness, own.at_pressure) == ("bracket", "bracket.step", 12.0, 10.0)
    assert own.material.name == parse(study()).designs[0].caliper.material.name
    assert own.supports[0].at == ((0.0, 10.0),)
    assert own.loads[0].at == ((40.0, 5.0), (40.0, 15.0))
    assert (own.loads[0].pressure, own.loads[0].force, own.loads[0].moment) == (3.0, (0.0, 0.0), 0.0)


def test_none_is_none():
    assert parse(raw()).sections == ()


def test_a_material_of_the_study():
    data = study(material="house alloy")
    data["material"] = {
        "house alloy": {
            "E_MPa": 70000.0,
            "nu": 0.33,
            "density_kg_m3": 2700.0,
            "expansion_per_K": 23e-6,
            "yield_MPa": 300.0,
            "ultimate_MPa": 350.0,
        }
    }
    assert parse(data).sections[0].material.E == 70000.0


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"outline": None}, "section.bracket.outline: found nothing"),
        ({"outline": "a.dxf"}, ".step, .stp, .csv"),
        ({"thickness_mm": 0.0}, "section.bracket.thickness_mm: found 0"),
        ({"thickness_mm": float("nan")}, "section.bracket.thickness_mm"),
        ({"thickness_mm": "12"}, "plain number without quotes"),
        ({"material": "unobtainium"}, "section.bracket.material"),
        ({"support": None}, "what holds the section"),
        ({"load": []}, "what acts on the section"),
        ({"support": [{"at_mm": [0.0, 1.0]}]}, "support[1]: found neither x nor y held"),
        ({"support": [{"x": True}]}, "support[1].at_mm: found nothing"),
        ({"load": [{"at_mm": [0.0, 1.0]}]}, "load[1]: found a load of nothing"),
        ({"load": [{"at_mm": [0.0], "pressure_MPa": 1.0}]}, "load[1].at_mm: found a list of 1"),
        ({"load": [{"at_mm": [[0.0, "a"]], "pressure_MPa": 1.0}]}, 'load[1].at_mm[1][2]: found "a"'),
        ({"load": [{"at_mm": [0.0, 1.0], "force_N": 5.0}]}, "load[1].force_N: found 5; allowed: [x, y]"),
        ({"load": [{"at_mm": [0.0, 1.0], "force_N": [1.0, float("inf")]}]}, "load[1].force_N[2]: found inf"),
        ({"load": [{"at_mm": [0.0, 1.0], "presure_MPa": 1.0}]}, "write pressure_MPa"),
        ({"at_pressure_MPa": 0.0}, "section.bracket.at_pressure_MPa: found 0"),
        ({"thicknes_mm": 3.0}, "write thickness_mm"),
    ],
)
def test_what_is_refused(changes, said):
    assert any(said in f for f in faults(study(**changes))), faults(study(**changes))


def test_all_faults_at_once():
    data = study(thickness_mm=-1.0, support=[{"at_mm": 3.0, "x": True}])
    data["rotor"]["thickness_mm"] = -5.0
    assert len(faults(data)) == 3


def test_a_table_is_wanted():
    data = raw()
    data["section"] = "bracket.step"
    assert any(f.startswith("section: found") for f in faults(data))
