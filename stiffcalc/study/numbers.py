"""Numbers of a study as rules take them: a plain float, or an array (D,) over the designs of a batch.

Annotations say `float` and `bool` for either. NaN, the placeholder of what could not be read, is handed on.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce
from operator import or_
from typing import Any

import numpy as np

NAN = float("nan")


def plain(value: Any) -> Any:
    """An array without an axis as a plain number."""
    return value.item() if isinstance(value, np.generic | np.ndarray) and not value.ndim else value


def at(value: Any, design: int) -> Any:
    """What one design has."""
    return value[design].item() if isinstance(value, np.ndarray) and value.ndim else value


def least(*values: float) -> float:
    """The smallest in each design; NaN without values."""
    found: float = plain(reduce(np.minimum, values)) if values else NAN
    return found


def most(*values: float) -> float:
    """The largest in each design; NaN without values."""
    found: float = plain(reduce(np.maximum, values)) if values else NAN
    return found


def hypot(x: float, y: float) -> float:
    """Length of a vector."""
    found: float = plain(np.hypot(x, y))
    return found


def rounded(value: float, digits: int) -> float:
    """Rounded as Python rounds: by the decimal that a number is, which numpy's own rounding is not."""
    if isinstance(value, np.ndarray):
        values, places = np.unique(value, return_inverse=True)
        return np.array([round(v, digits) for v in values.tolist()])[places]
    return round(value, digits)


def pick(mask: bool, yes: float, no: float) -> float:
    """`yes` where the mask holds, else `no`."""
    found: float = plain(np.where(mask, yes, no)) if isinstance(mask, np.ndarray) else yes if mask else no
    return found


def blank(bad: bool, value: float) -> float:
    """The value, a placeholder where it is bad."""
    return pick(bad, NAN, value)


def either(masks: Iterable[bool]) -> bool:
    """Where any of the masks holds; nowhere without masks."""
    return reduce(or_, masks, False)


def isnt(mask: bool) -> bool:
    """Where the mask does not hold."""
    found: bool = plain(np.logical_not(mask))
    return found


def unread(value: float) -> bool:
    """Where a number is a placeholder."""
    found: bool = plain(np.isnan(value))
    return found


def overlap(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Length common to two ranges; zero or negative where they are apart."""
    return least(a[1], b[1]) - most(a[0], b[0])
