"""The symbolic portal against frames of textbooks.

Sources: open portal by superposition, 2Ph3/3EI + 2Ph/kGA + Ph2L/EI + PL/EA; fixed-ended beam with a load in its middle,
PL3/192EI + PL/4kGA and PL/8. Gere & Timoshenko, Mechanics of Materials (formulas from memory).
"""

import numpy as np
import pytest
import sympy as sp

from stiffcalc.mechanics.portal import at, portal, symbol

E, NU = 71000.0, 0.33
G = E / (2 * (1 + NU))


def open_portal(**changes: float) -> dict[str, np.ndarray]:
    """Legs 60 mm of 60 x 30, bridge 80 mm of 60 x 25, opened by 10 kN at the tips (10 000 mm2 at 1 MPa)."""
    leg = {"f": 12 / (E * 60 * 30**3), "g": 1.2 / (G * 60 * 30), "h": 0.0}
    given = leg | {f"{k}_0": v for k, v in leg.items()}
    given |= {
        "a": 60.0,
        "w_0": 10.0,
        "A_0": 10000.0,
        "y_e": 0.0,
        "y_0": 0.0,
        "s_0": 0.0,
        "k_0": 0.0,
        "phi_0": 0.0,
    }
    given |= {"e_11": 40 / (E * 60 * 25), "e_33": 40 * 12 / (E * 60 * 25**3)} | dict.fromkeys(
        ("e_12", "e_13", "e_22", "e_23"), 0.0
    )
    return {k: np.array([v]) for k, v in (given | changes).items()}


@pytest.mark.parametrize(
    ("kept", "expected"),
    [
        (("f", "f_0"), 0.150235),
        (("g", "g_0"), 0.029972),
        (("e_33",), 0.519211),
        (("e_11",), 0.007512),
        (("f", "f_0", "g", "g_0", "e_33", "e_11"), 0.706930),
    ],
    ids=["leg bending", "leg shear", "bridge bending", "bridge stretch", "whole"],
)
def test_open_portal(kept: tuple[str, ...], expected: float) -> None:
    soft = ("f", "f_0", "g", "g_0", "e_33", "e_11")
    given = open_portal(**{k: 0.0 for k in soft if k not in kept})
    assert at(portal(bores=1, ends=1, on_lines=True), given)[0] == pytest.approx(expected, abs=0.6e-6)


def test_fixed_ended_beam() -> None:
    """20 x 30 mm, 100 mm long, 1 kN: 0.00350339 mm in the middle, so twice that between two; end moment PL/8."""
    given = {"a": 50.0, "w_0": 10.0, "A_0": 1000.0} | dict.fromkeys(
        ("y_e", "y_0", "s_0", "k_0", "phi_0"), 0.0
    )
    given |= dict.fromkeys(("f", "f_0"), 12 / (E * 20 * 30**3)) | dict.fromkeys(
        ("g", "g_0"), 1.2 / (G * 20 * 30)
    )
    given |= dict.fromkeys(("h", "h_0", *(f"e_{i}{j}" for i in (1, 2, 3) for j in range(i, 4))), 0.0)
    of = portal(bores=1, on_lines=True)
    assert at(of, {k: np.array([v]) for k, v in given.items()})[0] == pytest.approx(2 * 0.00350339, rel=2e-6)
    delta = of.delta.subs({symbol(k): v for k, v in given.items()}).subs(
        {symbol(f"d_{i}{j}"): 0 for i in (0, 1) for j in (0, 1)}
    )
    assert abs(float(-delta[1, 0] / delta[1, 1])) == pytest.approx(1000 * 100 / 8, rel=1e-9)


def test_the_formula_of_the_fixed_ended_beam_comes_out_as_printed() -> None:
    f, g, a, P = sp.symbols("f g a P", positive=True)
    of = portal(bores=1, on_lines=True)
    plain = {str(s): 0 for s in of.symbols} | {"f": f, "f_0": f, "g": g, "g_0": g, "a": a, "A_0": P, "w_0": 1}
    found = sp.simplify(of.spread.subs({symbol(k): v for k, v in plain.items()}))
    L = 2 * a
    assert sp.simplify(found - 2 * (P * L**3 * f / 192 + P * L * g / 4)) == 0
