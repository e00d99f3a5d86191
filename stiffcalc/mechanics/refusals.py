"""One way to refuse numbers that have no meaning; positive tests, so that NaN is refused too."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def refuse_unless(kept: bool | np.bool_ | NDArray[np.bool_], text: str) -> None:
    """Raise ValueError with `text` (where: found; allowed; how to mend) unless `kept` holds for every design."""
    if not np.all(kept):
        raise ValueError(text)
