"""A sweep as text: the best for the terminal, every design as CSV and as columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from stiffcalc.explore import sampling
from stiffcalc.explore.sweep_chunk import COUNTS, TEXTS, Columns, decoded, encoded
from stiffcalc.explore.sweep_chunk import FIGURES as NUMBERS
from stiffcalc.explore.sweep_results import Best, SweepResult
from stiffcalc.quantities import quantity
from stiffcalc.report.listing import aligned
from stiffcalc.report.sheets import Cell, csv_text
from stiffcalc.study.schema import SweepPlan

STATUS = ("refused", "no equilibrium", "evaluated")
SHOWN = 10
PART = 1024  # rows of CSV text at a time
FIGURES = ("spread", "onset_MPa", "worst_margin")


def terminal(result: SweepResult, width: int = 100) -> str:
    """The best designs, the verdict and the cautions; at most `width` (80 or more) columns.

    Raises ValueError for a width below 80.
    """
    if width < 80:
        raise ValueError(f"a table needs 80 columns, {width} were given")
    blocks = [
        _wrap(f"{result.title}: sweep of '{result.plan.layout}'", width),
        _wrap(tally(result), width),
        _table(result, width) if result.best else "",
        _wrap(result.verdict, width),
        "\n".join(_wrap(f"Note: {n}", width) for n in result.notices),
        "\n".join(_wrap(f"Caution: {c}", width) for c in result.cautions),
    ]
    return "\n\n".join(b for b in blocks if b) + "\n"


def tally(result: SweepResult) -> str:
    """How many were tried and what became of them."""
    t = result.tally
    why = "; ".join(f"{what} ({n})" for what, n in result.reasons[:3])
    more = f"; {len(result.reasons) - 3} other reasons" if len(result.reasons) > 3 else ""
    lost = f", {t.no_equilibrium} find no equilibrium" if t.no_equilibrium else ""
    return (
        f"{t.designs} designs ({how(result)}): {t.evaluated} evaluated, {t.feasible} of them meet every check; "
        f"{t.refused} refused{lost}{f' ({why}{more})' if why else ''}. Aim: {result.plan.aim}."
    )


def how(result: SweepResult) -> str:
    """How they were drawn."""
    plan = result.plan
    return "grid" if plan.sampling == "grid" else f"{plan.sampling}, seed {plan.seed}"


def _wrap(text: str, width: int, indent: str = "") -> str:
    return textwrap.fill(
        " ".join(text.split()), width, initial_indent=indent, subsequent_indent=indent or "  "
    )


def _table(result: SweepResult, width: int) -> str:
    head = ["rank", "design", "mass_kg", "spread_µm", "onset_MPa", "margin_%"]
    lines = aligned([head, *(_cells(b) for b in result.best[:SHOWN])]).split("\n")
    under = [_wrap(f"{keys(result, b)}; governs: {b.figures.governs}", width, " " * 6) for b in result.best]
    return "\n".join([lines[0], *(x for pair in zip(lines[1:], under, strict=False) for x in pair)])


def _cells(b: Best) -> list[str]:
    first = [str(b.rank), str(b.design), quantity("mass.total").text(b.mass_kg)]
    return [*first, *(both(b, key) for key in FIGURES)]


def both(b: Best, key: str) -> str:
    """A figure of the frame and, where it ran, the front view: 193/203."""
    models = [b.frame] if b.front_view is None else [b.frame, b.front_view]
    return "/".join(quantity(key).text(getattr(m, key)) for m in models)


def keys(result: SweepResult, b: Best) -> str:
    """What a design has of every key."""
    return "; ".join(f"{k.name} = {v}" for k, v in zip(result.plan.keys, b.keys, strict=True))


def csv_parts(result: SweepResult) -> Iterator[bytes]:
    """Every design in the order of its number, refused ones with their reason, a part at a time; stored units."""
    yield csv_text([_header(result)]).encode("utf-8")
    said = {n: [decoded(text) for text in result.columns[f"{n}_texts"]] for n in TEXTS}
    for start in range(0, len(result.columns["design"]), PART):
        part = {
            n: column[start : start + PART]
            for n, column in result.columns.items()
            if not n.endswith("_texts")
        }
        yield csv_text(zip(*_listed(result.plan, part, said), strict=True)).encode("utf-8")


def _header(result: SweepResult) -> list[str]:
    names = [k.name for k in result.plan.keys]
    return ["design", "status", "feasible", "pareto", "rank", *names, *NUMBERS, *COUNTS, *TEXTS]


def _listed(plan: SweepPlan, part: Columns, said: Mapping[str, Sequence[str]]) -> Iterator[Sequence[Cell]]:
    """The entries of some designs in the order of the header, column by column."""
    there = (part["status"] == STATUS.index("evaluated")).tolist()
    yield part["design"].tolist()
    yield [STATUS[k] for k in part["status"].tolist()]
    yield from (["true" if v else "false" for v in part[n].tolist()] for n in ("feasible", "pareto"))
    yield [v or None for v in part["rank"].tolist()]
    for i, key in enumerate(plan.keys, start=1):
        yield [sampling.label(key, v) for v in part[f"key_{i}"].tolist()]
    yield from ([None if v != v else v for v in part[n].tolist()] for n in NUMBERS)  # NaN is not itself
    yield from ([v if t else None for v, t in zip(part[n].tolist(), there, strict=True)] for n in COUNTS)
    yield from ([said[n][place] for place in part[n].tolist()] for n in TEXTS)


def columns(result: SweepResult) -> Mapping[str, NDArray[np.generic]]:
    """One array a column, one entry a design; keys as `key_1` on, named by `key_names`.

    A key of numbers is an array of numbers, another one of texts; text columns hold places in `NAME_texts`, UTF-8.
    """
    found = {n: v for n, v in result.columns.items() if not n.startswith("key_")}
    names = np.array([k.name for k in result.plan.keys], dtype=np.str_)
    own = {f"key_{i + 1}": _own(result, i) for i in range(len(names))}
    return {**own, "key_names": names, "status_texts": encoded(STATUS), **found}


def _own(result: SweepResult, i: int) -> NDArray[np.generic]:
    """Numbers, or labels, of one key."""
    key, taken = result.plan.keys[i], np.asarray(result.columns[f"key_{i + 1}"], dtype=float)
    if not key.levels:
        return taken
    numbers = np.array([level.value for level in key.levels])
    if np.isfinite(numbers).all():
        return np.asarray(numbers[taken.astype(np.intp)])
    labels = np.array([sampling.label(key, p) for p in range(len(key.levels))], dtype=np.str_)
    return np.asarray(labels[taken.astype(np.intp)])


def best_names(best: Sequence[Best]) -> list[str]:
    """File names of the best designs' studies."""
    return [f"best_{b.rank}.toml" for b in best]
