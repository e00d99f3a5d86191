"""Do the models order bodies by spread as the solids do? Pairs of stored bodies at one pressure; nothing is solved.

    python studies/solid_check/ranking.py [--pairs 200] [--seed 20]

A pair is two bodies at the same line pressure. It is ordered rightly if the model finds more spread (area-weighted mean
opening of the bores) for the same body as the solid. Pairs whose solids differ by no more than the threshold are left
out: nobody picks a layout for those. A one-piece body has one spread per MPa, so it is paired at any pressure.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

import dataset
import numpy as np
from compare import MODELS, Comparison, Row, compare

from stiffcalc.condensed import Array

HERE = Path(__file__).parent
FOLDERS = (HERE, HERE / "second_seed", HERE / "third_seed")
PRESSURES = dataset.PRESSURES
THRESHOLD = {"frame": 0.05, "front view": 0.03}  # difference of the solids beyond which a pair counts
CLOSE = 0.10  # random bodies are mostly far apart; below this lie the pairs that are not easy
KINDS = ("one-piece", "two-piece", "mixed")
FREE = {"one-piece": "second_seed", "two-piece": "third_seed"}  # solved after that kind's models were frozen


@dataclass(frozen=True)
class Ranked:
    """Spread of one body in um/MPa at each of `PRESSURES` (P,), by the solid and by each model."""

    name: str
    folder: str
    kind: str
    solid: Array
    model: dict[str, Array]

    @property
    def free(self) -> bool:
        """Solved when nothing of the models could be chosen by it any more."""
        return FREE[self.kind] == self.folder


@dataclass(frozen=True)
class Pairs:
    """Differences of pairs (N,): ln of the first body's spread over the second's, by the solid and by each model."""

    solid: Array
    model: dict[str, Array]
    names: Sequence[tuple[str, str, float]]  # both bodies, MPa

    def judged(self, model: str) -> Array:
        """Pairs whose solids differ by more than the model's threshold."""
        return np.asarray(np.abs(self.solid) > np.log1p(THRESHOLD[model]))

    def wrong(self, model: str) -> Array:
        """Judged pairs that the model turns round."""
        return np.asarray(self.judged(model) & (self.solid * self.model[model] <= 0.0))

    def share(self, model: str, *, close: bool = False) -> float:
        """Share of the judged pairs in the solids' order; of the close ones alone, or of all. NaN: there are none."""
        judged = self.judged(model) & (np.abs(self.solid) < np.log1p(CLOSE) if close else True)
        return 1.0 - float((self.wrong(model) & judged).sum() / judged.sum()) if judged.any() else np.nan


def bodies(folders: Iterable[Path] = FOLDERS, names: Iterable[str] | None = None) -> Iterator[Ranked]:
    """Stored bodies (of some names) with both models' answers."""
    wanted = None if names is None else set(names)
    for folder in folders:
        results = dataset.read_rows(folder / "results.csv")
        for row in dataset.read_rows(folder / "bodies.csv"):
            if wanted is None or row["body"] in wanted:
                yield ranked(row, compare(row, results), folder.name)


def ranked(row: Row, item: Comparison, folder: str) -> Ranked:
    """Area means over the bores of one comparison."""
    weight = np.array([b["diameter"] ** 2 for b in json.loads(row["bores"])])

    def spread(opening: Array) -> Array:
        return np.broadcast_to(opening @ weight / weight.sum(), (len(PRESSURES),))

    return Ranked(
        row["body"],
        folder,
        row["kind"],
        spread(item.solid_opening),
        {m: spread(item.opening[m]) for m in MODELS},
    )


def every_pair(found: Sequence[Ranked], kind: str) -> list[tuple[int, int, int]]:
    """Both bodies and the place in `PRESSURES` of every pair; two one-piece bodies make one pair, at any pressure."""
    return [
        (i, j, p)
        for i, j in combinations(range(len(found)), 2)
        if _kind(found[i], found[j]) == kind
        for p in range(1 if kind == "one-piece" else len(PRESSURES))
    ]


def random_pairs(
    found: Sequence[Ranked], kind: str, *, count: int, rng: np.random.Generator
) -> list[tuple[int, int, int]]:
    """`count` of them, none twice."""
    every = every_pair(found, kind)
    return [every[k] for k in rng.choice(len(every), min(count, len(every)), replace=False)]


def _kind(a: Ranked, b: Ranked) -> str:
    return a.kind if a.kind == b.kind else "mixed"


def differences(found: Sequence[Ranked], pairs: Sequence[tuple[int, int, int]]) -> Pairs:
    """Differences of the chosen pairs."""
    i, j, p = np.array(pairs).T

    def ratio(values: Sequence[Array]) -> Array:
        table = np.log(np.array(values))
        return np.asarray(table[i, p] - table[j, p])

    names = [(_label(found[a]), _label(found[b]), PRESSURES[k]) for a, b, k in pairs]
    return Pairs(
        ratio([b.solid for b in found]), {m: ratio([b.model[m] for b in found]) for m in MODELS}, names
    )


def _label(body: Ranked) -> str:
    return f"{body.folder}/{body.name}"


def text(title: str, pairs: Pairs) -> str:
    """Shares of both models, and the widest pair each turns round."""
    lines = [f"{title}: {len(pairs.solid)} pairs"]
    for model in MODELS:
        wrong, judged = pairs.wrong(model), pairs.judged(model)
        lines.append(
            f"  {model:10s} {pairs.share(model):8.2%} of {judged.sum()} that differ by more than"
            f" {THRESHOLD[model]:.0%}, {pairs.share(model, close=True):.1%} of those that differ by less than"
            f" {CLOSE:.0%}; turned round: {wrong.sum()}{_widest(pairs, wrong)}"
        )
    return "\n".join(lines)


def _widest(pairs: Pairs, wrong: Array) -> str:
    if not wrong.any():
        return ""
    k = int(np.where(wrong, np.abs(pairs.solid), -1.0).argmax())
    first, second, pressure = pairs.names[k]
    return f", widest {np.expm1(abs(pairs.solid[k])):.1%} apart ({first}, {second}, {pressure:g} MPa)"


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--pairs", type=int, default=200, help="random pairs of each kind")
    parser.add_argument("--seed", type=int, default=20)
    options = parser.parse_args(argv)
    found = list(bodies())
    rng = np.random.default_rng(options.seed)
    for label, some in (("all stored bodies", found), ("free bodies", [b for b in found if b.free])):
        print(f"{label}: {len(some)}")
        for kind in KINDS:
            chosen = random_pairs(some, kind, count=options.pairs, rng=rng)
            print(text(f"{kind}, random", differences(some, chosen)))
            print(text(f"{kind}, every pair", differences(some, every_pair(some, kind))), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
