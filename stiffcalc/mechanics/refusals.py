"""One way to refuse numbers that have no meaning; positive tests, so that NaN is refused too."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike


def refuse_unless(kept: ArrayLike, what: str, *, found: ArrayLike, allowed: str) -> None:
    """Raise ValueError `what: found ...; allowed: ...` with the first of `found` where `kept` does not hold."""
    kept = np.asarray(kept)
    if not kept.all():
        first = np.broadcast_to(found, np.broadcast_shapes(kept.shape, np.shape(found)))[~kept].flat[0]
        raise ValueError(f"{what}: found {first:g}; allowed: {allowed}")
