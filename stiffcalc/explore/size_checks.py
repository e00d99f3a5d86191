"""Checks of an assessment as limits of a sizing: which the start meets, and what a design uses of them.

The use of a check is 1 / (1 + margin) where it is met, actual over allowed or needed over actual, and 1 - margin where
it is not: one curve without a kink at one, of order one for any margin, also of a face that lacks all clamp.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from stiffcalc.caliper.batch import of
from stiffcalc.caliper.cases import Layout, Screened
from stiffcalc.caliper.section_uses import Limit
from stiffcalc.condensed import Array
from stiffcalc.explore.batches import screenings
from stiffcalc.mechanics.trees import table

CHECK = "check"
RESERVE = 0.002  # of a use: what the search leaves below one, for steps end a little beyond their limits
INBOARD, OUTBOARD = " inboard", " outboard"
NONE = np.array(np.nan)  # the margin of no check
Margins = dict[tuple[str, str], Array]  # by load case and id, as `Checked.counted`


def use(margin: Array) -> Array:
    """What is used at a margin; 0 at an infinite one and where a design has no such check (NaN).

    Infinite at minus infinity, which stands for a check whose margin is no number (`Checked.counted`): never met.
    """
    known = np.where(np.isnan(margin), np.inf, margin)
    return np.asarray(
        np.where(known >= 0.0, 1.0 / (1.0 + np.maximum(known, 0.0)), 1.0 - np.minimum(known, 0.0))
    )


def check_uses(layout: Layout, limits: Sequence[Limit]) -> Array:
    """What D designs of a layout use of the checks among `limits`, (D, k)."""
    margins = worst_margins(screenings(layout))
    return table([use(_margin(margins, limit)) for limit in limits if limit.check], layout.body.count)


def worst_margins(cases: Iterable[Screened]) -> Margins:
    """The least margin of every check of a load case, as `Checked.counted`; NaN for designs that have no such check."""
    found: Margins = {}
    for case in cases:
        for row in case.checks.rows:
            key, margin = (case.case.name, row.id), row.counted
            found[key] = np.fmin(found[key], margin) if key in found else margin
    return found


def _margin(margins: Margins, limit: Limit) -> Array:
    """Where halves are equal one of them is asked, for both."""
    own = margins.get((limit.case, limit.check), NONE)
    twin = (limit.case, limit.check.removesuffix(OUTBOARD) + INBOARD)
    return np.where(np.isnan(own), margins.get(twin, NONE), own) if limit.check.endswith(OUTBOARD) else own


def met_at(full: Layout, frame: Layout, *, sides: bool) -> list[Limit]:
    """Checks that one design meets by the full response and that the frame makes too, in the order of the load cases.

    sides: halves that are equal there may become unequal, so that the other's checks are asked as well.
    """
    asked = asked_of(worst_margins(screenings(frame)))
    found: dict[tuple[str, str], Limit] = {}
    for case in screenings(full):
        names: dict[str, list[str]] = {}
        for row in case.checks.rows:
            names.setdefault(row.id, []).extend(row.subject.names)
        for (_, id_), margin in worst_margins([case]).items():
            if of(margin, 0) >= 0.0 and (case.case.name, id_) in asked:
                found[case.case.name, id_] = _limit(id_, names[id_], case.case.name)
    if sides:
        found |= {
            (case, _other(id_)): _limit(_other(id_), [_other(known.what)], case)
            for (case, id_), known in found.items()
            if id_.endswith(INBOARD) and (case, _other(id_)) not in asked
        }
    return list(found.values())


def asked_of(margins: Margins) -> set[tuple[str, str]]:
    """Checks that are asked of the first design, and answered by a number."""
    return {key for key, margin in margins.items() if of(margin, 0) > -np.inf}


def _other(words: str) -> str:
    return words.replace(INBOARD, OUTBOARD)


def _limit(id_: str, names: Sequence[str], case: str) -> Limit:
    return Limit("", "", common(names), CHECK, case, "", id_)


def common(names: Sequence[str]) -> str:
    """The words that names begin with alike: another bolt or bore may govern in another design."""
    words = [name.split(" ") for name in names]
    alike = next(
        (i for i, w in enumerate(zip(*words, strict=False)) if len(set(w)) > 1), min(map(len, words))
    )
    return " ".join(words[0][:alike]).rstrip(",") or names[0]


def reserve(start_use: Array) -> Array:
    """What the search leaves below one; less where the start itself has less."""
    return np.minimum(RESERVE, 1.0 - start_use)
