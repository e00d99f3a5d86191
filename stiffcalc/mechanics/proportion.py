"""How well a proportion is known from a number of trials."""

from __future__ import annotations

import math

Z95 = 1.959963984540054  # of the normal distribution, two-sided 95 %


def wilson(met: int, trials: int, *, z: float = Z95) -> tuple[float, float]:
    """Interval of a probability from `met` of `trials`: (p + z2/2n -+ z sqrt(p (1-p)/n + z2/4n2)) / (1 + z2/n).

    Source: E. B. Wilson, Probable inference, J. Am. Stat. Assoc. 22 (1927) 209-212; formula as in NIST/SEMATECH
    e-Handbook 7.2.4.1, from memory. Raises ValueError unless 0 <= met <= trials and trials > 0.
    """
    if not 0 <= met <= trials or trials == 0:
        raise ValueError(f"{met} met of {trials} trials is no count")
    p, a = met / trials, z * z / trials
    half = z * math.sqrt(p * (1.0 - p) / trials + a / (4.0 * trials))
    low, high = ((p + 0.5 * a + sign * half) / (1.0 + a) for sign in (-1.0, 1.0))
    return max(0.0, low) if met else 0.0, min(1.0, high) if met < trials else 1.0
