"""One chunk of a sweep: its designs read by the study reader's rules, solved in batches, put into columns."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array
from stiffcalc.errors import Fault
from stiffcalc.explore import batches, sampling
from stiffcalc.explore.answers import Answers
from stiffcalc.explore.batches import BATCH
from stiffcalc.explore.sweep_read import Job as Job
from stiffcalc.explore.sweep_read import Rows, read
from stiffcalc.explore.sweep_read import job as job

REFUSED, NO_EQUILIBRIUM, EVALUATED = 0, 1, 2  # status of a design
FIGURES = ("mass_kg", "spread_mm", "onset_MPa", "worst_margin")
COUNTS = ("unmet", "checks")
MARGIN = "margin_"  # and the id of a check: a column of its worst margin
BETWEEN = " · "  # sentences of one text
TEXTS = ("governs", "reason", "validity")  # as places in a list of texts of their own

Columns = Mapping[str, NDArray[np.generic]]


def evaluate(what: Job, chunk: int, *, batch: int = BATCH) -> Columns:
    """The columns of a chunk: `design`, `key_1` on (as `sampling.Choice`), status, figures, counts, texts.

    A text column holds places in `NAME_texts`, UTF-8. NaN: no such figure.
    """
    found = evaluated(what, sampling.drawn(what.plan, chunk), batch=batch)
    kept = {name: column for name, column in found.items() if not name.startswith(MARGIN)}
    return {"design": sampling.designs_of(what.plan, chunk), **kept}


def evaluated(what: Job, choices: Array, *, batch: int = BATCH) -> Columns:
    """The columns of `evaluate` but `design`, for designs of any origin, and `margin_ID` for each id of a check.

    choices: (D, keys), a row as `sampling.Choice`; at most `batch` designs are solved at once. A margin is the worst
    over all load cases; NaN where a design has no such check, is refused or finds no equilibrium.
    """
    sound, faults = read(what, choices)
    parts = [(one.rows, columns_of(batches.answer(one.design, len(one.rows), batch=batch))) for one in sound]
    found = placed([*parts, _refused(faults)], len(choices))
    texts = {name: found.pop(name) for name in TEXTS}
    margins = {name: found.pop(name) for name in sorted(found) if name.startswith(MARGIN)}
    return {
        **{f"key_{k + 1}": choices[:, k] for k in range(choices.shape[1])},
        **found,
        **_coded(texts),
        **margins,
    }


def columns_of(found: Answers) -> Columns:
    """Answers as columns; a text column holds the texts themselves."""
    count = len(found.mass_kg)
    errors = np.isin(np.arange(count), list(found.errors))
    reasons = [f"no equilibrium: {found.errors[d]}" if d in found.errors else "" for d in range(count)]
    which = found.what[found.governs, np.arange(count)] if len(found.rows) else found.governs
    ids = dict.fromkeys(row.id for row in found.rows)
    return {
        "status": np.where(errors, NO_EQUILIBRIUM, EVALUATED).astype(np.int8),
        **{name: np.asarray(getattr(found, name), dtype=float) for name in FIGURES},
        **{name: np.asarray(getattr(found, name), dtype=np.int32) for name in COUNTS},
        "governs": _each(np.stack([errors, found.governs, which]), found.governing),
        "reason": np.array(reasons, dtype=object),
        "validity": _each(np.vstack([errors, found.outside]), lambda d: BETWEEN.join(found.validity(d))),
        **{f"{MARGIN}{name}": _worst(found, name) for name in ids},
    }


def _worst(found: Answers, name: str) -> Array:
    """Worst margin of one check over all load cases, (D,)."""
    rows = [i for i, row in enumerate(found.rows) if row.id == name]
    return np.asarray(np.fmin.reduce(found.margin[rows], axis=0))


def _each(kinds: NDArray[np.generic], text: Callable[[int], str]) -> NDArray[np.object_]:
    """The text of every design, made once for designs (columns of `kinds`) of a kind."""
    # What is the same in all is left out and the rest put into one number: sorting columns takes many times as long.
    kind = np.zeros(kinds.shape[1], dtype=np.intp)
    for row in kinds[(kinds != kinds[:, :1]).any(axis=1)]:
        values, own = np.unique(row, return_inverse=True)
        kind = np.unique(kind * len(values) + own, return_inverse=True)[1]
    _, first, places = np.unique(kind, return_index=True, return_inverse=True)
    found: NDArray[np.object_] = np.array([text(int(d)) for d in first], dtype=object)[places]
    return found


def _refused(faults: Mapping[int, Sequence[Fault]]) -> tuple[Rows, Columns]:
    """Places and columns of designs that the reader refuses."""
    said = [f"{own[0]} (and {len(own) - 1} more)" if len(own) > 1 else str(own[0]) for own in faults.values()]
    none = np.full(len(said), np.nan)
    counts = np.zeros(len(said), dtype=np.int32)
    columns = {
        "status": np.full(len(said), REFUSED, dtype=np.int8),
        **dict.fromkeys(FIGURES, none),
        **dict.fromkeys(COUNTS, counts),
        **{name: np.array(said if name == "reason" else [""] * len(said), dtype=object) for name in TEXTS},
    }
    return np.array(list(faults), dtype=np.intp), columns


def placed(parts: Sequence[tuple[Rows, Columns]], count: int) -> dict[str, NDArray[np.generic]]:
    """Columns of `count` designs from those of parts of them; NaN where a part has no such column."""
    found: dict[str, NDArray[np.generic]] = {}
    for rows, columns in parts:
        for name, column in columns.items():
            if name not in found:
                found[name] = (
                    np.full(count, np.nan) if column.dtype.kind == "f" else np.empty(count, column.dtype)
                )
            found[name][rows] = column
    return found


def _coded(texts: Columns) -> dict[str, NDArray[np.generic]]:
    """Text columns: each text once, and which of them a design has."""
    found: dict[str, NDArray[np.generic]] = {}
    for name, column in texts.items():
        codes, known = coded(column.tolist())
        found |= {name: codes, f"{name}_texts": known}
    return found


def coded(texts: Iterable[str]) -> tuple[NDArray[np.int32], NDArray[np.bytes_]]:
    """Places and the list they point into, in order of appearance."""
    places: dict[str, int] = {}
    codes = [places.setdefault(text, len(places)) for text in texts]
    return np.array(codes, dtype=np.int32), encoded(places)


def encoded(texts: Iterable[str]) -> NDArray[np.bytes_]:
    """Texts in UTF-8: a quarter of the memory of numpy's own text arrays."""
    return np.array([text.encode("utf-8") for text in texts], dtype=np.bytes_)


def decoded(text: np.generic) -> str:
    """A text as it was."""
    return str(text.item(), "utf-8")
