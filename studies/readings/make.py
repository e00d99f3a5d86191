"""Write the invented readings of the demo: python studies/readings/make.py

Nothing here was measured. The prediction of the demo's first layout is taken, bent and scattered with a fixed seed: an
offset and a take-up at low pressure, a slope of its own for each quantity, a knee, a lag on the way down, noise.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from stiffcalc.readings.kinds import KINDS
from stiffcalc.readings.predict import Curves, predict
from stiffcalc.readings.table import HEADER
from stiffcalc.study import load

HERE = Path(__file__).parent
STUDY, TARGET = HERE.parent / "hillclimb_front.toml", HERE / "hillclimb_bench.csv"
SEED = 20240611
NOMINAL = 1
TOP, KNEE, BEYOND, TAKE_UP = 14.0, 11.0, 1.45, 1.1  # MPa; slope beyond the knee over that before; MPa
# quantity, point, unit, slope over the predicted one, take-up and noise as shares of the value at the top
READ = (
    ("spread", "caliper", "um", 1.07, 0.06, 0.004),
    ("opening", "bore 1", "um", 1.06, 0.06, 0.004),
    ("opening", "bore 2", "um", 1.08, 0.06, 0.004),
    ("tilt", "middle", "mrad", 1.12, 0.05, 0.006),
    ("yaw", "caliper", "mrad", 0.94, 0.0, 0.02),
    ("fluid volume", "caliper", "ml", 1.21, 0.25, 0.006),
    ("bolt force", "bolt 1", "kN", 0.88, 0.0, 0.01),
)
CASES = (("cold bench", 22.0, 2), ("warm bench", 58.0, 1))  # name, °C, cycles
LAG = 0.025  # of the value at the top, half the opening of the loop at mid pressure

HEADING = """\
# INVENTED readings for a demonstration: nothing was measured. Written by make.py beside this file with a fixed seed
# from the prediction for layout "two-piece, four bolts" of hillclimb_front.toml."""


def value(curves: Curves, item: tuple[str, str, str, float, float, float], p: float, sense: int) -> float:
    """What the invented specimen shows, in the stored unit."""
    quantity, point, _, ratio, toe, _ = item
    at = np.array([min(p, KNEE), KNEE, TOP])
    found = curves.at((quantity, point), at)
    assert found is not None
    before, knee, top = ratio * found[NOMINAL]
    bent = before + max(0.0, p - KNEE) * BEYOND * knee / KNEE
    slack = toe * top * min(1.0, p / TAKE_UP)
    lag = 0.0 if sense > 0 else LAG * top * 4 * p / TOP * (1 - p / TOP)
    return float(bent + slack + lag)


def lines() -> Iterator[str]:
    design, random = load(STUDY).designs[0], np.random.default_rng(SEED)
    _, curves = predict(design, temperatures=[c[1] for c in CASES], top=TOP, front_view=True)
    steps = np.linspace(0.0, TOP, 15)
    for (case, warm, cycles), found in zip(CASES, curves, strict=True):
        for cycle in range(1, cycles + 1):
            for sense, name in ((1, "up"), (-1, "down")):
                for p in steps if sense > 0 else steps[-2::-1]:
                    at = max(0.0, p + random.normal(0, 0.02))
                    warmth = warm + random.normal(0, 1.0)
                    for item in READ:
                        quantity, point, unit, *_, noise = item
                        top = abs(value(found, item, TOP, 1)) / KINDS[quantity].units[unit]
                        shown = value(found, item, at, sense) / KINDS[quantity].units[unit]
                        shown += noise * top * random.normal()
                        read = (
                            f"{at:.2f},{warmth:.1f},{point},{quantity},{shown:.4g},{unit},{noise * top:.2g}"
                        )
                        yield f"{case},{cycle},{name},{read}"


if __name__ == "__main__":
    TARGET.write_text("\n".join((HEADING, HEADER, *lines())) + "\n", encoding="utf-8")
    print(TARGET)
