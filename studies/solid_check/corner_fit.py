"""Fits the stress factor of the fillet under a bridge: plane corners first, then the thickness of a real wall.

    python studies/solid_check/corner_fit.py         writes corner_planes.csv and prints the fit and its errors

Plane corners (corner_fe.py) give K(r/h) of a thick wall; half of them are kept out of the fit. The end bridges of
one body with three fillets and three wall thicknesses (corner_solids.csv) give the rise over a wall that is not
thick; the other bodies are kept out.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from corner_fe import corner_factors

from stiffcalc.condensed import Array

HERE = Path(__file__).parent
RADII = (0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.125, 0.15, 0.19, 0.23, 0.28, 0.34, 0.4, 0.48, 0.6)
FITTED = ("ends and centre", "end")
WALLS = (1.2, 1.5, 2.0, 3.0)


def planes() -> Array:
    """Rows r/h, t/h, factor in bending, factor with force."""
    return np.array([(r, t, *corner_factors(1.0, wall=t, radius=r)) for t in WALLS for r in RADII])


def fit(rows: Array) -> Array:
    """c of ln(K - 1) = c0 + c1 L + c2 L^2, L = ln(r/h)."""
    return np.polynomial.polynomial.polyfit(np.log(rows[:, 0]), np.log(rows[:, 2] - 1.0), 2)


def factor(c: Array, ratio: Array) -> Array:
    """K(r/h)."""
    return 1.0 + np.exp(np.polynomial.polynomial.polyval(np.log(ratio), c))


def solids() -> list[dict[str, str]]:
    """Rows of corner_solids.csv."""
    with (HERE / "corner_solids.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def over_thick(c: Array, row: dict[str, str]) -> tuple[float, float]:
    """h/t of a solid's corner, and its factor over that of a thick wall."""
    r, h, t, linear, peak = (float(row[k]) for k in ("fillet", "height", "thickness", "linear", "peak"))
    return h / t, peak / (linear * float(factor(c, np.array(r / h))))


def fit_wall(c: Array) -> tuple[float, float]:
    """Rise and start of 1 + rise (h/t - start), to the fitted body's end bridges."""
    points = [over_thick(c, r) for r in solids() if (r["body"], r["bridge"]) == FITTED]
    slender, rise = np.array(points).T
    slope, at_zero = np.polyfit(slender, rise - 1.0, 1)
    return float(slope), float(-at_zero / slope)


def main() -> None:
    rows = planes()
    with (HERE / "corner_planes.csv").open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["radius_over_height", "wall_over_height", "factor_bending", "factor_with_force"])
        out.writerows([f"{v:.5g}" for v in row] for row in rows)
    thick = rows[rows[:, 1] == WALLS[-1]]
    c = fit(thick[::2])
    print("c", c)
    for name, part in (("in the fit", thick[::2]), ("kept out", thick[1::2])):
        print(name, "worst", np.abs(factor(c, part[:, 0]) / part[:, 2] - 1.0).max())
    for t in WALLS:
        part = rows[rows[:, 1] == t]
        for k, what in ((2, "bending"), (3, "with force")):
            error = factor(c, part[:, 0]) / part[:, k] - 1.0
            print(f"wall/height {t}, {what}: {error.min():+.3f} to {error.max():+.3f}")
    rise, start = fit_wall(c)
    print(f"wall: 1 + {rise:.3f} (h/t - {start:.3f})")
    for row in solids():
        slender, found = over_thick(c, row)
        used = 1.0 + rise * max(slender - start, 0.0)
        kept = "fitted  " if (row["body"], row["bridge"]) == FITTED else "kept out"
        print(
            f"{kept} {row['body']:24} {row['bridge']:7} r {row['fillet']:>2} h/t {slender:.2f}: {used / found:.3f}"
        )


if __name__ == "__main__":
    main()
