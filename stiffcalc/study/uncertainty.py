"""[uncertainty] of a study file: what scatters by how much, and how many bodies `stiffcalc uncertainty` draws."""

from __future__ import annotations

from stiffcalc.study import defaults
from stiffcalc.study.fields import Bounds, Table, choice, number, optional, whole
from stiffcalc.study.schema import Uncertainty

LEAST_SAMPLES, MOST_SAMPLES = 10, 100_000
MOST_SEED = 2**31 - 1
_PERCENT = Bounds(0.0, 100.0, "%", low_open=False, high_open=True)

# ISO 2768-1, linear dimensions: up to ... mm, +- mm of the classes fine, medium, coarse. From memory.
UP_TO_MM = (3.0, 6.0, 30.0, 120.0, 400.0, 1000.0)
GENERAL_MM = {
    "fine": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3),
    "medium": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8),
    "coarse": (0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
}
NONE = "none"


def read_uncertainty(table: Table) -> Uncertainty:
    """[uncertainty]; the caller turns `table.log.used` into `defaults_used`."""
    found = Uncertainty(
        samples=whole(table, "samples", LEAST_SAMPLES, MOST_SAMPLES, defaults.DRAWN_SAMPLES),
        seed=whole(table, "seed", 0, MOST_SEED, defaults.DRAWN_SEED),
        tolerances=choice(table, "tolerances", (*GENERAL_MM, NONE), defaults.DRAWN_TOLERANCES),
        modulus=number(table, "modulus_percent", _PERCENT, defaults.DRAWN_MODULUS_PERCENT) / 100.0,
        bolt_friction=number(table, "bolt_friction_percent", _PERCENT, defaults.DRAWN_BOLT_FRICTION_PERCENT)
        / 100.0,
        joint_friction=number(
            table, "joint_friction_percent", _PERCENT, defaults.DRAWN_JOINT_FRICTION_PERCENT
        )
        / 100.0,
        opening_model=_share(optional(table, "opening_model_percent", _PERCENT)),
        onset_model=number(table, "onset_model_percent", _PERCENT, defaults.DRAWN_ONSET_PERCENT) / 100.0,
        defaults_used=(),
    )
    table.finish()
    return found


def tolerance_mm(size: float, grade: str) -> float:
    """Half the tolerance of a length without a tolerance of its own, mm; 0 for "none".

    The last row counts beyond 1000 mm too: no part of a caliper is that large. Source: ISO 2768-1, from memory.
    """
    if grade == NONE:
        return 0.0
    row = next((i for i, up_to in enumerate(UP_TO_MM) if abs(size) <= up_to), len(UP_TO_MM) - 1)
    return GENERAL_MM[grade][row]


def _share(percent: float | None) -> float | None:
    return None if percent is None else percent / 100.0
