"""How many times faster the front view is than the solid of the same body, measured side by side in one run.

    python studies/benchmarks/front_view_against_solid.py [--bodies one_03 two_07 ...]

Both times hold everything from body to openings: mesh, assembly, solution, and for a two-piece body the joint over
seven pressures. The front view's is the least of three. Needs the extra `dev`.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "solid_check"))

import dataset
from bodies import body_of_row
from random_bodies import by_name

from stiffcalc.caliper import response

BODIES = ("one_03", "one_22", "two_07", "unequal_03")


def main(argv: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--bodies", nargs="+", default=BODIES, help="names of bodies of the solid check")
    names = parser.parse_args(argv).bodies
    front_view(dataset.as_text(dataset.solve_sample(by_name(names[0]))[0]))  # libraries loaded, caches warm
    print("body          solid s   front view s   ratio")
    for name in names:
        start = time.perf_counter()
        row, _ = dataset.solve_sample(by_name(name))
        solid = time.perf_counter() - start
        view = min(front_view(dataset.as_text(row)) for _ in range(3))
        print(f"{name:12s} {solid:8.2f} {view:14.3f} {solid / view:7.0f}")
    return 0


def front_view(row: dict[str, str]) -> float:
    """Seconds of the front view and its joint."""
    body, preload = body_of_row(row)
    start = time.perf_counter()
    pair, _ = response.front_view_pair(body)
    response.answer(pair, body, preload=preload[None, None], pressure=np.linspace(2.0, 16.0, 7))
    return time.perf_counter() - start


if __name__ == "__main__":
    sys.exit(main())
