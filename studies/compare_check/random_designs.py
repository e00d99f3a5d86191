"""By how much designs drawn at random beat the optimum of a comparison at the same mass; they should not.

    python studies/compare_check/random_designs.py [STUDY] [--designs 20000] [--beside 500] [--layout NAME] [--effort E]

Every layout of the study is searched as `stiffcalc compare` does, by the frame alone (rho = 1), at the study's masses.
Then `--designs` designs are drawn evenly over its free dimensions, and `--beside` more about each optimum (normal, a
twentieth of each range). Printed for each mass: the optimum's spread, the least spread of a drawn design that meets
every check within the mass, and by how much it beats the optimum (below zero: it does not). The same of the lightest
design that meets every check, in g. Exit status 1 where one beats it by more than 1 %.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.explore.compare_layouts import field
from stiffcalc.explore.compare_masses import lightest, masses_for
from stiffcalc.explore.compare_search import EFFORTS, Searched, begin, searched
from stiffcalc.explore.search import Budget, Evaluation, best, joined, violation
from stiffcalc.study import load
from stiffcalc.study.schema import Study

DEMO = Path(__file__).parents[1] / "compare_at_equal_mass.toml"
PART = 2048  # designs evaluated at once
BESIDE = 0.05  # of a range, standard deviation
ALLOWED = 0.01
SEED = 987  # of the random designs


@dataclass(frozen=True)
class Beaten:
    """One layout at one mass."""

    layout: str
    mass: float  # infinite: of the lightest design
    optimum: float  # mm, or kg of the lightest; NaN: the search found nothing that meets its checks
    drawn: float  # the same of the best drawn design that meets every check; NaN: there is none
    feasible: int  # drawn designs that meet every check within the mass

    @property
    def by(self) -> float:
        """Share by which the drawn design is better."""
        if np.isnan(self.drawn):
            return -np.inf
        return np.inf if np.isnan(self.optimum) else 1.0 - self.drawn / self.optimum


def main(argv: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("study", nargs="?", type=Path, default=DEMO)
    parser.add_argument("--designs", type=int, default=20000)
    parser.add_argument("--beside", type=int, default=500)
    parser.add_argument("--layout", help="this one alone")
    parser.add_argument("--effort", choices=EFFORTS)
    given = parser.parse_args(argv)
    worst = -np.inf
    print(
        "layout                            mass kg  optimum um  drawn um  feasible  better by %  (lightest: g)",
        flush=True,
    )
    for row in check(
        load(given.study), given.designs, given.beside, layout=given.layout, effort=given.effort
    ):
        worst = max(worst, row.by)
        print(
            f"{row.layout:33s} {_at(row.mass)} {1e3 * row.optimum:11.2f} {1e3 * row.drawn:9.2f} {row.feasible:9d} "
            f"{100 * row.by:12.2f}",
            flush=True,
        )
    print(f"largest: {100 * worst:.2f} %")
    return int(worst > ALLOWED)


def _at(mass: float) -> str:
    return f"{mass:8.2f}" if np.isfinite(mass) else "lightest"


def check(
    study: Study, designs: int, beside: int, *, layout: str | None = None, effort: str | None = None
) -> Iterator[Beaten]:
    """Search, draw, compare."""
    plan = study.explore
    assert plan is not None  # the reader always gives it
    much = EFFORTS[effort or plan.effort]
    layouts = field(study, plan).layouts
    found = [
        begin(c, study.source, much, seed=plan.seed, number=i, done=_still) for i, c in enumerate(layouts)
    ]
    masses = plan.masses or masses_for(found, plan.points, much)
    for start in (s for s in found if layout in (None, s.candidate.name)):
        s = searched(start, masses, much, done=_still)
        drawn = joined(list(_drawn(s, masses, designs, beside)))
        print(f"  {s.candidate.name}: {len(s.known)} designs searched, {len(drawn)} drawn", file=sys.stderr)
        for mass in masses:
            yield _beaten(s, drawn, mass)
        light = lightest(s)
        mass = lightest(replace(s, known=drawn))
        met = int(np.sum(violation(drawn, Budget(np.inf)) == 0.0))
        yield Beaten(s.candidate.name, np.inf, _number(light), _number(mass), met)


def _number(mass: float | None) -> float:
    return np.nan if mass is None else mass


def _still(word: str) -> None:
    """Progress that nobody hears."""


def _drawn(s: Searched, masses: Sequence[float], designs: int, beside: int) -> Iterator[Evaluation]:
    random = np.random.default_rng(SEED)
    size = s.space.size
    parts: list[Array] = [random.random((designs, size))]
    parts += [
        np.clip(
            s.known.x[best(s.known, Budget(m))] + BESIDE * random.standard_normal((beside, size)), 0.0, 1.0
        )
        for m in masses
    ]
    x = np.concatenate(parts)
    for start in range(0, len(x), PART):
        yield s.evaluate(x[start : start + PART])


def _beaten(s: Searched, drawn: Evaluation, mass: float) -> Beaten:
    budget = Budget(mass)
    row = best(s.known, budget)
    optimum = s.known.cost[row] if violation(s.known, budget)[row] == 0.0 else np.nan
    met = violation(drawn, budget) == 0.0
    least = drawn.cost[met].min() if met.any() else np.nan
    return Beaten(s.candidate.name, mass, float(optimum), float(least), int(met.sum()))


if __name__ == "__main__":
    sys.exit(main())
