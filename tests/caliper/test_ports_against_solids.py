"""What the fluid of ports adds to the opening of a body with contact, against ten-node solids of the same body.

studies/handover_check/ported.toml at 30 MPa, faces 59 % open: `stiffcalc handover ported.toml --size 14`, then
solve_package.py on "far beyond", once as written and once without the rows of port seals in loads.csv and expected.csv:
0.385096 and 0.371540 mm; onset 13.974 and 14.063 MPa (leading face).
"""

from pathlib import Path

import pytest

from stiffcalc.caliper import idealise
from stiffcalc.caliper.assess import solved
from stiffcalc.caliper.cases import case_result
from stiffcalc.study import load

STUDY = Path(__file__).parents[2] / "studies/handover_check/ported.toml"
SOLID, SOLID_UNPUSHED = 0.385096, 0.371540
ONSET = 13.974


def far_beyond():
    design = load(STUDY).designs[0]
    return case_result(solved(design, with_front_view=True)[0], design.load_cases[1])


def test_fluid_of_two_ports_opens_the_body_as_much_as_solids_say(monkeypatch):
    pushed = far_beyond()
    monkeypatch.setattr(idealise, "discs", lambda body: ())
    free = far_beyond()
    assert pushed.spread / free.spread - 1.0 == pytest.approx(SOLID / SOLID_UNPUSHED - 1.0, abs=0.004)
    assert pushed.spread == pytest.approx(SOLID, rel=0.03)
    first = min(j.onset_MPa for j in pushed.joints)
    assert first == pytest.approx(ONSET, rel=0.10)
    assert 0.96 < first / min(j.onset_MPa for j in free.joints) < 0.999
